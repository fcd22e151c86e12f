"""Real holes of a crank tried one, two and three at a time, on a coarser grid than a plan's: every few degrees of
the wheel, every few steps of a drill. Written from the crank's own tables, independent of how a plan is made."""

from __future__ import annotations

import cmath
import itertools
import math
from typing import NamedTuple

import numpy as np
from scipy.spatial import cKDTree

from truethrow.balance.crank.holes import cone_height_mm, radial_hole


class Tried(NamedTuple):
    """A hole from the rim: member, angle, drill, depth, metal, what it takes, and that of both planes as four
    figures."""

    member: str
    angle_deg: float
    diameter_mm: float
    depth_mm: float
    mass_g: float
    takes_gmm: complex
    planes: tuple[float, float, float, float]


def holes(crank, tools, planes_mm, every_deg, every_steps):
    """All holes of the grid with metal enough round them; members that nobody has drilled yet."""
    found = []
    for member, drill in itertools.product(crank.members, tools.drills):
        cone = cone_height_mm(drill.diameter_mm, drill.point_deg)
        deepest = min(drill.deepest_mm, member.outer_mm - member.inner_mm - cone)
        steps = range(1, math.floor(deepest / drill.step_mm + 1e-9) + 1, every_steps)
        if member.thickness_mm - drill.diameter_mm < 2 * crank.wall_mm:
            continue
        rear = (member.z_mm - planes_mm[0]) / (planes_mm[1] - planes_mm[0])
        (arc,) = member.arcs
        for step, after in itertools.product(steps, np.arange(0.0, arc.span_deg, every_deg)):
            depth = step * drill.step_mm
            end = math.radians(min(after, arc.span_deg - after, 90.0))
            if (member.outer_mm - depth) * math.sin(end) - drill.diameter_mm / 2 < crank.wall_mm:
                continue
            hole = radial_hole(member.density_g_mm3, member.outer_mm, drill.diameter_mm, depth, drill.point_deg)
            angle = (arc.from_deg + float(after)) % 360
            takes = cmath.rect(hole.unbalance_gmm, math.radians(angle))
            front, back = (1 - rear) * takes, rear * takes
            four = front.real, front.imag, back.real, back.imag
            found.append(Tried(member.name, angle, drill.diameter_mm, depth, hole.mass_g, takes, four))
    return found


def fewest(crank, tools, planes_mm, measured, within_gmm, most, grids):
    """The fewest holes, no more than most, that were found to bring both planes within these amounts, or None.

    grids: for one, two and three holes, degrees and steps of the drills from one to the next."""
    for count, (every_deg, every_steps) in zip(range(1, most + 1), grids, strict=False):
        if _are_any(crank, holes(crank, tools, planes_mm, every_deg, every_steps), measured, within_gmm, count):
            return count
    return None


def _are_any(crank, tried, measured, within_gmm, count):
    scale = np.repeat(within_gmm, 2)
    points = np.array([one.planes for one in tried]) / scale
    target = np.array([measured[0].real, measured[0].imag, measured[1].real, measured[1].imag]) / scale
    enough = 6 * (abs(measured[0]) + abs(measured[1]))  # as a plan: no hole only to make up for another
    tree = cKDTree(points)
    for first in _firsts(points, count):
        sums = points[list(first)].sum(axis=0) if first else np.zeros(4)
        others = points[first[-1] if first else 0 :] if count > 1 else np.zeros((1, 4))
        start = first[-1] if first else 0
        off, nearest = tree.query(target - sums - others, distance_upper_bound=math.sqrt(2.0))
        for at in np.flatnonzero(np.isfinite(off)):
            chosen = [*first, *([start + int(at)] if count > 1 else []), int(nearest[at])]
            left = target - points[chosen].sum(axis=0)
            inside = max(math.hypot(*left[:2]), math.hypot(*left[2:])) <= 1
            several = [tried[one] for one in chosen]
            if inside and sum(abs(one.takes_gmm) for one in several) <= enough and _walls(crank, several):
                return True
    return False


def _firsts(points, count):
    """What comes before the last two holes."""
    return [[]] if count < 3 else [[one] for one in range(len(points))]


def _walls(crank, several):
    """No two holes of a member nearer than the wall: their axes meet at the crank's own, so two are nearest at
    the deeper ends, or where the end of the shorter faces the longer."""
    for one, other in itertools.combinations(several, 2):
        if one.member == other.member:
            rim = crank.member(one.member).outer_mm
            apart = math.radians(abs((one.angle_deg - other.angle_deg + 180) % 360 - 180))
            along = [np.linspace(rim - h.depth_mm, rim, 400) for h in (one, other)]
            gap = abs(along[0][:, None] - along[1][None, :] * cmath.rect(1.0, apart)).min()
            if gap - (one.diameter_mm + other.diameter_mm) / 2 < crank.wall_mm:
                return False
    return True
