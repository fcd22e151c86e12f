"""The crank with its counterweights and holes: whole, from its front and its side, and one counterweight alone.

Angles, radii, diameters and depths are true to scale. From the front, 0 is throw 1 and up, and the crank turns
clockwise. A hole to be made is drawn in a thick line and has a framed number; one that is done is black, its
number ticked; one that was there before is dashed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from truethrow.worksheets.drawn.pen import (
    BADGE_MM,
    INK,
    LARGE,
    LINE,
    METAL,
    PAPER,
    SMALL,
    TEXT,
    THICK,
    THIN,
    Anchor,
    Box,
    Drawing,
    Point,
    apart,
    around,
    fitting,
    polar,
    wide_mm,
)

if TYPE_CHECKING:
    from truethrow.balance.crank import Crank, Member
    from truethrow.balance.holes import Hole
    from truethrow.balance.layout import Layout, Throw
    from truethrow.worksheets.display import Display

Numbered = Mapping[int, "Hole"]

END_WIDE_MM, END_HIGH_MM, END_RADIUS_MM = 150.0, 102.0, 36.0
FACE_WIDE_MM, _FACE_HIGH_MM = 80.0, 68.0
SIDE_WIDE_MM = 165.0
_LEADER_MM = 2.5
_BETWEEN_MM = 1.6  # of numbers, for the tick of one that is done
_KEY_MM = 5.6
_LINE_MM = 4.8  # from one line of small text to the next
# Without a crank or a throw's radius the pins lie on a circle of this part of the drawing's.
_PINS = 0.5
_PIN_MM, _TURN_MM, _SAME_PLACE_MM = 3.2, 4.6, 4.0
# How many millimetres of the crank one on the paper may be.
_SCALES = (
    0.5,
    1.0,
    1.5,
    2.0,
    2.5,
    3.0,
    4.0,
    5.0,
    6.0,
    8.0,
    10.0,
    15.0,
    20.0,
    30.0,
    50.0,
    100.0,
    200.0,
    500.0,
    1000.0,
)
# Half the width that a damper's ring is drawn with, in diameters of its largest hole and parts of its circle.
_RING_HOLES, _RING_PART = 1.2, 0.06


class _View(NamedTuple):
    """Where the crank's axis is on the drawing, and millimetres there for one of the crank."""

    centre: Point
    scale: float

    def at(self, angle_deg: float, radius_mm: float) -> Point:
        return polar(self.centre, angle_deg, radius_mm * self.scale)


def end_view(
    layout: Layout,
    crank: Crank | None,
    numbered: Numbered,
    done: Collection[int],
    throw_radius_mm: float | None = None,
) -> str:
    """The whole crank from the front: its throws, its counterweights, and every hole by its number."""
    members = crank.members if crank else ()
    reach = max((_outer(member, _on(member, numbered).values()) for member in members), default=0.0)
    groups = _by_angle(members)
    sides = _sides(groups)
    lines = max((sum(len(names) for _, names in side) for side in sides), default=0)
    high = max(END_HIGH_MM, lines * _LINE_MM + 8)
    drawing = Drawing(END_WIDE_MM, high)
    centre = END_WIDE_MM / 2, high / 2
    view = _View(centre, END_RADIUS_MM / reach if reach else 1.0)
    for member in reversed(members):
        _metal(drawing, view, member, numbered)
    _column_leaders(drawing, centre, high, sides)
    _turning(drawing, centre)
    pins = (_PINS if reach else 1.0) * END_RADIUS_MM
    if throw_radius_mm and reach:
        pins = throw_radius_mm * view.scale
    _throws(drawing, centre, layout.throws, min(pins, END_RADIUS_MM))
    _there_before(drawing, view, members, numbered)
    for number, hole in numbered.items():
        _hole(drawing, view, hole, number, done=number in done)
    _badges(drawing, view, numbered, done, END_RADIUS_MM)
    drawing.text(
        (centre[0], centre[1] - END_RADIUS_MM - 2 * BADGE_MM - _LEADER_MM - 3.2), "0°", TEXT, bold=True, scale=True
    )
    _member_names(drawing, centre, high, sides)
    return str(drawing)


