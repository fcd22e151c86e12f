"""The station's profile: what the balancing station shows and what it has, one TOML file of the shop for all jobs.

    [spin]      the instrument: its unit, radius, sense and zero, and how sure it is (what a reading means: an
                edit of these is a new revision of the profile); of one that reads unit = "divisions" only how sure
                it is, floor in divisions, too; its usual speed, and what the display shows with
                throw 1 up
    [stack]     an empty half of a bobweight clamp, and how near a stack has to come
    [[piece]]   plates and shims to stack from
    [[drill]]   the drills, each with the depths that it is used for
    [[slug]]    heavy metal
    [grind]     grinding at the rim
    [before_spin]  what has to be looked over before a crank is spun, once a day for each job or every time

A bare mass is in grams, a bare length in millimetres, whatever the unit of the job.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, NamedTuple

from pydantic import Field, PlainValidator, ValidationInfo

from truethrow.balance.base import fields, files, units
from truethrow.balance.base.amounts import factor, reach
from truethrow.balance.base.digits import digits
from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.base.units import LENGTH, MASS, SPEED, UNBALANCE
from truethrow.balance.crank import drill_sizes
from truethrow.balance.crank.holes import COMMON_POINT_DEG, SHARPEST_POINT_DEG, Drill, Grinder, Slug, Tools
from truethrow.balance.job.jobfile import parse_toml
from truethrow.balance.station.looking_over import EVERY_TIME, ONCE_A_DAY, USUAL, LookingOver
from truethrow.balance.station.spin import DIVISIONS, Instrument
from truethrow.balance.station.stacked import Inventory, Piece

SENSES = ("with", "against")
MOST_PIECES = 999
# Nobody stacks lighter shims, and nobody drills or grinds in finer steps; a plan tries every step.
LIGHTEST_G = 0.001
FINEST_MM = 0.05

# The radius at which a station reads a mass: less, or more, is another unit's. Common practice, no source.
RADIUS_MM = 10.0, 1000.0

MOST_TO_LOOK_AT = 12
LookAt = Annotated[str, PlainValidator(fields.printable_text(80))]
Name = Annotated[str, PlainValidator(fields.printable_text(40))]
Percent = Annotated[float, PlainValidator(fields.number_within(0, 50))]
Degrees = Annotated[float, PlainValidator(fields.number_within(0, 90))]
Floor = Annotated[float, PlainValidator(fields.quantity_within(UNBALANCE, 0, 1e9, zero=True))]
_UNITS = fields.one_of(
    *(*MASS.factors, *UNBALANCE.factors, DIVISIONS),
    told=f"{', '.join(MASS.factors)}; {UNBALANCE.examples}; {DIVISIONS}",
)


class SpinTable(fields.Table):
    unit: Annotated[str, PlainValidator(_UNITS)] = "g"
    radius: fields.Length | None = None
    sense: Annotated[str | None, PlainValidator(fields.one_of(*SENSES))] = None
    zero: fields.Angle | None = None
    amount_uncertainty: Percent
    angle_uncertainty: Degrees
    floor: Floor
    speed: Annotated[float, PlainValidator(fields.quantity_within(SPEED, 1, 10_000))] | None = None
    up: fields.Angle | None = None


class StackTable(fields.Table):
    clamp_half: fields.MassOrZero
    step: fields.AnyMass | None = None
    alike: bool = True


class PieceTable(fields.Table):
    name: Name
    mass: fields.AnyMass
    count: Annotated[int, Field(ge=1, le=MOST_PIECES)]


_length = fields.quantity_within(LENGTH, 0, units.LONGEST_MM)


def _diameter(typed: object, info: ValidationInfo) -> float:
    """By its own name, such as F, #7 or 27/64, or a length."""
    called = drill_sizes.named(typed)
    return called[1] if called else _length(typed, info)


class DrillTable(fields.Table):
    name: fields.Label = ""
    diameter: Annotated[float, PlainValidator(_diameter)]
    point: Annotated[float, PlainValidator(fields.number_within(SHARPEST_POINT_DEG, 180))] = COMMON_POINT_DEG
    step: fields.Length = 0.5
    deepest: fields.Length = 30.0


class SlugTable(fields.Table):
    diameter: fields.Length
    length: fields.Length
    density_class: Annotated[int, Field(ge=1, le=4)] = 1


class GrindTable(fields.Table):
    each_pass: fields.Length
    deepest: fields.Length
    arc: Annotated[float, PlainValidator(fields.number_within(1, 120))] = 20.0


