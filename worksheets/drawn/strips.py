"""A spread as a strip: every member's mass at its place on a line of grams, with how sure it is.

The grey band is as wide as the limit and lies about the middle between the lightest and the heaviest: where a
member is outside it, the spread is.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from truethrow.balance.base import units
from truethrow.balance.base.parts import label
from truethrow.balance.base.readings import decimals
from truethrow.worksheets.drawn.lettering import SMALL, TEXT, fitting, wide_mm
from truethrow.worksheets.drawn.pen import BAND, INK, LINE, THIN, Drawing, Weight
from truethrow.worksheets.drawn.placing import Box, apart, nice_step
from truethrow.worksheets.shown.strokes import limit_band, reach

if TYPE_CHECKING:
    from truethrow.balance.result.spread import Spread
    from truethrow.worksheets.shown.display import Display

WIDE_MM = 57.0  # three beside each other
# Beside the scale; from the top to the names, and one more row; from names to marks; a lane of marks, one of very
# many, and the height that makes them many; a mark.
_SIDE_MM, _NAMES_MM, _ROW_MM, _LEADER_MM = 9.0, 11.5, 5.5, 5.0
_LANE_MM, _NARROW_LANE_MM, _MANY_MM, _MARK_MM = 3.0, 2.3, 18.0, 1.1
_MOST_LANES = 32
_GAP_MM = 0.6
_TICK_MM = 20.0  # a tick's label has room
_ALIKE_G = 1e-6  # what only binary fractions tell apart
WEIGHT: Mapping[str | None, Weight] = {
    None: "plain",
    "inside": "plain",
    "too close to call": "framed",
    "outside": "inverse",
}


class StripScale(NamedTuple):
    """Grams along the strip."""

    low_g: float
    high_g: float
    wide_mm: float

    def x(self, grams: float) -> float:
        share = (grams - self.low_g) / (self.high_g - self.low_g)
        return _SIDE_MM + share * (self.wide_mm - 2 * _SIDE_MM)


def strip(spread: Spread, expanded_g: Mapping[str, float], show: Display, wide_mm: float = WIDE_MM) -> str:
    """The strip of one spread, whose figures stand in a table beside it. expanded_g: of each member; wide_mm: of
    the drawing, 54 or more."""
    scale = StripScale(*reach(spread, expanded_g), wide_mm)
    names = sorted(spread.members, key=lambda name: spread.members[name].value_g)
    marks = [scale.x(spread.members[name].value_g) for name in names]
    bars = [_bar(scale, spread.members[name].value_g, expanded_g.get(name, 0.0)) for name in names]
    lanes = _lanes(bars)
    lane_mm = min(_LANE_MM, max(_NARROW_LANE_MM, _MANY_MM / (max(lanes) + 1)))
    head = _NAMES_MM
    tags = [_Name.of(spread, name, wide_mm - 2) for name in names]
    name_rows = math.ceil(sum(tag.wide_mm for tag in tags) / (wide_mm - 2))
    top = head + (name_rows - 1) * _ROW_MM + _LEADER_MM + 1.5
    axis = top + (max(lanes) + 1) * lane_mm + 0.5
    drawing = Drawing(wide_mm, axis + 6.5)
    if spread.limit_g is not None:
        low, high = map(scale.x, limit_band(spread))
        drawing.rectangle(Box(low, top - 1.5, high, axis), 0, BAND, part="limit")
        for x in (low, high):
            drawing.line((x, top - 1.5), (x, axis), LINE)
    _head(drawing, spread)
    rows = [top + (lane + 0.5) * lane_mm for lane in lanes]
    for row in range(name_rows):
        own = slice(row, None, name_rows)
        _names(drawing, tags[own], marks[own], rows[own], head + row * _ROW_MM, top)
    for x, (left, right), y in zip(marks, bars, rows, strict=True):
        _mark(drawing, x, left, right, y)
    _axis(drawing, scale, axis, show)
    return str(drawing)


def _bar(scale: StripScale, grams: float, expanded_g: float) -> tuple[float, float]:
    return scale.x(grams - expanded_g), scale.x(grams + expanded_g)


def _lanes(bars: Sequence[tuple[float, float]]) -> list[int]:
    """A lane for each mark, from the lightest on, so that no bar lies on another; where that takes too many, the
    one whose last bar ends first."""
    ends: list[float] = []
    found = []
    for left, right in bars:
        middle = (left + right) / 2
        start, end = min(left, middle - _MARK_MM), max(right, middle + _MARK_MM)
        lane = next((at for at, other in enumerate(ends) if other + _GAP_MM <= start), None)
        if lane is None and len(ends) < _MOST_LANES:
            ends.append(end)
            lane = len(ends) - 1
        elif lane is None:
            lane = min(range(len(ends)), key=ends.__getitem__)
        ends[lane] = max(ends[lane], end)
        found.append(lane)
    return found


def _mark(drawing: Drawing, x: float, left: float, right: float, y: float) -> None:
    drawing.line((left, y), (right, y), LINE)
    for end in (left, right):
        drawing.line((end, y - 0.8), (end, y + 0.8), LINE)
    drawing.circle((x, y), _MARK_MM, 0, INK, part="member")


class _Name(NamedTuple):
    """A member's name as it is written: the lightest and the heaviest with a triangle (end)."""

    text: str
    end: str
    wide_mm: float

    @classmethod
    def of(cls, spread: Spread, name: str, room_mm: float) -> _Name:
        text, end = fitting(name, TEXT, room_mm / 2 - 6.0), _sign(spread, name)
        return cls(text, end, wide_mm(text, TEXT) + 1.6 + (3.4 if end else 0.0))