def face(member: Member, numbered: Numbered, done: Collection[int], show: Display) -> str:
    """One counterweight or damper from the front, with a key of what is to be made: angle, drill, depth."""
    own = _on(member, numbered)
    over = next((over for over in _SCALES if _fits(member, own, 1 / over)), _SCALES[-1])
    box = _extent(member, own, 1 / over)
    keys = [(number, _key(hole, member, show)) for number, hole in own.items()]
    head, key = 7.0, sum(len(lines) * _KEY_MM + 1.5 for _, lines in keys)
    drawing = Drawing(FACE_WIDE_MM, head + (box.bottom - box.top) + 2.5 + key)
    centre = FACE_WIDE_MM / 2 - (box.left + box.right) / 2, head - box.top
    view = _View(centre, 1 / over)
    drawing.text((1.0, 3.0), f"from the front, {_ratio(over)}", SMALL, "start", scale=True)
    _metal(drawing, view, member, numbered)
    _there_before(drawing, view, (member,), numbered)
    _arc_ends(drawing, view, member, own)
    _turning(drawing, centre)
    drawing.text((centre[0], centre[1] - _TURN_MM - 3.0), "0°", SMALL, bold=True, halo=True, scale=True)
    for number, hole in own.items():
        _hole(drawing, view, hole, number, done=number in done)
    _badges(drawing, view, own, done, _outer(member, own.values()) / over)
    y = head + (box.bottom - box.top) + 5.5
    for number, lines in keys:
        drawing.badge((4.0, y), number, done=number in done)
        for words in lines:
            for x, said, size, bold in words:
                drawing.text((x, y), said, size, "start", bold=bold)
            y += _KEY_MM
        y += 1.5
    return str(drawing)


def side_view(
    layout: Layout,
    crank: Crank | None,
    planes_mm: tuple[float, float],
    numbered: Numbered,
    done: Collection[int],
    throw_radius_mm: float | None = None,
) -> str:
    """Along the crank, front to the left, 0 up: throws, counterweights, the two planes, holes where they act."""
    members = crank.members if crank else ()
    z = [*(throw.z_mm for throw in layout.throws), *planes_mm, *(hole.z_mm for hole in numbered.values())]
    z += [m.z_mm + side * m.thickness_mm / 2 for m in members for side in (-1, 1)]
    low, high = min(z), max(z)
    reach = max((_outer(member, _on(member, numbered).values()) for member in members), default=0.0)
    reach = reach or throw_radius_mm or (high - low) / 6 or 1.0
    pins = throw_radius_mm or _PINS * reach
    scale = min((SIDE_WIDE_MM - 16) / ((high - low) or 2 * reach), 30.0 / reach)
    left = SIDE_WIDE_MM / 2 - (low + high) / 2 * scale

    def x(z_mm: float) -> float:
        return left + z_mm * scale

    top = 2 * BADGE_MM + 4.0 if numbered else 2.0
    tall = max(reach * scale + 3.0, pins * scale + 7.0)
    axis, bottom = top + tall, top + 2 * tall
    names = [fitting(member.name, SMALL, 30.0) for member in members]
    rows = _rows([x(member.z_mm) for member in members], names)
    drawing = Drawing(SIDE_WIDE_MM, bottom + _LINE_MM * (len(rows) + 1) + 3.0)
    drawing.line((x(low) - 6, axis), (x(high) + 6, axis), THIN, "axis")
    for z_mm in planes_mm:
        drawing.line((x(z_mm), top - 1.0), (x(z_mm), bottom - 0.5), THIN, "axis", part="plane")
    for member in members:
        up, down = _span(member, numbered)
        half = member.thickness_mm / 2
        box = Box(x(member.z_mm - half), axis - up * scale, x(member.z_mm + half), axis - down * scale)
        drawing.rectangle(box, LINE, METAL, part="member")
    _pins(drawing, layout.throws, x, axis, pins * scale)
    _plane_names(drawing, [x(z_mm) for z_mm in planes_mm], bottom + 1.9)
    for row, y in zip(rows, (bottom + _LINE_MM * (at + 1.6) for at in range(len(rows))), strict=True):
        for middle, at in row:
            drawing.text((middle, y), names[at], SMALL, halo=True)
    order = sorted(numbered, key=lambda number: numbered[number].z_mm)
    wanted = [x(numbered[number].z_mm) for number in order]
    room = min(2 * BADGE_MM + _BETWEEN_MM, SIDE_WIDE_MM / max(len(order), 1))
    for number, true, middle in zip(
        order, wanted, apart(wanted, [room] * len(order), 0.5, SIDE_WIDE_MM - 0.5), strict=True
    ):
        hole = numbered[number]
        place = true, axis - hole.radius_mm * math.cos(math.radians(hole.angle_deg)) * scale
        drawing.line((middle, BADGE_MM + 1.0), place, THIN)
        drawing.circle(place, 1.2, LINE, INK if number in done else PAPER, part=f"hole-{number}")
        drawing.badge((middle, BADGE_MM + 1.0), number, done=number in done)
    return str(drawing)


