"""Lengths of what must clear that hardly belong to the engine: a point in the wrong place or inches typed as
millimetres would be told as a clearance that nobody has. Each is a doubt, told before any distance, and holds
nothing up.

How far each may go is common practice, no source, and wide: a length ten times as long or as short is outside.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

from truethrow.balance.crank.crank import Crank
from truethrow.balance.engine.engine import Engine

if TYPE_CHECKING:
    from truethrow.balance.engine.declared import ClearanceTable

# What the builder wants to see left. [mm]
LEAST_MM = (0.2, 10.0)
# Of the piston, in bores, or in strokes where no bore is declared; a skirt is no wider than its bore.
SKIRT_BELOW_PIN, SKIRT_WIDE = (0.08, 1.2), (0.25, 1.0)
# In strokes: a rod's point, from the middle of its big end, and as large as it is.
ROD_POINT, ROD_POINT_RADIUS = (0.12, 1.5), (0.02, 0.4)
# In strokes, from the crank's axis: the middle of what is round, as large as it is, and what is straight.
CIRCLE, CIRCLE_RADIUS, LINE = (0.3, 6.0), (0.04, 1.2), (0.3, 5.0)
# In strokes: the rim of a counterweight.
RIM = (0.45, 2.0)


class Odd(NamedTuple):
    """A length that hardly belongs to the engine, and from where to where it usually is; beside: bore or stroke,
    with its length, empty where it is none of these. [mm]"""

    name: str
    length_mm: float
    least_mm: float
    most_mm: float
    beside: str = ""
    beside_mm: float = 0.0

    @property
    def holds(self) -> bool:
        return self.least_mm <= self.length_mm <= self.most_mm


def doubts(engine: Engine, crank: Crank | None, table: ClearanceTable) -> tuple[Odd, ...]:
    """The lengths that are outside of what is usual, in the order of the document; of what goes by the stroke
    nothing, where none is declared, nor of those that were looked at again. [mm]"""
    return tuple(one for one in _ranges(engine, crank, table) if not one.holds and one.name not in table.checked)


def _ranges(engine: Engine, crank: Crank | None, table: ClearanceTable) -> Iterator[Odd]:
    stroke_mm = engine.declared_stroke_mm
    if table.least is not None:
        yield Odd("least", table.least, *LEAST_MM)
    size_mm = engine.bore_mm or stroke_mm
    if size_mm is not None:
        beside = "bore" if engine.bore_mm else "stroke"
        for name, length_mm, bounds in (
            ("skirt_below_pin", table.skirt_below_pin, SKIRT_BELOW_PIN),
            ("skirt_width", table.skirt_width, SKIRT_WIDE),
            ("skirt_along", table.skirt_along, SKIRT_WIDE),
        ):
            if length_mm is not None:
                yield _in(size_mm, name, length_mm, bounds, beside)
    if stroke_mm is None:
        return
    beside = "stroke"
    for point in table.rod:
        yield _in(stroke_mm, f"{point.name}, distance", point.distance, ROD_POINT, beside)
        yield _in(stroke_mm, f"{point.name}, radius", point.radius, ROD_POINT_RADIUS, beside)
    for circle in table.circle:
        yield _in(stroke_mm, f"{circle.name}, distance", circle.distance, CIRCLE, beside)
        yield _in(stroke_mm, f"{circle.name}, radius", circle.radius, CIRCLE_RADIUS, beside)
    for line in table.line:
        yield _in(stroke_mm, f"{line.name}, distance", line.distance, LINE, beside)
    for member in crank.members if crank else ():
        if not member.external:
            yield _in(stroke_mm, f"counterweight {member.name}, outer_radius", member.outer_mm, RIM, beside)


def _in(of_mm: float, name: str, length_mm: float, bounds: tuple[float, float], beside: str) -> Odd:
    return Odd(name, length_mm, bounds[0] * of_mm, bounds[1] * of_mm, beside, of_mm)
