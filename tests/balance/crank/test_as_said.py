"""What a hand says it did, against the same metal point by point (shavings), and against handbook rows."""

from __future__ import annotations

import math

import cranks
import pytest
import shavings

from truethrow.balance.base.amounts import ToldIn
from truethrow.balance.base.errors import BadInput
from truethrow.balance.correction.planes import changed_by
from truethrow.balance.crank.as_said import beyond, holes_said, lies_in, may_be_told_again
from truethrow.balance.crank.holes import Drill


@pytest.fixture
def crank():
    return cranks.crank()


def said(crank, text, **more):
    (hole,) = holes_said(crank, [text], **more)
    return hole


def refused(crank, *texts):
    with pytest.raises(BadInput) as caught:
        holes_said(crank, texts)
    return [str(fault) for fault in caught.value.faults]


def middle(member):
    return member.arcs[0].from_deg + member.arcs[0].span_deg / 2


@pytest.mark.parametrize(
    "what",
    [
        "12.7 mm drill, 18 mm deep",
        "0.5 in drill, 18 mm deep, 3 mm off",
        "12.7 mm drill, 18 mm deep, 135 deg point",
        "12.7 mm drill, 12 mm deep, axial, 70 mm radius, from the front",
        "ground 20 deg wide, 1.5 mm deep",
    ],
)
def test_what_is_said_takes_what_the_same_metal_takes_point_by_point(crank, what):
    member = crank.members[0]
    hole = said(crank, f"{member.name}, {middle(member):g} deg, {what}")
    bored = member._replace(bore="front") if hole.kind == "axial" else member
    whole = crank._replace(members=(bored, *crank.members[1:]))
    own = changed_by([hole], cranks.PLANES_MM)
    exact = shavings.taken(whole, hole, cranks.PLANES_MM)
    # Quadrature of smooth bodies: both are right to far better than a hand drills.
    assert abs(-own.front - exact[0]) + abs(-own.rear - exact[1]) < 2e-4 * (abs(exact[0]) + abs(exact[1]))


def test_a_slug_is_what_the_scale_says_and_not_what_its_class_says(crank):
    """Point by point with the density that its own mass and size give it; 15 % below its class is a slug with a
    thread in it."""
    member = crank.members[0]
    text = f"{member.name}, {middle(member):g} deg, 16 mm slug, 20 mm long, 74 mm radius, 60 g, from the front"
    hole = said(crank, text)
    density = 60 / (math.pi * 16**2 / 4 * 20) * 1000
    whole = crank._replace(members=(member._replace(bore="front"), *crank.members[1:]))
    exact = shavings.taken(whole, hole, cranks.PLANES_MM, heavy_g_cm3=density)
    own = changed_by([hole], cranks.PLANES_MM)
    assert abs(-own.front - exact[0]) + abs(-own.rear - exact[1]) < 1e-6 * (abs(exact[0]) + abs(exact[1]))


def test_grams_that_came_off_or_went_on_are_mass_times_radius(crank):
    """ISO 21940-2: unbalance is mass times the distance of its center from the axis; 4.2 g at 80 mm: 336 g·mm."""
    name = crank.members[0].name
    off = said(crank, f"{name}, 150 deg, took 4.2 g, 80 mm radius")
    on = said(crank, f"{name}, 150 deg, added 4.2 g, 80 mm radius")
    assert (off.removes_gmm, off.mass_g) == pytest.approx((336.0, 4.2))
    assert on.change_gmm == pytest.approx(-off.change_gmm)
    assert on.mass_g == -4.2


def test_a_half_inch_hole_an_inch_deep_in_steel_takes_what_a_handbook_weighs():
    """A half-inch bore, flat-bottomed, an inch deep: 0.1963 in³ (area of a half-inch circle, 0.19635 in²,
    machinist handbooks, from memory), at 0.2836 lb/in³ of steel 25.3 g. Along the crank no rim takes from it."""
    crank = cranks.crank()
    member = next(one for one in crank.members if one.thickness_mm >= 24)
    bore = "0.5 in drill, 24 mm deep, flat, axial, 2.75 in radius, from the front"
    hole = said(crank, f"{member.name}, {middle(member):g} deg, {bore}")
    assert hole.mass_g == pytest.approx(0.19635 * 24 / 25.4 * 0.2836 * 453.592, rel=2e-3)


