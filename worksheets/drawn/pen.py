"""What every drawing is drawn with: lines, shapes, hatching, texts and badges of one style, in millimetres.

Black on white, a light grey for metal. A state is told by weight: plain, framed, white on black. x grows to the
right and y down; angles are the crank's, 0 up and growing clockwise.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal
from typing import Literal

import svg

from truethrow.worksheets.drawn.lettering import ANCHORED, FONT, LONGEST_LINE, SMALL, TEXT, Anchor, plain, wide_mm
from truethrow.worksheets.drawn.placing import Box, Point, polar
from truethrow.worksheets.shown.turned import apart

# Widths of lines. [mm]
THIN, LINE, THICK = 0.25, 0.5, 0.9
INK, PAPER, METAL, BAND = "#000000", "#ffffff", "#e2e2e2", "#e2e2e2"
BADGE_MM = 2.9  # radius of a number's circle

Weight = Literal["plain", "framed", "inverse"]
_DASHES: dict[str, tuple[float, ...]] = {"": (), "dash": (1.6, 1.0), "axis": (5.0, 1.0, 1.0, 1.0)}


class Drawing:
    """A drawing of one size, drawn from the back to the front."""

    def __init__(self, width_mm: float, height_mm: float) -> None:
        self.width_mm, self.height_mm = width_mm, height_mm
        self._elements: list[svg.Element] = []

    def __str__(self) -> str:
        document = svg.SVG(
            viewBox=svg.ViewBoxSpec(0, 0, _tidy(self.width_mm), _tidy(self.height_mm)),
            width=svg.mm(_tidy(self.width_mm)),
            height=svg.mm(_tidy(self.height_mm)),
            elements=self._elements,
        )
        return str(document)

    def line(
        self, start: Point, end: Point, weight: float = LINE, dashed: str = "", part: str = "", ink: str = INK
    ) -> None:
        self._put(
            svg.Line(
                x1=_tidy(start[0]),
                y1=_tidy(start[1]),
                x2=_tidy(end[0]),
                y2=_tidy(end[1]),
                stroke=ink,
                stroke_width=weight,
                stroke_dasharray=_dashes(dashed),
            ),
            part,
        )

    def circle(
        self,
        centre: Point,
        radius: float,
        weight: float = LINE,
        fill: str = "none",
        dashed: str = "",
        part: str = "",
    ) -> None:
        shape = svg.Circle(cx=_tidy(centre[0]), cy=_tidy(centre[1]), r=_tidy(radius))
        self._put_shape(shape, weight, fill, dashed, part)

    def rectangle(
        self,
        box: Box,
        weight: float = LINE,
        fill: str = "none",
        dashed: str = "",
        part: str = "",
        round_mm: float = 0.0,
    ) -> None:
        shape = svg.Rect(
            x=_tidy(box.left),
            y=_tidy(box.top),
            width=_tidy(box.right - box.left),
            height=_tidy(box.bottom - box.top),
            rx=round_mm or None,
        )
        self._put_shape(shape, weight, fill, dashed, part)

    def polygon(
        self, points: Sequence[Point], weight: float = LINE, fill: str = "none", dashed: str = "", part: str = ""
    ) -> None:
        shape = svg.Polygon(points=_points(points), stroke_linejoin="round")
        self._put_shape(shape, weight, fill, dashed, part)

    def polyline(
        self, points: Sequence[Point], weight: float = LINE, dashed: str = "", part: str = "", ink: str = INK
    ) -> None:
        self._put(
            svg.Polyline(
                points=_points(points),
                fill="none",
                stroke=ink,
                stroke_width=weight,
                stroke_linejoin="round",
                stroke_dasharray=_dashes(dashed),
            ),
            part,
        )

    def sector(
        self,
        centre: Point,
        inner: float,
        outer: float,
        from_deg: float,
        span_deg: float,
        weight: float = LINE,
        fill: str = "none",
        dashed: str = "",
        part: str = "",
    ) -> None:
        """A piece of a ring, from an angle on in the direction of rotation; a whole ring has no ends."""
        if span_deg >= 360 - 1e-9:
            d: list[svg.PathData] = []
            for radius in (outer, inner):
                top, bottom = polar(centre, 0, radius), polar(centre, 180, radius)
                d += [_move(top), _arc(radius, 180, bottom), _arc(radius, 180, top), svg.Z()]
        else:
            to_deg = from_deg + span_deg
            d = [
                _move(polar(centre, from_deg, outer)),
                _arc(outer, span_deg, polar(centre, to_deg, outer)),
                svg.L(*map(_tidy, polar(centre, to_deg, inner))),
                _arc(inner, span_deg, polar(centre, from_deg, inner), back=True),
                svg.Z(),
            ]
        shape = svg.Path(d=d, fill_rule="evenodd", stroke_linejoin="round")
        self._put_shape(shape, weight, fill, dashed, part)

    def arrow(self, start: Point, end: Point, weight: float = LINE, part: str = "", head_mm: float = 3.0) -> None:
        """An arrow whose point is at its end."""
        length = math.dist(start, end)
        if length < 1e-9:
            return
        head = min(head_mm, length)
        x, y = (end[0] - start[0]) / length, (end[1] - start[1]) / length
        self.line(start, (end[0] - x * head, end[1] - y * head), weight, part=part)
        self.head(end, (x, y), head)

    def head(self, tip: Point, along: Point, long_mm: float = 3.0) -> None:
        """An arrow's head. along: its direction, of length 1."""
        (x, y), wide = along, long_mm * 0.38
        neck = tip[0] - x * long_mm, tip[1] - y * long_mm
        self.polygon(
            [tip, (neck[0] - y * wide, neck[1] + x * wide), (neck[0] + y * wide, neck[1] - x * wide)], 0, INK
        )

    def hatch(self, points: Sequence[Point], gap_mm: float = 1.2, weight: float = THIN) -> None:
        """Lines at 45 degrees over a convex shape."""
        sums = [x + y for x, y in points]
        step = gap_mm * math.sqrt(2)
        at = math.ceil((min(sums) + 1e-9) / step) * step
        while at < max(sums):
            ends = _crossings(points, at)
            if len(ends) == 2:
                self.line(ends[0], ends[1], weight)
            at += step

    def text(
        self,
        at: Point,
        words: str,
        size_mm: float = TEXT,
        anchor: Anchor = "middle",
        *,
        bold: bool = False,
        ink: str = INK,
        halo: bool = False,
        scale: bool = False,
    ) -> None:
        """A text about a point, its capitals level with it. halo: on white, over lines; scale: a number of the
        drawing's own scale, which is no figure of what is drawn."""
        clean = plain(words, LONGEST_LINE)
        if halo and clean:
            width = wide_mm(clean, size_mm)
            left = at[0] - width * ANCHORED[anchor]
            self.rectangle(Box(left, at[1] - 0.52 * size_mm, left + width, at[1] + 0.58 * size_mm), 0, PAPER)
        self._put(
            svg.Text(
                text=svg.escape(apart(clean)),
                x=_tidy(at[0]),
                y=_tidy(at[1] + 0.37 * size_mm),
                font_family=FONT,
                font_size=size_mm,
                font_weight="bold" if bold else None,
                text_anchor=anchor,
                fill=ink,
                class_=["scale"] if scale else None,
            )
        )

    def tag(self, right: Point, words: str, weight: Weight, size_mm: float = TEXT) -> float:
        """A state in its weight, its right edge at a point; how far it reaches to the left."""
        width = wide_mm(words, size_mm) + 2 * size_mm * 0.5
        left = right[0] - width
        if weight != "plain":
            box = Box(left, right[1] - 0.75 * size_mm, right[0], right[1] + 0.75 * size_mm)
            self.rectangle(box, THICK if weight == "framed" else 0, PAPER if weight == "framed" else INK)
        self.text(
            (left + width / 2, right[1]), words, size_mm, bold=True, ink=PAPER if weight == "inverse" else INK
        )
        return left

    def dial(self, centre: Point, radius: float) -> None:
        """A cross for the quarters, and marks at every 30 degrees."""
        for angle in range(0, 360, 30):
            start = centre if angle % 90 == 0 else polar(centre, angle, radius - 2.5)
            self.line(start, polar(centre, angle, radius), THIN)

    def badge(self, at: Point, number: int, *, done: bool) -> None:
        """A number in a circle; what is done has a tick and no frame to catch the eye."""
        self.circle(at, BADGE_MM, THIN if done else THICK, PAPER, part=f"badge-{number}")
        self.text(at, str(number), SMALL if number < 100 else 3.2, bold=not done)
        if done:
            x, y = at[0] + BADGE_MM * 0.75, at[1] + BADGE_MM * 0.8
            self.polyline([(x - 1.2, y), (x - 0.3, y + 1.0), (x + 1.6, y - 1.6)], THICK + 0.9, ink=PAPER)
            self.polyline([(x - 1.2, y), (x - 0.3, y + 1.0), (x + 1.6, y - 1.6)], THICK)

    def _put_shape(
        self,
        shape: svg.Circle | svg.Rect | svg.Polygon | svg.Path,
        weight: float,
        fill: str,
        dashed: str,
        part: str,
    ) -> None:
        """A closed shape; one of no weight has no outline."""
        shape.fill, shape.stroke = fill, INK if weight else "none"
        shape.stroke_width, shape.stroke_dasharray = weight, _dashes(dashed)
        self._put(shape, part)

    def _put(self, element: svg.Element, part: str = "") -> None:
        if part:
            element.data = {"part": part}
        self._elements.append(element)


