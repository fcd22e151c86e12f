"""The correction plan: what it promises, walls and all, and how few spins it takes."""

import cmath
import math
import random
from itertools import combinations

import cranks
import numpy as np
import pytest
import shavings
from hypothesis import given, settings
from hypothesis import strategies as st

from truethrow.balance.correction import (
    NEUTRAL,
    CrankResponse,
    DrilledStep,
    TwoPlanes,
    against_target,
    apply,
    changed_by,
    learned,
    plan,
    still_fits,
    verdicts,
)
from truethrow.balance.correction.fewest import fewest
from truethrow.balance.correction.planes import split
from truethrow.balance.correction.room import Site, places, wall_left_mm
from truethrow.balance.correction.split import _Programme, ideal, stretches
from truethrow.balance.correction.walls import axes, one_of
from truethrow.balance.crank.crank import to_depth
from truethrow.balance.crank.holes import Drill, Grinder, Hole, Tools, axial_centroid_mm, radial_hole
from truethrow.balance.engine.layout import generic_layout

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
                assert shavings.gap(skins[one], skins[other]) >= done.wall_mm - 1e-6
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


@given(shops(), unbalances)
@settings(max_examples=20, deadline=None)
def test_no_hole_leaves_its_arc_its_radii_or_a_wall(shop, measured):
    crank, tools = shop
    made = plan(crank, tools, measured, PLANES, allowed_gmm=TIGHT)
    assert_walls_kept(crank, made.operations)
    for caution in made.cautions:
        assert caution.wall_mm >= (0 if caution.operation.kind == "grind" else crank.wall_mm) - 1e-6


@given(shops(), unbalances)
@settings(max_examples=20, deadline=None)
def test_the_residual_is_what_the_holes_leave_point_by_point(shop, measured):
    """Every hole's metal by quadrature in space, each point at its own z. The mass of a slug or an axial hole acts
    at its centroid and a radial hole's at its axis, exactly, so held to a hundredth of a gram-millimetre; below
    the rim's fall (under 0.4 mm deep) nothing is drilled here."""
    crank, tools = shop
    made = plan(crank, tools, measured, PLANES, allowed_gmm=TIGHT)
    front, rear = measured
    for hole in made.operations:
        off_front, off_rear = shavings.taken(crank, hole, PLANES)
        front, rear = front - off_front, rear - off_rear
    assert made.residual.front == pytest.approx(front, abs=0.01)
    assert made.residual.rear == pytest.approx(rear, abs=0.01)
    left = max(abs(made.residual.front), abs(made.residual.rear))
    assert (left <= 60) == (not made.stays)
    assert max(abs(measured.front), abs(measured.rear)) > left or not made.operations


@pytest.mark.parametrize("turn_deg", [90.0, 137.0, 13.7])
def test_a_turned_crank_gets_the_turned_plan(turn_deg):
    rng = random.Random(7)
    for _ in range(6):
        measured = at(rng.uniform(100, 900), rng.uniform(0, 360), rng.uniform(100, 900), rng.uniform(0, 360))
        turned = TwoPlanes(measured.front * vector(1, turn_deg), measured.rear * vector(1, turn_deg))
        as_is = plan(cranks.crank(), cranks.TOOLS, measured, PLANES, allowed_gmm=TIGHT)
        after = plan(
            cranks.crank(cranks.v8_weights(turned_deg=turn_deg)), cranks.TOOLS, turned, PLANES, allowed_gmm=TIGHT
        )
        assert len(after.operations) == len(as_is.operations) > 0
        for one, other in zip(as_is.operations, after.operations, strict=True):
            assert (one.member, one.kind, one.depth_mm) == (other.member, other.kind, other.depth_mm)
            assert (other.angle_deg - one.angle_deg - turn_deg + 180) % 360 - 180 == pytest.approx(0, abs=1e-9)