def test_a_hole_made_deeper_takes_what_lies_between(crank):
    member = crank.members[0]
    at = f"{member.name}, {middle(member):g} deg"
    for how in ("{} mm drill, {} mm deep", "{} mm drill, {} mm deep, axial, 70 mm radius, from the front"):
        old, new = (said(crank, f"{at}, {how.format(*one)}") for one in ((12, 8), (14, 12)))
        more = beyond(new, old)
        both = changed_by([old, more], cranks.PLANES_MM)
        assert both.front == pytest.approx(changed_by([new], cranks.PLANES_MM).front)
        assert both.rear == pytest.approx(changed_by([new], cranks.PLANES_MM).rear)
        assert more.mass_g == pytest.approx(new.mass_g - old.mass_g)
        assert beyond(old, new) is None
        assert lies_in(old, old)
        assert not lies_in(new, old)


def test_an_arc_where_one_was_ground_may_be_a_second_pass_however_deep(crank):
    member = crank.members[0]
    there = said(crank, f"{member.name}, 150 deg, ground 20 deg wide, 1 mm deep")
    deeper = said(crank, f"{member.name}, 150.2 deg, ground 20 deg wide, 2.5 mm deep")
    beside = said(crank, f"{member.name}, 152 deg, ground 20 deg wide, 1 mm deep")
    wider = said(crank, f"{member.name}, 150 deg, ground 30 deg wide, 1 mm deep")
    assert [may_be_told_again(one, there) for one in (there, deeper, beside, wider)] == [True, True, False, False]
    assert not may_be_told_again(there._replace(member=crank.members[1].name), there)
    assert not may_be_told_again(said(crank, f"{member.name}, 150 deg, 12 mm drill, 8 mm deep"), there)


@pytest.mark.parametrize("how", ["took", "added"])
def test_grams_where_some_were_told_may_be_the_same_told_again_however_many(crank, how):
    name = crank.members[0].name
    there = said(crank, f"{name}, 150 deg, {how} 4.2 g, 80 mm radius")
    again = said(crank, f"{name}, 150.2 deg, {how} 4.3 g, 80.3 mm radius")
    assert may_be_told_again(again, there)
    other = "added" if how == "took" else "took"
    for else_where in (
        f"{name}, 152 deg, {how} 4.2 g, 80 mm radius",
        f"{name}, 150 deg, {how} 4.2 g, 70 mm radius",
        f"{name}, 150 deg, {how} 4.2 g, 80 mm radius, 3 mm off",
        f"{name}, 150 deg, {other} 4.2 g, 80 mm radius",
        f"{name}, 150 deg, ground 20 deg wide, 1 mm deep",
    ):
        assert not may_be_told_again(said(crank, else_where), there)


def test_a_point_is_the_shops_own_drill_unless_it_is_said(crank):
    name = crank.members[0].name
    text = f"{name}, 150 deg, 12.7 mm drill, 18 mm deep"
    assert said(crank, text).point_deg == 118.0
    assert said(crank, text, drills=[Drill(12.7, 135.0, 0.5, 40.0)]).point_deg == 135.0
    assert said(crank, f"{text}, flat", drills=[Drill(12.7, 135.0, 0.5, 40.0)]).point_deg == 180.0


@pytest.mark.parametrize(
    ("drill", "mm"), [("letter F", 6.5278), ("#7", 5.1054), ("no. 7", 5.1054), ("27/64", 10.715625)]
)
def test_a_drill_may_be_said_by_its_own_name(crank, drill, mm):
    at = f"{middle(crank.members[0]):g} deg"
    assert said(crank, f"{crank.members[0].name}, {at}, {drill} drill, 18 mm deep").diameter_mm == mm


def test_a_drill_is_not_the_letter_a(crank):
    (fault,) = refused(crank, f"{crank.members[0].name}, {middle(crank.members[0]):g} deg, a drill, 18 mm deep")
    assert "a drill" in fault


