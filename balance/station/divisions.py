"""A station that reads divisions: what its trial masses told so far, and of which spins that says something.

A mass on each plane alone gives the coefficients (influence.py), both at once and moved by the same angle prove
them, and tell the sense of the station's angles. They hold for one profile, one set-up (until somebody says that
the station was changed), one speed, one set of bobweights and members, and for all spins of those, whenever they
were. The newest trial on each plane counts; one that is not known well enough counts for none.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Literal, NamedTuple

from truethrow.balance.correction import TwoPlanes
from truethrow.balance.log import records
from truethrow.balance.station.influence import (
    MOVED_DEG,
    NEAR,
    SURE_PART,
    Coefficients,
    Foretold,
    Plane,
    Trial,
    foretold,
    turned_deg,
)
from truethrow.balance.station.spin import Average, Scatter, averages, measured, scatter
from truethrow.balance.station.stationlog import Edit, KnownMass, MassRecord, SpinRecord, StationEvent

PLANES: tuple[Plane, Plane] = ("front", "rear")
# Where nothing is known of how far readings scatter, a trial has to move its own reading by such a part, or turn
# it by so much. Common practice, no source.
MOVES_PART, TURNS_DEG = 0.3, 30.0
# By how much the masses of the fourth run are told to be moved, and how alike that has to be for both. Common
# practice, no source.
BEST_DEG, SAME_DEG = 90.0, 5.0
# Speeds and bobweights that are alike but for such a part are the same to the coefficients. Common practice, no
# source.
SAME_SPEED, SAME_MASS = 0.05, 0.01
# The first trial mass where nothing is known yet: so many times the tolerance. Common practice, no source.
FIRST = 15.0

# How the fourth run ended: as foretold; as foretold on a station that counts its angles the other way; neither; or
# it cannot be told which.
Ended = Literal["agrees", "mirrored", "apart", "unsure"]


class Fourth(NamedTuple):
    """The run with both masses on. foretold: what it had to read, and read; ended: how."""

    record: MassRecord
    foretold: Foretold
    ended: Ended

    @property
    def is_proof(self) -> bool:
        return self.ended in ("agrees", "mirrored")


class Calibration(NamedTuple):
    """What the trials of a set-up tell. singles: the newest of each plane that is known well enough, with its
    record; rough: of each plane a newer one that is not, with how well it is known (k = 2); fourth: None before
    it."""

    singles: Mapping[Plane, tuple[MassRecord, Trial]]
    rough: Mapping[Plane, tuple[MassRecord, float]]
    fourth: Fourth | None = None

    @property
    def missing(self) -> tuple[Plane, ...]:
        """The planes on which a trial is still to be made."""
        return tuple(plane for plane in PLANES if plane not in self.singles)

    @property
    def coefficients(self) -> Coefficients | None:
        """None before there is a trial on each plane."""
        if self.missing:
            return None
        front, rear = (self.singles[plane][1] for plane in PLANES)
        return Coefficients(front, rear, self.fourth is not None and self.fourth.ended == "mirrored")

    @property
    def is_proved(self) -> bool:
        return self.fourth is not None and self.fourth.is_proof


NOTHING = Calibration({}, {})


def calibration_of(
    spin: SpinRecord,
    events: Sequence[StationEvent],
    means: Mapping[str, tuple[Average, Average]],
    scatters: tuple[Scatter, Scatter],
) -> Calibration:
    """What all trials of a log say of a spin. means: of each spin by its record's id, in divisions; scatters: of
    one run of each plane, as repeated runs tell it."""
    spins = {one.id: one for one in events if isinstance(one, SpinRecord)}
    events = _of_one_set_up(spin, events)
    singles: dict[Plane, tuple[MassRecord, Trial]] = {}
    rough: dict[Plane, tuple[MassRecord, float]] = {}
    fourth: Fourth | None = None
    for test in events:
        before = spins.get(test.record.spin) if isinstance(test, MassRecord) else None
        if not isinstance(test, MassRecord) or before is None or not _is_alike(spin, before, test):
            continue
        read = averages(test.runs, test.basis.instrument)
        sure = _sure(read, scatters, test)
        was = means[before.id]
        was_read, was_sure = _vectors(was), _sure(was, scatters, test)
        if test.beside is None:
            trial = Trial(test.mass.vector_gmm, was_read, _vectors(read), was_sure, sure, before.id)
            at = PLANES.index(test.mass.plane)
            if (part := _roughness(trial, at)) > SURE_PART:
                rough[test.mass.plane] = test, part
            else:
                singles[test.mass.plane], fourth = (test, trial), None
                rough.pop(test.mass.plane, None)
        elif (made := Calibration(singles, {}).coefficients) is not None:
            known = _both(test)
            found = foretold(made, was_read, known, _vectors(read), sure)
            fourth = Fourth(test, found, _ended(found))
    return Calibration(singles, rough, fourth)


def _of_one_set_up(spin: SpinRecord, events: Sequence[StationEvent]) -> list[StationEvent]:
    """What was done before and after a spin as long as nobody said that the station was changed."""
    found: list[StationEvent] = []
    for event in events:
        if not isinstance(event, Edit):
            found.append(event)
        elif spin in found:
            break
        else:
            found.clear()
    return found


def unfit(masses: Sequence[KnownMass], found: Calibration) -> list[str]:
    """Why masses would tell nothing here, in words; nothing where they would."""
    if len(masses) == 1:
        return []
    if found.missing:
        return [f"a mass on the {found.missing[0]} plane alone comes first"]
    known = {one.plane: one.vector_gmm for one in masses}
    front, rear = turned_deg(known, {plane: trial.known_gmm for plane, (_, trial) in found.singles.items()})
    low, high = MOVED_DEG
    if not all(low <= round(abs(one), 6) <= high for one in (front, rear)) or abs(front - rear) > SAME_DEG:
        return [
            f"they are moved by {front:.0f} and {rear:.0f} degrees from where each was alone; both by the same, "
            f"{low:g} to {high:g} degrees, tell the sense of the angles; {BEST_DEG:g} is best"
        ]
    return []


def next_masses(
    found: Calibration, limit_gmm: float, radius_mm: float, sizes_g: Sequence[float]
) -> tuple[KnownMass, ...]:
    """What to hang next: one alone on the plane that is missing, heavier where the last was not enough; then both
    at once, each moved by a quarter of a turn. sizes_g: the masses that are told, lightest first."""
    waiting = [plane for plane in PLANES if plane in found.missing or plane in found.rough]
    if waiting and found.missing:
        plane = waiting[0]
        wanted_g = FIRST * limit_gmm / radius_mm
        if plane in found.rough:
            test, part = found.rough[plane]
            wanted_g = test.mass.vector_gmm.__abs__() / radius_mm * min(10.0, max(1.5, 1.5 * part / SURE_PART))
        elif found.singles:
            (test, _), *_ = found.singles.values()
            wanted_g = abs(test.mass.vector_gmm) / radius_mm
        mass_g = next((g for g in sizes_g if g >= 0.999 * wanted_g), sizes_g[-1])
        return (KnownMass(plane, mass_g, radius_mm, 30.0),)
    factor = 2.0 if found.fourth is not None and found.fourth.ended == "unsure" else 1.0
    return tuple(
        one._replace(angle_deg=(one.angle_deg + BEST_DEG) % 360, mass_g=round(one.mass_g * factor, 3))
        for one in (found.singles[plane][0].mass for plane in PLANES)
    )


def _is_alike(spin: SpinRecord, before: SpinRecord, test: MassRecord) -> bool:
    """Whether a trial on one spin says something of another: the same profile, speed, bobweights and members."""
    mine, its = spin.record, before.record
    return (
        spin.basis.read_as == before.basis.read_as == test.basis.read_as
        and set(mine.members) == set(its.members)
        and _same_speed(mine, its)
        and len(mine.hung_g) == len(its.hung_g)
        and all(abs(one - other) <= SAME_MASS * other for one, other in zip(mine.hung_g, its.hung_g, strict=True))
    )


def _same_speed(one: records.Spun, other: records.Spun) -> bool:
    if not one.speed_rpm or not other.speed_rpm:
        return one.speed_rpm == other.speed_rpm
    return abs(one.speed_rpm / other.speed_rpm - 1) <= SAME_SPEED


def _vectors(read: tuple[Average, Average]) -> TwoPlanes:
    return TwoPlanes(read[0].vector_gmm, read[1].vector_gmm)


def _sure(
    read: tuple[Average, Average], scatters: tuple[Scatter, Scatter], test: MassRecord
) -> tuple[float, float]:
    """Standard uncertainty of a reading in each plane, in any direction. [divisions]"""
    front, rear = (
        reading_sure(own, spread, test.basis.instrument) for own, spread in zip(read, scatters, strict=True)
    )
    return front, rear


def reading_sure(own: Average, spread: Scatter, instrument: object) -> float:
    """Standard uncertainty of a mean in the direction in which it is least sure."""
    noise = max(spread.of(abs(own.vector_gmm)), scatter([own]).of(abs(own.vector_gmm))) / math.sqrt(own.runs)
    return measured(own.vector_gmm, noise, instrument).widest_gmm / 2  # type: ignore[arg-type]


def _roughness(trial: Trial, at: int) -> float:
    """How well the coefficient of its own plane is known (k = 2); where nothing is known of the scatter, by how
    far the reading moved."""
    if trial.before_sure[at] or trial.after_sure[at]:
        return trial.sure_part(at)
    before, after = trial.before[at], trial.after[at]
    moves = abs(after - before) >= MOVES_PART * abs(before)
    turns = bool(before and after) and abs(math.degrees(_phase(after / before))) >= TURNS_DEG
    return 0.0 if after != before and (moves or turns) else math.inf


def _phase(one: complex) -> float:
    return math.atan2(one.imag, one.real)


def _both(test: MassRecord) -> TwoPlanes:
    brought = {mass.plane: mass.vector_gmm for mass in test.masses}
    return TwoPlanes(brought["front"], brought["rear"])


def _ended(found: Foretold) -> Ended:
    plain, mirrored = (found.misses(one) <= NEAR for one in (found.reads, found.mirrored))
    if plain and mirrored:
        return "unsure"
    return "agrees" if plain else "mirrored" if mirrored else "apart"
