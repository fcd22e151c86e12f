"""Along the crank: what lies where between its front and its rear, and the station's two planes."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING, NamedTuple

from truethrow.worksheets.drawn.lettering import SMALL, TEXT, fitting, told_apart, wide_mm
from truethrow.worksheets.drawn.metal import BETWEEN_MM, DONE, TO_DO, Numbered, reach_mm, ring_mm
from truethrow.worksheets.drawn.pen import BADGE_MM, LINE, METAL, PAPER, THIN, Drawing
from truethrow.worksheets.drawn.placing import Box, apart

if TYPE_CHECKING:
    from truethrow.balance.crank.crank import Crank, Member
    from truethrow.balance.engine.layout import Layout, Throw

WIDE_MM = 165.0
_MOST_MM = 30.0  # from the axis to the outermost metal
# Where nobody says how far the throws reach: as a part of how far the metal does.
_PINS = 0.5
_LINE_MM, _NAME_MM = 4.8, 30.0  # from one row of names to the next; a name, at most
_SAME_PLACE_MM = 4.0  # throws nearer to each other share a label
_NUMBERS_MM = BADGE_MM + 1.0  # from the top to the numbers' middles


class _View(NamedTuple):
    """Where z = 0 and the crank's axis are on the drawing, and millimetres there for one of the crank."""

    left: float
    axis: float
    scale: float

    def x(self, z_mm: float) -> float:
        return self.left + z_mm * self.scale

    def y(self, up_mm: float) -> float:
        return self.axis - up_mm * self.scale


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
    reach = reach_mm(members, numbered) or throw_radius_mm or (high - low) / 6 or 1.0
    scale = min((WIDE_MM - 16) / ((high - low) or 2 * reach), _MOST_MM / reach)
    pins = (throw_radius_mm or _PINS * reach) * scale
    top = 2 * BADGE_MM + 4.0 if numbered else 2.0
    tall = max(reach * scale + 3.0, pins + 7.0)
    view, bottom = _View(WIDE_MM / 2 - (low + high) / 2 * scale, top + tall, scale), top + 2 * tall
    names = _name_rows(view, members)
    drawing = Drawing(WIDE_MM, bottom + _LINE_MM * (len(names) + 1) + 3.0)
    drawing.line((view.x(low) - 6, view.axis), (view.x(high) + 6, view.axis), THIN, "axis")
    planes = [view.x(z_mm) for z_mm in planes_mm]
    for x in planes:
        drawing.line((x, top - 1.0), (x, bottom - 0.5), THIN, "axis", part="plane")
    for member in members:
        drawing.rectangle(_box(view, member, numbered), LINE, METAL, part="member")
    _pins(drawing, view, layout.throws, pins)
    _pin_names(drawing, view, layout.throws, pins)
    _plane_names(drawing, planes, bottom + 1.9)
    for row, named in enumerate(names):
        for x, name in named:
            drawing.text((x, bottom + _LINE_MM * (row + 1.6)), name, SMALL, halo=True)
    _holes(drawing, view, numbered, done)
    return str(drawing)


def _box(view: _View, member: Member, numbered: Numbered) -> Box:
    """A member from the side: its metal from the highest to the lowest."""
    ring, half = ring_mm(member, numbered), member.thickness_mm / 2
    heights = []
    for arc in member.arcs:
        angles = [arc.from_deg, arc.from_deg + arc.span_deg]
        angles += [angle for angle in (0.0, 180.0) if arc.holds(angle)]
        heights += [radius * math.cos(math.radians(angle)) for angle in angles for radius in ring]
    z_mm = member.z_mm
    return Box(view.x(z_mm - half), view.y(max(heights)), view.x(z_mm + half), view.y(min(heights)))


