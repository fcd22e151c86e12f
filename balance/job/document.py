"""The job document: what a job file may say, table by table.

Every table is strict: an unknown key, a wrong type or a value out of reach is a fault, and all faults of a
table come back at once. Quantities arrive as a bare number in the document's unit or as text with a unit.
"""

from __future__ import annotations

import datetime
from typing import Annotated, Any

from pydantic import (
    Field,
    PlainValidator,
    ValidationInfo,
    create_model,
)

from truethrow.balance.base import units
from truethrow.balance.base.errors import shown
from truethrow.balance.base.fields import (
    HEAVIEST_G,
    MOST_CYLINDERS,
    AnyMass,
    CrankMass,
    Label,
    MassOrZero,
    MassPerThrow,
    PartName,
    Position,
    Readings,
    Table,
    Typed,
    Unbalance,
    _document,
    _fault,
    _unit_of,
    number_within,
    one_of,
    printable_text,
)
from truethrow.balance.base.parts import KINDS, SUMS
from truethrow.balance.base.units import LENGTH, MASS, NotAQuantity

# A sentence or two; what is longer goes into a file of its own.
LONGEST_NOTE = 200
# What a job hangs: by a rule, one mass on every throw, or one for each.
Hang = str | float | tuple[float, ...]
# So well known is as good as known.
MOST_FREEDOM = 10_000


def _hang(typed: object, info: ValidationInfo) -> Hang:
    if typed in ("mean", "own", "none"):
        return str(typed)
    if isinstance(typed, list) and typed:
        return tuple(_hung_mass(one, info) for one in typed)
    return _hung_mass(typed, info)


def _hung_mass(typed: object, info: ValidationInfo) -> float:
    try:
        mass_g = units.parse(typed, MASS, _document(info).mass)
    except NotAQuantity:
        mass_g = -1.0
    if not 0 < mass_g <= 2 * HEAVIEST_G:
        raise _fault(repr(shown(typed)), '"mean", "own", "none", a mass, or a list of one a throw')
    return mass_g


CALLABLE = "an id that cannot be taken for a file"


class JobTable(Table):
    id: Annotated[str, PlainValidator(printable_text(64))]
    title: Label = ""
    mass_unit: Annotated[str, PlainValidator(_unit_of(MASS))] = "g"
    length_unit: Annotated[str, PlainValidator(_unit_of(LENGTH))] = "mm"


def not_callable(job: str) -> str:
    """Why a command could not tell this id from a file or an option, empty where it could."""
    if "/" in job or "\\" in job:
        return "has a / in it"
    if job.lower().endswith(".toml"):
        return "ends like a file"
    if job.startswith("-") or job != job.strip() or not job:
        return "begins or ends with a blank or a dash"
    if not job.strip("."):
        return "is a folder's name"
    return ""


def _day(typed: object) -> datetime.date | None:
    if typed == "":
        return None
    if type(typed) is datetime.date:  # of TOML's own; a date with a time is none
        return typed
    try:
        if isinstance(typed, str) and (day := datetime.date.fromisoformat(typed)).isoformat() == typed:
            return day  # weeks and dates without dashes are ISO 8601, too, and not asked for
    except ValueError:
        pass
    raise _fault(repr(shown(str(typed))), "a date such as 2027-01-15")


class AboutTable(Table):
    crank: Label = ""
    customer: Label = ""
    due: Annotated[datetime.date | None, PlainValidator(_day)] = None
    who: Label = ""
    notes: Annotated[str, PlainValidator(printable_text(LONGEST_NOTE, empty=True))] = ""


def _freedom(typed: object) -> int:
    """How many second weighings, or degrees of freedom, are behind a scatter."""
    if type(typed) is int and 1 <= typed <= MOST_FREEDOM:
        return typed
    raise _fault(shown(typed), f"a whole number from 1 to {MOST_FREEDOM}")


Freedom = Annotated[int, PlainValidator(_freedom)]


class ScaleTable(Table):
    resolution: AnyMass
    capacity: AnyMass | None = None
    tared: bool = True
    repeatability: MassOrZero | None = None
    repeatability_from: Freedom | None = None
    rod_end_repeatability: MassOrZero | None = None
    rod_end_repeatability_from: Freedom | None = None
    calibration: MassOrZero = 0.0
    calibration_percent: Annotated[float, PlainValidator(number_within(0, 5))] = 0.0


class BobweightTable(Table):
    share: Annotated[float, PlainValidator(number_within(0, 1))] = 0.5
    oil: MassPerThrow = 0.0
    hang: Annotated[Hang, PlainValidator(_hang)] = "mean"
    checked: list[Annotated[str, PlainValidator(one_of("oil"))]] = []


class PadTable(Table):
    at: Position
    most: MassOrZero


