"""The metal of a crank and its holes: what the end view, the face and the side view share.

Angles, radii, diameters and depths are true to scale. From the front, 0 is throw 1 and up, and the crank turns
clockwise. A hole to be made is white in a thick line and has a framed number; one that is done is grey in a thin
line, its number ticked; one that was there before is dashed. No hole hides another.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from typing import TYPE_CHECKING, NamedTuple

from truethrow.worksheets.drawn.pen import BADGE_MM, LINE, METAL, PAPER, THICK, THIN, Drawing
from truethrow.worksheets.drawn.placing import Point, around, polar

if TYPE_CHECKING:
    from truethrow.balance.crank.crank import Member
    from truethrow.balance.crank.holes import Hole

Numbered = Mapping[int, "Hole"]

LEADER_MM = 2.5  # from a rim to the numbers outside it, at least
BETWEEN_MM = 1.6  # of numbers, for the tick of one that is done
TURN_MM = 4.6  # radius of the arrow that shows the direction of rotation
# Half the width that a damper's ring is drawn with, in diameters of its largest hole and parts of its circle.
_RING_HOLES, _RING_PART = 1.2, 0.06


class View(NamedTuple):
    """The crank from its front: where its axis is on the drawing, and millimetres there for one of the crank."""

    centre: Point
    scale: float

    def at(self, angle_deg: float, radius_mm: float) -> Point:
        return polar(self.centre, angle_deg, radius_mm * self.scale)


def on(member: Member, numbered: Numbered) -> dict[int, Hole]:
    """Those of the holes that are in one member."""
    return {number: hole for number, hole in numbered.items() if hole.member == member.name}


def ring_mm(member: Member, numbered: Numbered) -> tuple[float, float]:
    """Inner and outer radius that a member is drawn with; of a damper, a ring about its holes."""
    if member.pitch_mm is None:
        return member.inner_mm, member.outer_mm
    holes = (*on(member, numbered).values(), *member.holes)
    widest = max((hole.diameter_mm for hole in holes), default=0.0)
    half = min(max(_RING_HOLES * widest, _RING_PART * member.pitch_mm), member.pitch_mm)
    return member.pitch_mm - half, member.pitch_mm + half


def reach_mm(members: Collection[Member], numbered: Numbered) -> float:
    """The largest radius of all of them, 0 without any."""
    return max((ring_mm(member, numbered)[1] for member in members), default=0.0)


def draw_metal(drawing: Drawing, view: View, member: Member, numbered: Numbered) -> None:
    inner, outer = (radius * view.scale for radius in ring_mm(member, numbered))
    for arc in member.arcs:
        drawing.sector(view.centre, inner, outer, arc.from_deg, arc.span_deg, LINE, METAL, part="member")
    if member.pitch_mm is not None:
        drawing.circle(view.centre, member.pitch_mm * view.scale, THIN, dashed="axis", part="pitch")


class Look(NamedTuple):
    """How a hole is drawn: the width of its line, what fills it, and whether it is dashed."""

    weight: float
    fill: str
    dashed: str = ""


TO_DO, DONE, BEFORE = Look(THICK, PAPER), Look(LINE, METAL), Look(THIN, PAPER, "dash")


def earlier_holes(members: Collection[Member], numbered: Numbered) -> list[Hole]:
    """The holes that were there before: those that have no number."""
    known = {_place(hole) for hole in numbered.values()}
    return [hole for member in members for hole in member.holes if _place(hole) not in known]


def draw_holes(
    drawing: Drawing, view: View, members: Collection[Member], numbered: Numbered, done: Collection[int]
) -> None:
    """All holes of these members, what is to be made over all else, and every outline over what fills any: of two
    that lie behind each other both are seen."""
    found = [(hole, BEFORE, "before") for hole in earlier_holes(members, numbered)]
    for is_done, look in ((True, DONE), (False, TO_DO)):
        found += [(hole, look, f"hole-{n}") for n, hole in numbered.items() if (n in done) is is_done]
    for hole, look, _ in found:
        _shape(drawing, view, hole, Look(0, look.fill))
    for hole, look, part in found:
        _shape(drawing, view, hole, look._replace(fill="none"), part)
        _hatching(drawing, view, hole)


def draw_numbers(drawing: Drawing, view: View, numbered: Numbered, done: Collection[int], rim_mm: float) -> None:
    """The numbers outside the rim, each as near as can be to its hole. rim_mm: on the drawing."""
    places = number_places(numbered, rim_mm)
    for (number, hole), (angle, radius) in zip(numbered.items(), places, strict=True):
        at, half_mm = polar(view.centre, angle, radius), hole.diameter_mm / 2
        starts_mm = hole.radius_mm if hole.kind in ("radial", "grind") else hole.radius_mm + half_mm
        drawing.line(view.at(hole.angle_deg, starts_mm), at, THIN)
        drawing.badge(at, number, done=number in done)


def number_places(numbered: Numbered, rim_mm: float) -> list[tuple[float, float]]:
    """Angle and radius on the drawing of each number; a ring that is too short for all grows."""
    room = 2 * BADGE_MM + BETWEEN_MM
    radius = max(rim_mm + LEADER_MM + BADGE_MM, room * len(numbered) / (2 * math.pi) * 1.05)
    width = 2 * math.degrees(math.asin(min(1.0, room / 2 / radius)))
    return [(angle, radius) for angle in around([hole.angle_deg for hole in numbered.values()], width)]


def draw_turning(drawing: Drawing, centre: Point) -> None:
    """The crank's axis, and the direction of rotation."""
    x, y = centre
    for dx, dy in ((1, 0), (0, 1)):
        drawing.line((x - 1.8 * dx, y - 1.8 * dy), (x + 1.8 * dx, y + 1.8 * dy), LINE)
    drawing.polyline([polar(centre, angle, TURN_MM) for angle in range(-60, 61, 5)], LINE)
    drawing.head(polar(centre, 85, TURN_MM), polar((0.0, 0.0), 160, 1.0), 2.6)