class BeforeSpinTable(fields.Table):
    asked: Annotated[str, PlainValidator(fields.one_of(ONCE_A_DAY, EVERY_TIME))] = ONCE_A_DAY
    look_at: Annotated[list[LookAt], Field(min_length=1, max_length=MOST_TO_LOOK_AT)] | None = None  # the usual


class StationProfile(NamedTuple):
    """A station: its instrument, what it stacks bobweights from (step_g None = the scale's step), its tools;
    speed_rpm: at which it usually spins, up_deg: what its display shows while the crank stands with throw 1 up,
    both None where the profile does not tell; over: what is to be looked over before a spin, None: nothing."""

    source: str
    instrument: Instrument | None
    inventory: Inventory | None
    step_g: float | None
    tools: Tools
    speed_rpm: float | None = None
    up_deg: float | None = None
    over: LookingOver | None = None

    def shows_with_up(self, angle_deg: float) -> float | None:
        """What the display shows while the crank stands with the place at this angle of it up; None where the
        profile does not tell. Its angles count as sense says, from what it shows with throw 1 up."""
        if self.up_deg is None or self.instrument is None:
            return None
        return (self.up_deg + self.instrument.sense * angle_deg) % 360

    def inventory_for(self, scale_step_g: float) -> Inventory:
        """What to stack from, as near as its step or else the scale's."""
        assert self.inventory
        return self.inventory._replace(step_g=self.step_g or scale_step_g)


_ONE: dict[str, type[fields.Table]] = {
    "spin": SpinTable,
    "stack": StackTable,
    "before_spin": BeforeSpinTable,
}
_TOOLS: dict[str, type[fields.Table]] = {"drill": DrillTable, "slug": SlugTable}
_KEYS = (*_ONE, "grind", "piece", *_TOOLS)


def load(path: Path | files.KeptText, needed: tuple[str, ...] = ()) -> StationProfile:
    """Read a station's profile. needed: the tables that it must have. Raises BadInput with every fault."""
    source = str(path)
    raw = parse_toml(files.read_text(path), source)
    faults = [Fault(shown(key), fields.unknown_key(key, list(_KEYS))) for key in raw if key not in _KEYS]
    for name in needed:
        if name not in raw:
            faults.append(
                Fault(name, "missing", f"a table [{name}]" if name in {*_ONE, "grind"} else f"tables [[{name}]]")
            )
    spin = raw.get("spin")
    if isinstance(spin, dict) and spin.get("unit") != DIVISIONS and "sense" not in spin:
        faults.append(Fault("spin, sense", "missing"))
    one: dict[str, Any] = {
        name: fields.validate(model, raw[name], name, fields.Units(), faults)
        for name, model in _ONE.items()
        if name in raw
    }
    pieces_told = _several(raw.get("piece", []), "piece", PieceTable, faults)
    instrument = _instrument(one.get("spin"), spin.get("radius") if isinstance(spin, dict) else None, faults)
    _twice([piece.name for piece in pieces_told], faults)
    for piece, typed in zip(pieces_told, raw["piece"] if pieces_told else [], strict=False):
        _no_less(f"piece {piece.name}, mass", piece.mass, LIGHTEST_G, MASS, _typed(typed, "mass"), faults)
    tools = tools_in(raw, faults)
    if faults:
        raise BadInput(faults, source)
    stack, over = one.get("stack"), one.get("before_spin")
    pieces = tuple(Piece(piece.name, piece.mass, piece.count) for piece in pieces_told)
    return StationProfile(
        source,
        instrument,
        stack and Inventory(stack.clamp_half, stack.step or 0.0, pieces, stack.alike),
        stack and stack.step,
        tools,
        one["spin"].speed if one.get("spin") else None,
        one["spin"].up if one.get("spin") else None,
        over and LookingOver(over.asked, tuple(over.look_at or USUAL)),
    )


def tools_in(raw: Mapping[str, Any], faults: list[Fault]) -> Tools:
    """The drills, slugs and grinder of any document that has such tables, as a profile does; faults are added."""
    drills, slugs = (_several(raw.get(name, []), name, _TOOLS[name], faults) for name in ("drill", "slug"))
    ground = fields.validate(GrindTable, raw["grind"], "grind", fields.Units(), faults) if "grind" in raw else None
    written = raw.get("drill") if drills else []
    assert isinstance(written, list)
    made = []
    for drill, typed in zip(drills, written, strict=False):  # a bad one is a fault, and none of them counts
        name = drill.name or _size(drill, typed)
        _no_less(f"drill {name}, step", drill.step, FINEST_MM, LENGTH, _typed(typed, "step"), faults)
        made.append(Drill(drill.diameter, drill.point, drill.step, drill.deepest, name))
    if ground:
        _no_less("grind, each_pass", ground.each_pass, FINEST_MM, LENGTH, raw["grind"]["each_pass"], faults)
    return Tools(
        tuple(made),
        tuple(Slug(slug.diameter, slug.length, slug.density_class) for slug in slugs),
        Grinder(ground.each_pass, ground.deepest, ground.arc) if ground else None,
    )