def test_no_fewer_holes_would_do():
    """What tries every choice against the mixed-integer programme, whose bound proves its answer: on 15 cranks as
    few holes. The choices are least squares over both planes, where the programme looks at the worse plane and
    holds it to a polygon 2 % outside the circle, so it may rarely do with one hole less: once or twice."""
    rng, fewer = random.Random(3), []
    for _ in range(15):
        crank = cranks.crank(cranks.v8_weights(rng.choice([6, 8]), 150.0))
        target = at(rng.uniform(0, 900), rng.uniform(0, 360), rng.uniform(0, 900), rng.uniform(0, 360))
        several = stretches(places(crank, cranks.TOOLS), PLANES)
        tried = fewest(several, [], target, TIGHT, PLANES, aim=0.5, most_holes=8)
        proved = ideal(several, [], target, TIGHT, PLANES, aim=0.5, most_holes=8)
        assert tried is not None
        assert tried.worst <= 0.5
        fewer.append(sum(one.holes for one in tried.wanted) - sum(one.holes for one in proved.wanted))
    assert sum(one > 0 for one in fewer) <= 2
    assert max(fewer) <= 1


def test_a_hole_drilled_deeper_than_planned_is_minded_by_the_rest():
    """A bore below a hole from the rim: 11 mm of metal left at 10 mm deep, 5 less both half diameters at 16."""
    bore = Hole("1a", "axial", 180.0, 65.0, -22.0, 8.0, 20.0, 300.0, 5.0, 180.0)
    rim = Hole("1a", "radial", 180.0, 90.0, -22.0, 10.0, 10.0, 500.0, 6.0, 118.0)
    aside, elsewhere = rim._replace(angle_deg=205.0), rim._replace(member="1b")
    crank = cranks.crank()
    assert still_fits(crank, [bore, aside, elsewhere]) == (True, True, True)
    assert still_fits(apply(crank, [rim]), [bore, aside, elsewhere]) == (True, True, True)
    deep = to_depth(crank.member("1a"), rim, 16.0)
    assert still_fits(apply(crank, [deep]), [bore, aside, elsewhere]) == (False, True, True)
    assert still_fits(crank, []) == ()


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
@settings(max_examples=200, deadline=None)
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
@settings(max_examples=150, deadline=None)
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


def test_a_plate_that_may_be_drilled_all_round_has_no_ends():
    """As much metal beside a hole at 0 degrees as at 77; an arc of one degree less than all round has its ends."""
    plate = {"name": "plate", "at": 400.0, "radius": 110.0, "thickness": 10.0}
    arc = {"arc": [{"from": 0, "to": 359}]}
    whole, open_ring = (cranks.crank([], external=[one]) for one in (plate, plate | arc))
    for angle, clear in ((0.0, False), (1.0, False), (77.0, True), (358.0, False)):
        hole = Hole("plate", "axial", angle, 110.0, 400.0, 8.0, 10.0, 500.0, 4.0)
        assert wall_left_mm(apply(whole, [hole]), hole) == math.inf
        assert (wall_left_mm(apply(open_ring, [hole]), hole) >= 3.0) == clear


@given(shops(), unbalances, st.floats(0, 8), st.randoms(use_true_random=False))
@settings(max_examples=25, deadline=None)
def test_what_still_fits_keeps_every_wall_point_by_point(shop, measured, more, rng):
    crank, tools = shop
    made = plan(crank, tools, measured, PLANES, allowed_gmm=TIGHT).operations
    radial = [hole for hole in made if hole.kind == "radial"]
    if not radial:
        return
    done = rng.choice(radial)
    member = crank.member(done.member)
    most = member.outer_mm - member.inner_mm - (done.tip_mm - done.depth_mm)
    done, rest = to_depth(member, done, min(most, done.depth_mm + more)), [h for h in made if h != done]
    really = apply(crank, [done])
    fits = still_fits(really, rest)
    assert all(fits) or more > 0
    assert_walls_kept(really, [hole for hole, keeps in zip(rest, fits, strict=True) if keeps])


def test_the_search_ends_by_what_it_did_and_not_by_the_clock():
    solver = _Programme(0.5).highs
    assert solver.getOptionValue("time_limit")[1] == math.inf
    assert solver.getOptionValue("mip_max_nodes")[1] < 1000


# The acceptance: cranks that hide what they have, on a station that reads wrong.


