"""A rod as it is weighed: one end on the scale, the other hanging level on a support."""

from __future__ import annotations

from typing import Literal

from truethrow.worksheets.drawn.lettering import LARGE, TEXT
from truethrow.worksheets.drawn.pen import LINE, METAL, PAPER, THICK, THIN, Drawing
from truethrow.worksheets.drawn.placing import Box
from truethrow.worksheets.drawn.rod import metal

WIDE_MM, HIGH_MM = 110.0, 62.0
_BIG_MM, _LONG_MM, _Y_MM = 30.0, 56.0, 26.0
_FLOOR_MM, _SCALE_HALF_MM = 56.0, 15.0


def on_the_scale(end: Literal["big_end", "small_end"], reads: str) -> str:
    """end: the one that is on the scale; reads: what the scale then shows, with its unit."""
    drawing = Drawing(WIDE_MM, HIGH_MM)
    big, small = _BIG_MM, _BIG_MM + _LONG_MM
    on, off = (big, small) if end == "big_end" else (small, big)
    drawing.line((2, _FLOOR_MM), (WIDE_MM - 2, _FLOOR_MM), THICK)
    # Where each end rests: at the bottom of its bore, on a blade.
    _scale(drawing, on, reads)
    _support(drawing, off)
    metal(drawing, big, small, _LONG_MM, [], y=_Y_MM)
    for x, name in ((big, "big end"), (small, "small end")):
        drawing.text((x, 4.4), name, TEXT)
    drawing.line((2, _Y_MM), (WIDE_MM - 2, _Y_MM), THIN, dashed="axis")
    drawing.text((WIDE_MM - 9, _Y_MM - 3.0), "level", TEXT)
    return str(drawing)


def _scale(drawing: Drawing, x: float, reads: str) -> None:
    drawing.rectangle(Box(x - _SCALE_HALF_MM, 44.0, x + _SCALE_HALF_MM, _FLOOR_MM), LINE, PAPER, part="scale")
    drawing.text((x, 50.2), reads, LARGE, bold=True)
    drawing.rectangle(Box(x - 0.6 * _SCALE_HALF_MM, 42.6, x + 0.6 * _SCALE_HALF_MM, 44.0), LINE, METAL)
    drawing.line((x, 42.6), (x, _Y_MM), THICK)


def _support(drawing: Drawing, x: float) -> None:
    drawing.polygon([(x - 6, _FLOOR_MM), (x + 6, _FLOOR_MM), (x, _Y_MM)], LINE, METAL)
    drawing.text((x, _FLOOR_MM + 3.6), "support", TEXT)
