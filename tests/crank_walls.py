"""What the tests of the correction share: planes of a crank, holes that are there, and the walls between them."""

import cmath
import math
from itertools import combinations

import cranks
import numpy as np
import shavings
from hypothesis import strategies as st

from truethrow.balance.correction import TwoPlanes, apply, plan
from truethrow.balance.crank.holes import Grinder, Hole

PLANES = cranks.PLANES_MM


TIGHT = (60.0, 60.0)


def vector(amount, angle_deg):
    return cmath.rect(amount, math.radians(angle_deg))


def at(front, front_deg, rear, rear_deg):
    return TwoPlanes(vector(front, front_deg), vector(rear, rear_deg))


unbalances = st.builds(at, *(st.floats(0, most) for most in (1500, 360, 1500, 360)))


@st.composite
def holes_there(draw, weight):
    """A hole that a counterweight came with, from the rim or along the crank."""
    diameter, depth = draw(st.floats(3, 8)), draw(st.floats(2, 8))
    angle = weight["from"] + draw(st.floats(15, 60))
    along = {"kind": "axial", "radius": draw(st.floats(72, 74)), "depth": min(depth, weight["thickness"])}
    hole = draw(st.sampled_from([{"kind": "radial", "depth": depth}, along]))
    return hole | {"angle": angle % 360, "diameter": diameter, "point": draw(st.sampled_from([118.0, 180.0]))}


@st.composite
def shops(draw):
    """A crank, with holes that it came with, of a correction before this one, or without, and the tools for it."""
    weights = cranks.v8_weights(
        draw(st.sampled_from([6, 8])),
        draw(st.floats(60, 150)),
        draw(st.floats(-30, 30)),
        thickness=draw(st.floats(9, 30)),
        outer_radius=draw(st.floats(80, 95)),
        inner_radius=draw(st.floats(40, 70)),
    )
    for one in weights:
        if draw(st.booleans()):
            one["hole"] = [draw(holes_there(one))]
    plate = {"name": "plate", "at": 420.0, "radius": 110.0, "thickness": draw(st.floats(2, 16))}
    external = [plate | draw(st.sampled_from([{}, {"arc": [{"from": 10, "to": 60}, {"from": 200, "to": 300}]}]))]
    made = cranks.crank(weights, wall=draw(st.floats(1, 5)), external=external if draw(st.booleans()) else [])
    tools = cranks.TOOLS._replace(grinder=draw(st.sampled_from([None, Grinder(0.5, 3.0, 15.0)])))
    if draw(st.booleans()):
        before = plan(made, tools, draw(unbalances), PLANES, allowed_gmm=TIGHT)
        made = apply(made, before.operations)
    return made, tools


def assert_walls_kept(crank, operations):
    """Every hole inside its arc, its radii and the faces, and no wall thinner than the crank's: by points on the
    skin of every hole."""
    done = apply(crank, operations)
    for member in done.members:
        new = [hole for hole in operations if hole.member == member.name]
        for hole in new:
            inside_its_metal(done, member, hole)
        drilled = [hole for hole in member.holes if hole.kind != "grind"]
        skins = {hole: shavings.skin(member, hole) for hole in drilled}
        assert len(skins) == len(drilled)
        for one, other in combinations(drilled, 2):
            if one in new or other in new:
                assert shavings.are_apart(skins[one], skins[other], done.wall_mm - 1e-6)
        for ground in (hole for hole in member.holes if hole.kind == "grind"):
            for other in member.holes:
                if other is not ground and (ground in new or other in new):
                    apart = abs((ground.angle_deg - other.angle_deg + 180) % 360 - 180)
                    needed = (ground.arc_deg + other.arc_deg) / 2
                    if other.diameter_mm:
                        width = other.diameter_mm / 2 + done.wall_mm
                        needed += math.degrees(math.asin(width / other.radius_mm))
                    assert apart >= needed - 1e-6


def inside_its_metal(crank, member, hole):
    after = [((hole.angle_deg - arc.from_deg) % 360, arc.span_deg) for arc in member.arcs]
    from_deg, span_deg = next(pair for pair in after if pair[0] <= pair[1])
    if hole.kind == "grind":
        assert hole.arc_deg / 2 - 1e-6 <= from_deg <= span_deg - hole.arc_deg / 2 + 1e-6
        assert hole.depth_mm <= member.outer_mm - member.inner_mm + 1e-9
        return
    points = shavings.skin(member, hole)
    radius = (points[:, 0] ** 2 + points[:, 1] ** 2) ** 0.5
    assert radius.min() >= member.inner_mm - 1e-6
    half, off = member.thickness_mm / 2, points[:, 2] - member.z_mm
    if hole.kind == "radial":
        assert abs(off).max() <= half - crank.wall_mm + 1e-6
    else:
        assert hole.kind != "slug" or radius.max() <= member.outer_mm - crank.wall_mm + 1e-6
        if hole.tip_mm < member.thickness_mm - 1e-6:
            far = off.max() if member.bore == "front" else -off.min()
            assert far <= half - crank.wall_mm + 1e-6
        else:
            assert abs(off).max() <= half + 1e-6
    if span_deg < 360:
        turned = (points[:, 0] + 1j * points[:, 1]) * vector(1.0, -hole.angle_deg)
        further = np.degrees(np.angle(turned))
        for end in (from_deg + further, span_deg - from_deg - further):
            beside = abs(turned) * np.sin(np.radians(np.clip(end, 0.0, 90.0)))
            assert beside.min() >= crank.wall_mm - 1e-6


def drilled(amount, angle_deg, z_mm, depth_mm=20.0):
    return Hole("1", "radial", angle_deg, 90.0, z_mm, 12.0, depth_mm, amount, amount / 80, 118.0)