def _place(hole: Hole) -> tuple[str, str, float, float]:
    """What tells a hole of the crank's own from every other, however deep it is by now."""
    return hole.member, hole.kind, hole.angle_deg, hole.radius_mm


def _shape(drawing: Drawing, view: View, hole: Hole, look: Look, part: str = "") -> None:
    """One hole as it is seen from the front."""
    weight, fill, dashed = look
    match hole.kind:
        case "radial":
            drawing.polygon(_bore(view, hole), weight, fill, dashed, part)
        case "grind":
            inner, outer = (hole.radius_mm - hole.depth_mm) * view.scale, hole.radius_mm * view.scale
            start_deg = hole.angle_deg - hole.arc_deg / 2
            drawing.sector(view.centre, inner, outer, start_deg, hole.arc_deg, weight, fill, dashed, part)
        case _:
            radius = hole.diameter_mm / 2 * view.scale
            drawing.circle(view.at(hole.angle_deg, hole.radius_mm), radius, weight, fill, dashed, part)


def _hatching(drawing: Drawing, view: View, hole: Hole) -> None:
    """What fills a slug, and a ground arc along its radii."""
    if hole.kind == "slug":
        centre, radius = view.at(hole.angle_deg, hole.radius_mm), hole.diameter_mm / 2 * view.scale
        drawing.hatch([polar(centre, angle, radius) for angle in range(0, 360, 10)], 1.0)
    elif hole.kind == "grind":
        floor, start_deg = hole.radius_mm - hole.depth_mm, hole.angle_deg - hole.arc_deg / 2
        steps = max(2, round(math.radians(hole.arc_deg) * hole.radius_mm * view.scale / 1.2))
        for step in range(1, steps):
            angle = start_deg + hole.arc_deg * step / steps
            drawing.line(view.at(angle, floor), view.at(angle, hole.radius_mm), THIN)


def _bore(view: View, hole: Hole) -> list[Point]:
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