def really_taken(crank, operations, rng):
    """What drilling takes when every depth is off by up to 0.3 mm."""
    total = TwoPlanes(0j, 0j)
    for hole in operations:
        change = hole.change_gmm
        if hole.kind == "radial":
            member, depth = crank.member(hole.member), max(0.05, hole.depth_mm + rng.uniform(-0.3, 0.3))
            hole_made = radial_hole(member.density_g_mm3, hole.radius_mm, hole.diameter_mm, depth, hole.point_deg)
            change = -vector(hole_made.unbalance_gmm, hole.angle_deg)
        total = total.plus(split(change, hole.z_mm, PLANES))
    return total


def spins_to_balance(seed, allowed_gmm):
    """Spins until both planes are inside as the station reads them, and what is truly left then."""
    rng = random.Random(seed)
    crank = cranks.crank(
        cranks.v8_weights(
            rng.choice([6, 8]),
            rng.uniform(100, 150),
            outer_radius=rng.uniform(80, 95),
            thickness=rng.uniform(20, 25),
        )
    )
    hidden, front = rng.uniform(100, 900), rng.random()
    truth = at(hidden * front, rng.uniform(0, 360), hidden * (1 - front), rng.uniform(0, 360))
    wrong = rng.choice([0.95, 1.05]) * vector(1, rng.choice([-1, 1]))
    uncertainty, steps = (3.0, 3.0), []
    spin = 0
    while spin < 9:
        spin += 1
        measured = TwoPlanes(wrong * truth.front, wrong * truth.rear)
        if steps:
            steps[-1] = steps[-1]._replace(after=measured)
        if verdicts(measured, uncertainty, (allowed_gmm, allowed_gmm)) == ("inside", "inside"):
            break
        made = plan(
            crank,
            cranks.TOOLS,
            measured,
            PLANES,
            allowed_gmm=(allowed_gmm, allowed_gmm),
            response=learned(steps, PLANES, uncertainty),
        )
        truth = truth.plus(really_taken(crank, made.operations, rng))
        crank = apply(crank, made.operations)
        steps.append(DrilledStep(measured, made.operations, measured))
    return spin, truth


@pytest.mark.parametrize("allowed_gmm", [130.5, 60.0])
@pytest.mark.simulation(whole=200, sample=40)
def test_cranks_come_inside_in_three_spins(seed, allowed_gmm):
    """Hidden unbalance up to 900 g·mm in two planes, cross-plane V8s of six and eight counterweights; a station
    that is 5 % and one degree wrong, depths up to 0.3 mm off. Spin 1 measures, so two corrections at most.
    130.5 g·mm is half of what G 6.3 leaves 24.3 kg at 5,600 r/min; what the station's error hides is 5 %."""
    spins, left = spins_to_balance(seed, allowed_gmm)
    assert max(abs(left.front), abs(left.rear)) <= allowed_gmm
    assert spins <= 3


def test_what_is_inside_with_room_to_spare_is_left_alone():
    made = plan(cranks.crank(), cranks.TOOLS, at(29, 40, 12, 200), PLANES, allowed_gmm=TIGHT)
    assert made.operations == ()
    assert made.residual == at(29, 40, 12, 200)
    assert (made.stays, made.mass_g) == ((), 0)


def test_one_hole_where_one_does():
    """Too much in the front plane at 180 degrees, where counterweight 1a and 1b are, both near the plane."""
    made = plan(cranks.crank(), cranks.TOOLS, at(400, 180, 0, 0), PLANES, allowed_gmm=TIGHT)
    (hole,) = made.operations
    assert hole.member in ("1a", "1b")
    assert hole.angle_deg == pytest.approx(180, abs=5)
    assert made.mass_g == pytest.approx(400 / 85, rel=0.2)