def _pins(drawing: Drawing, view: _View, throws: Sequence[Throw], pins: float) -> None:
    """Every throw as high as its angle puts it. pins: their radius on the drawing."""
    for throw in throws:
        x, y = view.x(throw.z_mm), view.axis - pins * math.cos(math.radians(throw.angle_deg))
        for side in (-2.5, 2.5):
            drawing.line((x + side, view.axis), (x + side, y), LINE)
        drawing.rectangle(Box(x - 3.5, y - 1.5, x + 3.5, y + 1.5), LINE, PAPER, part="throw")


def _pin_names(drawing: Drawing, view: _View, throws: Sequence[Throw], pins: float) -> None:
    """The names beyond the pins; the parts of a split pin share a label."""
    groups: list[list[Throw]] = []
    for throw in sorted(throws, key=lambda throw: throw.z_mm):
        if groups and view.x(throw.z_mm) - view.x(groups[-1][0].z_mm) < _SAME_PLACE_MM:
            groups[-1].append(throw)
        else:
            groups.append([throw])
    room = WIDE_MM / len(groups) - 1.5
    names = [fitting(", ".join(throw.name for throw in group), TEXT, room) for group in groups]
    widths = [wide_mm(name, TEXT) + 1.5 for name in names]
    middles = apart([view.x(group[0].z_mm) for group in groups], widths, 0.0, WIDE_MM)
    for group, name, middle in zip(groups, names, middles, strict=True):
        heights = [pins * math.cos(math.radians(throw.angle_deg)) for throw in group]
        is_up = max(heights) > -1e-9
        y = view.axis - max(heights) - 5.0 if is_up else view.axis - min(heights) + 5.2
        drawing.text((middle, y), name, TEXT, bold=True, halo=True)


def _plane_names(drawing: Drawing, planes: Sequence[float], y: float) -> None:
    words = ["front plane", "rear plane"]
    widths = [wide_mm(said, SMALL) + 2 for said in words]
    for said, middle in zip(words, apart(planes, widths, 0.0, WIDE_MM), strict=True):
        drawing.text((middle, y), said, SMALL, bold=True, halo=True)


def _name_rows(view: _View, members: Sequence[Member]) -> list[list[tuple[float, str]]]:
    """Names below the members in as few rows as hold them: the middle of each, and the name."""
    if not members:
        return []
    names = told_apart([member.name for member in members], SMALL, [_NAME_MM] * len(members))
    places, widths = [view.x(member.z_mm) for member in members], [wide_mm(name, SMALL) + 1.5 for name in names]
    count = max(1, math.ceil(sum(widths) / (WIDE_MM - 4)))
    rows = []
    for row in range(count):
        own = slice(row, None, count)
        middles = apart(places[own], widths[own], 1.0, WIDE_MM - 1.0)
        rows.append(list(zip(middles, names[own], strict=True)))
    return rows


def is_far(crank_deg: float) -> bool:
    """Whether a place of the crank is on the side that is not seen: seen is that of the crank's 90 degrees, since
    its front is to the left and throw 1 up."""
    return 180.0 < crank_deg % 360 < 360.0


def _holes(drawing: Drawing, view: _View, numbered: Numbered, done: Collection[int]) -> None:
    """Every hole where it acts, and its number above."""
    order = sorted(numbered, key=lambda number: numbered[number].z_mm)
    places = [view.x(numbered[number].z_mm) for number in order]
    room = min(2 * BADGE_MM + BETWEEN_MM, WIDE_MM / max(len(order), 1))
    middles = apart(places, [room] * len(order), 0.5, WIDE_MM - 0.5)
    for number, x, middle in zip(order, places, middles, strict=True):
        hole = numbered[number]
        place = x, view.y(hole.radius_mm * math.cos(math.radians(hole.angle_deg)))
        drawing.line((middle, _NUMBERS_MM), place, THIN)
        look = DONE if number in done else TO_DO
        far = "dash" if is_far(hole.angle_deg) else ""
        drawing.circle(place, 1.2, LINE if far else look.weight, look.fill, far, part=f"hole-{number}")
        drawing.badge((middle, _NUMBERS_MM), number, done=number in done)
