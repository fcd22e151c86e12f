"""What the balancing station writes into the log beside a job, and how it is read back.

Each record stands by itself: no profile and no crank is needed to read it. How the profile had the instrument and
the job the planes when runs were typed stands beside them, with a name for all that a plan is made from. They are
read by that for ever: a profile that is edited afterwards changes no spin, it makes another one needed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple, cast, get_args

from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.base.units import MASS, UNBALANCE
from truethrow.balance.crank.holes import Hole, HoleKind
from truethrow.balance.log.records import (
    STATION,
    Drilled,
    MassHung,
    ReadBy,
    Record,
    Run,
    SignedOff,
    Spun,
    WentUnproved,
    struck_ids,
)
from truethrow.balance.station.spin import Instrument, PlaneReading, Runs
from truethrow.balance.station.testmass import Plane


class Basis(NamedTuple):
    """What was in force when runs were typed: the profile's instrument, the job's planes, and a name for all that
    a plan is made from."""

    instrument: Instrument
    planes_mm: tuple[float, float]
    name: str

    @property
    def read_as(self) -> str:
        """How a reading is understood: two are of one profile where this is the same."""
        made = self.instrument
        radius = "" if made.radius_mm is None else f" at {made.radius_mm:.9g} mm"
        return f"{made.unit.replace(' ', '·')}{radius}, {self._read_as}"

    @property
    def _read_as(self) -> str:
        made = self.instrument
        sense = "with" if made.with_rotation else "against"
        sure = f"{_number(100 * made.amount_part)} % {_number(made.angle_deg)} deg {_number(made.floor_gmm)} g·mm"
        front, rear = map(_number, self.planes_mm)
        return f"sense {sense}, zero {_number(made.zero_deg % 360)}, sure to {sure}, planes {front} {rear} mm"

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
        )

    @classmethod
    def of(cls, read_by: ReadBy) -> Basis:
        """What was in force, from beside runs. Raises ValueError for a unit that no station has."""
        unit, radius = read_by.unit, read_by.radius_mm
        if unit not in MASS.factors and unit not in UNBALANCE.factors:
            raise ValueError(f"{shown(unit)!r} is no unit of a station")
        if (unit in MASS.factors) != bool(radius):
            raise ValueError("a mass is read at a radius, an unbalance at none")
        made = Instrument(unit, radius, *read_by[2:7])
        return cls(made, (read_by.front_mm, read_by.rear_mm), read_by.basis)


class SpinRecord(NamedTuple):
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


class MassRecord(NamedTuple):
    record: MassHung
    mass: KnownMass
    runs: Runs
    basis: Basis

    @property
    def id(self) -> str:
        return self.record.id


StationEvent = SpinRecord | HoleRecord | MassRecord | WentUnproved | SignedOff


def events(records: Iterable[Record], source: str = "", job: str = "JOB") -> list[StationEvent]:
    """What the station did and what counts of it, in order. job: as commands are told it. Raises BadInput for
    records that cannot be read."""
    records = list(records)
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
    return found


def _event(record: Record) -> StationEvent:
    match record:
        case Spun():
            basis = Basis.of(record.read_by)
            return SpinRecord(record, runs_of(record.runs, basis.instrument), basis)
        case Drilled():
            return HoleRecord(record, hole_of(record))
        case MassHung():
            if record.plane not in get_args(Plane):
                raise ValueError(f"{shown(record.plane)!r} is no plane")
            basis = Basis.of(record.read_by)
            mass = KnownMass(cast("Plane", record.plane), record.mass_g, record.radius_mm, record.angle_deg)
            return MassRecord(record, mass, runs_of(record.runs, basis.instrument), basis)
    assert isinstance(record, WentUnproved | SignedOff)
    if found := record.wrong():
        raise ValueError(found)
    return record


def runs_of(kept: Sequence[Run], instrument: Instrument) -> Runs:
    """Runs as they are kept. Raises ValueError for what are none."""
    if not kept:
        raise ValueError("are no runs")
    readings = tuple((PlaneReading(*run[:2]), PlaneReading(*run[2:])) for run in kept)
    return Runs(readings, instrument.unit, instrument.radius_mm)


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


def kept_hole(hole: Hole, spin: str, plan: str, step: int) -> Drilled:
    """A hole as it is to be kept."""
    return Drilled(**rounded(hole)._asdict(), spin=spin, plan=plan, step=step)


def _number(value: float) -> str:
    return f"{round(value, 6) + 0.0:.15g}"
