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
_CLEAR_MM = 0.8  # between names and the leader of names above them
_MOST_STACKED = 3
_SAME_MM = 0.05  # marks as near as that are of one mass
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
    bands = _arranged(marks, [_Name.of(spread, name, wide_mm - 2) for name in names], wide_mm)
    top = _NAMES_MM + (sum(map(_high, bands)) - 1) * _ROW_MM + _LEADER_MM + 1.5
    axis = top + (max(lanes) + 1) * lane_mm + 0.5
    drawing = Drawing(wide_mm, axis + 6.5)
    if spread.limit_g is not None:
        low, high = map(scale.x, limit_band(spread))
        drawing.rectangle(Box(low, top - 1.5, high, axis), 0, BAND, part="limit")
        for x in (low, high):
            drawing.line((x, top - 1.5), (x, axis), LINE)
    _head(drawing, spread)
    rows = [top + (lane + 0.5) * lane_mm for lane in lanes]
    y = _NAMES_MM
    for band in bands:
        y += (_high(band) - 1) * _ROW_MM
        for stack in band:
            _names(drawing, stack, rows, y, top)
        y += _ROW_MM
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


class _Stack(NamedTuple):
    """Names above each other with one leader, of members of one mass. at: of the marks, from the lightest on, its
    first; x: of its marks."""

    names: Sequence[_Name]
    at: int
    x: float
    middle: float = 0.0

    @property
    def half_mm(self) -> float:
        return max(name.wide_mm for name in self.names) / 2


def _high(band: Sequence[_Stack]) -> int:
    return max(len(stack.names) for stack in band)


def _arranged(marks: Sequence[float], names: Sequence[_Name], wide_mm: float) -> list[list[_Stack]]:
    """The names in bands, the lowest last: a row if it holds them, else names of one mass above each other, else
    more bands. None lies over another, or near the leader of one above it, which would be read as a 1."""
    for bands in range(1, len(names) + 1):
        for most in range(1, _MOST_STACKED + 1):
            stacks = _stacks(marks, names, most)
            if middles := _middles(stacks, bands, wide_mm):
                return _dealt([one._replace(middle=x) for one, x in zip(stacks, middles, strict=True)], bands)
    # So long that there is no such place: each band by itself, the others' leaders behind it.
    bands = math.ceil(sum(name.wide_mm for name in names) / (wide_mm - 2))
    found = []
    for band in _dealt(_stacks(marks, names, 1), bands):
        middles = apart([one.x for one in band], [2 * one.half_mm for one in band], 1, wide_mm - 1)
        found.append([one._replace(middle=x) for one, x in zip(band, middles, strict=True)])
    return found


def _dealt(stacks: Sequence[_Stack], bands: int) -> list[list[_Stack]]:
    return [list(stacks[band::bands]) for band in range(min(bands, len(stacks)))]


def _stacks(marks: Sequence[float], names: Sequence[_Name], most: int) -> list[_Stack]:
    """Neighbours of one mass, so many together at the most."""
    found: list[_Stack] = []
    for at, (x, name) in enumerate(zip(marks, names, strict=True)):
        if found and x - found[-1].x < _SAME_MM and len(found[-1].names) < most:
            found[-1] = found[-1]._replace(names=(*found[-1].names, name))
        else:
            found.append(_Stack((name,), at, x))
    return found


def _middles(stacks: Sequence[_Stack], bands: int, wide_mm: float) -> list[float] | None:
    """Middles of stacks dealt out to bands, in their order; None where they have no room. Pushed apart to the
    right and pushed apart to the left, each as far as it takes: halfway between the two is apart as well."""
    halves = [stack.half_mm for stack in stacks]

    def between(one: int, other: int) -> float:
        if one % bands == other % bands:
            return halves[one] + halves[other]
        return halves[max(one, other, key=lambda at: at % bands)] + _CLEAR_MM

    def pushed(wanted: Sequence[float], order: Sequence[int], way: int) -> list[float]:
        found = list(wanted)
        for step, at in enumerate(order):
            edge = 1 + halves[at] if way > 0 else wide_mm - 1 - halves[at]
            pushes = [edge, *(found[other] + way * between(other, at) for other in order[:step])]
            found[at] = max(found[at], *pushes) if way > 0 else min(found[at], *pushes)
        return found

    wanted, rightwards = [stack.x for stack in stacks], range(len(stacks))
    leftwards = rightwards[::-1]
    to_the_right = pushed(pushed(wanted, rightwards, 1), leftwards, -1)
    to_the_left = pushed(pushed(wanted, leftwards, -1), rightwards, 1)
    has_room = all(
        math.isclose(one, other, abs_tol=1e-6)
        for found, order, way in ((to_the_right, rightwards, 1), (to_the_left, leftwards, -1))
        for one, other in zip(found, pushed(found, order, way), strict=True)
    )
    return [(one + other) / 2 for one, other in zip(to_the_right, to_the_left, strict=True)] if has_room else None


def _names(drawing: Drawing, stack: _Stack, rows: Sequence[float], lowest: float, top: float) -> None:
    """A stack of names above its marks, beside its neighbours where marks are near. rows: of the marks, from the
    lightest on; lowest: where the last name stands."""
    middle, x = stack.middle, stack.x
    farthest = max(rows[stack.at : stack.at + len(stack.names)])
    leader = [(middle, lowest + 2.7), (middle, top - 4.5), (x, top - 1.9), (x, farthest)]
    drawing.polyline(leader, THIN, part="leader")
    for step, (text, end, wide) in enumerate(reversed(stack.names)):
        y, start = lowest - step * _ROW_MM, middle - wide / 2 + 0.8
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
