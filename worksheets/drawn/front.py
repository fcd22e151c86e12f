"""The whole crank from its front: throws, counterweights, and every hole that has a number."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING, NamedTuple

from truethrow.worksheets.drawn.lettering import SMALL, Anchor, fitting, told_apart, wide_mm
from truethrow.worksheets.drawn.metal import (
    BEFORE,
    DONE,
    LEADER_MM,
    TO_DO,
    TURN_MM,
    Look,
    Numbered,
    View,
    draw_holes,
    draw_metal,
    draw_numbers,
    draw_turning,
    earlier_holes,
    reach_mm,
    ring_mm,
)
from truethrow.worksheets.drawn.pen import BADGE_MM, INK, LINE, METAL, PAPER, THICK, THIN, Drawing
from truethrow.worksheets.drawn.placing import Box, Point, apart, around, polar

if TYPE_CHECKING:
    from truethrow.balance.crank.crank import Crank, Member
    from truethrow.balance.engine.layout import Layout, Throw

WIDE_MM, HIGH_MM, RADIUS_MM = 178.0, 106.0, 30.0
# Without a crank or a throw's radius the pins lie on a circle of this part of the drawing's.
_PINS, _BARE_PINS = 0.5, 0.7
_PIN_MM = 1.4
_PLATE_MM = 5.2  # height of the plate with a throw's name
_AXIS_MM = TURN_MM + 1.8  # radius about the axis that no plate covers
_FAR = 1.15  # as a part of the pins' radius: plates that stand farther out no longer belong to their pins
# What stands before one throw's name and before several: in full, and where there is little room.
_THROW, _SHORT = ("throw ", "throws "), ("T ", "T ")
_LINE_MM = 4.8  # from one name to the next
_BARE_RADIUS_MM = 20.0  # without names
_BEYOND_MM = 2 * BADGE_MM + LEADER_MM + 1.0  # from the rim to the degree ring, outside all numbers
_TICK_MM, _LABEL_MM = 1.1, 4.6  # a tick of ten degrees; from the ring to its figures' middles
_COLUMN_MM = RADIUS_MM + _BEYOND_MM + _LABEL_MM + 5.2  # from the axis to the names on both sides
_LEGEND_MM = 5.0  # height of the line that says what the holes' lines mean
# Where the name of a ring that has no ends is, the first that is clear.
_RING_DEG = (45.0, 135.0, 225.0, 315.0, 75.0, 105.0, 255.0, 285.0)


class _Group(NamedTuple):
    """Members whose metal has one middle: its angle, the radius on the drawing that says which metal it is."""

    angle_deg: float
    radius: float
    names: list[str]


def end_view(
    layout: Layout,
    crank: Crank | None,
    numbered: Numbered,
    done: Collection[int],
    throw_radius_mm: float | None = None,
    *,
    is_named: bool = True,
) -> str:
    """The whole crank from the front: its throws, its counterweights, and every hole by its number. is_named: with
    the counterweights' names at both sides, twice as wide; a table tells them by the holes' numbers else."""
    members = crank.members if crank else ()
    reach = reach_mm(members, numbered)
    rim = RADIUS_MM if is_named else _BARE_RADIUS_MM
    scale = rim / reach if reach else 1.0
    sides = _sides(_groups(members, numbered, scale)) if is_named else ([], [])
    if is_named:
        lines = max(sum(len(group.names) for group in side) for side in sides)
        drawing = Drawing(WIDE_MM, max(HIGH_MM, lines * _LINE_MM + 8 + 2 * _LEGEND_MM))
        centre = WIDE_MM / 2, drawing.height_mm / 2
    else:
        half = rim + _BEYOND_MM + _LABEL_MM
        centre = half + 4.6, half + 2.4
        drawing = Drawing(2 * centre[0], 2 * centre[1] + _LEGEND_MM)
    view = View(centre, scale)
    for member in reversed(members):
        draw_metal(drawing, view, member, numbered)
    columns = _columns(drawing, centre, sides)
    _leaders(drawing, centre, columns)
    draw_turning(drawing, centre)
    pins = (_PINS if reach else _BARE_PINS) * rim
    if throw_radius_mm and reach:
        pins = throw_radius_mm * view.scale
    has_word = _throws(drawing, centre, layout.throws, min(pins, rim))
    draw_holes(drawing, view, members, numbered, done)
    draw_numbers(drawing, view, numbered, done, rim)
    _degree_ring(drawing, centre, rim + _BEYOND_MM)
    _names(drawing, columns, numbered)
    looks = _looks(numbered, done, has_earlier=bool(earlier_holes(members, numbered)))
    _legend(drawing, looks, has_word=has_word)
    return str(drawing)


def _degree_ring(drawing: Drawing, centre: Point, ring: float) -> None:
    """The crank's angles, a tick each ten degrees and a figure each thirty."""
    drawing.circle(centre, ring, THIN, part="degrees")
    for angle in range(0, 360, 10):
        long = 2.0 if angle % 30 == 0 else 1.0
        ends = (polar(centre, angle, ring), polar(centre, angle, ring + long * _TICK_MM))
        drawing.line(*ends, THIN)
    for angle in range(0, 360, 30):
        at = polar(centre, angle, ring + _LABEL_MM)
        drawing.text(at, f"{angle}°", SMALL, bold=angle == 0, halo=True, scale=True)


