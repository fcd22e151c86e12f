"""What the balancing station writes into the log beside a job, and how it is read back.

Each record stands by itself: no profile and no crank is needed to read it. How the profile had the instrument and
the job the planes when runs were typed stands beside them, with a name for all that a plan is made from. They are
read by that for ever: a profile that is edited afterwards changes no spin, it makes another one needed. Only where
somebody says that the profile had been wrong since a spin, that one and those after it are read anew.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple, cast, get_args

from truethrow.balance.base.amounts import ToldIn, factor
from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.base.formulas import centrifugal_n
from truethrow.balance.base.units import LENGTH, MASS, UNBALANCE
from truethrow.balance.crank.holes import Hole, HoleKind
from truethrow.balance.log.records import (
    STATION,
    Aimed,
    Built,
    Drilled,
    MassHung,
    ProfileEdited,
    ReadBy,
    Record,
    Run,
    SignedOff,
    Spun,
    Struck,
    WentUnproved,
    struck_ids,
)
from truethrow.balance.station import revisions
from truethrow.balance.station.spin import DIVISIONS, Instrument, PlaneReading, Runs
from truethrow.balance.station.testmass import Plane


class Basis(NamedTuple):
    """What was in force when runs were typed: the profile's instrument, the job's planes, and a name for all that
    a plan is made from."""

    instrument: Instrument
    planes_mm: tuple[float, float]
    name: str

    @property
    def read_as(self) -> str:
        """How a reading is understood: two are of one profile and one pair of planes where this is the same."""
        return self.told(revisions.ALIKE)

    def told(self, told_in: ToldIn) -> str:
        """The same in a shop's units."""
        one = factor(told_in.length, LENGTH)
        front, rear = (revisions.number(mm / one) for mm in self.planes_mm)
        return f"{revisions.read_as(self.instrument, told_in)}, planes {front} {rear} {told_in.length}"

    @property
    def revision(self) -> str:
        """The profile's."""
        return revisions.revision(self.instrument)

    @property
    def read_by(self) -> ReadBy:
        """The same as it is kept beside runs."""
        made = self.instrument
        return ReadBy(
            unit=made.unit,
            radius_mm=made.radius_mm,
            with_rotation=made.with_rotation,
            zero_deg=made.zero_deg,
            amount_part=made.amount_part,
            angle_deg=made.angle_deg,
            floor_gmm=made.floor_gmm,
            front_mm=self.planes_mm[0],
            rear_mm=self.planes_mm[1],
            basis=self.name,
            revision=self.revision,
        )

    @classmethod
    def of(cls, read_by: ReadBy) -> Basis:
        """What was in force, from beside runs. Raises ValueError for a unit that no station has."""
        return cls(instrument_of(read_by), (read_by.front_mm, read_by.rear_mm), read_by.basis)


def instrument_of(read_by: ReadBy) -> Instrument:
    """The instrument by which something was read. Raises ValueError for a unit that no station has."""
    unit, radius = read_by.unit, read_by.radius_mm
    if unit not in MASS.factors and unit not in UNBALANCE.factors and unit != DIVISIONS:
        raise ValueError(f"{shown(unit)!r} is no unit of a station")
    if (unit in MASS.factors) != bool(radius):
        raise ValueError("a mass is read at a radius, an unbalance at none")
    return Instrument(unit, radius, *read_by[2:7])


class SpinRecord(NamedTuple):
    """basis: by which it is read, which may be another than it was typed under: of that its record tells."""

    record: Spun
    runs: Runs
    basis: Basis

    @property
    def id(self) -> str:
        return self.record.id

    @property
    def is_turned(self) -> bool:
        """Whether the fixture was turned."""
        return bool(self.record.turned)


class HoleRecord(NamedTuple):
    record: Drilled
    hole: Hole

    @property
    def id(self) -> str:
        return self.record.id