@pytest.mark.parametrize("tight", ["front", "rear"])
def test_each_plane_is_held_to_its_own_allowance(tight):
    """20 g·mm for one plane, 60 for the other: 55 is drilled for in the tight one and 28 is left in the other,
    where it is inside; and a crank that keeps 55 in the tight plane is not called done."""
    at_tight, at_loose = (0, 1) if tight == "front" else (1, 0)
    allowed, measured = (
        ((20.0, 60.0), at(55, 180, 28, 0)) if tight == "front" else ((60.0, 20.0), at(28, 180, 55, 0))
    )
    made = plan(cranks.crank(), cranks.TOOLS, measured, PLANES, allowed_gmm=allowed)
    assert made.stays == ()
    assert abs(made.residual[at_tight]) <= 20
    changed = changed_by(made.operations, PLANES)
    assert abs(changed[at_tight]) > 35
    assert abs(changed[at_loose]) < 10
    bare = plan(cranks.crank(), Tools(drills=()), measured, PLANES, allowed_gmm=allowed)
    assert [(stay.plane, stay.over_gmm) for stay in bare.stays] == [(tight, pytest.approx(35.0))]
    # Inside by so little that drilling by hand would not stay there: 18 of 20 is worth a hole, 18 of 60 is not.
    near = at(18, 180, 0, 0), at(0, 0, 18, 0)
    drilled = [plan(cranks.crank(), cranks.TOOLS, one, PLANES, allowed_gmm=allowed).operations for one in near]
    assert [bool(drilled[at_tight]), bool(drilled[at_loose])] == [True, False]


def test_an_angle_between_two_counterweights_is_split_between_them():
    """One counterweight a plane and side: 45 degrees is reached by one at 0 and one at 90."""
    weights = [cranks.weight(f"f{a}", 0.0, a, 60.0) for a in (0, 90, 180, 270)]
    weights += [cranks.weight(f"r{a}", 336.0, a, 60.0) for a in (0, 90, 180, 270)]
    made = plan(cranks.crank(weights), cranks.TOOLS, at(700, 45, 0, 0), PLANES, allowed_gmm=TIGHT)
    assert sorted(hole.member for hole in made.operations) == ["f0", "f90"]
    assert made.stays == ()


def test_part_of_the_correction_on_a_flexplate():
    """External balance: nothing at the rear but a plate that is drilled along the crank."""
    plate = {"name": "plate", "at": 400.0, "radius": 120.0, "thickness": 14.0}
    made = plan(
        cranks.crank([cranks.weight("1", 0.0, 180.0)], external=[plate]),
        cranks.TOOLS,
        at(200, 180, 400, 77),
        PLANES,
        allowed_gmm=TIGHT,
    )
    assert made.stays == ()
    assert {hole.kind for hole in made.operations if hole.member == "plate"} == {"axial"}
    assert [hole.angle_deg for hole in made.operations if hole.member == "plate"] == pytest.approx([77], abs=12)


def test_heavy_metal_only_where_removal_does_not_do():
    """A crank of two counterweights at the bottom and too much at the top: a slug each, and without heavy metal
    what stays, by its plane, and what would free it."""
    crank = cranks.crank([cranks.weight("1", 0.0, 180.0), cranks.weight("2", 336.0, 180.0)])
    below = plan(crank, cranks.TOOLS, at(900, 180, 900, 180), PLANES, allowed_gmm=TIGHT)
    assert {hole.kind for hole in below.operations} == {"radial"}
    above = at(900, 0, 900, 0)
    heavy = plan(crank, cranks.TOOLS, above, PLANES, allowed_gmm=TIGHT, speed_rpm=5600.0)
    assert heavy.stays == ()
    slugs = [caution for caution in heavy.cautions if caution.operation.kind == "slug"]
    assert {caution.operation.member for caution in slugs} == {"1", "2"}
    for caution in slugs:
        slug = next(s for s in cranks.TOOLS.slugs if s.diameter_mm == caution.operation.diameter_mm)
        omega = 5600 * 2 * math.pi / 60
        pull = slug.mass_g / 1000 * omega**2 * caution.operation.radius_mm / 1000
        assert caution.force_n == pytest.approx(pull)
        assert caution.wall_mm == pytest.approx(3.0)
    assert heavy.mass_g < 0
    light = plan(crank, cranks.TOOLS, above, PLANES, allowed_gmm=TIGHT, slugs=False)
    assert light.operations == ()
    assert light.residual == above
    assert [(s.plane, round(s.over_gmm), s.why, s.frees) for s in light.stays] == [
        ("front", 840, "reach", ("heavy metal",)),
        ("rear", 840, "reach", ("heavy metal",)),
    ]
    bare = plan(crank, cranks.TOOLS._replace(slugs=()), above, PLANES, allowed_gmm=TIGHT)
    assert {stay.frees for stay in bare.stays} == {("metal at the angle",)}


