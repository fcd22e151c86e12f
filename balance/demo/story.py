"""The demo's job carried on to its end: ground and weighed again, spun, proved with a test mass, drilled, spun,
signed. All invented.

Each step goes through the same functions as the shop's own, so what is written down is what a shop would have
written down. Only the readings are invented: a scale that reads a step more or less than it should, and a station
that finds the crank not quite where the holes should have left it.
"""

from __future__ import annotations

import cmath
import itertools
import math
from collections.abc import Iterator
from pathlib import Path

from truethrow.balance import demo
from truethrow.balance.base.errors import NotSaved, shown_path
from truethrow.balance.job.enter import enter
from truethrow.balance.job.job import load
from truethrow.balance.log.place import has_log, open_log
from truethrow.balance.result import plans
from truethrow.balance.result.doubts import confirm
from truethrow.balance.result.work import work
from truethrow.balance.station import balancing, built, may_go, stationfile, stationwork
from truethrow.balance.station.next_steps import next_pair
from truethrow.balance.weighing import benchjob
from truethrow.balance.weighing.session import Session

WEIGHED, SPUN, SIGNED = "1-weighed", "2-spun", "3-signed"
BY = "AB"
WHY = "from another box; weighed again, reads the same"

# What the scale reads beside what a part should weigh after it was ground, in steps of the scale, in turn.
_SCATTER_STEPS = (0, 1, 0, -1, 0, 0, 1, 0, -1, 0, 0)
# What the built bobweights weigh beside what is asked for, throw by throw. [g]
_BUILT_OFF_G = (0.1, 0.0, -0.1, 0.1)
# The crank as it came from its maker, and where it is found after each round of holes beside what they should have
# left. [g·mm at degrees]
_ARRIVED = ((1180.0, 203.0), (860.0, 169.0))
_MISSED = (((180.0, 250.0), (120.0, 80.0)), ((22.0, 95.0), (17.0, 250.0)), ((9.0, 20.0), (11.0, 200.0)))


def job_in(folder: Path) -> Path:
    """The job file of a story told in a folder."""
    return folder / "launch.toml"


def station_in(folder: Path) -> Path:
    """The station profile of a story told in a folder."""
    return folder / "station.toml"


def told(folder: Path) -> Iterator[tuple[str, Path, Path]]:
    """The job's stages, each as it is reached: its name, job file and station profile. The files are made in a
    folder that must not hold such a job yet. Raises NotSaved."""
    job_path, station = job_in(folder), station_in(folder)
    if has_log(job_path):
        raise NotSaved("has a log of readings already; choose another folder", shown_path(job_path))
    _, sheet = demo.copy_into(folder)
    enter(job_path, sheet)
    look_again(job_path)
    yield WEIGHED, job_path, station
    _grind(job_path)
    _build(job_path, station)
    _spin(job_path, station, *map(_vector, _ARRIVED))
    _hang_masses(job_path, station, *map(_vector, _ARRIVED))
    yield SPUN, job_path, station
    for missed in _MISSED:
        state = balancing.load(job_path, station)
        if may_go.is_inside(state):
            break
        assert state.expected
        stationwork.drilled(job_path, state, {}, BY)
        front, rear = state.expected
        _spin(job_path, station, front + _vector(missed[0]), rear + _vector(missed[1]))
    stationwork.sign(job_path, balancing.load(job_path, station), BY)
    yield SIGNED, job_path, station


def look_again(job_path: Path) -> None:
    """Confirm what looks like a slip and is none: the parts come from three boxes."""
    for slip in work(load(job_path)).doubts:
        for kind in slip.kinds:
            confirm(job_path, kind, str(slip.cylinder or "all"), WHY, BY)


def _grind(job_path: Path) -> None:
    """Grind all of the trim, and weigh again what was ground."""
    result = work(load(job_path))
    assert result.trim
    plans.record(job_path, by=BY)
    expected_g = {(p.cylinder, kind): grams for p in result.trim.parts for kind, grams in p.expected_g.items()}
    bench = benchjob.load(job_path)
    session = Session(bench, open_log(job_path, bench.table.name, BY))
    step_g, scatter = bench.scale.resolution_g, itertools.cycle(_SCATTER_STEPS)
    while session.step is not None:
        should_g = expected_g[session.step.cylinder, session.step.kind]
        session.take(f"{round(should_g / step_g + next(scatter)) * step_g:.1f} g")


def _build(job_path: Path, station: Path) -> None:
    """Weigh the built bobweights."""
    profile, throws = stationfile.load(station), work(load(job_path)).bobweights.throws
    weighed_g = [(one.throw.name, one.hung_g + off) for one, off in zip(throws, _BUILT_OFF_G, strict=True)]
    grams = {name: (round(g, 3), f"{g:.1f} g") for name, g in weighed_g}
    built.weighed(job_path, grams, profile.step_g, profile.source, by=BY)


def _spin(job_path: Path, station: Path, front_gmm: complex, rear_gmm: complex) -> None:
    """Write down what the station shows of an unbalance."""
    state = balancing.load(job_path, station)
    stationwork.spin(job_path, state, _shown(state, front_gmm, rear_gmm), by=BY)


def _hang_masses(job_path: Path, station: Path, front_gmm: complex, rear_gmm: complex) -> None:
    """Prove the station with the known masses that it asks for, before the first hole."""
    state = balancing.load(job_path, station)
    front, rear = next_pair(state)
    shown = _shown(state, front_gmm + front.vector_gmm, rear_gmm + rear.vector_gmm)
    stationwork.known_mass(job_path, state, (front, rear), shown, BY)


def _shown(state: balancing.Balancing, *vectors_gmm: complex) -> list[str]:
    """What the station shows of unbalances, to the digits that it has."""
    read = (state.instrument.shows(vector) for vector in vectors_gmm)
    return [f"{amount:.1f}@{angle:.0f}" for amount, angle in read]


def _vector(polar: tuple[float, float]) -> complex:
    """An unbalance of its amount and its angle. [g·mm, degrees]"""
    return cmath.rect(polar[0], math.radians(polar[1]))