def _tidy(value: float) -> float:
    """To the micrometre, and never minus nought."""
    return round(value, 3) + 0.0


def _points(points: Sequence[Point]) -> list[svg.Point]:
    return [svg.Point(_tidy(x), _tidy(y)) for x, y in points]


def _dashes(dashed: str) -> list[Decimal | float | int] | None:
    """dashed: "" for a whole line, "dash" for one that is not there or was, "axis" for centre lines."""
    return list(_DASHES[dashed]) or None


def _move(point: Point) -> svg.PathData:
    return svg.M(_tidy(point[0]), _tidy(point[1]))


def _arc(radius: float, span_deg: float, to: Point, *, back: bool = False) -> svg.PathData:
    return svg.Arc(_tidy(radius), _tidy(radius), 0, span_deg > 180, not back, _tidy(to[0]), _tidy(to[1]))


def _crossings(points: Sequence[Point], level: float) -> list[Point]:
    """Where a line x + y = level goes through the edges of a convex shape."""
    found: list[Point] = []
    for (x1, y1), (x2, y2) in zip(points, [*points[1:], points[0]], strict=True):
        a, b = x1 + y1 - level, x2 + y2 - level
        if (a < 0) != (b < 0):
            t = a / (a - b)
            found.append((x1 + t * (x2 - x1), y1 + t * (y2 - y1)))
    return found
