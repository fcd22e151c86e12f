"""The whole crank from its front: throws, counterweights, and every hole that has a number."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING, NamedTuple

from truethrow.worksheets.drawn.lettering import SMALL, TEXT, Anchor, fitting, wide_mm
from truethrow.worksheets.drawn.metal import (
    LEADER_MM,
    TURN_MM,
    Numbered,
    View,
    draw_earlier_holes,
    draw_holes,
    draw_metal,
    draw_numbers,
    draw_turning,
    reach_mm,
)
from truethrow.worksheets.drawn.pen import BADGE_MM, INK, LINE, PAPER, THICK, THIN, Drawing
from truethrow.worksheets.drawn.placing import Box, Point, apart, around, polar

if TYPE_CHECKING:
    from truethrow.balance.crank import Crank, Member
    from truethrow.balance.layout import Layout, Throw

WIDE_MM, HIGH_MM, RADIUS_MM = 150.0, 102.0, 36.0
# Without a crank or a throw's radius the pins lie on a circle of this part of the drawing's.
_PINS = 0.5
_PIN_MM = 3.2
_LINE_MM = 4.8  # from one name to the next
_COLUMN_MM = RADIUS_MM + 2 * BADGE_MM + LEADER_MM + 2.2  # from the axis to the names on both sides

# An angle, and the names of the members whose metal lies about it.
_Group = tuple[float, list[str]]


def end_view(
    layout: Layout,
    crank: Crank | None,
    numbered: Numbered,
    done: Collection[int],
    throw_radius_mm: float | None = None,
) -> str:
    """The whole crank from the front: its throws, its counterweights, and every hole by its number."""
    members = crank.members if crank else ()
    sides = _sides(_by_angle(members))
    lines = max(sum(len(names) for _, names in side) for side in sides)
    drawing = Drawing(WIDE_MM, max(HIGH_MM, lines * _LINE_MM + 8))
    centre, reach = (WIDE_MM / 2, drawing.height_mm / 2), reach_mm(members, numbered)
    view = View(centre, RADIUS_MM / reach if reach else 1.0)
    for member in reversed(members):
        draw_metal(drawing, view, member, numbered)
    columns = _columns(drawing, centre, sides)
    _leaders(drawing, centre, columns)
    draw_turning(drawing, centre)
    pins = (_PINS if reach else 1.0) * RADIUS_MM
    if throw_radius_mm and reach:
        pins = throw_radius_mm * view.scale
    _throws(drawing, centre, layout.throws, min(pins, RADIUS_MM))
    draw_earlier_holes(drawing, view, members, numbered)
    draw_holes(drawing, view, numbered, done)
    draw_numbers(drawing, view, numbered, done, RADIUS_MM)
    top = centre[0], centre[1] - RADIUS_MM - 2 * BADGE_MM - LEADER_MM - 3.2
    drawing.text(top, "0°", TEXT, bold=True, scale=True)
    _names(drawing, columns)
    return str(drawing)


def _throws(drawing: Drawing, centre: Point, throws: Sequence[Throw], radius: float) -> None:
    """Every pin at its angle, with its name; those at one angle share it."""
    at: dict[float, list[str]] = {}
    for throw in throws:
        at.setdefault(round(throw.angle_deg % 360, 3), []).append(throw.name)
    said = [fitting(", ".join(names), TEXT, 24.0) for names in at.values()]
    widths = [max(wide_mm(text, TEXT) + 1.0, 2 * _PIN_MM) for text in said]
    width = 2 * math.degrees(math.asin(min(1.0, (max(widths) + 0.6) / 2 / radius)))
    for angle in at:
        drawing.line(polar(centre, angle, TURN_MM + 1.5), polar(centre, angle, radius), THICK)
        drawing.circle(polar(centre, angle, radius), _PIN_MM, LINE, PAPER, part="throw")
    for text, wide, angle in zip(said, widths, around(list(at), min(width, 40.0)), strict=True):
        x, y = polar(centre, angle, radius)
        box = Box(x - wide / 2, y - _PIN_MM, x + wide / 2, y + _PIN_MM)
        drawing.rectangle(box, LINE, PAPER, round_mm=_PIN_MM)
        drawing.text((x, y), text, TEXT, bold=True)


def _by_angle(members: Sequence[Member]) -> list[_Group]:
    """Members by the middle of their metal; a whole ring has none: it is named at the upper right."""
    groups: dict[float, list[str]] = {}
    for member in members:
        arc = member.arcs[0]
        middle = round((arc.from_deg + arc.span_deg / 2) % 360, 1)
        groups.setdefault(45.0 if arc.span_deg >= 360 else middle, []).append(member.name)
    return list(groups.items())


def _sides(groups: Sequence[_Group]) -> tuple[list[_Group], list[_Group]]:
    """The right and the left column, what points up or down where there is less."""
    right = [group for group in groups if 0.5 < group[0] < 179.5]
    left = [group for group in groups if 180.5 < group[0] < 359.5]
    for group in groups:
        if group not in right and group not in left:
            (right if len(right) <= len(left) else left).append(group)
    return right, left


class _Named(NamedTuple):
    """Where a group's names stand: beyond the middle of their inner edge, outwards (sign of x)."""

    angle_deg: float
    names: Sequence[str]
    edge: Point
    outwards: int


def _columns(drawing: Drawing, centre: Point, sides: tuple[list[_Group], list[_Group]]) -> list[_Named]:
    """Every group's names as near as can be to the height of their metal."""
    found = []
    for side, outwards in zip(sides, (1, -1), strict=True):
        wanted = [polar(centre, angle, RADIUS_MM + 8)[1] for angle, _ in side]
        heights = [len(names) * _LINE_MM + 2.5 for _, names in side]
        for (angle, names), y in zip(side, apart(wanted, heights, 0.5, drawing.height_mm - 0.5), strict=True):
            found.append(_Named(angle, names, (centre[0] + outwards * _COLUMN_MM, y), outwards))
    return found


def _leaders(drawing: Drawing, centre: Point, columns: Sequence[_Named]) -> None:
    """From the names to the metal that they are of."""
    for named in columns:
        metal = polar(centre, named.angle_deg, RADIUS_MM - 1.8)
        drawing.line(named.edge, metal, THIN)
        drawing.circle(metal, 0.7, 0, INK)


def _names(drawing: Drawing, columns: Sequence[_Named]) -> None:
    room = WIDE_MM / 2 - _COLUMN_MM - 2.4
    for _, names, (x, y), outwards in columns:
        anchor: Anchor = "start" if outwards > 0 else "end"
        for row, name in enumerate(names):
            at = x + outwards * 1.4, y + (row - (len(names) - 1) / 2) * _LINE_MM
            drawing.text(at, fitting(name, SMALL, room), SMALL, anchor)
        half = len(names) * _LINE_MM / 2
        drawing.line((x, y - half), (x, y + half), LINE)