def _on(member: Member, numbered: Numbered) -> dict[int, Hole]:
    return {number: hole for number, hole in numbered.items() if hole.member == member.name}


def _ring(member: Member, holes: Collection[Hole]) -> tuple[float, float]:
    """Inner and outer radius that a member is drawn with; of a damper, a ring about its holes."""
    if member.pitch_mm is None:
        return member.inner_mm, member.outer_mm
    widest = max((hole.diameter_mm for hole in (*holes, *member.holes)), default=0.0)
    half = min(max(_RING_HOLES * widest, _RING_PART * member.pitch_mm), member.pitch_mm)
    return member.pitch_mm - half, member.pitch_mm + half


def _outer(member: Member, holes: Collection[Hole]) -> float:
    return _ring(member, holes)[1]


def _metal(drawing: Drawing, view: _View, member: Member, numbered: Numbered) -> None:
    inner, outer = _ring(member, _on(member, numbered).values())
    for arc in member.arcs:
        drawing.sector(
            view.centre,
            inner * view.scale,
            outer * view.scale,
            arc.from_deg,
            arc.span_deg,
            LINE,
            METAL,
            part="member",
        )
    if member.pitch_mm is not None:
        drawing.circle(view.centre, member.pitch_mm * view.scale, THIN, dashed="axis", part="pitch")


def _there_before(drawing: Drawing, view: _View, members: Collection[Member], numbered: Numbered) -> None:
    """Holes that nobody numbers."""
    known = {(hole.member, hole.kind, hole.angle_deg, hole.radius_mm) for hole in numbered.values()}
    for member in members:
        for hole in member.holes:
            if (hole.member, hole.kind, hole.angle_deg, hole.radius_mm) not in known:
                _shape(drawing, view, hole, THIN, PAPER, "dash", "before")


def _hole(drawing: Drawing, view: _View, hole: Hole, number: int, *, done: bool) -> None:
    _shape(drawing, view, hole, LINE if done else THICK, INK if done else PAPER, "", f"hole-{number}")


def _shape(drawing: Drawing, view: _View, hole: Hole, weight: float, fill: str, dashed: str, part: str) -> None:
    """One hole as it is seen from the front."""
    match hole.kind:
        case "radial":
            drawing.polygon(_bore(view, hole), weight, fill, dashed, part)
        case "grind":
            floor, half = hole.radius_mm - hole.depth_mm, hole.arc_deg / 2
            drawing.sector(
                view.centre,
                floor * view.scale,
                hole.radius_mm * view.scale,
                hole.angle_deg - half,
                hole.arc_deg,
                weight,
                fill,
                dashed,
                part,
            )
            steps = max(2, round(math.radians(hole.arc_deg) * hole.radius_mm * view.scale / 1.2))
            for step in range(1, steps):
                angle = hole.angle_deg - half + hole.arc_deg * step / steps
                drawing.line(view.at(angle, floor), view.at(angle, hole.radius_mm), THIN)
        case _:
            centre, radius = view.at(hole.angle_deg, hole.radius_mm), hole.diameter_mm / 2 * view.scale
            drawing.circle(centre, radius, weight, fill, dashed, part)
            if hole.kind == "slug":
                drawing.hatch([polar(centre, angle, radius) for angle in range(0, 360, 10)], 1.0)


def _bore(view: _View, hole: Hole) -> list[Point]:
    """A radial bore from its side: from the rim to its full depth, and its point."""
    half = hole.diameter_mm / 2
    rim = math.sqrt(max(hole.radius_mm**2 - half**2, 0.0))
    deep, tip = hole.radius_mm - hole.depth_mm, hole.radius_mm - hole.tip_mm
    angle = math.radians(hole.angle_deg)

    def at(along: float, beside: float) -> Point:
        x = along * math.sin(angle) + beside * math.cos(angle)
        y = along * math.cos(angle) - beside * math.sin(angle)
        return view.centre[0] + x * view.scale, view.centre[1] - y * view.scale

    return [at(rim, -half), at(deep, -half), at(tip, 0.0), at(deep, half), at(rim, half)]


