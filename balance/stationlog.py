"""What the balancing station writes into the log beside a job, and how it is read back.

    spin    kind "", typed "12.4@37 8.1@210 in g at 100 mm", of: the digest of the job that was hung;
            kind "turned", of: the spin that these runs belong to
    hole    kind radial, axial, slug or grind, typed with every figure of it, of: the spin that asked for it, why:
            the name of the plan
    test    kind front or rear, typed "50 g at 100 mm, 90 deg: 17.2@51 8.1@210 in g at 100 mm", of: the spin before
    sign    typed with the spins, the holes and what stays, of: the last spin

Each stands by itself: no profile and no crank is needed to read it, save for the sense and the zero of an angle.
How the profile had them when it was typed stands behind runs, with a name for all that a plan is made from:
"; sense with, zero 0, basis 3fa2b1c4". It is to notice a change by: what is read is read by the profile at hand.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import NamedTuple, cast, get_args

from truethrow.balance.errors import BadInput, Fault, shown
from truethrow.balance.holes import Hole, Kind
from truethrow.balance.records import STATION_ACTIONS, Record
from truethrow.balance.spin import Runs, parse_runs
from truethrow.balance.testmass import Plane

TURNED = "turned"

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
_BASIS = re.compile(rf"(.+); sense (with|against), zero {_NUMBER}, basis ([0-9a-f]{{8}})")
_TEST = re.compile(rf"{_NUMBER} g at {_NUMBER} mm, {_NUMBER} deg: (.+)")


class Basis(NamedTuple):
    """What was in force when runs were typed: the profile's sense and zero, and a name for all that a plan is made
    from."""

    with_rotation: bool
    zero_deg: float
    name: str

    def __str__(self) -> str:
        sense = "with" if self.with_rotation else "against"
        return f"sense {sense}, zero {_number(self.zero_deg)}, basis {self.name}"


class SpinRecord(NamedTuple):
    record: Record
    runs: Runs
    basis: Basis | None = None

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
    basis: Basis | None = None


class SignRecord(NamedTuple):
    """A sign-off. names: the ids of the spins and the holes that it stands for."""

    record: Record
    names: frozenset[str]


Event = SpinRecord | HoleRecord | MassRecord | SignRecord


def events(records: Iterable[Record], source: str = "") -> list[Event]:
    """What the station did and what stands of it, in order. Raises BadInput for records that cannot be read."""
    records = list(records)
    struck = {record.of for record in records if record.action == "strike"}
    found: list[Event] = []
    faults: list[Fault] = []
    for record in records:
        if record.action in STATION_ACTIONS and record.id not in struck:
            try:
                found.append(_event(record))
            except ValueError as error:
                where = f"{record.action}, record {shown(record.id)}"
                faults.append(Fault(where, str(error), "strike it out: truethrow strike JOB RECORD"))
    if faults:
        raise BadInput(faults, source)
    return found


def _event(record: Record) -> Event:
    match record.action:
        case "spin":
            text, basis = parse_basis(record.typed)
            return SpinRecord(record, parse_runs(text), basis)
        case "hole":
            return HoleRecord(record, parse_hole(record.kind, record.typed))
        case "test":
            text, basis = parse_basis(record.typed)
            return MassRecord(record, *parse_mass(record.kind, text), basis)
    return SignRecord(record, parse_sign(record.typed))


def with_basis(text: str, basis: Basis) -> str:
    """The text of runs, with what was in force behind it."""
    return f"{text}; {basis}"


def parse_basis(text: str) -> tuple[str, Basis | None]:
    """The text before what was in force, and that."""
    found = _BASIS.fullmatch(text)
    return (found[1], Basis(found[2] == "with", float(found[3]), found[4])) if found else (text, None)


def since_spin(holes: int) -> str:
    """What was done since the last spin, in words."""
    return f"{holes} {'hole' if holes == 1 else 'holes'} done since the last spin"


def typed_alone(record: Record) -> str:
    """What was typed, without what was in force."""
    return parse_basis(record.typed)[0]


def hole_text(hole: Hole) -> str:
    """A hole with every figure of it, but for its kind."""
    figures = " ".join(f"{word} {_number(getattr(hole, name))}" for word, name in _FIGURES.items())
    return f"{hole.member}: {figures}"


def parse_hole(kind: str, text: str) -> Hole:
    """A hole from its text. Raises ValueError for what is none."""
    found = _HOLE.fullmatch(text)
    if found is None or kind not in get_args(Kind):
        raise ValueError(f"{shown(kind)} {shown(text)!r} is no hole")
    figures = {name: float(figure) for name, figure in zip(_FIGURES.values(), found.groups()[1:], strict=True)}
    if figures["depth_mm"] <= 0 or figures["radius_mm"] <= 0 or figures["diameter_mm"] < 0:
        raise ValueError(f"{shown(kind)} {shown(text)!r} is no hole")
    return Hole(member=found[1], kind=cast("Kind", kind), **figures)


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
