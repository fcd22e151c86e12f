"""A job file as it stands: its tables, the units of its bare numbers, and its engine alone.

For whoever needs a part of a job while the rest of it is still blank or wrong.
"""

from __future__ import annotations

import contextlib
import math
import tomllib
from collections.abc import Iterable, Mapping
from decimal import Decimal, InvalidOperation
from typing import Any

from truethrow.balance.base import fields, units
from truethrow.balance.base.amounts import ToldIn
from truethrow.balance.base.errors import BadInput, Fault
from truethrow.balance.base.fields import Units
from truethrow.balance.base.parts import BY_NAME
from truethrow.balance.base.readings import Scale
from truethrow.balance.base.units import LENGTH, MASS, NotAQuantity, unit_of
from truethrow.balance.engine import declared, engine
from truethrow.balance.job import document as doc
from truethrow.balance.log.place import Place, has_log, open_log, source_of, text_of
from truethrow.balance.log.replaying import typed_in

TABLES = (
    "job",
    "about",
    "engine",
    "scale",
    "bench",
    "bobweight",
    "limits",
    "trim",
    "match",
    "station",
    "crank",
    "clearance",
    "estimate",
    "every_cylinder",
    "cylinder",
)


# A job of 99 cylinders, every part of it weighed twenty times, is a third of this.
LONGEST_TEXT = 300_000
# A key of so many names, each in the one before, takes the longer to read the more there are, by their square.
MOST_DOTS_A_LINE = 200
# Tables in tables: what the shop writes has five. What writes into a job's text (tomlkit) takes no more than 100.
MOST_LEVELS = 20


def parse_toml(text: str, source: str) -> dict[str, Any]:
    """The document's tables, every number exact. Raises BadInput."""
    if len(text) > LONGEST_TEXT:
        wrong = f"{len(text)} characters is no job file"
        raise BadInput([Fault("", wrong, f"{LONGEST_TEXT} characters")], source)
    for number, line in enumerate(text.split("\n"), start=1):
        if line.count(".") > MOST_DOTS_A_LINE:
            wrong = f"{line.count('.')} points in one line"
            raise BadInput([Fault(f"line {number}", wrong, f"at most {MOST_DOTS_A_LINE}")], source)
    try:
        found = tomllib.loads(text, parse_float=_exact)
        is_too_deep = _is_deeper(found, MOST_LEVELS)
    except RecursionError:
        is_too_deep = True
    except ValueError as error:
        raise BadInput([Fault("", f"not TOML: {str(error).lower()}")], source) from None
    if is_too_deep:
        raise BadInput(
            [Fault("", "nested too deep", f"a job file in TOML, of at most {MOST_LEVELS} levels")], source
        )
    return found


def _is_deeper(value: object, levels: int) -> bool:
    """Whether a table, or a list, has more tables and lists in one another than so many."""
    if not isinstance(value, dict | list):
        return False
    inner = value.values() if isinstance(value, dict) else value
    return levels == 0 or any(_is_deeper(one, levels - 1) for one in inner)


def _exact(number: str) -> Decimal:
    try:
        return Decimal(number)
    except InvalidOperation:  # an exponent beyond what Decimal itself can hold; no field takes an infinity
        return Decimal("inf")


def bare_units(raw: Mapping[str, Any]) -> Units:
    """The unit of a bare number, needed before the tables are checked; a wrong one is a fault of [job]."""
    head = raw.get("job")
    head = head if isinstance(head, dict) else {}

    def unit(key: str, dimension: units.Dimension) -> str:
        named = head.get(key, dimension.inside)
        try:
            units.factor(named, dimension) if isinstance(named, str) else None
        except NotAQuantity:
            return dimension.inside
        return named if isinstance(named, str) else dimension.inside

    return Units(unit("mass_unit", MASS), unit("length_unit", LENGTH))


def scale_unit_of(place: Place) -> str:
    """The unit that the scale of a job shows. Raises BadInput for a file, or a log, that cannot be read."""
    raw = parse_toml(text_of(place), source_of(place))
    return scale_unit(raw, fields.table_in(raw, "bench", doc.BenchTable, bare_units(raw), []), typed_at(place))