class TrimTable(Table):
    piston: MassOrZero | None = None
    pin: MassOrZero | None = None
    big_end_pad: PadTable | None = None
    small_end_pad: PadTable | None = None


AIMS = ("limits", "grams", "bobweight", "reciprocating", "rotating", "residual")
MOVABLE = ("piston", "pin", "locks", "rings", "rod")


def _aims(typed: object) -> tuple[str, ...]:
    names = [one_of(*AIMS)(one) for one in typed] if isinstance(typed, list) else []
    if not names or len(set(names)) < len(names):
        raise _fault(shown(typed), f"each at most once, in order, of: {', '.join(AIMS)}")
    return tuple(names)


class MatchTable(Table):
    aims: Annotated[tuple[str, ...], PlainValidator(_aims)] = (
        "limits",
        "grams",
        "bobweight",
        "reciprocating",
        "residual",
    )
    move: list[Annotated[str, PlainValidator(one_of(*MOVABLE))]] = ["piston", "pin", "rings", "rod"]
    together: list[Annotated[list[PartName], Field(min_length=2)]] = []
    apart: list[Annotated[list[PartName], Field(min_length=2)]] = []
    fixed: list[PartName] = []
    bank: dict[str, list[PartName]] = {}
    offset_pins: bool = False


class StationTable(Table):
    front_plane: Position | None = None
    rear_plane: Position | None = None
    centre_of_mass: Position | None = None
    front_bearing: Position | None = None
    rear_bearing: Position | None = None
    crank_mass: CrankMass | None = None
    grade: Annotated[float | None, PlainValidator(number_within(0.1, 4000))] = None
    limit: Unbalance | None = None
    checked: list[Annotated[str, PlainValidator(one_of("crank_mass", "limit", "grade"))]] = []


class BenchTable(Table):
    port: Label = ""
    baud: Annotated[int, Field(ge=300, le=921_600)] = 9600
    frame: Label = "8N1"
    pattern: Label = ""
    unit: Annotated[str, PlainValidator(_unit_of(MASS))] = "g"
    settle: Annotated[float, PlainValidator(number_within(0.1, 30))] = 0.5
    take: Annotated[str, PlainValidator(one_of("auto", "enter"))] = "auto"
    name: Annotated[str, PlainValidator(printable_text(40))] = "bench"
    reference: AnyMass | None = None
    drift_limit: AnyMass | None = None
    rods: Annotated[str, PlainValidator(one_of("by-end", "by-rod"))] = "by-end"
    rod_total: bool = False
    bell: bool = True


class BenchProfileTable(BenchTable):
    """The [bench] of a bench profile: it remembers its scale, too, from job to job."""

    repeatability: MassOrZero | None = None
    repeatability_from: Freedom | None = None
    rod_end_repeatability: MassOrZero | None = None
    rod_end_repeatability_from: Freedom | None = None
    repeatability_on: Annotated[datetime.date | None, PlainValidator(_day)] = None
    repeatability_of: list[Label] = []


class LabelTable(Table):
    piston: Label = ""
    pin: Label = ""
    rings: Label = ""
    rod: Label = ""


class EstimateTable(Table):
    """A mass that nobody weighed yet: about, by the catalogue or the maker; within: how far the whole box may be
    off that, up or down; scatter: standard deviation from piece to piece."""

    about: AnyMass
    within: MassOrZero
    scatter: MassOrZero = 0.0


# As the tables of readings below; the rod in one go is a check of readings, and nothing to estimate.
_ESTIMATED: Any = {k.name: (EstimateTable | None, None) for k in KINDS if k.motion != "check"}
EstimatesTable: type[Table] = create_model("EstimatesTable", __base__=Table, **_ESTIMATED)


class Parts(Table):
    """Base of the two tables that hold readings; their fields are the rows of KINDS."""

    def readings(self) -> dict[str, Typed]:
        found = {kind.name: getattr(self, kind.name) for kind in KINDS}
        return {name: typed for name, typed in found.items() if typed is not None}


# create_model's overloads do not know a field table built at run time.
_PART_FIELDS: Any = {kind.name: (Readings | None, None) for kind in KINDS}
EveryCylinderTable: type[Parts] = create_model("EveryCylinderTable", __base__=Parts, **_PART_FIELDS)


class NumberedParts(Parts):
    number: Annotated[int, Field(ge=1, le=MOST_CYLINDERS)]
    labels: LabelTable = LabelTable()


CylinderTable: type[NumberedParts] = create_model("CylinderTable", __base__=NumberedParts, **_PART_FIELDS)
_LIMIT_FIELDS: Any = dict.fromkeys((*SUMS, "bobweight", "closure"), (AnyMass | None, None))
LimitsTable: type[Table] = create_model("LimitsTable", __base__=Table, **_LIMIT_FIELDS)
