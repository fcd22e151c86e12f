"""Which limits what was really done breaks; the plan itself breaks none."""

from __future__ import annotations

import math

import cranks
import pytest

from truethrow.balance.correction.breaches import all_breaches, breaches
from truethrow.balance.correction.planning import apply
from truethrow.balance.crank.as_said import holes_said


@pytest.fixture
def crank():
    return cranks.crank()


def said(crank, text):
    (hole,) = holes_said(crank, [text])
    return hole


def whys(crank, hole):
    return [one.why for one in breaches(crank, hole)]


def middle(member):
    return member.arcs[0].from_deg + member.arcs[0].span_deg / 2


def test_a_sound_hole_breaks_none_and_one_of_each_kind_breaks_its_own(crank):
    member = crank.members[0]
    at, off = f"{member.name}, {middle(member):g} deg", f"{member.name}, {middle(member) + 180:g} deg"
    assert whys(crank, said(crank, f"{at}, 12 mm drill, 10 mm deep")) == []
    assert whys(crank, said(crank, f"{off}, 12 mm drill, 10 mm deep")) == ["outside"]
    deep = member.outer_mm - member.inner_mm
    assert whys(crank, said(crank, f"{at}, 12 mm drill, {deep:g} mm deep")) == ["low"]
    short = crank._replace(members=(member._replace(deepest_radial_mm=8.0), *crank.members[1:]))
    assert whys(short, said(short, f"{at}, 12 mm drill, 10 mm deep")) == ["deep"]
    wide = member.thickness_mm - crank.wall_mm
    assert whys(crank, said(crank, f"{at}, {wide:g} mm drill, 5 mm deep")) == ["wall"]
    assert whys(crank, said(crank, f"{off}, took 4 g, 80 mm radius")) == ["outside"]


def test_a_neighbor_is_a_thin_wall_and_then_an_overlap(crank):
    member = crank.members[0]
    first = said(crank, f"{member.name}, {middle(member):g} deg, 12 mm drill, 10 mm deep")
    drilled = apply(crank, [first])
    near = said(crank, f"{member.name}, {middle(member) + 10:g} deg, 12 mm drill, 10 mm deep")
    into = said(crank, f"{member.name}, {middle(member) + 4:g} deg, 12 mm drill, 10 mm deep")
    assert whys(drilled, near) == ["wall"]
    assert whys(drilled, into) == ["overlap"]
    assert [bool(one) for one in all_breaches(crank, [first, near])] == [False, True]


def test_a_hole_made_deeper_is_no_neighbor_of_itself(crank):
    member = crank.members[0]
    first = said(crank, f"{member.name}, {middle(member):g} deg, 12 mm drill, 8 mm deep")
    assert whys(apply(crank, [first]), first._replace(depth_mm=12.0)) == []


def test_a_drill_keeps_its_wall_to_the_end_of_the_arc_and_a_grinder_runs_up_to_it(crank):
    """A 12 mm hole whose edge is a millimeter from where the counterweight ends, on a rim of its radius: the way
    along the rim is half the hole and that millimeter, in degrees. Ground as wide as it likes up to the end."""
    member = crank.members[0]
    end_deg = member.arcs[0].from_deg + member.arcs[0].span_deg
    near_deg = end_deg - math.degrees(math.asin(7.0 / member.outer_mm))
    assert whys(crank, said(crank, f"{member.name}, {near_deg:.3f} deg, 12 mm drill, 10 mm deep")) == ["wall"]
    assert (
        whys(crank, said(crank, f"{member.name}, {end_deg - 10.5:.3f} deg, ground 20 deg wide, 1 mm deep")) == []
    )
    beyond = said(crank, f"{member.name}, {end_deg - 9:.3f} deg, ground 20 deg wide, 1 mm deep")
    assert whys(crank, beyond) == ["wall"]
