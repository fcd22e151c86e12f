"""One counterweight or damper from its front, at a scale that is told, and a key of what is to be made in it."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from typing import TYPE_CHECKING, NamedTuple

from truethrow.balance.base.digits import digits
from truethrow.worksheets.drawn.lettering import LARGE, SMALL, TEXT, wide_mm
from truethrow.worksheets.drawn.metal import (
    TURN_MM,
    Numbered,
    View,
    draw_holes,
    draw_metal,
    draw_numbers,
    draw_turning,
    number_places,
    on,
    ring_mm,
)
from truethrow.worksheets.drawn.pen import BADGE_MM, Drawing
from truethrow.worksheets.drawn.placing import Box, Point, polar

if TYPE_CHECKING:
    from truethrow.balance.crank.crank import Member
    from truethrow.balance.crank.holes import Hole
    from truethrow.balance.station.spin import Instrument
    from truethrow.worksheets.shown.display import Display

WIDE_MM, _HIGH_MM = 80.0, 68.0  # the height without the key, at most
_HEAD_MM = 7.0
_KEY_MM = 5.6  # from one line of the key to the next
_BETWEEN_KEYS_MM = 1.5
# Whose angles a drawing has: beside it stands what the station's display shows.
ZERO = "crank 0°"
# How many millimetres of the crank one on the paper may be.
_SCALES = (0.5, 1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 15, 20, 30, 50, 100, 200, 500, 1000)


class _Words(NamedTuple):
    """A text of the key."""

    x: float
    text: str
    size_mm: float
    bold: bool = False


# What the key says of one hole: its lines.
_Key = list[list[_Words]]


def face(
    member: Member,
    numbered: Numbered,
    done: Collection[int],
    show: Display,
    instrument: Instrument,
    up_deg: float = 0.0,
) -> str:
    """One counterweight or damper from the front, with a key of what is to be made: angle, drill, depth. up_deg:
    the crank's angle that is up in the drawing, as it is on the machine; the angles that it tells stay the
    crank's."""
    own = on(member, numbered)
    keys = {number: _key(hole, member, show, instrument) for number, hole in own.items()}
    member, own = _turned(member, up_deg), {number: _at(hole, -up_deg) for number, hole in own.items()}
    over = next((over for over in _SCALES if _fits(member, own, 1 / over, up_deg)), _SCALES[-1])
    box = _extent(member, own, 1 / over, up_deg)
    keys_mm = sum(len(lines) * _KEY_MM + _BETWEEN_KEYS_MM for lines in keys.values())
    drawing = Drawing(WIDE_MM, _HEAD_MM + (box.bottom - box.top) + 2.5 + keys_mm)
    centre = WIDE_MM / 2 - (box.left + box.right) / 2, _HEAD_MM - box.top
    view = View(centre, 1 / over)
    drawing.text((1.0, 3.0), f"from the front, {_ratio(over)}", SMALL, "start", scale=True)
    draw_metal(drawing, view, member, own)
    for said, (x, y) in _arc_ends(member, own, view.scale, up_deg):
        # A circle that holes lie on goes on between the arcs: it must not strike an angle through.
        drawing.text((centre[0] + x, centre[1] + y), said, SMALL, halo=member.pitch_mm is not None)
    draw_turning(drawing, centre)
    x, y = _zero(up_deg)
    drawing.text((centre[0] + x, centre[1] + y), ZERO, SMALL, bold=True, halo=True, scale=True)
    draw_holes(drawing, view, (member,), own, done)
    draw_numbers(drawing, view, own, done, ring_mm(member, own)[1] / over)
    _draw_keys(drawing, _HEAD_MM + (box.bottom - box.top) + 5.5, keys, done)
    return str(drawing)


def _turned(member: Member, up_deg: float) -> Member:
    """A member as it stands with this angle of it up."""
    if not up_deg:
        return member
    arcs = tuple(arc._replace(from_deg=arc.from_deg - up_deg) for arc in member.arcs)
    return member._replace(arcs=arcs, holes=tuple(_at(hole, -up_deg) for hole in member.holes))


def _at(hole: Hole, by_deg: float) -> Hole:
    return hole._replace(angle_deg=hole.angle_deg + by_deg)


def _fits(member: Member, own: Numbered, scale: float, up_deg: float) -> bool:
    box = _extent(member, own, scale, up_deg)
    return box.right - box.left <= WIDE_MM - 2 and box.bottom - box.top <= _HIGH_MM


def _ratio(over: float) -> str:
    return f"{digits(1 / over)} : 1" if over < 1 else f"1 : {digits(over)}"


