"""The field that a curve is drawn in: its title above, lines at round amounts, and where an amount lies."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from truethrow.balance.base.readings import decimals
from truethrow.worksheets.drawn.lettering import SMALL
from truethrow.worksheets.drawn.pen import LINE, THIN, Drawing
from truethrow.worksheets.drawn.placing import Box, nice_step

WIDE_MM, HIGH_MM = 57.0, 37.6  # of the drawing: three beside each other
FIELD = Box(16.0, 8.2, 52.0, 24.0)  # its topmost figure clear of the title
LEGEND_MM = FIELD.bottom + 7.6  # the first line of the legend, from the top
_STEPS = 5  # lines across the field, about


class Field(NamedTuple):
    """From an amount to a height on the drawing. low, high: the amounts at its lower and upper edge."""

    low: float
    high: float

    def y(self, amount: float) -> float:
        return FIELD.bottom - (amount - self.low) / (self.high - self.low) * (FIELD.bottom - FIELD.top)

    @staticmethod
    def x(part: float) -> float:
        """part: of the way across, 0 to 1."""
        return FIELD.left + part * (FIELD.right - FIELD.left)


def field(drawing: Drawing, title: str, low: float, high: float, below: Sequence[tuple[float, str]]) -> Field:
    """An empty field. low, high: the amounts that it reaches from and to; below: what stands under it, each with
    the part of the way across."""
    made = Field(low, high)
    drawing.text((1.0, 3.5), title, SMALL, "start", bold=True)
    step = nice_step(high - low, _STEPS)
    for number in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1):
        y = made.y(number * step)
        drawing.line((FIELD.left, y), (FIELD.right, y), LINE if number == 0 else THIN)
        said = f"{number * step:.{decimals(step)}f}".replace("-", "−")
        drawing.text((FIELD.left - 1.0, y), said, SMALL, "end", scale=True)
    for part, said in below:
        x = made.x(part)
        drawing.line((x, FIELD.top), (x, FIELD.bottom), THIN)
        drawing.text((x, FIELD.bottom + 3.5), said, SMALL, scale=True)
    return made