def _names(
    drawing: Drawing, names: Sequence[_Name], marks: Sequence[float], rows: Sequence[float], y: float, top: float
) -> None:
    """A row of names above their marks, beside their neighbours where marks are near."""
    middles = apart(marks, [name.wide_mm for name in names], 1, drawing.width_mm - 1)
    for (text, end, wide), middle, x, row in zip(names, middles, marks, rows, strict=True):
        drawing.polyline([(middle, y + 2.7), (middle, top - 4.5), (x, top - 1.9), (x, row)], THIN)
        start = middle - wide / 2 + 0.8
        if end:
            base, tip = (y + 1.5, y - 1.5) if end == "heaviest" else (y - 1.5, y + 1.5)
            drawing.polygon([(start, base), (start + 3.0, base), (start + 1.5, tip)], 0, INK, part=end)
            start += 3.4
        drawing.text((start, y), text, TEXT, "start", bold=bool(end), halo=True)


def _sign(spread: Spread, name: str) -> str:
    """Whether a member is the lightest or the heaviest, which several may be."""
    low, high, own = (spread.members[one].value_g for one in (spread.lightest, spread.heaviest, name))
    if math.isclose(low, high, abs_tol=_ALIKE_G):
        return ""
    ends = {"heaviest": high, "lightest": low}
    return next((end for end, grams in ends.items() if math.isclose(own, grams, abs_tol=_ALIKE_G)), "")


def _head(drawing: Drawing, spread: Spread) -> None:
    """What it is, and the verdict in its weight, where there is room for it."""
    drawing.text((1.0, 3.8), label(spread.quantity), TEXT, "start", bold=True)
    has_room = wide_mm(f"{label(spread.quantity)} {spread.verdict}", TEXT) + 6 <= drawing.width_mm
    if spread.verdict is not None and has_room:
        drawing.tag((drawing.width_mm - 0.5, 3.8), spread.verdict, WEIGHT[spread.verdict])


def _axis(drawing: Drawing, scale: StripScale, y: float, show: Display) -> None:
    """Grams, in the unit of the scale."""
    one = float(units.factor(show.mass_unit, units.MASS))
    low, high = scale.low_g / one, scale.high_g / one
    step = nice_step(high - low, max(3, int(scale.wide_mm / _TICK_MM)))
    places = decimals(step)
    drawing.line((_SIDE_MM, y), (scale.wide_mm - _SIDE_MM, y), LINE)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    for number in range(first, last + 1):
        x = scale.x(number * step * one)
        drawing.line((x, y), (x, y + 1.5), LINE, part="tick")
        drawing.text((x, y + 4.2), f"{number * step:.{places}f}", SMALL, scale=True)
    drawing.text((scale.wide_mm - 0.5, y), show.mass_unit, SMALL, "end")
