"""Walls: how much metal is left between two holes, and from a hole to the ends of its arc.

Every hole lies inside its capsule: the line on its axis from where it starts to its shoulder, as thick as the
drill, round at both ends (a point of 90 degrees or blunter stays in the half ball on the shoulder). The wall
between two holes is the distance of the lines less both half diameters: exact where shoulders face one another,
otherwise a little less than what is there, never more. Ground arcs keep clear of holes by their angle.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from truethrow.balance.base.arrays import Floats
from truethrow.balance.crank.holes import Hole, HoleKind, axial_centroid_mm

# What binary fractions may add to a wall.
TOUCH_MM = 1e-9


class Depths(NamedTuple):
    """One tool on one member: what it takes by depth. depth_mm, removes_gmm, mass_g, z_mm go together."""

    kind: HoleKind
    radius_mm: float
    diameter_mm: float
    point_deg: float
    arc_deg: float
    depth_mm: Floats
    removes_gmm: Floats
    mass_g: Floats
    z_mm: Floats


def lowest_mm_of(kind: HoleKind, radius_mm: float, depth_mm: Floats) -> Floats:
    """Radius of the shoulder: where a hole comes nearest to what lies beside it."""
    return radius_mm - depth_mm if kind in ("radial", "grind") else np.full(depth_mm.size, radius_mm)


def to_ends_mm(span_deg: float, after_deg: Floats, lowest_mm: Floats, depths: Depths) -> Floats:
    """Wall to the nearer end of an arc; an arc all round has none. Grinding may run up to the end itself."""
    if span_deg >= 360:
        return np.full((after_deg.size, lowest_mm.size), np.inf)
    nearer = np.minimum(after_deg, span_deg - after_deg)
    if depths.kind == "grind":
        return np.radians(nearer - depths.arc_deg / 2)[:, None] * lowest_mm[None, :]
    off = np.sin(np.radians(np.minimum(nearer, 90.0)))
    return off[:, None] * lowest_mm[None, :] - depths.diameter_mm / 2


def beside_ground_mm(angle_deg: Floats, depths: Depths, hole: Hole) -> Floats:
    """Wall round the crank where one of the two is ground: from the edge of the ground arc to the hole's side.
    Two ground arcs may touch."""
    apart = apart_deg(angle_deg, hole) - (depths.arc_deg + hole.arc_deg) / 2
    if depths.arc_deg and hole.arc_deg:
        wall = np.where(apart >= -TOUCH_MM, np.inf, -np.inf)
        return np.repeat(wall[:, None], depths.depth_mm.size, axis=1)
    at_mm = np.minimum(
        _edge(depths.kind, depths.radius_mm, depths.depth_mm),
        _edge(hole.kind, hole.radius_mm, np.array([hole.depth_mm])),
    )
    off = np.sin(np.radians(np.minimum(apart, 90.0)))
    return off[:, None] * at_mm[None, :] - (depths.diameter_mm + hole.diameter_mm) / 2


def apart_deg(angle_deg: Floats, hole: Hole) -> Floats:
    return np.abs((angle_deg - hole.angle_deg + 180) % 360 - 180)


def _edge(kind: HoleKind, radius_mm: float, depth_mm: Floats) -> Floats:
    """Radius at which a ground arc's edge comes nearest: its floor, or the axis of a bore below it."""
    return np.full(depth_mm.size, np.inf) if kind == "radial" else lowest_mm_of(kind, radius_mm, depth_mm)


def axes(angle_deg: Floats, depths: Depths) -> tuple[Floats, Floats]:
    """Both ends of every hole's line, from its start to its shoulder: arrays of angle, depth, (x, y, z)."""
    if depths.kind == "radial":
        inner_mm, reach_mm = depths.radius_mm - depths.depth_mm, np.zeros(depths.depth_mm.size)
    else:
        inner_mm, reach_mm = np.full(depths.depth_mm.size, depths.radius_mm), _reach_mm(depths)
    start = _points(angle_deg, np.full(depths.depth_mm.size, depths.radius_mm), depths.z_mm - reach_mm)
    return start, _points(angle_deg, inner_mm, depths.z_mm + reach_mm)


def _reach_mm(depths: Depths) -> Floats:
    """How far an axial hole goes, at most, from where its unbalance acts, to whichever face it starts from."""
    down_mm = [axial_centroid_mm(depths.diameter_mm, float(h), depths.point_deg) for h in depths.depth_mm]
    return np.maximum(down_mm, depths.depth_mm - down_mm)


def _points(angle_deg: Floats, radius_mm: Floats, z_mm: Floats) -> Floats:
    radians = np.radians(angle_deg)[:, None]
    x, y = np.cos(radians) * radius_mm, np.sin(radians) * radius_mm
    return np.stack([x, y, np.broadcast_to(z_mm, x.shape)], axis=-1)


def one_of(hole: Hole) -> Depths:
    """A hole as a tool of one depth."""
    return Depths(
        hole.kind,
        hole.radius_mm,
        hole.diameter_mm,
        hole.point_deg,
        hole.arc_deg,
        np.array([hole.depth_mm]),
        np.array([hole.removes_gmm]),
        np.array([hole.mass_g]),
        np.array([hole.z_mm]),
    )


def between_mm(p0: Floats, p1: Floats, q0: Floats, q1: Floats) -> Floats:
    """Distance of lines p0–p1 from lines q0–q1: the nearest points of the infinite lines, each held to its own
    ends in turn."""
    d1, d2, r = p1 - p0, q1 - q0, p0 - q0
    a, e = np.maximum(_dot(d1, d1), 1e-12), np.maximum(_dot(d2, d2), 1e-12)
    b, c, f = _dot(d1, d2), _dot(d1, r), _dot(r, d2)
    skew = a * e - b * b
    s = np.where(skew > 1e-9 * a * e, (b * f - c * e) / np.where(skew > 0, skew, 1.0), 0.0)
    t = np.clip((b * np.clip(s, 0.0, 1.0) + f) / e, 0.0, 1.0)
    s = np.clip((b * t - c) / a, 0.0, 1.0)
    gap = r + s[..., None] * d1 - t[..., None] * d2
    return np.sqrt(_dot(gap, gap))


def _dot(one: Floats, other: Floats) -> Floats:
    dot: Floats = np.einsum("...k,...k->...", one, other)
    return dot