def _throws(drawing: Drawing, centre: Point, throws: Sequence[Throw], pins: float) -> bool:
    """Every pin at its angle, with its name on a plate, so that no throw is taken for a hole; those at one angle
    share it. Whether the plates say in full that they are throws. pins: their radius on the drawing."""
    at: dict[float, list[str]] = {}
    for throw in throws:
        at.setdefault(round(throw.angle_deg % 360, 3), []).append(throw.name)
    said, places, in_full = _plates(list(at), list(at.values()), pins)
    for angle, place in zip(at, places, strict=True):
        pin = polar(centre, angle, pins)
        drawing.line(polar(centre, angle, min(TURN_MM + 1.5, pins)), pin, THICK)
        drawing.line(pin, polar(centre, *place), THIN)
        drawing.circle(pin, _PIN_MM, 0, INK, part="throw")
    for words, place in zip(said, places, strict=True):
        x, y = polar(centre, *place)
        wide = wide_mm(words, SMALL) / 2 + 0.6
        drawing.rectangle(Box(x - wide, y - _PLATE_MM / 2, x + wide, y + _PLATE_MM / 2), THIN, PAPER, part="plate")
        drawing.text((x, y), words, SMALL)
    return in_full


def _plates(
    angles: Sequence[float], names: Sequence[Sequence[str]], pins: float
) -> tuple[list[str], list[tuple[float, float]], bool]:
    """What each plate says, its angle and radius, and whether they say it in full: on the pins where there is
    room; short where plates would be moved far from their pins for the word."""
    for words in (_THROW, _SHORT):
        said = [fitting(words[len(own) > 1] + ", ".join(own), SMALL, 24.0) for own in names]
        widest = max(wide_mm(text, SMALL) for text in said) + 1.8
        radius = max(pins, _AXIS_MM + widest / 2)
        width = 2 * math.degrees(math.asin(min(1.0, math.hypot(widest, _PLATE_MM) / 2 / radius)))
        if width * len(said) <= 360 and radius <= _FAR * pins:
            break
    return said, [(angle, radius) for angle in around(angles, width)], words is _THROW


def _groups(members: Sequence[Member], numbered: Numbered, scale: float) -> list[_Group]:
    """Members by the middle of their metal and how far out it is."""
    groups: dict[tuple[float, float], list[str]] = {}
    for member in members:
        arc, (inner, outer) = member.arcs[0], (radius * scale for radius in ring_mm(member, numbered))
        # A damper's ring may be thinner than what a counterweight's point lies below its rim.
        radius = round((inner + outer) / 2 if member.pitch_mm is not None else max(outer - 1.8, inner), 2)
        middle = round(arc.middle_deg, 1)
        if arc.span_deg >= 360:
            middle = _clear_deg(members, {angle for angle, _ in groups})
        groups.setdefault((middle, radius), []).append(member.name)
    return [_Group(angle, radius, names) for (angle, radius), names in groups.items()]


def _clear_deg(members: Sequence[Member], taken: Collection[float]) -> float:
    """An angle at which a leader to a whole ring crosses the least of other metal and no other leader."""
    arcs = [arc for member in members for arc in member.arcs if arc.span_deg < 360]
    free = [angle for angle in _RING_DEG if angle not in taken] or list(_RING_DEG)
    return min(free, key=lambda angle: sum(arc.holds(angle) for arc in arcs))


