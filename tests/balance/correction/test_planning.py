"""The plan for a crank: inside its allowances with the fewest holes, inside its metal, whatever it takes."""

import math
import random

import cranks
import pytest
import shavings
from crank_walls import (
    PLANES,
    TIGHT,
    at,
    shops,
    unbalances,
    vector,
)
from examples import examples
from hypothesis import given

from truethrow.balance.correction import (
    DrilledStep,
    TwoPlanes,
    apply,
    changed_by,
    learned,
    plan,
    still_fits,
    verdicts,
)
from truethrow.balance.correction.planes import split
from truethrow.balance.crank.crank import to_depth
from truethrow.balance.crank.holes import Grinder, Hole, Slug, Tools, radial_hole


@given(shops(), unbalances)
@examples(20)
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
    for hole in made.then:
        off_front, off_rear = shavings.taken(crank, hole, PLANES)
        front, rear = front - off_front, rear - off_rear
    assert made.at_last == pytest.approx((front, rear), abs=0.01)
    assert {hole.kind for hole in made.operations} == {"slug"} or not made.then
    left = max(abs(made.at_last.front), abs(made.at_last.rear))
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
    coarse = Tools(drills=(cranks.drill(14.0, step_mm=8.0),))
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


def test_heavy_metal_alone_where_no_drill_has_room():
    """Counterweights too thin for any drill and its walls, but not for a slug right through."""
    weights = [
        cranks.weight(name, z, 180.0, thickness=12.0, bore="front") for name, z in (("1", 0.0), ("2", 336.0))
    ]
    tools = cranks.TOOLS._replace(drills=(cranks.drill(14.0),), slugs=(Slug(14.0, 12.0),))
    made = plan(cranks.crank(weights), tools, at(1400, 0, 1400, 0), PLANES, allowed_gmm=TIGHT)
    assert {hole.kind for hole in made.operations} == {"slug"}
    assert made.then == ()
    assert max(map(abs, made.residual)) < 1400
