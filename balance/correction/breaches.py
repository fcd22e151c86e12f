"""What breaks a limit of a crank's metal in what was really done to it: a hole off its counterweight, deeper than
its maker allows, with too thin a wall, or into another one.

What is planned breaks none. What was done is in the crank all the same, and is told; somebody who is qualified has
to look at it before the crank is signed off.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NamedTuple

from truethrow.balance.correction.planning import apply
from truethrow.balance.correction.room import Site, faces_mm
from truethrow.balance.correction.walls import one_of
from truethrow.balance.crank.crank import Crank, Member
from truethrow.balance.crank.holes import Hole

# Records keep a hole to the micrometre, and a plan may leave a wall of just so much.
SLACK_MM = 1e-3


class Breach(NamedTuple):
    """One limit that is broken. outside: off every arc of its member, found_mm in degrees; deep: below the deepest
    that the maker allows, to the tip; low: below the inner radius; wall: too thin to a face, the rim, an end of
    the arc or another hole; overlap: into another hole, so that what it took is less than reckoned. found_mm,
    limit_mm: what is, and what is allowed."""

    why: Literal["outside", "deep", "low", "wall", "overlap"]
    found_mm: float
    limit_mm: float


def breaches(crank: Crank, hole: Hole) -> tuple[Breach, ...]:
    """The limits that a hole breaks in a crank as it was before it."""
    member = crank.member(hole.member)
    found = []
    is_on = any(arc.holds(hole.angle_deg) for arc in member.arcs)
    if not is_on:
        found.append(Breach("outside", hole.angle_deg, 0.0))
    if hole.kind in ("took", "added"):
        return tuple(found)
    down = hole.kind in ("radial", "grind")
    deepest_mm = member.deepest_radial_mm if down else member.deepest_axial_mm
    tip_mm = min(hole.tip_mm, member.thickness_mm) if not down else hole.tip_mm
    if tip_mm > deepest_mm + SLACK_MM:
        found.append(Breach("deep", tip_mm, deepest_mm))
    low_mm = hole.radius_mm - (tip_mm if down else hole.diameter_mm / 2)
    if low_mm < member.inner_mm - SLACK_MM:
        found.append(Breach("low", low_mm, member.inner_mm))
    return (*found, *_walls(crank, member, hole, is_on=is_on))


def _walls(crank: Crank, member: Member, hole: Hole, *, is_on: bool) -> list[Breach]:
    place = Site(crank, member, one_of(hole), [hole.angle_deg])
    others = [float(place.wall_to(other)[0, 0]) for other in member.holes if not _is_same(other, hole)]
    own = [faces_mm(member, hole)]
    if is_on:  # grinding may run up to the end of the arc
        ends_mm = float(place.to_ends()[0, 0])
        own.append(ends_mm if hole.kind != "grind" or ends_mm < 0 else crank.wall_mm)
    found = []
    nearest_mm = min(others, default=crank.wall_mm)
    if nearest_mm < -SLACK_MM:
        found.append(Breach("overlap", nearest_mm, crank.wall_mm))
    elif nearest_mm < crank.wall_mm - SLACK_MM:
        own.append(nearest_mm)
    if min(own) < crank.wall_mm - SLACK_MM:
        found.append(Breach("wall", min(own), crank.wall_mm))
    return found


def _is_same(one: Hole, other: Hole) -> bool:
    """Whether one is the other made deeper: it lies in it, and is no neighbor."""
    place = one.member, one.kind, round(one.angle_deg, 1), round(one.radius_mm, 1)
    return place == (other.member, other.kind, round(other.angle_deg, 1), round(other.radius_mm, 1))


def all_breaches(crank: Crank, holes: Sequence[Hole]) -> list[tuple[Breach, ...]]:
    """Of each of these holes, made one after the other."""
    return [breaches(apply(crank, holes[:at]), hole) for at, hole in enumerate(holes)]