def _zero(up_deg: float) -> Point:
    """Where the crank's zero is written, the axis at (0, 0): clear of the arrow, on whatever side it is."""
    aside = wide_mm(ZERO, SMALL) / 2 * abs(math.sin(math.radians(up_deg)))
    return polar((0.0, 0.0), -up_deg, TURN_MM + 3.0 + aside)


def _extent(member: Member, own: Numbered, scale: float, up_deg: float) -> Box:
    """What a counterweight, the crank's axis and all about them fill, the axis at (0, 0)."""
    inner, outer = (radius * scale for radius in ring_mm(member, own))
    (x, y), half = _zero(up_deg), wide_mm(ZERO, SMALL) / 2 + 0.5
    points = [(-6.0, -6.0), (6.0, 3.0), (x - half, y - 2.0), (x + half, y + 2.0)]
    for arc in member.arcs:
        steps = max(2, math.ceil(arc.span_deg / 3))
        for step in range(steps + 1):
            angle = arc.from_deg + arc.span_deg * step / steps
            points += [polar((0.0, 0.0), angle, outer + 0.6), polar((0.0, 0.0), angle, inner)]
    for angle, radius in number_places(own, outer):
        x, y = polar((0.0, 0.0), angle, radius)
        points += [(x - BADGE_MM - 1, y - BADGE_MM - 1), (x + BADGE_MM + 1.6, y + BADGE_MM + 1.6)]
    for said, (x, y) in _arc_ends(member, own, scale, up_deg):
        half = wide_mm(said, SMALL) / 2
        points += [(x - half, y - SMALL * 0.6), (x + half, y + SMALL * 0.6)]
    xs, ys = zip(*points, strict=True)
    return Box(min(xs), min(ys), max(xs), max(ys))


def _arc_ends(member: Member, own: Numbered, scale: float, up_deg: float) -> list[tuple[str, Point]]:
    """The crank's angles from which and to which there is metal, and where each is written, the axis at (0, 0)."""
    middle = sum(ring_mm(member, own)) / 2 * scale
    found = []
    for arc in member.arcs:
        if arc.span_deg >= 360:
            continue
        for angle, beyond in ((arc.from_deg, -1), (arc.from_deg + arc.span_deg, 1)):
            beside = angle + beyond * math.degrees(math.atan2(6.0, middle))
            found.append(
                (
                    f"{round((angle + up_deg) % 360, 1) % 360:g}°",
                    polar((0.0, 0.0), beside, math.hypot(middle, 6.0)),
                )
            )
    return found


def _key(hole: Hole, member: Member, show: Display, instrument: Instrument) -> _Key:
    """Angle and tool, depth and tip, and for a bore along the crank where it starts and its axis' radius."""
    at_deg = instrument.own_deg(hole.angle_deg)
    wide, deep = show.drill(hole.diameter_mm), show.length(round(hole.depth_mm, 2))
    tool, tip = f"Ø {wide}", f"tip at {show.worked_out(hole.tip_mm)}"
    from_face: list[_Words] = []
    if hole.kind == "grind":
        tool, tip = f"grind {hole.arc_deg:g}° of rim", ""
    elif hole.kind != "radial":
        radius = _Words(44.5, f"radius {show.length(hole.radius_mm)}", SMALL)
        from_face = [_Words(9.0, f"from the {member.bore}" if member.bore else "along the crank", SMALL), radius]
        if hole.kind == "slug":
            tool, tip = f"slug Ø {show.length(hole.diameter_mm)}", ""
        elif hole.tip_mm >= member.thickness_mm:
            tip = "through"
    own, crank = (f"{round(degrees % 360, 1) % 360:.1f}°" for degrees in (at_deg, hole.angle_deg))
    at = [_Words(9.0, own, LARGE, True), _Words(29.0, "station", SMALL), _Words(46.0, f"crank {crank}", SMALL)]
    if instrument.reads_divisions:
        at = [_Words(9.0, crank, LARGE, True), _Words(29.0, "crank", SMALL)]
    lines = [
        at,
        [_Words(9.0, tool, TEXT)],
        [_Words(9.0, f"{deep} deep", TEXT, True), _Words(48.0, tip, SMALL)],
        from_face,
    ]
    kept = [[words for words in line if words.text] for line in lines]
    return [line for line in kept if line]


def _draw_keys(drawing: Drawing, y: float, keys: Mapping[int, _Key], done: Collection[int]) -> None:
    for number, lines in keys.items():
        drawing.badge((4.0, y), number, done=number in done)
        for line in lines:
            for words in line:
                drawing.text((words.x, y), words.text, words.size_mm, "start", bold=words.bold)
            y += _KEY_MM
        y += _BETWEEN_KEYS_MM