def _badges(drawing: Drawing, view: _View, numbered: Numbered, done: Collection[int], rim_mm: float) -> None:
    """The numbers outside the rim, each as near as can be to its hole."""
    places = _badge_places(numbered, rim_mm)
    for (number, hole), (angle, radius) in zip(numbered.items(), places, strict=True):
        place = polar(view.centre, angle, radius)
        if hole.kind in ("radial", "grind"):
            start = view.at(hole.angle_deg, hole.radius_mm)
        else:
            start = view.at(hole.angle_deg, hole.radius_mm + hole.diameter_mm / 2)
        drawing.line(start, place, THIN)
        drawing.badge(place, number, done=number in done)


def _badge_places(numbered: Numbered, rim_mm: float) -> list[tuple[float, float]]:
    """Angle and radius on the drawing of each number; a ring that is too short for all grows."""
    room = 2 * BADGE_MM + _BETWEEN_MM
    radius = max(rim_mm + _LEADER_MM + BADGE_MM, room * len(numbered) / (2 * math.pi) * 1.05)
    width = 2 * math.degrees(math.asin(min(1.0, room / 2 / radius)))
    return [(angle, radius) for angle in around([hole.angle_deg for hole in numbered.values()], width)]


def _turning(drawing: Drawing, centre: Point) -> None:
    """The crank's axis, and the direction of rotation."""
    x, y = centre
    for dx, dy in ((1, 0), (0, 1)):
        drawing.line((x - 1.8 * dx, y - 1.8 * dy), (x + 1.8 * dx, y + 1.8 * dy), LINE)
    drawing.polyline([polar(centre, angle, _TURN_MM) for angle in range(-60, 61, 5)], LINE)
    drawing.head(polar(centre, 85, _TURN_MM), polar((0.0, 0.0), 160, 1.0), 2.6)


def _throws(drawing: Drawing, centre: Point, throws: Sequence[Throw], radius: float) -> None:
    """Every pin at its angle, with its name; those at one angle share it."""
    at: dict[float, list[str]] = {}
    for throw in throws:
        at.setdefault(round(throw.angle_deg % 360, 3), []).append(throw.name)
    said = [fitting(", ".join(names), TEXT, 24.0) for names in at.values()]
    widths = [max(wide_mm(text, TEXT) + 1.0, 2 * _PIN_MM) for text in said]
    width = 2 * math.degrees(math.asin(min(1.0, (max(widths) + 0.6) / 2 / radius)))
    for angle in at:
        drawing.line(polar(centre, angle, _TURN_MM + 1.5), polar(centre, angle, radius), THICK)
        drawing.circle(polar(centre, angle, radius), _PIN_MM, LINE, PAPER, part="throw")
    for text, wide, angle in zip(said, widths, around(list(at), min(width, 40.0)), strict=True):
        x, y = polar(centre, angle, radius)
        box = Box(x - wide / 2, y - _PIN_MM, x + wide / 2, y + _PIN_MM)
        drawing.rectangle(box, LINE, PAPER, round_mm=_PIN_MM)
        drawing.text((x, y), text, TEXT, bold=True)


def _by_angle(members: Sequence[Member]) -> list[tuple[float, list[str]]]:
    """Members whose metal lies about the same angle: the angle and their names."""
    groups: dict[float, list[str]] = {}
    for member in members:
        arc = member.arcs[0]
        middle = round((arc.from_deg + arc.span_deg / 2) % 360, 1)
        groups.setdefault(45.0 if arc.span_deg >= 360 else middle, []).append(member.name)
    return list(groups.items())


def _sides(groups: Sequence[tuple[float, list[str]]]) -> tuple[list[tuple[float, list[str]]], ...]:
    """The right and the left column, what points up or down where there is less."""
    right = [group for group in groups if 0.5 < group[0] < 179.5]
    left = [group for group in groups if 180.5 < group[0] < 359.5]
    for group in groups:
        if group not in right and group not in left:
            (right if len(right) <= len(left) else left).append(group)
    return right, left


