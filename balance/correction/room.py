"""Room for holes: where on a member a tool may go, at which of its depths, and the wall that a hole leaves."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence

import numpy as np

from truethrow.balance.base.arrays import Bools, Floats
from truethrow.balance.correction.walls import (
    TOUCH_MM,
    Depths,
    apart_deg,
    axes,
    beside_ground_mm,
    between_mm,
    lowest_mm_of,
    one_of,
    to_ends_mm,
)
from truethrow.balance.crank.crank import Crank, Member
from truethrow.balance.crank.holes import (
    FLAT_DEG,
    Drill,
    Grinder,
    Hole,
    HoleKind,
    Removed,
    Slug,
    Tools,
    axial_centroid_mm,
    axial_hole,
    ground_arc,
    radial_hole,
    slug_gain,
)

# The grid of angles, counted from the start of each arc: what a degree wheel lets one set.
GRID_DEG = 1.0


class Site:
    """One tool on one member at every angle of the grid and every depth: which of them keep every wall."""

    def __init__(
        self, crank: Crank, member: Member, depths: Depths, angles_deg: Sequence[float] | None = None
    ) -> None:
        self.member, self.depths, self.wall_mm = member, depths, crank.wall_mm
        self.angle_deg = np.array(_wheel(member) if angles_deg is None else angles_deg)
        self.turned = np.exp(1j * np.radians(self.angle_deg))
        least_mm = 0.0 if depths.kind == "grind" else self.wall_mm
        self.free = (self.to_ends() >= least_mm - TOUCH_MM) & self.clear_of(member.holes)

    def to_ends(self) -> Floats:
        """Wall to the nearer end of the arc that each angle lies on; below zero off every arc."""
        depths = self.depths
        lowest_mm = lowest_mm_of(depths.kind, depths.radius_mm, depths.depth_mm)
        walls = np.full((self.angle_deg.size, depths.depth_mm.size), -np.inf)
        for arc in self.member.arcs:
            after = (self.angle_deg - arc.from_deg) % 360
            own = to_ends_mm(arc.span_deg, after, lowest_mm, depths)
            walls = np.maximum(walls, np.where((after <= arc.span_deg)[:, None], own, -np.inf))
        return walls

    def clear_of(self, holes: Iterable[Hole]) -> Bools:
        """Which angles and depths keep the wall to these holes."""
        clear = np.ones((self.angle_deg.size, self.depths.depth_mm.size), dtype=bool)
        for hole in holes:
            if hole.member == self.member.name:
                near = self._near(hole)
                clear[near] &= self.wall_to(hole, near) >= self.wall_mm - TOUCH_MM
        return clear

    def _near(self, hole: Hole) -> Bools:
        """The angles at which anything at all could break into a hole: at others even the lowest points of both
        are far enough apart, ρ·sin Δ."""
        other, own = one_of(hole), self.depths
        lowest_mm = min(
            float(lowest_mm_of(d.kind, d.radius_mm, d.depth_mm).min(initial=d.radius_mm)) for d in (other, own)
        )
        apart = apart_deg(self.angle_deg, hole) - (own.arc_deg + hole.arc_deg) / 2
        beside_mm = lowest_mm * np.sin(np.radians(np.clip(apart, 0.0, 90.0)))
        near: Bools = beside_mm < self.wall_mm + (own.diameter_mm + hole.diameter_mm) / 2 + TOUCH_MM
        return near

    def wall_to(self, hole: Hole, at: Bools | None = None) -> Floats:
        """Wall to one hole, at every angle (or those of a choice) and depth."""
        depths, angle_deg = self.depths, self.angle_deg if at is None else self.angle_deg[at]
        if "grind" in (depths.kind, hole.kind):
            return beside_ground_mm(angle_deg, depths, hole)
        start, end = axes(np.array([hole.angle_deg]), one_of(hole))
        lines = between_mm(*axes(angle_deg, depths), start[0, 0], end[0, 0])
        return lines - (depths.diameter_mm + hole.diameter_mm) / 2

    def hole(self, angle: int, depth: int) -> Hole:
        d = self.depths
        return Hole(
            self.member.name,
            d.kind,
            float(self.angle_deg[angle]),
            d.radius_mm,
            float(d.z_mm[depth]),
            d.diameter_mm,
            float(d.depth_mm[depth]),
            float(d.removes_gmm[depth]),
            float(d.mass_g[depth]),
            d.point_deg,
            d.arc_deg,
        )


def _wheel(member: Member) -> list[float]:
    return [
        (arc.from_deg + float(step)) % 360
        for arc in member.arcs
        for step in np.arange(0.0, arc.span_deg, GRID_DEG)
    ]


def places(crank: Crank, tools: Tools) -> list[Site]:
    """Every tool on every member where there is room for at least one hole: drills, and the grinder where no
    drill has room."""
    found: list[Site] = []
    for member in crank.members:
        drilled = [one for drill in tools.drills for one in _drilled(crank, member, drill)]
        own = _with_room(crank, member, drilled)
        if not own and tools.grinder and not member.external:
            own = _with_room(crank, member, [_ground(member, tools.grinder)])
        found += own
    return found


def slug_places(crank: Crank, tools: Tools) -> list[Site]:
    """Every slug in every counterweight that an axial bore reaches."""
    return [
        place
        for member in crank.members
        if member.bore and not member.external
        for place in _with_room(crank, member, [_slugged(crank, member, slug) for slug in tools.slugs])
    ]


def _with_room(crank: Crank, member: Member, several: Sequence[Depths | None]) -> list[Site]:
    made = [Site(crank, member, depths) for depths in several if depths is not None and depths.depth_mm.size]
    return [place for place in made if place.free.any()]


def _steps(step_mm: float, deepest_mm: float) -> Floats:
    count = math.floor(deepest_mm / step_mm + 1e-9)
    return np.round(np.arange(1, count + 1) * step_mm, 9)


def _drilled(crank: Crank, member: Member, drill: Drill) -> list[Depths]:
    """A drill's standard depths: from the rim no deeper than the inner radius and the crank's limit, and only
    where both faces keep their wall; on an external plane along the crank, or right through."""
    if member.pitch_mm is not None:
        return _drilled_along(crank, member, drill, member.pitch_mm)
    if member.thickness_mm - drill.diameter_mm < 2 * crank.wall_mm - TOUCH_MM:
        return []
    room_mm = min(member.outer_mm - member.inner_mm, member.deepest_radial_mm) - drill.cone_mm
    depth_mm = _steps(drill.step_mm, min(drill.deepest_mm, room_mm))

    def taken(depth_mm: float) -> Removed:
        return radial_hole(member.density_g_mm3, member.outer_mm, drill.diameter_mm, depth_mm, drill.point_deg)

    at_mm = np.full(depth_mm.size, member.z_mm)
    return [_depths("radial", member.outer_mm, drill.diameter_mm, drill.point_deg, 0.0, depth_mm, taken, at_mm)]


def _drilled_along(crank: Crank, member: Member, drill: Drill, radius_mm: float) -> list[Depths]:
    blind_mm = min(member.thickness_mm - crank.wall_mm, member.deepest_axial_mm) - drill.cone_mm
    blind = _steps(drill.step_mm, min(drill.deepest_mm, blind_mm)), drill.point_deg
    through = member.thickness_mm <= min(drill.deepest_mm, member.deepest_axial_mm)
    several = [blind, (np.array([member.thickness_mm]), FLAT_DEG)] if through else [blind]
    found = []
    for depth_mm, point_deg in several:

        def taken(depth_mm: float, point_deg: float = point_deg) -> Removed:
            return axial_hole(member.density_g_mm3, radius_mm, drill.diameter_mm, depth_mm, point_deg)

        down_mm = (axial_centroid_mm(drill.diameter_mm, float(h), point_deg) for h in depth_mm)
        at_mm = np.array([member.below_face_mm(down) for down in down_mm])
        found.append(_depths("axial", radius_mm, drill.diameter_mm, point_deg, 0.0, depth_mm, taken, at_mm))
    return found


def _slugged(crank: Crank, member: Member, slug: Slug) -> Depths | None:
    """A slug as far out as the wall that holds it lets it, its bore right through or with a wall behind it."""
    behind_mm = member.thickness_mm - slug.length_mm
    radius_mm = member.outer_mm - crank.wall_mm - slug.diameter_mm / 2
    if (
        (behind_mm > TOUCH_MM and behind_mm < crank.wall_mm - TOUCH_MM)
        or behind_mm < -TOUCH_MM
        or slug.length_mm > member.deepest_axial_mm
        or radius_mm - slug.diameter_mm / 2 < member.inner_mm
    ):
        return None
    length_mm, at_mm = np.array([slug.length_mm]), np.array([member.below_face_mm(slug.length_mm / 2)])
    return _depths(
        "slug",
        radius_mm,
        slug.diameter_mm,
        FLAT_DEG,
        0.0,
        length_mm,
        lambda _: slug_gain(member.density_g_mm3, radius_mm, slug),
        at_mm,
    )


def _ground(member: Member, grinder: Grinder) -> Depths:
    deepest_mm = min(grinder.deepest_mm, member.outer_mm - member.inner_mm, member.deepest_radial_mm)
    depth_mm = _steps(grinder.pass_mm, deepest_mm)

    def taken(depth_mm: float) -> Removed:
        rim_mm, thickness_mm = member.outer_mm, member.thickness_mm
        return ground_arc(member.density_g_mm3, rim_mm, thickness_mm, grinder.arc_deg, depth_mm)

    at_mm = np.full(depth_mm.size, member.z_mm)
    return _depths("grind", member.outer_mm, 0.0, FLAT_DEG, grinder.arc_deg, depth_mm, taken, at_mm)


def _depths(
    kind: HoleKind,
    radius_mm: float,
    diameter_mm: float,
    point_deg: float,
    arc_deg: float,
    depth_mm: Floats,
    taken: Callable[[float], Removed],
    at_mm: Floats,
) -> Depths:
    each = [taken(float(h)) for h in depth_mm]
    removes_gmm, mass_g = np.array([e.unbalance_gmm for e in each]), np.array([e.mass_g for e in each])
    return Depths(kind, radius_mm, diameter_mm, point_deg, arc_deg, depth_mm, removes_gmm, mass_g, at_mm)


def wall_left_mm(crank: Crank, hole: Hole) -> float:
    """The least metal beside a hole of this crank: to other holes, faces, rim, and the ends of its arc. [mm]"""
    member, near = crank.member(hole.member), nearest(crank, hole)
    place = Site(crank, member, one_of(hole), [hole.angle_deg])
    walls = [faces_mm(member, hole), float(place.to_ends()[0, 0])]
    return min([*walls, near[1]] if near else walls)


def nearest(crank: Crank, hole: Hole) -> tuple[Hole, float] | None:
    """The other hole of its member that a hole of this crank leaves the least wall to, and that; None without
    one. [mm]"""
    member = crank.member(hole.member)
    place = Site(crank, member, one_of(hole), [hole.angle_deg])
    walls = [(other, float(place.wall_to(other)[0, 0])) for other in member.holes if other != hole]
    return min(walls, key=lambda one: one[1], default=None)


def is_clear(crank: Crank, hole: Hole) -> bool:
    """Whether a hole not made yet keeps its wall to every hole that its member has."""
    member = crank.member(hole.member)
    place = Site(crank, member, one_of(hole), [hole.angle_deg])
    return bool(place.clear_of(member.holes)[0, 0])


def faces_mm(member: Member, hole: Hole) -> float:
    """Wall to the faces, and to the rim above a bore; what is right through, or ground, leaves the faces."""
    if hole.kind == "grind":
        return math.inf
    if hole.kind == "radial":
        return member.thickness_mm / 2 - abs(hole.z_mm - member.z_mm) - hole.diameter_mm / 2
    behind_mm = member.thickness_mm - hole.tip_mm
    rim_mm = member.outer_mm - hole.radius_mm - hole.diameter_mm / 2
    return min(rim_mm, behind_mm) if behind_mm > TOUCH_MM else rim_mm