def _size(drill: DrillTable, typed: object) -> str:
    """A drill by its size, as the shop has it: ``12 mm``, ``1/2 in``, ``letter F``."""
    said = _typed(typed, "diameter")
    if called := drill_sizes.named(said):
        return called[0]
    return shown(said).strip() if units.unit_of(said, units.LENGTH) else f"{drill.diameter:g} mm"


def _typed(table: object, key: str) -> object:
    """What a table of the file has of a key, as it is written."""
    return table.get(key) if isinstance(table, dict) else None


def _several(raw: object, name: str, model: type[fields.Table], faults: list[Fault]) -> list[Any]:
    """Tables of one name, each checked alone, so that one bad one hides no other."""
    if not isinstance(raw, list):
        faults.append(Fault(name, f"{shown(raw)} is not a list", f"tables [[{name}]]"))
        return []
    checked = [
        fields.validate(model, e, f"{name} {at}", fields.Units(), faults) for at, e in enumerate(raw, start=1)
    ]
    return [table for table in checked if table is not None]


def _instrument(table: SpinTable | None, typed_radius: object, faults: list[Fault]) -> Instrument | None:
    if table is None or table.unit == DIVISIONS or table.sense is None:
        return _uncalibrated(table, faults) if table and table.unit == DIVISIONS else None
    is_mass = table.unit in MASS.factors
    if is_mass and table.radius is None:
        faults.append(Fault("spin, radius", "missing", f"the radius at which the station reads {table.unit}"))
        return None
    if not is_mass and table.radius is not None:
        faults.append(
            Fault("spin, radius", f"can't be combined with the unit {table.unit}", "a radius for a mass only")
        )
        return None
    if table.radius is not None and not RADIUS_MM[0] <= table.radius <= RADIUS_MM[1]:
        if unit := units.unit_of(typed_radius, LENGTH):
            wrong, allowed = f"{shown(typed_radius)} is no radius of a station", reach(LENGTH, *RADIUS_MM, unit)
        else:
            wrong = f"{digits(table.radius)} mm is no radius of a station; are these inches?"
            allowed = f'{RADIUS_MM[0]:g} to {RADIUS_MM[1]:g} mm, or such as "4 in"'
        faults.append(Fault("spin, radius", wrong, allowed))
        return None
    if not (table.amount_uncertainty or table.angle_uncertainty or table.floor):
        wrong = "0, 0 and 0: no station is sure without end"
        allowed = "what its maker or its calibration says, one of the three above 0 at least"
        faults.append(Fault("spin, amount_uncertainty, angle_uncertainty and floor", wrong, allowed))
        return None
    return Instrument(
        unit=table.unit,
        radius_mm=table.radius,
        with_rotation=table.sense == "with",
        zero_deg=table.zero or 0.0,
        amount_part=table.amount_uncertainty / 100,
        angle_deg=table.angle_uncertainty,
        floor_gmm=table.floor,
    )


def _uncalibrated(table: SpinTable, faults: list[Fault]) -> Instrument | None:
    """One that reads divisions: unit, gain, zero and sense are told by trial masses."""
    given = [name for name in ("radius", "sense", "zero", "up") if getattr(table, name) is not None]
    for name in given:
        faults.append(Fault(f"spin, {name}", "can't be combined with divisions", "none: trial masses tell it"))
    if given:
        return None
    part, degrees, floor = table.amount_uncertainty / 100, table.angle_uncertainty, table.floor
    return Instrument(DIVISIONS, None, True, 0.0, part, degrees, floor)


def _no_less(
    where: str, value: float, least: float, dimension: units.Dimension, typed: object, faults: list[Fault]
) -> None:
    """typed: the value as it is written, in whose unit the fault is."""
    if value < least:
        unit = units.unit_of(typed, dimension) or dimension.inside
        told = (f"{digits(one / factor(unit, dimension), 4)} {unit}" for one in (value, least))
        faults.append(Fault(where, next(told), f"no less than {next(told)}"))


def _twice(names: list[str], faults: list[Fault]) -> None:
    for name in sorted({name for name in names if names.count(name) > 1}):
        faults.append(Fault(f"piece {name}", "is there twice", "one table a piece, with its count"))
