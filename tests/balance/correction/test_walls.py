"""The walls that a hole leaves: between holes, arcs and the end of the metal."""

import math

import cranks
import numpy as np
import pytest
import shavings
from crank_walls import (
    PLANES,
    TIGHT,
    assert_walls_kept,
    shops,
    unbalances,
)
from examples import examples
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.correction import apply, plan, still_fits
from truethrow.balance.correction.room import Site, wall_left_mm
from truethrow.balance.correction.walls import apart_deg, axes, one_of
from truethrow.balance.crank.holes import Hole, axial_centroid_mm


@given(shops(), unbalances)
@examples(20)
def test_no_hole_leaves_its_arc_its_radii_or_a_wall(shop, measured):
    crank, tools = shop
    made = plan(crank, tools, measured, PLANES, allowed_gmm=TIGHT)
    assert_walls_kept(crank, made.operations)
    for caution in made.cautions:
        assert caution.wall_mm >= (0 if caution.operation.kind == "grind" else crank.wall_mm) - 1e-6


@pytest.mark.parametrize(("apart_deg", "clear"), [(0, False), (5, False), (15, False), (25, True), (120, True)])
@pytest.mark.parametrize("kind", ["radial", "axial"])
def test_a_ground_arc_keeps_off_the_hole_that_is_there(kind, apart_deg, clear):
    """A 20-degree arc on a rim of 90 mm beside a 10 mm hole: over it, over its edge, too near it, clear of it."""
    there = {"radial": (90.0, 10.0, 118.0), "axial": (80.0, 24.0, 180.0)}[kind]
    hole = Hole("1a", kind, 150.0, there[0], -22.0, 10.0, there[1], 500.0, 6.0, there[2])
    arc = Hole("1a", "grind", 150.0 + apart_deg, 90.0, -22.0, 0.0, 2.0, 500.0, 6.0, 180.0, 20.0)
    drilled, ground = apply(cranks.crank(), [hole]), apply(cranks.crank(), [arc])
    assert still_fits(drilled, [arc]) == still_fits(ground, [hole]) == (clear,)


@given(
    st.sampled_from(["radial", "axial"]),
    *(st.floats(low, high) for low, high in ((0, 60), (4, 60), (3, 16), (1, 30), (0.5, 20), (60, 80), (0.5, 8))),
)
@examples(200)
def test_no_wall_to_a_ground_arc_is_less_than_told(kind, apart, arc_deg, diameter, depth, deep, radius, wall):
    """By points on the skin of the hole; a hole below the arc counts as in its way, however deep it lies."""
    weight = cranks.weight("1", 0.0, 0.0, 200.0, inner_radius=40.0)
    member = cranks.crank([weight], wall=wall).member("1")
    radius, depth = (radius, min(depth, 24.0)) if kind == "axial" else (90.0, depth)
    z_mm = member.below_face_mm(depth / 2) if kind == "axial" else 0.0
    hole = Hole("1", kind, 0.0, radius, z_mm, diameter, depth, 500.0, 6.0, 180.0)
    arc = Hole("1", "grind", apart, 90.0, 0.0, 0.0, deep, 500.0, 6.0, 180.0, arc_deg)
    for one, other in ((hole, arc), (arc, hole)):
        crank = apply(cranks.crank([weight], wall=wall), [one])
        there = shavings.gap_to_ground(member, arc, hole)
        assert not still_fits(crank, [other])[0] or there >= wall - 1e-6
        assert apart >= arc_deg / 2 or not still_fits(crank, [other])[0]


@given(
    st.sampled_from(["front", "rear"]),
    st.sampled_from([90.0, 118.0, 180.0]),
    *(st.floats(low, high) for low, high in ((3, 16), (1, 36), (55, 80), (3, 16), (1, 30), (-12, 12), (0, 30))),
)
@examples(150)
def test_no_wall_between_two_holes_is_more_than_there_is(
    bore, point, diameter, depth, radius, rim_diameter, rim_depth, off, apart
):
    """A blind hole along the crank beside one from the rim, by points on the skins of both. Its line goes from the
    face to its shoulder, wherever along it its unbalance acts."""
    weight = cranks.weight("1", 0.0, 0.0, 200.0, inner_radius=40.0, bore=bore) | {"thickness": 40.0}
    member = cranks.crank([weight]).member("1")
    z_mm = member.below_face_mm(axial_centroid_mm(diameter, depth, point))
    blind = Hole("1", "axial", 0.0, radius, z_mm, diameter, depth, 500.0, 6.0, point)
    start, shoulder = (float(end[0, 0, 2]) for end in axes(np.array([0.0]), one_of(blind)))
    face, bottom = sorted((member.below_face_mm(0.0), member.below_face_mm(depth)))
    assert start <= face + 1e-9
    assert shoulder >= bottom - 1e-9
    rim = Hole("1", "radial", apart, 90.0, off, rim_diameter, rim_depth, 500.0, 6.0, 118.0)
    there = shavings.gap(shavings.skin(member, blind), shavings.skin(member, rim))
    for one, other in ((blind, rim), (rim, blind)):
        told = float(Site(cranks.crank([weight]), member, one_of(one), [one.angle_deg]).wall_to(other)[0, 0])
        assert told <= there + 1e-6


def test_a_deep_hole_along_the_crank_reaches_the_hole_from_the_rim_beside_it():
    """30 of 40 mm deep from the front, its shoulder on a level with a hole from the rim 10 mm from the rear face:
    the axes are 12 mm apart there, so 12 less both half diameters are left."""
    weight = cranks.weight("1", 0.0, 0.0, 200.0, inner_radius=40.0, bore="front") | {"thickness": 40.0}
    member = cranks.crank([weight]).member("1")
    deep = Hole("1", "axial", 0.0, 70.0, member.below_face_mm(15.0), 8.0, 30.0, 500.0, 6.0, 180.0)
    beside = math.degrees(math.asin(12 / 70))
    rim = Hole("1", "radial", beside, 90.0, 10.0, 6.0, 30.0, 500.0, 6.0, 118.0)
    short = deep._replace(depth_mm=14.0, z_mm=member.below_face_mm(7.0))
    walls = [wall_left_mm(apply(cranks.crank([weight]), [one, rim]), rim) for one in (deep, short)]
    assert walls[0] == pytest.approx(12 - 4 - 3)
    assert walls[1] == pytest.approx(min(math.hypot(12, 16) - 7, 20 - 10 - 3))


def test_two_angles_are_apart_the_shorter_way_round():
    hole = Hole("1a", "radial", 1.0, 90.0, 0.0, 10.0, 10.0, 500.0, 6.0, 118.0)
    at_deg = np.array([359.0, 10.0, 181.0, 182.0, 1.0])
    assert apart_deg(at_deg, hole).tolist() == pytest.approx([2.0, 9.0, 180.0, 179.0, 0.0])
