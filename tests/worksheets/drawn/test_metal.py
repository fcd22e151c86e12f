"""The metal of a crank: how large it is drawn, which holes are of before, and numbers that stand apart."""

import itertools

import cranks
import pytest
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.crank.holes import Hole
from truethrow.worksheets.drawn import metal
from truethrow.worksheets.drawn.pen import BADGE_MM

HOLE = Hole("1a", "radial", 180.0, 90.0, -22.0, 12.0, 15.0, 1234.0, 13.3, 118.0)
PLATE = {"name": "plate", "at": 420.0, "radius": 110.0, "thickness": 10.0}


def test_a_counterweight_is_drawn_as_large_as_it_is_and_a_damper_as_a_ring_about_its_holes():
    crank = cranks.crank(external=[PLATE])
    assert metal.ring_mm(crank.member("1a"), {}) == (52.0, 90.0)
    inner, outer = metal.ring_mm(crank.member("plate"), {})
    assert (inner + outer) / 2 == pytest.approx(110.0)
    wide = HOLE._replace(member="plate", kind="axial", radius_mm=110.0, diameter_mm=14.0)
    inner, outer = metal.ring_mm(crank.member("plate"), {1: wide})
    assert outer - inner > 2 * 14.0
    assert metal.reach_mm(crank.members, {1: wide}) == outer
    assert metal.reach_mm([], {}) == 0.0


def test_a_hole_that_was_there_is_not_one_that_has_a_number_however_deep_it_is_by_now():
    there = {"kind": "radial", "angle": 170.0, "diameter": 8.0, "depth": 6.0, "point": 118.0}
    weights = cranks.v8_weights()
    weights[0]["hole"] = [there]
    crank = cranks.crank(weights)
    (before,) = crank.member("1a").holes
    assert metal.earlier_holes(crank.members, {1: HOLE}) == [before]
    assert metal.earlier_holes(crank.members, {1: before._replace(depth_mm=9.0)}) == []
    assert metal.on(crank.member("1a"), {1: HOLE, 2: HOLE._replace(member="1b")}) == {1: HOLE}


@given(st.lists(st.floats(0, 359), min_size=1, max_size=24), st.floats(5, 60))
def test_numbers_outside_the_rim_do_not_touch_it_nor_each_other(angles, rim_mm):
    numbered = {n: HOLE._replace(angle_deg=angle) for n, angle in enumerate(angles, start=1)}
    places = metal.number_places(numbered, rim_mm)
    view = metal.View((0.0, 0.0), 1.0)
    points = [view.at(angle, radius) for angle, radius in places]
    for (x, y), (u, v) in itertools.combinations(points, 2):
        assert (x - u) ** 2 + (y - v) ** 2 >= (2 * BADGE_MM) ** 2
    assert all(radius - BADGE_MM > rim_mm for _, radius in places)
