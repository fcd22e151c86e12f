"""What the balancing station writes into the log beside a job, and how it is read back.

    spin    kind "", typed "12.4@37 8.1@210 in g at 100 mm", of: the digest of the job that was hung;
            kind "turned", of: the spin that these runs belong to
    hole    kind radial, axial, slug or grind, typed with every figure of it, of: the spin that asked for it, why:
            the name of the plan
    test    kind front or rear, typed "50 g at 100 mm, 90 deg: 17.2@51 8.1@210 in g at 100 mm", of: the spin before
    unproved  going on without a test mass. kind holes or sign, typed with the profile, of: the last spin, why: the
            reason
    sign    typed with the spins, the holes and what stays, of: the last spin

Each stands by itself: no profile and no crank is needed to read it. How the profile had the instrument and the job
the planes when runs were typed stands behind them, with a name for all that a plan is made from: "; sense with,
zero 0, sure to 2 % 2 deg 30 g·mm, planes 0 336 mm, basis 3fa2b1c4". They are read by that for ever: a profile that
is edited afterwards changes no spin, it makes another one needed.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import NamedTuple, cast, get_args

from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.crank.holes import Hole, HoleKind
from truethrow.balance.log.records import STATION_ACTIONS, Record, struck_ids
from truethrow.balance.station.spin import Instrument, Runs, parse_runs
from truethrow.balance.station.testmass import Plane

TURNED = "turned"
# What is gone on with unproved.
HOLES, SIGN = "holes", "sign"

# In the order of the text; takes and mass: of the metal, below zero where a slug brings more than its bore took.
_FIGURES = {
    "at": "angle_deg",
    "radius": "radius_mm",
    "z": "z_mm",
    "diameter": "diameter_mm",
    "depth": "depth_mm",
    "point": "point_deg",
    "arc": "arc_deg",
    "takes": "removes_gmm",
    "mass": "mass_g",
}
_NUMBER = r"(-?\d+(?:\.\d+)?(?:e[+-]?\d+)?)"
_HOLE = re.compile(r"(.+): " + " ".join(f"{word} {_NUMBER}" for word in _FIGURES))
_SIGN = re.compile(r"spins([^;]*); holes([^;]*); .+")
_BASIS = re.compile(
    rf"(.+); sense (with|against), zero {_NUMBER}, sure to {_NUMBER} % {_NUMBER} deg {_NUMBER} g·mm, "
    rf"planes {_NUMBER} {_NUMBER} mm, basis ([0-9a-f]{{8}})"
)
_TEST = re.compile(rf"{_NUMBER} g at {_NUMBER} mm, {_NUMBER} deg: (.+)")


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

    def __str__(self) -> str:
        return f"{self._read_as}, basis {self.name}"


class SpinRecord(NamedTuple):
    record: Record
    runs: Runs
    basis: Basis

    @property
    def is_turned(self) -> bool:
        return self.record.kind == TURNED


class HoleRecord(NamedTuple):
    record: Record
    hole: Hole


class KnownMass(NamedTuple):
    """A mass put on one plane of the crank, at a radius and an angle of the crank."""

    plane: Plane
    mass_g: float
    radius_mm: float
    angle_deg: float


class MassRecord(NamedTuple):
    record: Record
    mass: KnownMass
    runs: Runs
    basis: Basis


class UnprovedRecord(NamedTuple):
    """Going on although no test mass proved the station: who and why stand in the record."""

    record: Record

    @property
    def to_sign(self) -> bool:
        """To sign; else to drill."""
        return self.record.kind == SIGN


class SignRecord(NamedTuple):
    """A sign-off. names: the ids of the spins and the holes that it stands for."""

    record: Record
    names: frozenset[str]


StationEvent = SpinRecord | HoleRecord | MassRecord | UnprovedRecord | SignRecord


def events(records: Iterable[Record], source: str = "", job: str = "JOB") -> list[StationEvent]:
    """What the station did and what counts of it, in order. job: as commands are told it. Raises BadInput for
    records that cannot be read."""
    records = list(records)
    struck = struck_ids(records)
    found: list[StationEvent] = []
    faults: list[Fault] = []
    for record in records:
        if record.action in STATION_ACTIONS and record.id not in struck:
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
    match record.action:
        case "spin":
            runs = parse_runs(typed_alone(record))
            return SpinRecord(record, runs, _basis(record, runs))
        case "hole":
            return HoleRecord(record, parse_hole(record.kind, record.typed))
        case "test":
            mass, runs = parse_mass(record.kind, typed_alone(record))
            return MassRecord(record, mass, runs, _basis(record, runs))
        case "unproved":
            if record.kind not in (HOLES, SIGN):
                raise ValueError(f"{shown(record.kind)!r} is nothing to go on with")
            return UnprovedRecord(record)
    return SignRecord(record, parse_sign(record.typed))


def with_basis(text: str, basis: Basis) -> str:
    """The text of runs, with what was in force behind it."""
    return f"{text}; {basis}"


def _basis(record: Record, runs: Runs) -> Basis:
    """What was in force when runs were typed. Raises ValueError for runs that do not say it."""
    found = _BASIS.fullmatch(record.typed)
    if found is None:
        raise ValueError("does not say how the profile was, so nobody knows what was read")
    zero, amount, angle, floor, *planes = (float(figure) for figure in found.groups()[2:8])
    made = Instrument(runs.unit, runs.radius_mm, found[2] == "with", zero, amount / 100, angle, floor)
    return Basis(made, (planes[0], planes[1]), found[9])


def since_spin(holes: int) -> str:
    """What was done since the last spin, in words."""
    return f"{holes} {'hole' if holes == 1 else 'holes'} done since the last spin"


def typed_alone(record: Record) -> str:
    """What was typed, without what was in force."""
    found = _BASIS.fullmatch(record.typed)
    return found[1] if found else record.typed


def hole_text(hole: Hole) -> str:
    """A hole with every figure of it, but for its kind."""
    figures = " ".join(f"{word} {_number(getattr(hole, name))}" for word, name in _FIGURES.items())
    return f"{hole.member}: {figures}"


def parse_hole(kind: str, text: str) -> Hole:
    """A hole from its text. Raises ValueError for what is none."""
    found = _HOLE.fullmatch(text)
    if found is None or kind not in get_args(HoleKind):
        raise ValueError(f"{shown(kind)} {shown(text)!r} is no hole")
    figures = {name: float(figure) for name, figure in zip(_FIGURES.values(), found.groups()[1:], strict=True)}
    if figures["depth_mm"] <= 0 or figures["radius_mm"] <= 0 or figures["diameter_mm"] < 0:
        raise ValueError(f"{shown(kind)} {shown(text)!r} is no hole")
    return Hole(member=found[1], kind=cast("HoleKind", kind), **figures)


def mass_text(mass: KnownMass, runs: Runs) -> str:
    at = f"{_number(mass.mass_g)} g at {_number(mass.radius_mm)} mm, {_number(mass.angle_deg)} deg"
    return f"{at}: {runs}"


def parse_mass(plane: str, text: str) -> tuple[KnownMass, Runs]:
    """A test mass and the runs with it. Raises ValueError for what is none."""
    found = _TEST.fullmatch(text)
    if found is None or plane not in get_args(Plane):
        raise ValueError(f"{shown(plane)} {shown(text)!r} is no test mass")
    mass_g, radius_mm, angle_deg = (float(figure) for figure in found.groups()[:3])
    return KnownMass(cast("Plane", plane), mass_g, radius_mm, angle_deg), parse_runs(found[4])


def sign_text(spins: Sequence[str], holes: Sequence[str], stays: Sequence[str]) -> str:
    return "; ".join([" ".join(["spins", *spins]), " ".join(["holes", *holes]), *stays])


def parse_sign(text: str) -> frozenset[str]:
    """The ids that a sign-off names. Raises ValueError for what is none."""
    found = _SIGN.fullmatch(text)
    if found is None:
        raise ValueError(f"{shown(text)!r} is no sign-off")
    return frozenset(f"{found[1]} {found[2]}".split())


def _number(value: float) -> str:
    return f"{round(value, 6) + 0.0:.15g}"
