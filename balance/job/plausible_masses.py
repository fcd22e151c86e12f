"""Figures of a job that hardly belong to the parts that were weighed: the crank's mass, the tolerance, the oil;
and kinds of part that hardly belong to each other, as where two columns of a sheet are swapped.

Each would end in a crank that is signed and should not be, or in the wrong part ground. How far each may go is
common practice, no source, and wide (engine/plausible.py).
"""

from __future__ import annotations

import statistics
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from truethrow.balance.base.amounts import METRIC, ToldIn, factor
from truethrow.balance.base.digits import digits
from truethrow.balance.base.errors import Fault
from truethrow.balance.base.parts import ENDS, label
from truethrow.balance.base.units import MASS
from truethrow.balance.engine.plausible import Range

if TYPE_CHECKING:
    from truethrow.balance.base.readings import Reading
    from truethrow.balance.engine.declared import EngineTable
    from truethrow.balance.engine.engine import Engine
    from truethrow.balance.job import document as doc

# What is weighed of one cylinder, in grams a cubic millimetre of a cube of the stroke: a V8's parts are at 0.002,
# and those of another size go with the cube.
PARTS_G_A_MM3 = (0.000_2, 0.02)
# The crank's mass, in masses of all that was weighed; with one or two cylinders its flywheels may be part of it.
CRANK_IN_PARTS = (0.2, 10.0)
CRANK_OF_FEW_IN_PARTS = (0.2, 40.0)
FEW = 2
# The tolerance of a plane and the oil of a throw, in what the parts of one throw have.
MOST_TOLERANCE = 0.02
MOST_OIL = 0.05
# ISO 21940-11:2016, Table 1, has cranks of engines that are balanced in themselves at G 16 to G 40 (from memory);
# what is higher is of whole engines.
MOST_GRADE_MM_S = 100.0
# What a kind may weigh, in parts of another kind: common practice, no source, and wide. The first that does not
# hold is told: where two kinds are swapped, most of them do not.
BESIDE = {
    ("pin", "piston"): (0.08, 0.7),
    ("locks", "pin"): (0.003, 0.25),
    ("rings", "piston"): (0.02, 0.3),
    ("bearings", "big_end"): (0.02, 0.5),
    ("big_end", "piston"): (0.45, 4.0),
    ("small_end", "piston"): (0.1, 1.2),
    ("small_end", "big_end"): (0.1, 1.0),
    ("big_end", "small_end"): (1.0, 10.0),
    ("rod_total", "big_end"): (1.05, 2.5),
}
# A piston, in grams a cubic centimetre of a cube of the bore: common practice, no source.
PISTON_G_A_CM3 = (0.15, 3.0)


def strange(
    made: Engine,
    parts: Mapping[int, Mapping[str, Reading]],
    engine: EngineTable,
    bobweight: doc.BobweightTable,
    station: doc.StationTable,
    told_in: ToldIn = METRIC,
) -> list[Fault]:
    """What hardly belongs to the parts that were weighed, or, where none was, to the bobweights that were given;
    but for what was looked at again. told_in: the units of the document."""
    weighed_g = {number: sum(one.mean_g for one in own.values()) for number, own in parts.items()}
    what = "parts"
    if not any(weighed_g.values()):
        weighed_g, what = _given(made, bobweight), "bobweights"
    if not all(weighed_g.values()):  # without a part there is nothing to hold it against
        return []
    throws_g = [sum(weighed_g[n] for n in made.layout.cylinders_on(throw)) for throw in made.layout.throws]
    found = {
        "engine": (engine.checked, _engine(made, weighed_g, what, told_in)),
        "bobweight": (bobweight.checked, _bobweight(bobweight, max(throws_g), what, told_in)),
        "station": (
            station.checked,
            _station(made, station, (sum(weighed_g.values()), max(throws_g)), what, told_in),
        ),
    }
    beside_each = [] if "parts" in engine.checked else beside(parts, told_in)
    return beside_each + [
        one.fault(table, told_in=told_in)
        for table, (checked, ranges) in found.items()
        for one in ranges
        if not one.holds and one.name not in checked
    ]


