"""Unbalance in two planes: the tolerance, and how sure the amount is."""

import cmath
import dataclasses
import math

import invented
import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.base.errors import BadInput
from truethrow.balance.result.unbalance import (
    allocated,
    allowed_gmm,
    permissible_unbalance_gmm,
    plane_share,
    rod_arms,
    split_permissible,
)
from truethrow.balance.result.work import work


def test_planes_share_an_unbalance_by_distance():
    assert plane_share(112, 0, 336) == pytest.approx((2 / 3, 1 / 3))
    assert plane_share(-112, 0, 336) == pytest.approx((4 / 3, -1 / 3))


def test_one_plane_is_no_two():
    with pytest.raises(ValueError, match="both at 10"):
        plane_share(0, 10, 10)


@pytest.mark.parametrize("bad", [0, -1, float("nan"), float("inf")])
@pytest.mark.parametrize("position", [0, 1, 2])
def test_permissible_unbalance_refuses_the_impossible(bad, position):
    values = [24.3, 6.3, 5600]
    values[position] = bad
    with pytest.raises(ValueError, match="not a positive number"):
        permissible_unbalance_gmm(*values)


def test_no_plane_gets_less_than_three_tenths():
    """Either way round: what is cut off one plane goes to the other, and nothing is lost."""
    assert split_permissible(100, 10, 0, 100) == pytest.approx((70, 30))
    assert split_permissible(100, 90, 0, 100) == pytest.approx((30, 70))
    assert split_permissible(100, 50, 0, 100) == (50, 50)


@pytest.mark.parametrize("centre", [0.0, 100.0, -20.0, 150.0])
def test_the_rule_of_three_tenths_is_not_for_an_overhung_centre_of_mass(centre):
    with pytest.raises(ValueError, match="is not between 0 and 100"):
        split_permissible(100, centre, 0, 100)


bearings = st.tuples(st.floats(-200, 0), st.floats(100, 400))
planes = st.tuples(st.floats(-300, 60), st.floats(90, 600))


@given(bearings, planes, st.floats(0.05, 0.95))
@examples(60)
def test_no_bearing_feels_more_than_it_may_at_whatever_angles(bearings, planes, at):
    """Statics, worked point by point over all angles between the two planes: one bearing feels just what it may,
    the other no more. Planes at the bearings keep just what these may."""
    centre = bearings[0] + at * (bearings[1] - bearings[0])
    may = split_permissible(100.0, centre, *bearings)
    front, rear = allocated(100.0, centre, planes, bearings)
    worst = [0.0, 0.0]
    for angle in range(0, 360, 5):
        u = front, rear * cmath.exp(1j * math.radians(angle))
        # Moments about the other bearing, one plane after the other.
        for i, (own, other) in enumerate((bearings, bearings[::-1])):
            felt = sum(v * (other - z) / (other - own) for v, z in zip(u, planes, strict=True))
            worst[i] = max(worst[i], abs(felt) / may[i])
    assert max(worst) == pytest.approx(1.0, rel=1e-6)
    assert allocated(100.0, centre, bearings, bearings) == pytest.approx(may)


def tolerance(**station):
    made = invented.build(invented.document(station={"crank_mass": "24.3 kg", "grade": 6.3} | station))
    return allowed_gmm(made)


def test_planes_beyond_the_outer_mains_keep_less_by_their_longer_lever():
    """A V8 of 112 mm pitch: mains at about -56 and 392 mm. Planes 100 mm farther out have 648 for 448 mm."""
    whole = permissible_unbalance_gmm(24.3, 6.3, 5600)
    assert tolerance() == pytest.approx((whole / 2, whole / 2))
    assert tolerance(front_plane=-56.0, rear_plane=392.0) == pytest.approx((whole / 2, whole / 2))
    wide = tolerance(front_plane=-156.0, rear_plane=492.0)
    assert wide == pytest.approx((whole / 2 * 448 / 648,) * 2)
    assert tolerance(front_plane=-156.0, rear_plane=492.0, front_bearing=-56.0, rear_bearing=392.0) == wide


def test_planes_well_inside_the_bearings_share_what_these_may():
    """Both feel both: what the bearings may together, however near the planes."""
    whole = permissible_unbalance_gmm(24.3, 6.3, 5600)
    near = tolerance(front_plane=120.0, rear_plane=216.0, front_bearing=-60.0, rear_bearing=396.0)
    assert near == pytest.approx((whole / 2, whole / 2))


def test_the_centre_of_mass_is_the_cranks_own_not_the_middle_of_the_planes():
    """Planes at 0 and 240 mm of a crank whose throws end at 336: its middle is at 168, 0.7 of the way."""
    whole = permissible_unbalance_gmm(24.3, 6.3, 5600)
    assert tolerance(front_plane=0.0, rear_plane=240.0) == pytest.approx((0.3 * whole, 0.7 * whole))
    declared = tolerance(front_plane=0.0, rear_plane=240.0, centre_of_mass=120.0)
    assert declared == pytest.approx((whole / 2, whole / 2))