def _columns(
    centre: Point, high: float, sides: Sequence[Sequence[tuple[float, list[str]]]]
) -> list[tuple[float, list[str], int, Anchor, Point]]:
    """Where each group's names stand: its angle, the names, the side, their anchor, and the middle of their
    inner edge."""
    found = []
    for side, (sign, anchor) in zip(sides, _COLUMNS, strict=True):
        wanted = [polar(centre, angle, END_RADIUS_MM + 8)[1] for angle, _ in side]
        heights = [len(names) * _LINE_MM + 2.5 for _, names in side]
        for (angle, names), y in zip(side, apart(wanted, heights, 0.5, high - 0.5), strict=True):
            found.append((angle, names, sign, anchor, (centre[0] + sign * _COLUMN_MM, y)))
    return found


def _member_names(
    drawing: Drawing, centre: Point, high: float, sides: Sequence[Sequence[tuple[float, list[str]]]]
) -> None:
    """What lies about which angle, in a column on each side."""
    for _, names, sign, anchor, (x, y) in _columns(centre, high, sides):
        for row, name in enumerate(names):
            at = x + sign * 1.4, y + (row - (len(names) - 1) / 2) * _LINE_MM
            drawing.text(at, fitting(name, SMALL, END_WIDE_MM / 2 - _COLUMN_MM - 2.4), SMALL, anchor)
        half = len(names) * _LINE_MM / 2
        drawing.line((x, y - half), (x, y + half), LINE)


def _column_leaders(
    drawing: Drawing, centre: Point, high: float, sides: Sequence[Sequence[tuple[float, list[str]]]]
) -> None:
    """From the names to the metal that they are of."""
    for angle, _, _, _, at in _columns(centre, high, sides):
        metal = polar(centre, angle, END_RADIUS_MM - 1.8)
        drawing.line(at, metal, THIN)
        drawing.circle(metal, 0.7, 0, INK)


_COLUMN_MM = END_RADIUS_MM + 2 * BADGE_MM + _LEADER_MM + 2.2
_COLUMNS: tuple[tuple[int, Anchor], ...] = ((1, "start"), (-1, "end"))


def _arc_ends(drawing: Drawing, view: _View, member: Member, holes: Mapping[int, Hole]) -> None:
    """The angles from which and to which there is metal."""
    for said, at in _end_labels(member, holes, view.scale):
        drawing.text((view.centre[0] + at[0], view.centre[1] + at[1]), said, SMALL)


def _end_labels(member: Member, holes: Mapping[int, Hole], scale: float) -> list[tuple[str, Point]]:
    inner, outer = _ring(member, holes.values())
    middle = (inner + outer) / 2 * scale
    found = []
    for arc in member.arcs:
        if arc.span_deg >= 360:
            continue
        for angle, beyond in ((arc.from_deg, -1), (arc.from_deg + arc.span_deg, 1)):
            beside = angle + beyond * math.degrees(math.atan2(6.0, middle))
            found.append((f"{round(angle % 360, 1):g}°", polar((0.0, 0.0), beside, math.hypot(middle, 6.0))))
    return found


def _extent(member: Member, own: Mapping[int, Hole], scale: float) -> Box:
    """What a counterweight, the crank's axis and all about them fill, the axis at (0, 0)."""
    inner, outer = (radius * scale for radius in _ring(member, own.values()))
    points = [(-6.0, -10.0), (6.0, 3.0)]
    for arc in member.arcs:
        steps = max(2, math.ceil(arc.span_deg / 3))
        for step in range(steps + 1):
            angle = arc.from_deg + arc.span_deg * step / steps
            points += [polar((0.0, 0.0), angle, outer + 0.6), polar((0.0, 0.0), angle, inner)]
    for angle, radius in _badge_places(own, outer):
        x, y = polar((0.0, 0.0), angle, radius)
        points += [(x - BADGE_MM - 1, y - BADGE_MM - 1), (x + BADGE_MM + 1.6, y + BADGE_MM + 1.6)]
    for said, (x, y) in _end_labels(member, own, scale):
        half = wide_mm(said, SMALL) / 2
        points += [(x - half, y - SMALL * 0.6), (x + half, y + SMALL * 0.6)]
    xs, ys = zip(*points, strict=True)
    return Box(min(xs), min(ys), max(xs), max(ys))


def _fits(member: Member, own: Mapping[int, Hole], scale: float) -> bool:
    box = _extent(member, own, scale)
    return box.right - box.left <= FACE_WIDE_MM - 2 and box.bottom - box.top <= _FACE_HIGH_MM


