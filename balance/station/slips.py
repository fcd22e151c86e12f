"""What may have been done otherwise than it is recorded: one hole left out, mirrored, drilled in the neighboring
counterweight or with another drill.

Each slip changes the crank by a vector of its own in both planes. A spin that the recorded holes don't explain is
held against each of them, before it is taken for the way in which this crank answers.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from truethrow.balance.correction import TwoPlanes, changed_by
from truethrow.balance.crank.crank import Crank, Member, to_depth
from truethrow.balance.crank.holes import Hole, Tools
from truethrow.balance.station.mishaps import BETTER, MOST_TOLD, NEAR, Scene
from truethrow.balance.station.stationlog import HoleRecord

# What is turned by less than this is the same hole. Common practice, no source.
SAME_DEG = 0.5


class Slip(NamedTuple):
    """A way in which what was done may not be as recorded. change: of the crank, beyond what is recorded."""

    said: str
    change: TwoPlanes


def explaining(scene: Scene, tried: Sequence[Slip]) -> tuple[str, ...]:
    """The slips that explain a reading that was not expected, the nearest first, in words; none where it was
    expected, and where nothing fits within the ± and much better than what is recorded does."""
    if scene.is_explained:
        return ()
    near = min(NEAR, scene.misses(scene.expected) / BETTER)
    found = sorted((scene.misses(scene.expected.plus(one.change)), one.said) for one in tried)
    return tuple(said for misses, said in found if misses <= near)[:MOST_TOLD]


def slips(
    crank: Crank, tools: Tools, drilled: Sequence[HoleRecord], planes_mm: tuple[float, float]
) -> Iterator[Slip]:
    """The slips of holes that were recorded since one spin: of each by itself, and of all of one counterweight
    that were drilled in its neighbor."""
    numbered = [(f"{one.record.step or at}", one.hole) for at, one in enumerate(drilled, start=1)]
    for number, hole in numbered:
        named = f"hole {number} ({hole.member} at the crank's {hole.angle_deg:.0f}°) is"
        yield Slip(f"{named} recorded but not drilled", _beyond([hole], [], planes_mm))
        for really, how in _otherwise(crank, tools, hole):
            yield Slip(f"{named} drilled {how}", _beyond([hole], [really], planes_mm))
    for member in crank.members:
        own = [(number, hole) for number, hole in numbered if hole.member == member.name]
        if len(own) > 1:
            called = f"holes {', '.join(number for number, _ in own)} ({member.name}) are"
            holes = [hole for _, hole in own]
            for other in _beside(crank, member):
                if really_there := _all_in(other, member, holes):
                    said = f"{called} drilled in {other.name}"
                    yield Slip(said, _beyond(holes, really_there, planes_mm))


def _beyond(recorded: Sequence[Hole], really: Sequence[Hole], planes_mm: tuple[float, float]) -> TwoPlanes:
    was, is_now = changed_by(recorded, planes_mm), changed_by(really, planes_mm)
    return TwoPlanes(is_now.front - was.front, is_now.rear - was.rear)


def _otherwise(crank: Crank, tools: Tools, hole: Hole) -> Iterator[tuple[Hole, str]]:
    """The same hole as a slip of the hand makes it, and how."""
    member = crank.member(hole.member)
    middles = (arc.middle_deg for arc in member.arcs if arc.span_deg < 360)
    for angle in dict.fromkeys(round(2 * middle - hole.angle_deg, 6) % 360 for middle in (0.0, *middles)):
        is_other = SAME_DEG < (angle - hole.angle_deg) % 360 < 360 - SAME_DEG
        if is_other and any(arc.holds(angle) for arc in member.arcs):
            yield hole._replace(angle_deg=angle), f"at the crank's {angle:.0f}°"
    for other in _beside(crank, member):
        for moved in _all_in(other, member, [hole]):
            yield moved, f"in {other.name}"
    if hole.kind in ("radial", "axial"):
        for drill in tools.drills:
            if drill.diameter_mm != hole.diameter_mm:
                wider = hole._replace(diameter_mm=drill.diameter_mm, point_deg=drill.point_deg)
                for made in _as_deep(member, wider):
                    yield made, f"with a {drill.name or f'{drill.diameter_mm:g} mm'} drill"


def _beside(crank: Crank, member: Member) -> Iterator[Member]:
    """The members before and behind one, counterweights beside a counterweight."""
    alike = [one for one in crank.members if one.external == member.external]
    for one, other in itertools.pairwise(alike):
        if member in (one, other):
            yield other if one == member else one


def _all_in(other: Member, member: Member, holes: Sequence[Hole]) -> list[Hole]:
    """Holes of a member as they would be in another; none where that has no metal there."""
    found: list[Hole] = []
    for hole in holes:
        if any(arc.holds(hole.angle_deg) for arc in other.arcs):
            radius_mm = other.outer_mm if hole.kind in ("radial", "grind") else hole.radius_mm
            z_mm = hole.z_mm + other.z_mm - member.z_mm
            found += _as_deep(other, hole._replace(member=other.name, radius_mm=radius_mm, z_mm=z_mm))
    return found if len(found) == len(holes) else []


def _as_deep(member: Member, hole: Hole) -> list[Hole]:
    """What a hole takes off a member; nothing where it cannot be drilled there."""
    if hole.kind not in ("radial", "axial", "grind"):
        return [hole]
    try:
        return [to_depth(member, hole, hole.depth_mm)]
    except ValueError:
        return []