class KnownMass(NamedTuple):
    """A mass put on one plane of the crank, at a radius and an angle of the crank."""

    plane: Plane
    mass_g: float
    radius_mm: float
    angle_deg: float

    @property
    def vector_gmm(self) -> complex:
        """The unbalance that it brings to its plane."""
        return cmath.rect(self.mass_g * self.radius_mm, math.radians(self.angle_deg))

    def pulls_n(self, speed_rpm: float) -> float:
        """What it pulls at its bolt at a speed."""
        return centrifugal_n(self.mass_g, self.radius_mm, speed_rpm)


class MassRecord(NamedTuple):
    """basis: by which it was typed. What it says of another profile is worked out where that is asked (proof).
    beside: a second mass in the same runs, on the other plane."""

    record: MassHung
    mass: KnownMass
    runs: Runs
    basis: Basis
    beside: KnownMass | None = None

    @property
    def id(self) -> str:
        return self.record.id

    @property
    def is_turned(self) -> bool:
        """Whether the fixture was turned."""
        return bool(self.record.turned)

    @property
    def masses(self) -> tuple[KnownMass, ...]:
        """All that hung."""
        return (self.mass, self.beside) if self.beside else (self.mass,)

    @property
    def has_units(self) -> bool:
        """Whether mass and radius were typed with their units."""
        return all(one[-1:].isalpha() for one in self.record.typed.split(" at "))


class Edit(NamedTuple):
    """An edit of the profile, and what it was: was, now: the instrument before and after it."""

    record: ProfileEdited
    was: Instrument
    now: Instrument

    @property
    def id(self) -> str:
        return self.record.id

    @property
    def is_mend(self) -> bool:
        """Whether it mends a mistake, so that earlier spins are read anew; else the station itself was changed."""
        return bool(self.record.wrong_since)


StationEvent = SpinRecord | HoleRecord | MassRecord | WentUnproved | SignedOff | Edit | Built | Aimed


def events(records: Iterable[Record], source: str = "", job: str = "JOB") -> list[StationEvent]:
    """What the station did and what counts of it, in order. job: as commands are told it. Raises BadInput for
    records that cannot be read."""
    records = _as_it_was(records)
    struck = struck_ids(records)
    found: list[StationEvent] = []
    faults: list[Fault] = []
    for record in records:
        if isinstance(record, STATION) and record.id not in struck:
            try:
                found.append(_event(record))
            except ValueError as error:
                where = f"{record.action}, record {shown(record.id)}"
                way = f"cancel it: truethrow strike {job} {shown(record.id)}"
                faults.append(Fault(where, str(error), remedy=way))
    if faults:
        raise BadInput(faults, source)
    return _read_anew(found, [record.id for record in records])


def canceled(records: Sequence[Record]) -> tuple[str, ...]:
    """What of the station's was canceled since the last spin, each kind once, in words: what a spin read, or holes
    and known masses it was believed by, is gone, and not what was the matter."""
    by_id, struck = {record.id: record for record in records}, struck_ids(records)
    found: list[str] = []
    for record in records:
        if isinstance(record, Spun) and not record.turned and record.id not in struck:
            found.clear()
        elif isinstance(record, Struck) and (called := _CANCELED.get(type(by_id.get(record.of)))):
            found.append(called)
    return tuple(dict.fromkeys(found))


def is_test_canceled(records: Sequence[Record], turned: str = "") -> bool:
    """Whether a test mass was canceled that came after all that still count: what it said of the station was not
    said again, and one before it says nothing of the station since. turned: the id of the runs with the fixture
    turned that it was held against, empty for those as it stands."""
    struck = struck_ids(records)
    tests = [record for record in records if isinstance(record, MassHung) and record.turned == turned]
    return bool(tests) and tests[-1].id in struck


_CANCELED: dict[type, str] = {Spun: "a spin", Drilled: "a hole", MassHung: "a test mass"}


def _as_it_was(records: Iterable[Record]) -> list[Record]:
    """The records with each hole that was recorded late before the spin that it was in the crank at, and each
    bobweight before the spin that it hung at."""
    found = list(records)
    for late in [one for one in found if isinstance(one, Drilled | Built) and one.before]:
        at = next((number for number, one in enumerate(found) if one.id == late.before), None)
        if at is not None and at < found.index(late):
            found.remove(late)
            found.insert(at, late)
    return found


