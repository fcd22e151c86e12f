"""A piston or a pin in section: that metal comes off it, and how much in all.

The job does not say where on a piston its maker allows metal to be taken, so the hatching shows the usual place,
the inside below the bosses (common practice, no source), and the card says that the maker's word comes first.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from truethrow.balance.base.parts import label
from truethrow.worksheets.drawn.lettering import HUGE, LARGE, SMALL, TEXT, wide_mm
from truethrow.worksheets.drawn.pen import LINE, METAL, PAPER, THICK, THIN, Drawing
from truethrow.worksheets.drawn.placing import Box, Point

if TYPE_CHECKING:
    from collections.abc import Sequence

    from truethrow.balance.job.job import Job
    from truethrow.balance.result.trim import PartTrim
    from truethrow.worksheets.shown.display import Display

WIDE_MM, HIGH_MM = 80.0, 47.0
_BORE_MM = 30.0  # as drawn
_LEFT_MM, _TOP_MM = 4.0, 4.0
_TEXT_MM, _GRAMS_MM = 45.0, 24.5

# Where metal comes off, and how high the bar stands that its arrows come from.
_Cuts = tuple[list[Point], float]


def piston(job: Job, part: PartTrim, show: Display) -> str:
    """The piston or the pin of a trim: outline, the place of the cut, the grams, what it should then weigh."""
    del job  # drawn as any piston: what a job knows of one is its bore, which scales everything alike
    drawing = Drawing(WIDE_MM, HIGH_MM)
    cuts, bar_mm = _pin(drawing) if part.part == "pin" else _piston(drawing)
    grams = math.fsum(cut.grams for cut in part.cuts)
    said = f"−{show.masses(grams)}"
    size = HUGE if wide_mm(said, HUGE) <= WIDE_MM - _TEXT_MM else LARGE
    for row, words in enumerate(("only where", "its maker allows")):
        drawing.text((_TEXT_MM - 5, 5.0 + 5 * row), words, SMALL, "start")
    # Of both sides together: nobody is to take it twice.
    drawing.text((_TEXT_MM, _GRAMS_MM - 6.8), "in all", TEXT, "start")
    drawing.text((_TEXT_MM, _GRAMS_MM), said, size, "start", bold=True)
    for row, (kind, expected) in enumerate(part.expected_g.items()):
        then = f"then {show.masses(expected)}"
        then = then if kind == part.part else f"{then} {label(kind)}"
        drawing.text((_TEXT_MM - 5, _GRAMS_MM + 9.5 + 6 * row), then, TEXT, "start")
    beside = _LEFT_MM + _BORE_MM + 3.5
    far = min(x for x, _ in cuts)
    drawing.polyline([(_TEXT_MM - 1.0, _GRAMS_MM), (beside, _GRAMS_MM), (beside, bar_mm), (far, bar_mm)], THICK)
    for x, y in cuts:
        drawing.arrow((x, bar_mm), (x, y), THICK, part="arrow")
    return str(drawing)


def _piston(drawing: Drawing) -> _Cuts:
    """A piston cut along its pin; the inner edge of the skirt below the bosses is where metal comes off."""
    left, right, top = _LEFT_MM, _LEFT_MM + _BORE_MM, _TOP_MM
    wall, crown, skirt, boss = 3.0, 6.0, 36.0, 9.0
    bottom = top + skirt
    outline: Sequence[Point] = (
        (left, top),
        (right, top),
        (right, bottom),
        (right - wall, bottom),
        (right - wall, top + 28),
        (right - boss, top + 28),
        (right - boss, top + crown + 4),
        (right - boss - 3, top + crown),
        (left + boss + 3, top + crown),
        (left + boss, top + crown + 4),
        (left + boss, top + 28),
        (left + wall, top + 28),
        (left + wall, bottom),
        (left, bottom),
    )
    drawing.polygon(outline, LINE, METAL)
    for y in (3.0, 6.5, 10.0):
        for edge, inward in ((left, 2.0), (right, -2.0)):
            drawing.rectangle(
                Box(min(edge, edge + inward), top + y, max(edge, edge + inward), top + y + 1.4), 0, PAPER
            )
            drawing.line((edge + inward, top + y), (edge + inward, top + y + 1.4), LINE)
            drawing.line((edge, top + y), (edge + inward, top + y), THIN)
            drawing.line((edge, top + y + 1.4), (edge + inward, top + y + 1.4), THIN)
    pin = top + 19
    for box in (Box(left, pin - 4, left + boss, pin + 4), Box(right - boss, pin - 4, right, pin + 4)):
        drawing.rectangle(box, LINE, PAPER)
    drawing.line((left - 2, pin), (right + 2, pin), THIN, "axis")
    for edge in (left + wall, right - boss):
        box = Box(edge, top + 24.5, edge + boss - wall, top + 28)
        _hatched(drawing, box)
    middle = (boss + wall) / 2
    return [(left + middle, top + 28.5), (right - middle, top + 28.5)], bottom + 3.0


def _pin(drawing: Drawing) -> _Cuts:
    """A pin cut along its axis: metal comes off inside its bore's ends."""
    left, right, middle = _LEFT_MM, _LEFT_MM + _BORE_MM, 26.0
    drawing.rectangle(Box(left, middle - 9, right, middle + 9), LINE, METAL)
    drawing.rectangle(Box(left, middle - 5, right, middle + 5), LINE, PAPER)
    drawing.line((left - 2, middle), (right + 2, middle), THIN, "axis")
    for x in (left, right - 6):
        for y in (middle - 7, middle + 5):
            _hatched(drawing, Box(x, y, x + 6, y + 2))
    return [(left + 3.0, middle - 7.5), (right - 3.0, middle - 7.5)], middle - 13.0


def _hatched(drawing: Drawing, box: Box) -> None:
    drawing.rectangle(box, THICK, PAPER, part="cut")
    drawing.hatch(box.corners)