def test_what_has_no_room_says_so():
    """Shallow counterweights, 2,500 g·mm at their own angle: more and larger holes would do."""
    weights = [cranks.weight("1", 0.0, 180.0, 30.0, inner_radius=80.0), cranks.weight("2", 336.0, 180.0)]
    made = plan(cranks.crank(weights), cranks.TOOLS, at(2500, 180, 0, 0), PLANES, allowed_gmm=TIGHT)
    assert made.operations
    assert [(stay.plane, stay.why, "room" in stay.frees) for stay in made.stays] == [("front", "room", True)]


def test_steps_that_are_too_coarse_say_so():
    crank = cranks.crank([cranks.weight("1", 0.0, 180.0), cranks.weight("2", 336.0, 180.0)])
    coarse = Tools(drills=(Drill(14.0, step_mm=8.0),))
    made = plan(crank, coarse, at(380, 180, 0, 0), PLANES, allowed_gmm=(5.0, 5.0))
    assert {(stay.why, stay.frees) for stay in made.stays} == {("steps", ("finer steps",))}


def test_grinding_where_no_drill_has_room():
    weights = cranks.v8_weights(thickness=9.0)
    tools = cranks.TOOLS._replace(grinder=Grinder(0.25, 3.0))
    made = plan(cranks.crank(weights), tools, at(300, 170, 100, 10), PLANES, allowed_gmm=TIGHT)
    assert {hole.kind for hole in made.operations} == {"grind"}
    assert made.stays == ()
    assert plan(cranks.crank(weights), cranks.TOOLS, at(300, 170, 0, 0), PLANES, allowed_gmm=TIGHT).stays


def test_planes_and_amounts_that_are_none():
    for planes, allowed in (((1.0, 1.0), TIGHT), (PLANES, (0.0, 60.0))):
        with pytest.raises(ValueError, match="planes at"):
            plan(cranks.crank(), cranks.TOOLS, at(1, 0, 1, 0), planes, allowed_gmm=allowed)


# What the spins teach.


def drilled(amount, angle_deg, z_mm, depth_mm=20.0):
    return Hole("1", "radial", angle_deg, 90.0, z_mm, 12.0, depth_mm, amount, amount / 80, 118.0)


def step(response, operations, before=None):
    before = before or at(500, 20, 400, 200)
    return DrilledStep(before, operations, before.plus(response.as_measured(changed_by(operations, PLANES))))


def test_a_station_that_reads_wrong_is_learned_plane_by_plane():
    wrong = CrankResponse(1.05 * vector(1, 1), 0.93 * vector(1, -2))
    operations = (drilled(900.0, 20.0, 0.0), drilled(700.0, 200.0, 336.0))
    response = learned([step(wrong, operations)], PLANES, (2.0, 2.0), drilled_mm=0.0)
    assert response.front == pytest.approx(wrong.front, abs=1e-4)
    assert response.rear == pytest.approx(wrong.rear, abs=1e-4)
    back = response.as_drilled(response.as_measured(at(10, 30, 40, 50)))
    assert (back.front, back.rear) == pytest.approx((vector(10, 30), vector(40, 50)))


def test_nothing_is_learned_from_what_one_cannot_tell():
    operations = (drilled(300.0, 20.0, 0.0), drilled(300.0, 200.0, 336.0))
    wrong = CrankResponse(1.02 + 0j, 0.98 + 0j)
    assert learned([step(wrong, operations)], PLANES, (10.0, 10.0)) == NEUTRAL
    assert learned([], PLANES, (10.0, 10.0)) == NEUTRAL