def _ratio(over: float) -> str:
    return f"{1 / over:g} : 1" if over < 1 else f"1 : {over:g}"


def _key(hole: Hole, member: Member, show: Display) -> list[list[tuple[float, str, float, bool]]]:
    """The lines of one hole in the key: x, words, size, whether bold."""
    wide, deep = show.length(hole.diameter_mm), show.length(round(hole.depth_mm, 2))
    tool, beside, more = f"Ø {wide}", "", ""
    match hole.kind:
        case "radial":
            beside = f"tip at {show.length(round(hole.tip_mm, 1))}"
        case "grind":
            tool = f"grind {hole.arc_deg:g}° of rim"
        case _:
            tool = f"slug Ø {wide}" if hole.kind == "slug" else tool
            beside = f"from the {member.bore}" if member.bore else "along the crank"
            more = f"its axis at radius {show.length(hole.radius_mm)}"
    lines = [
        [(9.0, f"{hole.angle_deg % 360:.1f}°", LARGE, True), (34.0, tool, TEXT, False)],
        [(9.0, f"{deep} deep", TEXT, True), (48.0, beside, SMALL, False)],
        [(9.0, more, SMALL, False)],
    ]
    kept = [[words for words in line if words[1]] for line in lines]
    return [line for line in kept if line]


def _span(member: Member, numbered: Numbered) -> tuple[float, float]:
    """How high and how low a member reaches, seen from the side."""
    inner, outer = _ring(member, _on(member, numbered).values())
    heights = []
    for arc in member.arcs:
        angles = [arc.from_deg, arc.from_deg + arc.span_deg]
        angles += [angle for angle in (0.0, 180.0) if arc.holds(angle)]
        heights += [radius * math.cos(math.radians(angle)) for angle in angles for radius in (inner, outer)]
    return max(heights), min(heights)


def _pins(
    drawing: Drawing, throws: Sequence[Throw], x: Callable[[float], float], axis: float, pins: float
) -> None:
    """Every throw as high as its angle puts it; the parts of a split pin share a label."""
    for throw in throws:
        at, y = x(throw.z_mm), axis - pins * math.cos(math.radians(throw.angle_deg))
        for side in (-2.5, 2.5):
            drawing.line((at + side, axis), (at + side, y), LINE)
        drawing.rectangle(Box(at - 3.5, y - 1.5, at + 3.5, y + 1.5), LINE, PAPER, part="throw")
    groups: list[list[Throw]] = []
    for throw in sorted(throws, key=lambda throw: throw.z_mm):
        if groups and x(throw.z_mm) - x(groups[-1][0].z_mm) < _SAME_PLACE_MM:
            groups[-1].append(throw)
        else:
            groups.append([throw])
    room = SIDE_WIDE_MM / len(groups) - 1.5
    names = [fitting(", ".join(throw.name for throw in group), TEXT, room) for group in groups]
    widths = [wide_mm(name, TEXT) + 1.5 for name in names]
    middles = apart([x(group[0].z_mm) for group in groups], widths, 0.0, SIDE_WIDE_MM)
    for group, name, middle in zip(groups, names, middles, strict=True):
        heights = [pins * math.cos(math.radians(throw.angle_deg)) for throw in group]
        y = axis - max(heights) - 4.0 if max(heights) > -1e-9 else axis - min(heights) + 4.2
        drawing.text((middle, y), name, TEXT, bold=True, halo=True)


def _plane_names(drawing: Drawing, places: Sequence[float], y: float) -> None:
    words = ["front plane", "rear plane"]
    widths = [wide_mm(said, SMALL) + 2 for said in words]
    for said, middle in zip(words, apart(places, widths, 0.0, SIDE_WIDE_MM), strict=True):
        drawing.text((middle, y), said, SMALL, bold=True, halo=True)


def _rows(places: Sequence[float], names: Sequence[str]) -> list[list[tuple[float, int]]]:
    """Names below the members in as few rows as hold them: the middle of each and which it is."""
    widths = [wide_mm(name, SMALL) + 1.5 for name in names]
    count = max(1, math.ceil(sum(widths) / (SIDE_WIDE_MM - 4)))
    if not names:
        return []
    rows = []
    for row in range(count):
        own = list(range(row, len(names), count))
        middles = apart([places[at] for at in own], [widths[at] for at in own], 1.0, SIDE_WIDE_MM - 1.0)
        rows.append(list(zip(middles, own, strict=True)))
    return rows
