"""A job at a simulated balancing station, by its commands."""

from __future__ import annotations

import cmath
import json
import math
import random

import cranks
import invented
import pytest
from typer.testing import CliRunner

from truethrow.balance import demo
from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput
from truethrow.balance.correction import TwoPlanes, changed_by
from truethrow.balance.job.job import load as load_job
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Struck
from truethrow.balance.station import stationwork
from truethrow.balance.station.spin import Instrument
from truethrow.cli.main import app

# Who says what an edit of the profile was, and why.
SAID = ("--by", "AB", "--why", "set so on the display")
STATION = {"crank_mass": "24.3 kg", "grade": 6.3}


def polar(amount, angle_deg):
    return cmath.rect(amount, math.radians(angle_deg))


def sound_job(folder):
    """A sound job with a crank, and the shop's profile beside it."""
    path = folder / "my.toml"
    data = invented.document(station=STATION, crank={"counterweight": cranks.v8_weights()})
    path.write_text(invented.text(data), encoding="utf-8")
    (folder / "station.toml").write_text(demo.text("station.toml"), encoding="utf-8")
    return path


@pytest.fixture
def job(tmp_path):
    return sound_job(tmp_path)


@pytest.fixture
def run(job):
    """Run a command on the job; its answer as data. Faults come out as they are raised; a status of
    None may be any."""

    def ran(command, *args, status=0, as_json=True, station=None):
        station = station or job.with_name("station.toml")
        said = [command, str(job), "--station", str(station), *map(str, args), *(["--json"] if as_json else [])]
        done = CliRunner().invoke(app, said)
        if done.exception and not isinstance(done.exception, SystemExit):
            raise done.exception
        assert status is None or done.exit_code == status, done.output
        return json.loads(done.stdout) if as_json else done.stdout

    return ran


def added(reading, grams, at_deg, radius_mm=100.0):
    """What the station shows in a plane once a mass is on it: the profile's instrument, without an error."""
    amount, angle = map(float, reading.split("@"))
    instrument = Instrument("g", 100.0, True)
    shows = instrument.shows(instrument.vector_gmm(amount, angle) + polar(grams * radius_mm, at_deg))
    return "{:.4f}@{:.4f}".format(*shows)


def proved(run, front, rear, *more, status=None):
    """A spin, and a test mass that agrees: where the job stands then."""
    run("spin", front, rear, *more, status=None)
    on = ["--mass", 50, "--radius", 100, "--plane", "front", "--at", 30, added(front, 50, 30), rear]
    assert run("test-mass", *on)["agrees"]
    return run("spins", status=status)


def refused(run, *args, **more):
    with pytest.raises(BadInput) as caught:
        run(*args, **more)
    return [str(fault) for fault in caught.value.faults]


class Machine:
    """A crank with a hidden unbalance on a station with errors of its own: gain and angle, noise in each
    direction, and what it shows to a hundredth of a gram and to a degree. The drill goes too deep, or not deep
    enough."""

    def __init__(self, seed, job_path, gain=1.0, turn_deg=0.0, noise_gmm=8.0, depth_mm=0.25, fixture=(0j, 0j)):
        self.random = random.Random(seed)
        self.crank = load_job(job_path).crank
        self.hidden = TwoPlanes(
            *(polar(self.random.uniform(300, 2500), self.random.uniform(0, 360)) for _ in "fr")
        )
        self.factor, self.noise, self.depth = polar(gain, turn_deg), noise_gmm, depth_mm
        self.fixture = fixture
        self.instrument = Instrument("g", 100.0, True)
        self.on = [0j, 0j]

    def spin(self, turned=False):
        texts = []
        for own, theirs, mass in zip(self.hidden, self.fixture, self.on, strict=True):
            noise = complex(self.random.gauss(0, self.noise), self.random.gauss(0, self.noise))
            amount, angle = self.instrument.shows(
                (own + mass + (-theirs if turned else theirs)) * self.factor + noise
            )
            texts.append(f"{amount:.2f}@{angle:.0f}")
        return texts

    def drill(self, operation):
        """Do one operation of the plan, as JSON has it, to a depth that is not quite right."""
        hole = cranks.hole_told(operation)
        if hole.kind != "slug":
            deep = max(0.1, hole.depth_mm + self.random.gauss(0, self.depth))
            hole = stationwork.as_deep(self.crank, hole, deep)
        self.hidden = self.hidden.plus(changed_by([hole], cranks.PLANES_MM))
        return hole


def struck(job, action):
    """Strike the last record of an action out."""
    log = ReadingLog(log_path(job))
    log.append(Struck([record.id for record in log.records if record.action == action][-1], why="test"))


def first_radial(plan):
    return next(one for one in plan["operations"] if one["kind"] == "radial")


def planned(run, machine):
    """The plan's operations after the first spin, once a test mass agreed."""
    run("spin", *machine.spin(), status=1)
    assert run("test-mass", *mass(machine, "front", 30))["agrees"]
    return run("holes", status=1)["plan"]["operations"]


def unproved_plan(run, machine):
    """The plan's operations after the first spin, where nobody hangs a test mass."""
    run("spin", *machine.spin(), status=1)
    because = ("--unproved", "--by", "AB", "--why", "no tapped hole for a mass")
    return run("holes", *because, status=1)["plan"]["operations"]


def mass(machine, plane, at_deg, grams=50.0, radius_mm=100.0):
    """What the station shows with a mass on."""
    number = ("front", "rear").index(plane)
    machine.on = [0j, 0j]
    machine.on[number] = polar(grams * radius_mm, at_deg)
    texts = machine.spin()
    machine.on = [0j, 0j]
    return ["--mass", grams, "--radius", radius_mm, "--plane", plane, "--at", at_deg, *texts]
