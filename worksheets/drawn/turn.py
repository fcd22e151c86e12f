"""What shakes over one turn of the crank: the force, or the couple, vertical and horizontal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from truethrow.worksheets.drawn.field import HIGH_MM, LEGEND_MM, WIDE_MM, Field, field
from truethrow.worksheets.drawn.lettering import SMALL
from truethrow.worksheets.drawn.pen import LINE, THICK, Drawing

if TYPE_CHECKING:
    from collections.abc import Sequence

_ROOM = 1.08  # beyond the largest
_POINTS = 180
_ANGLES = [(part / 4, f"{90 * part}°" if part % 2 == 0 else "") for part in range(5)]


def over_a_turn(name: str, unit: str, vectors: Sequence[complex], most: float) -> str:
    """The vertical and the horizontal part over the crank's angle. vectors: in the unit, over one turn, vertical +
    i·horizontal; most: the largest amount, 0 where nothing shakes."""
    drawing = Drawing(WIDE_MM, HIGH_MM)
    reach = _ROOM * (most or 1.0)
    found = field(drawing, f"{name} [{unit}]", -reach, reach, _ANGLES)
    if not most:
        return str(drawing)
    every = max(1, len(vectors) // _POINTS)
    turn = [*vectors[::every], vectors[0]]
    _curve(drawing, found, [one.real for one in turn], f"{name}-vertical", "")
    _curve(drawing, found, [one.imag for one in turn], f"{name}-horizontal", "dash")
    for x, part, dashed in ((1.0, "vertical", ""), (27.0, "horizontal", "dash")):
        drawing.line((x, LEGEND_MM), (x + 6.0, LEGEND_MM), _weight(dashed), dashed)
        drawing.text((x + 7.0, LEGEND_MM), part, SMALL, "start")
    return str(drawing)


def _curve(drawing: Drawing, found: Field, values: Sequence[float], part: str, dashed: str) -> None:
    last = len(values) - 1
    curve = [(found.x(at / last), found.y(float(value))) for at, value in enumerate(values)]
    drawing.polyline(curve, _weight(dashed), dashed, part=part)


def _weight(dashed: str) -> float:
    return LINE + 0.2 if dashed else THICK
