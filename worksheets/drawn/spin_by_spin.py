"""Spin by spin, how far each plane is from its tolerance: amounts with their ± on a scale of powers of ten."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal, NamedTuple

from truethrow.balance.base.digits import digits
from truethrow.worksheets.drawn.lettering import SMALL
from truethrow.worksheets.drawn.pen import INK, LINE, PAPER, THICK, THIN, Drawing
from truethrow.worksheets.drawn.placing import Box, Point

if TYPE_CHECKING:
    from truethrow.balance.station.balancing import Balancing
    from truethrow.balance.station.spin import Measured
    from truethrow.worksheets.shown.display import Display

WIDE_MM, HIGH_MM = 57.0, 65.0
_FIELD = Box(14.0, 8.0, 54.0, 46.0)
_BELOW = 10.0  # what is less than the tolerance divided by that stands at the bottom
_DOT_MM, _NUMBER_MM = 1.3, 6.0
_PLANES: tuple[Literal["front", "rear"], ...] = ("front", "rear")


class _Scale(NamedTuple):
    """From g·mm to a height, in powers of ten. low, high: of what is shown; one: of the unit that is shown."""

    low: float
    high: float
    one_gmm: float

    def y(self, gmm: float) -> float:
        part = math.log(max(gmm, self.low) / self.low) / math.log(self.high / self.low)
        return _FIELD.bottom - part * (_FIELD.bottom - _FIELD.top)

    def tens(self) -> list[tuple[float, str]]:
        """The powers of ten of the shown unit that are in the field, in g·mm and as they are said."""
        first = math.ceil(math.log10(self.low / self.one_gmm) - 1e-9)
        last = math.floor(math.log10(self.high / self.one_gmm) + 1e-9)
        return [(10.0**n * self.one_gmm, f"{digits(10.0**n)}") for n in range(first, last + 1)]


def spin_by_spin(state: Balancing, show: Display) -> str:
    """Both planes over the spins that count: the front's dots are full and joined by a whole line, the rear's are
    rings and dashed."""
    drawing = Drawing(WIDE_MM, HIGH_MM)
    found = state.counted
    drawing.text((WIDE_MM / 2, 3.5), "spin by spin", SMALL, bold=True)
    most = [getattr(s, p).amount_gmm + getattr(s, p).expanded_gmm for s in found for p in _PLANES]
    low = min(state.limits_gmm) / _BELOW
    scale = _Scale(low, 1.2 * max([2 * max(state.limits_gmm), *most]), 1 / show.unbalanced(1.0, 1.0).number)
    for gmm, said in scale.tens():
        drawing.line((_FIELD.left, scale.y(gmm)), (_FIELD.right, scale.y(gmm)), THIN)
        drawing.text((_FIELD.left - 1.0, scale.y(gmm)), said, SMALL, "end", scale=True)
    drawing.text((1.0, 3.5), show.unbalance_unit, SMALL, "start")
    for corner, along in ((0, 3), (3, 2)):
        drawing.line(_FIELD.corners[corner], _FIELD.corners[along], LINE)
    for limit in dict.fromkeys(state.limits_gmm):
        drawing.line((_FIELD.left, scale.y(limit)), (_FIELD.right, scale.y(limit)), THICK, part="limit")
    step = (_FIELD.right - _FIELD.left) / max(1, len(found))
    every = math.ceil(_NUMBER_MM / step)
    for at, spin in enumerate(found):
        if at % every == 0:
            drawing.text((_FIELD.left + (at + 0.5) * step, _FIELD.bottom + 3.5), str(spin.number), SMALL)
    for number, plane in enumerate(_PLANES):
        aside = (2 * number - 1) * min(1.6, step / 5)
        points = []
        for at, spin in enumerate(found):
            measured: Measured = getattr(spin, plane)
            x = _FIELD.left + (at + 0.5) * step + aside
            low_gmm, high_gmm = (measured.amount_gmm + side * measured.expanded_gmm for side in (-1, 1))
            drawing.line((x, scale.y(low_gmm)), (x, scale.y(high_gmm)), THIN, part=f"{plane}-unsure")
            points.append((x, scale.y(measured.amount_gmm)))
        if points:
            _joined(drawing, points, plane)
    _legend(drawing)
    return str(drawing)


def _joined(drawing: Drawing, points: list[Point], plane: Literal["front", "rear"]) -> None:
    drawing.polyline(points, LINE, "" if plane == "front" else "dash")
    for point in points:
        _dot(drawing, point, plane, plane)


def _dot(drawing: Drawing, at: Point, plane: Literal["front", "rear"], part: str = "") -> None:
    drawing.circle(at, _DOT_MM, LINE, INK if plane == "front" else PAPER, part=part)


def _legend(drawing: Drawing) -> None:
    y = _FIELD.bottom + 9.5
    for x, plane in ((6.0, _PLANES[0]), (34.0, _PLANES[1])):
        drawing.line((x - 4.0, y), (x + 4.0, y), LINE, "" if plane == "front" else "dash")
        _dot(drawing, (x, y), plane)
        drawing.text((x + 5.5, y), plane, SMALL, "start")
    drawing.line((2.0, y + 6.0), (10.0, y + 6.0), THICK)
    drawing.text((11.5, y + 6.0), "tolerance", SMALL, "start")