def test_a_hole_of_no_depth_teaches_nothing():
    nothing = drilled(0.0, 20.0, 0.0, depth_mm=0.0)
    assert learned([step(NEUTRAL, (nothing, drilled(300.0, 20.0, 0.0)))], PLANES, (1.0, 1.0)) == NEUTRAL


@given(st.floats(0.5, 1.5), st.floats(-20, 20), st.floats(0.1, 80), st.floats(100, 2000))
def test_learning_goes_towards_what_was_seen_and_never_beyond(gain, angle_deg, uncertain, amount):
    seen = gain * vector(1, angle_deg)
    operations = (drilled(amount, 20.0, 0.0),)
    response = learned([step(CrankResponse(seen, 1 + 0j), operations)], PLANES, (uncertain, uncertain))
    assert abs(response.front - 1) <= abs(seen - 1) + 1e-9
    assert abs(response.front - seen) <= abs(seen - 1) + 1e-9
    assert response.rear == 1
    again = learned([step(CrankResponse(seen, 1 + 0j), operations)] * 4, PLANES, (uncertain, uncertain))
    assert abs(again.front - seen) <= abs(response.front - seen) + 1e-9


def test_the_next_plan_uses_what_was_learned():
    """A station that reads 20 % too much: the plan takes a sixth less, and promises what the station will read."""
    crank, measured = cranks.crank(), at(900, 180, 0, 0)
    plain = plan(crank, cranks.TOOLS, measured, PLANES, allowed_gmm=(20.0, 20.0))
    response = CrankResponse(1.2 + 0j, 1.2 + 0j)
    wiser = plan(crank, cranks.TOOLS, measured, PLANES, allowed_gmm=(20.0, 20.0), response=response)
    taken = [changed_by(made.operations, PLANES).front for made in (plain, wiser)]
    assert abs(taken[0] / taken[1]) == pytest.approx(1.2, abs=0.04)
    promised = measured.plus(response.as_measured(changed_by(wiser.operations, PLANES)))
    assert (wiser.residual.front, wiser.residual.rear) == pytest.approx((promised.front, promised.rear))
    assert abs(wiser.residual.front) <= 20


def test_the_verdict_of_each_plane_counts_the_stations_uncertainty():
    assert verdicts(at(50, 0, 65, 90), (5.0, 10.0), TIGHT) == ("inside", "too close to call")
    assert verdicts(at(80, 0, 55.1, 90), (5.0, 5.0), TIGHT) == ("outside", "too close to call")


# A crank that was balanced for another bobweight.


def arriving(bobweights_g, crank, tools=cranks.TOOLS):
    throws = generic_layout("v8-90-crossplane", 112.0).throws
    return against_target(
        bobweights_g, 1800.0, 46.0, throws, crank, tools, PLANES, allowed_gmm=TIGHT, speed_rpm=5600.0
    )


def test_all_throws_heavier_by_as_much_leave_the_couple_of_the_layout():
    """Cross-plane V8 (3.1623 in the table of layouts): no force, a couple of √10 · deviation · r · spacing, as
    a pair 336 mm apart."""
    found = arriving([1805.0] * 4, cranks.crank())
    assert [throw.over_g for throw in found.throws] == [5.0] * 4
    assert found.throws[1].unbalance.front == pytest.approx(vector(5 * 46 * 2 / 3, 90))
    assert found.unbalance.front + found.unbalance.rear == pytest.approx(0, abs=1e-9)
    assert abs(found.unbalance.front) == pytest.approx(math.sqrt(10) * 5 * 46 * 112 / 336)


def test_a_crank_for_lighter_parts_needs_heavy_metal_and_one_for_heavier_parts_does_not():
    crank = cranks.crank(cranks.v8_weights(span_deg=90.0))
    lighter = arriving([1780.0] * 4, crank)
    assert not lighter.heavy_metal
    assert lighter.plan.stays == ()
    heavier = arriving([1820.0] * 4, crank)
    assert heavier.heavy_metal
    assert any(hole.kind == "slug" for hole in heavier.plan.operations)
    without = arriving([1820.0] * 4, crank, cranks.TOOLS._replace(slugs=()))
    assert without.heavy_metal
    assert without.plan.stays