def test_both_planes_on_one_side_are_refused_with_the_way_out_or_held_at_the_bearings():
    with pytest.raises(BadInput) as caught:
        tolerance(front_plane=200.0, rear_plane=336.0)
    assert [str(fault) for fault in caught.value.faults] == [
        "station, centre_of_mass: 168 mm is not between the planes, 200 mm and 336 mm; allowed: between the"
        " planes; or front_bearing and rear_bearing, which the tolerance belongs to; or a limit instead of"
        " the grade"
    ]
    whole = permissible_unbalance_gmm(24.3, 6.3, 5600)
    front, rear = tolerance(front_plane=200.0, rear_plane=336.0, front_bearing=-56.0, rear_bearing=392.0)
    # The rear bearing is the nearer: (256·front + 392·rear) / 448 is its half.
    assert 256 / 448 * front + 392 / 448 * rear == pytest.approx(whole / 2)
    assert invented.build(invented.document(station={"limit": 130, "front_plane": 200.0, "rear_plane": 336.0}))


@pytest.mark.parametrize(
    ("station", "told"),
    [
        ({"front_bearing": -56.0}, "station, rear_bearing: missing"),
        ({"front_bearing": 400.0, "rear_bearing": -56.0}, "station, front_bearing: 400 mm is not in front of"),
        (
            {"front_bearing": 200.0, "rear_bearing": 392.0},
            "station, centre_of_mass: 168 mm is not between the bearings, 200 mm and 392 mm; allowed: between the "
            "bearings; or a limit instead of the grade",
        ),
    ],
)
def test_bearings_that_cannot_be(station, told):
    with pytest.raises(BadInput) as caught:
        tolerance(**station)
    assert str(caught.value.faults[0]).startswith(told)


@pytest.mark.parametrize(("heavier_g", "said"), [(0.0, "inside"), (2.5, "too close to call"), (8.0, "outside")])
def test_verdict_on_a_plane(heavier_g, said):
    """Grade 6.3 leaves 130.5 g·mm a plane, and the weighing is sure to about 10 g·mm; 3.75 g on throw 1 make
    about 132 g·mm in front."""
    parts = invented.cylinders(big_end={1: 452.3 + heavier_g, 2: 452.3 + heavier_g / 2})
    station = {"crank_mass": "24.3 kg", "grade": 6.3}
    result = work(invented.build(invented.document(parts, station=station)))
    assert result.cost.front.permissible_gmm == pytest.approx(130.527, abs=5e-4)
    assert result.cost.front.verdict == said


def test_uncertainty_of_the_amount_follows_the_throws():
    """Equal, independent bobweights on a cross-plane crank: u of the static vector is √2·r·u in any
    direction (two throws on each axis)."""
    result = work(invented.build(invented.document(invented.cylinders(big_end={1: 480.0}))))
    one = result.certainty.expanded_g(result.bobweights.throws[0].bobweight)
    assert result.cost.static.expanded_gmm == pytest.approx(2**0.5 * 46 * one)


def test_a_grade_alone_allows_nothing():
    """A grade needs the crank's mass and the speed; without either there is no figure, not a guessed one."""
    job = invented.build(invented.document(station={"crank_mass": "24.3 kg", "grade": 6.3}))
    assert allowed_gmm(job) == pytest.approx((130.527, 130.527), abs=5e-4)
    station, engine = job.station, job.engine
    for less in (
        {"station": station._replace(crank_mass_g=None)},
        {"station": station._replace(grade_mm_s=None)},
        {"engine": engine._replace(top_speed_rpm=None)},
    ):
        assert allowed_gmm(dataclasses.replace(job, **less)) == (None, None)


def test_two_alike_are_no_surer_than_any_two():
    """Two pistons of one mass: the spread is nothing, give or take 2·√2·0.1/√6 (JCGM 100:2008, 5.2, k = 2)."""
    engine = dict(invented.V8, layout="inline-2")
    result = work(invented.build(invented.document(invented.cylinders(2), engine=engine)))
    (spread,) = (spread for spread in result.spreads if spread.quantity == "piston")
    assert spread.spread_g == 0
    assert spread.expanded_g == pytest.approx(2 * 2**0.5 * 0.1 / 6**0.5)


def test_a_rod_beside_another_acts_where_it_is_in_both_planes():
    """Two rods 24 mm apart on a pin: each 12 mm beside the throw's middle. A gram there gives the planes, 336 mm
    apart, 46 mm · 12 / 336 more in one and as much less in the other, along the throw; together nothing."""
    job = invented.build(invented.document(engine=invented.V8 | {"rods_apart": 24.0, "rod_in_front": "left"}))
    front, rear, whole = (rod_arms(job, plane) for plane in ("front", "rear", "static"))
    throw_deg = {throw.name: throw.angle_deg for throw in job.layout.throws}
    for place, own_front, own_rear, static in zip(job.layout.places, front, rear, whole, strict=True):
        along = cmath.rect(46.0 * 12 / 336, math.radians(throw_deg[place.throw]))
        sign = 1 if place.bank == "left" else -1
        assert own_front == pytest.approx(sign * along)
        assert own_rear == pytest.approx(-sign * along)
        assert static == pytest.approx(0)