def _given(made: Engine, bobweight: doc.BobweightTable) -> dict[int, float]:
    """What each cylinder adds to a given bobweight; nothing where none is."""
    hang = bobweight.hang
    if isinstance(hang, str):
        return dict.fromkeys(made.layout.cylinders, 0.0)
    throws = made.layout.throws
    each_g = hang if isinstance(hang, tuple) else (hang,) * len(throws)
    on = [made.layout.cylinders_on(throw) for throw in throws]
    return {number: g / len(own) for own, g in zip(on, each_g, strict=True) for number in own}


def beside(parts: Mapping[int, Mapping[str, Reading]], told_in: ToldIn = METRIC) -> list[Fault]:
    """The first kind of part that hardly fits another one in any cylinder; told by the middle ones of both."""
    typical_g = {
        kind: statistics.median(own[kind].mean_g for own in parts.values() if kind in own)
        for kind in {kind for own in parts.values() for kind in own}
    }
    if typical_g.get("big_end", 1.0) <= typical_g.get("small_end", 0.0):  # told as a slip: swapped ends
        typical_g = {kind: grams for kind, grams in typical_g.items() if kind not in ENDS}
    for (kind, other), (least, most) in BESIDE.items():
        if not typical_g.keys() >= {kind, other}:
            continue
        other_g = typical_g[other]
        told = f"the {label(other)} of {told_in.weighed(other_g)}"
        one = Range(kind, typical_g[kind], least * other_g, most * other_g, "g", told)
        pairs = [(own[kind].mean_g, own[other].mean_g) for own in parts.values() if own.keys() >= {kind, other}]
        # Where one cylinder's parts fit, the others are slips, which are told as that.
        if not one.holds and not any(least * b_g <= a_g <= most * b_g for a_g, b_g in pairs):
            return [one.fault("engine", f"every cylinder, {label(kind)}", "parts", told_in)]
    return []


def _engine(made: Engine, weighed_g: Mapping[int, float], what: str, told_in: ToldIn) -> Iterator[Range]:
    if made.declared_stroke_mm is None:
        return
    mean_g = sum(weighed_g.values()) / len(weighed_g)
    least, most = ((mean_g / density) ** (1 / 3) for density in reversed(PARTS_G_A_MM3))
    yield Range("stroke", made.stroke_mm, least, most, "mm", f"{what} of {told_in.about(mean_g)} a cylinder")


def _bobweight(table: doc.BobweightTable, throw_g: float, what: str, told_in: ToldIn) -> Iterator[Range]:
    oil_g = max(table.oil) if isinstance(table.oil, list) else table.oil
    yield Range("oil", oil_g, 0.0, MOST_OIL * throw_g, "g", f"{what} of {told_in.about(throw_g)} a throw")


def _station(
    made: Engine, table: doc.StationTable, weighed_g: tuple[float, float], what: str, told_in: ToldIn
) -> Iterator[Range]:
    """weighed_g: all parts, and those of the heaviest throw."""
    parts_g, throw_g = weighed_g
    if table.crank_mass is not None:
        bounds = CRANK_OF_FEW_IN_PARTS if len(made.layout.cylinders) <= FEW else CRANK_IN_PARTS
        least, most = (bound * parts_g / 1000 for bound in bounds)
        yield Range(
            "crank_mass", table.crank_mass / 1000, least, most, "kg", f"{what} of {_heavy(parts_g, told_in)}"
        )
    if table.limit is not None and made.declared_stroke_mm is not None:
        most = MOST_TOLERANCE * throw_g * made.throw_radius_mm
        told = f"{what} of {told_in.about(throw_g)} on a throw of {told_in.size(made.throw_radius_mm)}"
        yield Range("limit", table.limit, 0.0, most, "g·mm", told)
    if table.grade is not None:
        yield Range("grade", table.grade, 0.0, MOST_GRADE_MM_S, "mm/s", "the grades of cranks, G 16 to G 40")


def _heavy(grams: float, told_in: ToldIn) -> str:
    """What is weighed on a scale for cranks."""
    unit = "lb" if told_in.mass in ("oz", "lb") else "kg"
    return f"{digits(grams / factor(unit, MASS), 3)} {unit}"
