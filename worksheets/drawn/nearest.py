"""The turn at the least distance from the front: crank, rod and piston of one cylinder, what they come near."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from truethrow.balance.running.clearance import Gap, Scene, scene
from truethrow.worksheets.drawn.lettering import SMALL, TEXT
from truethrow.worksheets.drawn.metal import draw_turning
from truethrow.worksheets.drawn.pen import INK, LINE, METAL, PAPER, THICK, THIN, Drawing
from truethrow.worksheets.drawn.placing import Point
from truethrow.worksheets.words import planning_words

if TYPE_CHECKING:
    from truethrow.balance.crank.crank import Crank
    from truethrow.balance.engine.declared import ClearanceTable
    from truethrow.balance.engine.engine import Engine
    from truethrow.worksheets.shown.display import Display

WIDE_MM, HIGH_MM, EDGE_MM, TITLE_MM = 160.0, 150.0, 8.0, 22.0
# A skirt goes on upwards as far as this part of its width, for the eye.
_SKIRT_PART = 0.55


class _View:
    """Engine millimetres to the drawing's, all that is drawn inside the frame."""

    def __init__(self, points: list[complex]) -> None:
        left, right = min(p.imag for p in points), max(p.imag for p in points)
        low, high = min(p.real for p in points), max(p.real for p in points)
        room = WIDE_MM - 2 * EDGE_MM, HIGH_MM - TITLE_MM - EDGE_MM
        self.scale = min(room[0] / (right - left), room[1] / (high - low))
        middle = (left + right) / 2, (low + high) / 2
        centre = WIDE_MM / 2, TITLE_MM + room[1] / 2
        self.axis: Point = centre[0] - middle[0] * self.scale, centre[1] + middle[1] * self.scale

    def at(self, point: complex) -> Point:
        return self.axis[0] + point.imag * self.scale, self.axis[1] - point.real * self.scale


def drawn(engine: Engine, crank: Crank | None, table: ClearanceTable, gap: Gap, show: Display) -> str:
    """The whole drawing, true to scale, with the nearest points and what lies between them."""
    seen = scene(engine, crank, table, gap)
    view = _View(_extent(engine, table, seen))
    drawing = Drawing(WIDE_MM, HIGH_MM)
    for inner, outer, arc in seen.weights:
        drawing.sector(view.axis, inner * view.scale, outer * view.scale, arc.from_deg, arc.span_deg, LINE, METAL)
    _surroundings(drawing, view, table)
    _piston_and_rod(drawing, view, seen)
    draw_turning(drawing, view.axis)
    _nearest(drawing, view, seen)
    _title(drawing, gap, table, show)
    return str(drawing)


def _extent(engine: Engine, table: ClearanceTable, seen: Scene) -> list[complex]:
    reach = max([engine.throw_radius_mm * 1.2, *(outer for _, outer, _ in seen.weights)])
    points = [complex(x, y) * reach for x in (-1, 1) for y in (-1, 1)]
    if seen.edge and seen.axis is not None:
        up = abs(seen.edge[1] - seen.edge[0]) * _SKIRT_PART * seen.axis
        points += [*seen.edge, seen.edge[0] + up, seen.edge[1] + up]
    for circle in table.circle:
        middle = circle.distance * _turned(circle.angle)
        points += [middle + circle.radius * complex(x, y) for x in (-1, 1) for y in (-1, 1)]
    points += [line.distance * _turned(line.angle) * 1.03 for line in table.line]
    return points


def _surroundings(drawing: Drawing, view: _View, table: ClearanceTable) -> None:
    for circle in table.circle:
        at = view.at(circle.distance * _turned(circle.angle))
        drawing.circle(at, circle.radius * view.scale, LINE, PAPER, "dash")
        drawing.text(at, circle.name, SMALL, halo=True)
    for line in table.line:
        way = _turned(line.angle)
        foot, along = line.distance * way, 1j * way * 60.0
        drawing.line(view.at(foot - along), view.at(foot + along), THICK)
        drawing.text(view.at(foot - along * 0.6), line.name, SMALL, halo=True)


def _piston_and_rod(drawing: Drawing, view: _View, seen: Scene) -> None:
    if seen.big_end is None or seen.pin is None or seen.axis is None:
        return
    if seen.edge:
        up = abs(seen.edge[1] - seen.edge[0]) * _SKIRT_PART * seen.axis
        corners = [seen.edge[0], seen.edge[1], seen.edge[1] + up, seen.edge[0] + up]
        drawing.polygon([view.at(corner) for corner in corners], LINE)
    for middle, radius in seen.heads:
        drawing.line(view.at(seen.big_end), view.at(middle), THIN)
        drawing.circle(view.at(middle), radius * view.scale, LINE, METAL)
    drawing.line(view.at(seen.big_end), view.at(seen.pin), THICK)
    drawing.line(view.axis, view.at(seen.big_end), THICK)
    for end in (seen.big_end, seen.pin):
        drawing.circle(view.at(end), 2.2, LINE, PAPER)


def _nearest(drawing: Drawing, view: _View, seen: Scene) -> None:
    """A ring round the nearest points, and the line between them."""
    one, other = (view.at(point) for point in seen.near)
    middle = (one[0] + other[0]) / 2, (one[1] + other[1]) / 2
    drawing.circle(middle, max(4.0, math.dist(one, other) / 2 + 3.0), THICK)
    drawing.line(one, other, THICK)
    for end in (one, other):
        drawing.circle(end, 0.8, 0, INK)


def _title(drawing: Drawing, gap: Gap, table: ClearanceTable, show: Display) -> None:
    what, against = planning_words.gap_names(gap)
    told = f"{gap.least_mm / 25.4:.3f} in" if show.inch else f"{gap.least_mm:.2f} mm"
    drawing.text((EDGE_MM, 5.0), f"Nearest: {what}, {against}", TEXT, "start", bold=True)
    said = f"{told} with throw 1 turned {gap.crank_deg:.1f}° from straight up"
    drawing.text((EDGE_MM, 11.0), said, SMALL, "start", bold=True)
    drawing.text((EDGE_MM, 16.0), "Seen from the front, true to scale.", SMALL, "start")
    verdict = planning_words.gap_verdict(gap, table.least)
    if verdict in ("TOUCHES", "OUTSIDE"):
        drawing.tag((WIDE_MM - EDGE_MM, 5.0), verdict, "inverse")
    drawing.text((EDGE_MM, HIGH_MM - 3.0), "Cold and at rest; the makers' clearances come first.", SMALL, "start")


def _turned(angle_deg: float) -> complex:
    return complex(math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg)))