def told_in_at(place: Place) -> ToldIn:
    """The units of what is said of a job, whatever else is wrong with its file."""
    raw: dict[str, Any] = {}
    with contextlib.suppress(BadInput):
        raw = parse_toml(text_of(place), source_of(place))
    bench, bare = fields.table_in(raw, "bench", doc.BenchTable, bare_units(raw), []), bare_units(raw)
    return ToldIn(scale_unit(raw, bench, typed_at(place)), bare.mass, bare.length)


def typed_at(place: Place) -> tuple[str, ...]:
    """The readings in the log of a job that nobody canceled, as they came. Raises BadInput."""
    return typed_in(open_log(place, damaged=True).records) if has_log(place) else ()


def scale_unit(raw: Mapping[str, Any], bench: doc.BenchTable | None, typed: Iterable[str] = ()) -> str:
    """The unit that the scale of a job shows: in it a hand is told what the scale is to read, whatever unit
    somebody asked for.

    bench: what is said of the scale; typed: readings that are not in the job file. Where no bench says it, it is
    the unit that every reading was taken in, else the one that the scale's step is told in, else the job's."""
    if bench is not None and (bench.port or "unit" in bench.model_fields_set):
        return bench.unit
    bare = bare_units(raw).mass
    read_in = {unit_of(one, MASS) or bare for one in (*_readings_in(raw), *typed)}
    if len(read_in) == 1:
        return read_in.pop()
    scale = raw.get("scale")
    return unit_of(scale.get("resolution"), MASS) or bare if isinstance(scale, dict) else bare


def _readings_in(raw: Mapping[str, Any]) -> Iterable[object]:
    """The readings of a job file, as they are written."""
    cylinders = raw.get("cylinder")
    for table in (*(cylinders if isinstance(cylinders, list) else ()), raw.get("every_cylinder")):
        for kind, written in table.items() if isinstance(table, dict) else ():
            if kind in BY_NAME:
                yield from (one for one in (written if isinstance(written, list) else [written]) if one != "")


def reach(bare: Units, scale: doc.ScaleTable | None) -> Units:
    """The same units with what the scale can read, where its table is sound."""
    if scale is None:
        return bare
    return Units(bare.mass, bare.length, scale.resolution, scale.capacity or fields.HEAVIEST_G)


def load_engine(place: Place) -> engine.Engine:
    """The engine alone of a job, whose readings may still be blank. Raises BadInput."""
    source = source_of(place)
    raw = parse_toml(text_of(place), source)
    faults: list[Fault] = []
    table = fields.validate(declared.EngineTable, raw.get("engine", {}), "engine", bare_units(raw), faults)
    made = engine.build(table, faults) if table else None
    if made is None:
        raise BadInput(faults, source)
    return made


def layout_alone(raw: object, faults: list[Fault]) -> engine.Engine | None:
    """The cylinders of an engine whose table has other faults, so that what is wrong with its layout, and
    missing readings, are told with them."""
    if not isinstance(raw, dict):
        return None
    named = (
        "layout",
        "numbering",
        "first_bank",
        "throw_angles",
        "throw_positions",
        "banks",
        "cylinders",
        "without",
    )
    bare = {key: raw[key] for key in named if key in raw}
    own: list[Fault] = []
    table = fields.validate(declared.EngineTable, bare, "engine", Units(), [])
    made = engine.build(table, own) if table else None
    faults += [fault for fault in own if fault not in faults]
    return made


def scale_of(table: doc.ScaleTable) -> Scale:
    return Scale(
        table.resolution,
        table.tared,
        table.repeatability,
        table.calibration,
        table.repeatability_from or math.inf,
        table.rod_end_repeatability,
        table.rod_end_repeatability_from or math.inf,
        table.calibration_percent / 100,
    )


def limits_of(table: doc.LimitsTable) -> dict[str, float]:
    """The spreads allowed [g], by what they are of: those that the job sets."""
    return {name: value for name, value in table.model_dump().items() if value is not None}