def test_figures_are_read_as_hands_type_them(crank):
    name = crank.members[0].name
    one = said(crank, f"{name}, 150 deg, 12.7 mm drill, 18 mm deep")
    for other in (
        f"counterweight {name.upper()},150 deg,12,7 mm drill,18 mm deep",
        f"{name}; at 150°; 18 deep; 12.7 drill",
        f"{name}, -210 degrees, 12.7 mm hole, 1.8 cm deep",
    ):
        assert said(crank, other) == pytest.approx(one) or said(crank, other)[:2] == one[:2]
        assert said(crank, other).removes_gmm == pytest.approx(one.removes_gmm)
    assert said(
        crank, f"{name}, 150 deg, 0.5 drill, 1 deep", told_in=ToldIn("oz", "oz", "in")
    ).depth_mm == pytest.approx(25.4)


def test_a_name_with_a_comma_in_it_is_one_name(crank):
    one = crank.members[0]
    names = ("cheek 1, front", "cheek 1, front, outer")
    named = crank._replace(members=tuple(one._replace(name=name) for name in names))
    hole = "150 deg, 12,7 mm drill, 18 mm deep"
    assert said(named, f"Cheek 1, front, {hole}").member == "cheek 1, front"
    assert said(named, f"cheek 1, front, outer; {hole}").member == "cheek 1, front, outer"
    assert said(named, f"cheek 1, front, {hole}").removes_gmm == said(crank, f"{one.name}, {hole}").removes_gmm
    assert "the [crank] has no 'cheek 1'" in refused(named, f"cheek 1, rear, {hole}")[0]


def against(own_deg):
    """Of a station that counts against the rotation, from 30 where throw 1 is: 213 is the crank's 177."""
    return (30.0 - own_deg) % 360


def test_an_angle_says_whose_it_is_and_a_bare_one_is_taken_only_where_it_cannot_be_the_stations(crank):
    member = crank.members[0]  # metal from 120 to 240 degrees
    text = f"{member.name}, {{}}, 12.7 mm drill, 18 mm deep"
    for told in ("213 deg station", "at station 213.0°", "crank 177°", "213 deg station, 177 deg crank"):
        assert said(crank, text.format(told), crank_deg=against).angle_deg == 177.0
    # 150 is metal as the crank's, and as the station's is the crank's 240: whose it is has to be said.
    with pytest.raises(BadInput) as caught:
        holes_said(crank, [text.format("150 deg")], crank_deg=against)
    assert (
        "150 deg can be the station's angle as well as the crank's; allowed: 150 deg station (the crank's 240)"
        in str(caught.value)
    )
    # The crank's 130 is the station's 260; shown as 130 is the crank's 260: no metal.
    assert said(crank, text.format("130 deg"), crank_deg=against).angle_deg == 130.0
    with pytest.raises(BadInput, match="its angles are"):
        holes_said(crank, [text.format("213 deg station, 150 deg crank")], crank_deg=against)
    assert "does not tell how the station counts" in refused(crank, text.format("213 deg station"))[0]


def test_what_is_wrong_is_told_with_what_is_allowed(crank):
    name = crank.members[0].name
    assert f"no 'nix'; allowed: {name}" in refused(crank, "nix, 137 deg, 12 mm drill, 8 mm deep")[0].replace(
        "has ", ""
    )
    assert "no angle; allowed: its angle" in refused(crank, f"{name}, 12 mm drill, 8 mm deep")[0]
    assert "angle comes twice" in refused(crank, f"{name}, 1 deg, 2 deg, 12 mm drill, 8 mm deep")[0]
    assert "is not understood" in refused(crank, f"{name}, 137 deg, 12 kg drill, 8 mm deep")[0]
    assert (
        "beyond the crank's axis; allowed: what the scale says"
        in refused(crank, f"{name}, 137 deg, 12 mm drill, 400 mm deep")[0]
    )
    assert "came off, or went on" in refused(crank, f"{name}, 137 deg, 4 g, 80 mm radius")[0]
    assert len(refused(crank, "nix, 1 deg", f"{name}, 1 deg, 12 mm slug")) == 4
    assert "at once" in refused(crank, f"{name}, 1 deg, took 4 g, 12 mm slug, 80 mm radius")[0]
