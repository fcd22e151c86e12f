"""What shakes over one turn of the crank: the force, and the couple beside it, vertical and horizontal."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from truethrow.balance.base.readings import decimals
from truethrow.worksheets.drawn.lettering import SMALL, TEXT
from truethrow.worksheets.drawn.pen import LINE, THICK, THIN, Drawing
from truethrow.worksheets.drawn.placing import Box, nice_step
from truethrow.worksheets.words.physics_words import NOTHING

if TYPE_CHECKING:
    from truethrow.balance.base.arrays import Complexes
    from truethrow.balance.running.running import Shake

WIDE_MM, HIGH_MM = 170.0, 45.0
_TOP, _BOTTOM, _LEFT, _RIGHT = 7.5, 32.0, 18.0, 80.0
_BETWEEN = WIDE_MM / 2  # from one panel to the next
_ROOM = 1.08  # beyond the largest
_POINTS = 180
_EVERY_DEG = 90


def over_a_turn(shake: Shake) -> str:
    """The force over the crank's angle; the couple beside it, if there is one. In newtons and newton metres."""
    has_couple = shake.couple.amount > NOTHING
    drawing = Drawing(WIDE_MM if has_couple else _BETWEEN, HIGH_MM)
    _panel(drawing, 0.0, "force", "N", shake.curve.force_n, shake.force.amount)
    if has_couple:
        _panel(drawing, _BETWEEN, "couple", "N·m", shake.curve.couple_nm, shake.couple.amount)
    return str(drawing)


def _panel(drawing: Drawing, left: float, name: str, unit: str, vectors: Complexes, most: float) -> None:
    field = Box(left + _LEFT, _TOP, left + _RIGHT, _BOTTOM)
    drawing.text((left + 1.0, 3.5), f"{name} [{unit}] over crank angle", TEXT, "start", bold=True)
    reach = _ROOM * most if most > NOTHING else 1.0
    middle, high = (field.top + field.bottom) / 2, (field.bottom - field.top) / 2 / reach
    step = nice_step(2 * reach, 5)
    for number in range(-math.floor(reach / step + 1e-9), math.floor(reach / step + 1e-9) + 1):
        y = middle - number * step * high
        drawing.line((field.left, y), (field.right, y), LINE if number == 0 else THIN)
        said = f"{number * step:.{decimals(step)}f}".replace("-", "−")
        drawing.text((field.left - 1.0, y), said, SMALL, "end", scale=True)
    for degrees in range(0, 361, _EVERY_DEG):
        x = field.left + (field.right - field.left) * degrees / 360
        drawing.line((x, field.top), (x, field.bottom), THIN)
        drawing.text((x, field.bottom + 3.5), f"{degrees}°", SMALL, scale=True)
    if most <= NOTHING:
        return
    every = max(1, len(vectors) // _POINTS)
    at = [*range(0, len(vectors), every), 0]
    across = (field.right - field.left) / (len(at) - 1)
    parts = (
        ("vertical", "", [vectors[i].real for i in at]),
        ("horizontal", "dash", [vectors[i].imag for i in at]),
    )
    for n, (part, dashed, values) in enumerate(parts):
        curve = [(field.left + i * across, middle - float(value) * high) for i, value in enumerate(values)]
        drawing.polyline(curve, THICK if not dashed else LINE + 0.2, dashed, part=f"{name}-{part}")
        x, y = field.left + 34.0 * n, field.bottom + 9.0
        drawing.line((x, y), (x + 9.0, y), THICK if not dashed else LINE + 0.2, dashed)
        drawing.text((x + 10.5, y), part, SMALL, "start")