def _sides(groups: Sequence[_Group]) -> tuple[list[_Group], list[_Group]]:
    """The right and the left column, what points up or down where there is less."""
    right = [group for group in groups if 0.5 < group.angle_deg < 179.5]
    left = [group for group in groups if 180.5 < group.angle_deg < 359.5]
    for group in groups:
        if group not in right and group not in left:
            (right if len(right) <= len(left) else left).append(group)
    return right, left


class _Named(NamedTuple):
    """Where a group's names stand: beyond the middle of their inner edge, outwards (sign of x)."""

    group: _Group
    edge: Point
    outwards: int


def _columns(drawing: Drawing, centre: Point, sides: tuple[list[_Group], list[_Group]]) -> list[_Named]:
    """Every group's names as near as can be to the height of their metal, above the legend."""
    found = []
    for side, outwards in zip(sides, (1, -1), strict=True):
        wanted = [polar(centre, group.angle_deg, RADIUS_MM + 8)[1] for group in side]
        heights = [len(group.names) * _LINE_MM + 2.5 for group in side]
        middles = apart(wanted, heights, 0.5, drawing.height_mm - _LEGEND_MM - 0.5)
        for group, y in zip(side, middles, strict=True):
            found.append(_Named(group, (centre[0] + outwards * _COLUMN_MM, y), outwards))
    return found


def _leaders(drawing: Drawing, centre: Point, columns: Sequence[_Named]) -> None:
    """From the names to the metal that they are of."""
    for group, edge, _ in columns:
        metal = polar(centre, group.angle_deg, group.radius)
        drawing.line(edge, metal, THIN)
        drawing.circle(metal, 0.7, 0, INK, part="leader")


def _names(drawing: Drawing, columns: Sequence[_Named], numbered: Numbered) -> None:
    """Every member by its name, with the numbers of its holes: of two behind each other, that tells which one is
    meant."""
    holes: dict[str, list[str]] = {}
    for number, hole in numbered.items():
        holes.setdefault(hole.member, []).append(str(number))
    room = WIDE_MM / 2 - _COLUMN_MM - 2.4
    said = {name: fitting(f": {', '.join(own)}", SMALL, 0.6 * room) for name, own in holes.items()}
    every = [name for named in columns for name in named.group.names]
    left = [room - wide_mm(said.get(name, ""), SMALL) for name in every]
    short = dict(zip(every, told_apart(every, SMALL, left), strict=True))
    for (_, _, names), (x, y), outwards in columns:
        anchor: Anchor = "start" if outwards > 0 else "end"
        for row, name in enumerate(names):
            at = x + outwards * 1.4, y + (row - (len(names) - 1) / 2) * _LINE_MM
            drawing.text(at, short[name] + said.get(name, ""), SMALL, anchor, bold=name in holes)
        half = len(names) * _LINE_MM / 2
        drawing.line((x, y - half), (x, y + half), LINE)


def _looks(numbered: Numbered, done: Collection[int], *, has_earlier: bool) -> list[tuple[Look, str]]:
    """How holes look, as far as there are such, and what that means."""
    made = numbered.keys() & set(done)
    found = [(TO_DO, "to do")] if len(made) < len(numbered) else []
    if made:
        found.append((DONE, "done"))
    if has_earlier:
        found.append((BEFORE, "there before"))
    return found


def _legend(drawing: Drawing, looks: Sequence[tuple[Look, str]], *, has_word: bool) -> None:
    """What the lines of the holes mean, each on a piece of metal, and what T is."""
    told = [(look, words, wide_mm(words, SMALL) + 9.0) for look, words in looks]
    short = "" if has_word else "T = throw"
    x, y = (drawing.width_mm - sum(wide for *_, wide in told) - wide_mm(short, SMALL)) / 2, drawing.height_mm - 2.6
    for look, words, wide in told:
        drawing.rectangle(Box(x, y - 2.3, x + 6.0, y + 2.3), 0, METAL)
        drawing.circle((x + 3.0, y), 1.4, look.weight, look.fill, look.dashed, part="legend")
        drawing.text((x + 7.0, y), words, SMALL, "start", bold=look is TO_DO)
        x += wide
    if short:
        drawing.text((x, y), short, SMALL, "start")