def _read_anew(events: list[StationEvent], order: Sequence[str]) -> list[StationEvent]:
    """The same, with the spins that an edit says were read wrong read by the profile as it was then edited. order:
    the ids of all records, struck ones among them."""
    at = {key: number for number, key in enumerate(order)}
    found = list(events)
    for upto, edit in enumerate(events):
        if not isinstance(edit, Edit) or not edit.is_mend:
            continue
        since = at.get(edit.record.wrong_since, 0)
        for number, one in enumerate(found[:upto]):
            if isinstance(one, SpinRecord) and at[one.id] >= since:
                runs = one.runs._replace(unit=edit.now.unit, radius_mm=edit.now.radius_mm)
                found[number] = one._replace(runs=runs, basis=one.basis._replace(instrument=edit.now))
    return found


def _event(record: Record) -> StationEvent:
    match record:
        case Spun():
            basis = Basis.of(record.read_by)
            return SpinRecord(record, runs_of(record.runs, basis.instrument, record.unit), basis)
        case Drilled():
            return HoleRecord(record, hole_of(record))
        case MassHung():
            if record.plane not in get_args(Plane):
                raise ValueError(f"{shown(record.plane)!r} is no plane")
            basis = Basis.of(record.read_by)
            mass = KnownMass(cast("Plane", record.plane), record.mass_g, record.radius_mm, record.angle_deg)
            beside = beside_of(record)
            return MassRecord(record, mass, runs_of(record.runs, basis.instrument, record.unit), basis, beside)
        case ProfileEdited():
            if found := record.wrong():
                raise ValueError(found)
            return Edit(record, instrument_of(record.was), instrument_of(record.read_by))
    assert isinstance(record, WentUnproved | SignedOff | Built | Aimed)
    if found := record.wrong():
        raise ValueError(found)
    return record


def beside_of(record: MassHung) -> KnownMass | None:
    """The second mass of a test; None where there was one alone."""
    if not record.beside_g:
        return None
    other: Plane = "rear" if record.plane == "front" else "front"
    return KnownMass(other, record.beside_g, record.beside_mm, record.beside_deg)


def runs_of(kept: Sequence[Run], instrument: Instrument, unit: str = "") -> Runs:
    """Runs as they are kept. Raises ValueError for what are none."""
    if not kept:
        raise ValueError("are no runs")
    readings = tuple((PlaneReading(*run[:2]), PlaneReading(*run[2:])) for run in kept)
    return Runs(readings, instrument.unit, instrument.radius_mm, unit)


def kept_runs(runs: Runs) -> tuple[Run, ...]:
    """Runs as they are to be kept: as they were typed."""
    return tuple(Run(*front, *rear) for front, rear in runs.readings)


def since_spin(holes: int) -> str:
    """What was done since the last spin, in words."""
    return f"{holes} {'hole' if holes == 1 else 'holes'} done since the last spin"


def hole_of(record: Drilled) -> Hole:
    """The hole that a record is of. Raises ValueError for what is none."""
    hole = Hole(**{name: getattr(record, name) for name in Hole._fields})
    is_one = hole.depth_mm > 0 and hole.radius_mm > 0 and hole.diameter_mm >= 0
    if not is_one or hole.kind not in get_args(HoleKind):
        raise ValueError(f"{shown(hole.kind)} in {shown(hole.member)!r}, {hole.depth_mm:g} mm deep, is no hole")
    return hole


def rounded(hole: Hole) -> Hole:
    """The same, each figure to what it is kept by."""
    figures: dict[str, Any] = {k: round(v, 6) + 0.0 for k, v in hole._asdict().items() if isinstance(v, float)}
    return hole._replace(**figures)


def kept_hole(
    hole: Hole, spin: str, plan: str, step: int, batch: str = "", before: str = "", crank: str = ""
) -> Drilled:
    """A hole as it is to be kept."""
    done = rounded(hole)._asdict()
    return Drilled(**done, spin=spin, plan=plan, step=step, batch=batch, before=before, crank=crank)
