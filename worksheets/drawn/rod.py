"""One rod, lying, the big end at the left: what to take at which pad.

The centres and the pads are true to scale along the rod; the ends and the beam are drawn as any rod's.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from truethrow.balance.base.readings import tidy
from truethrow.worksheets.drawn.lettering import HUGE, LARGE, TEXT, wide_mm
from truethrow.worksheets.drawn.pen import LINE, METAL, PAPER, THICK, THIN, Drawing
from truethrow.worksheets.drawn.placing import Box, apart

if TYPE_CHECKING:
    from truethrow.balance.job.job import Job
    from truethrow.balance.result.trim import PartTrim
    from truethrow.worksheets.shown.display import Display

WIDE_MM, HIGH_MM = 80.0, 49.0
_MARGIN_MM, _MIDDLE_MM = 3.0, 27.0
# As parts of the centre distance.
_BIG, _BIG_BORE, _SMALL, _SMALL_BORE, _PAD, _PAD_HALF = 0.28, 0.19, 0.14, 0.075, 0.07, 0.10
# An end stands out as far as the ends of any rod.
_LEFT, _RIGHT = -0.36, 1.22


def rod(job: Job, part: PartTrim, show: Display) -> str:
    """The rod of a trim: its pads, the grams to take at each, and what its ends should then read."""
    length = job.engine.rod_length_mm
    pads = {pad.kind: pad.at_mm for pad in job.pads if pad.at_mm is not None}
    cuts = [(cut.pad.at_mm, cut.grams) for cut in part.cuts if cut.pad.at_mm is not None]
    low = min(_LEFT * length, *(at - _PAD * length for at in pads.values())) if pads else _LEFT * length
    high = max(_RIGHT * length, *(at + _PAD * length for at in pads.values())) if pads else _RIGHT * length
    scale = (WIDE_MM - 2 * _MARGIN_MM) / (high - low)

    def x(at_mm: float) -> float:
        return _MARGIN_MM + (at_mm - low) * scale

    drawing, unit = Drawing(WIDE_MM, HIGH_MM), length * scale
    metal(drawing, x(0), x(length), unit, [(x(at), x(0 if at < length / 2 else length)) for at in pads.values()])
    cut_at = {at for at, _ in cuts}
    for at in pads.values():
        box = _pad(x(at), unit)
        drawing.rectangle(box, THICK if at in cut_at else THIN, PAPER, part="pad")
        if at in cut_at:
            drawing.hatch(box.corners)
    _grams(drawing, [(x(at), grams) for at, grams in cuts], unit, show)
    _afterwards(drawing, x(0), x(length), part, show)
    return str(drawing)


def _pad(x: float, unit: float) -> Box:
    half, tall = _PAD / 2 * unit, _PAD_HALF * unit
    return Box(x - half, _MIDDLE_MM - tall, x + half, _MIDDLE_MM + tall)


def metal(
    drawing: Drawing,
    big: float,
    small: float,
    unit: float,
    bosses: list[tuple[float, float]],
    y: float = _MIDDLE_MM,
) -> None:
    """The rod's outline. unit: its centers' distance; bosses: from a pad to its end's centre; y: of its middle."""
    for pad, end in bosses:
        half = 0.8 * _PAD_HALF * unit
        drawing.rectangle(Box(min(pad, end), y - half, max(pad, end), y + half), LINE, METAL)
    drawing.polygon(
        [
            (big, y - 0.13 * unit),
            (small, y - 0.075 * unit),
            (small, y + 0.075 * unit),
            (big, y + 0.13 * unit),
        ],
        LINE,
        METAL,
    )
    for centre, outer, bore, part in (
        (big, _BIG, _BIG_BORE, "big-end"),
        (small, _SMALL, _SMALL_BORE, "small-end"),
    ):
        drawing.circle((centre, y), outer * unit, LINE, METAL)
        drawing.circle((centre, y), bore * unit, LINE, PAPER, part=part)
        if part == "big-end":  # where the cap parts from the rod
            for side in (-1, 1):
                drawing.line((centre, y + side * bore * unit), (centre, y + side * outer * unit), LINE)
        for dx, dy in ((1, 0), (0, 1)):
            reach = bore * unit * 0.5
            drawing.line((centre - dx * reach, y - dy * reach), (centre + dx * reach, y + dy * reach), THIN)


def _grams(drawing: Drawing, cuts: list[tuple[float, float]], unit: float, show: Display) -> None:
    """What to take at each pad, above it; where there are two, in the order in which they come."""
    words = [f"−{show.masses(grams)}" for _, grams in cuts]
    if len(words) > 1:
        words = [f"{number}. {said}" for number, said in enumerate(words, start=1)]
    # In the largest figures that the drawing has room for.
    size = next(s for s in (HUGE, LARGE, TEXT) if s == TEXT or sum(wide_mm(w, s) + 3 for w in words) <= WIDE_MM)
    widths = [wide_mm(said, size) + 3 for said in words]
    middles = apart([x for x, _ in cuts], widths, 0, WIDE_MM)
    for (pad, _), middle, said in zip(cuts, middles, words, strict=True):
        drawing.text((middle, 4.4), said, size, bold=True)
        drawing.arrow((middle, 8.8), (pad, _pad(pad, unit).top), THICK, part="arrow")


def _afterwards(drawing: Drawing, big: float, small: float, part: PartTrim, show: Display) -> None:
    ends = [
        (at, part.expected_g[kind])
        for kind, at in (("big_end", big), ("small_end", small))
        if kind in part.expected_g
    ]
    words = [f"then {show.masses(tidy(grams))}" for _, grams in ends]
    widths = [wide_mm(said, TEXT) + 2 for said in words]
    for middle, said in zip(apart([at for at, _ in ends], widths, 0, WIDE_MM), words, strict=True):
        drawing.text((middle, HIGH_MM - 3.0), said, TEXT)
