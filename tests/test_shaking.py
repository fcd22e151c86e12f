"""Shaking: laws that hold for every crank, and the job's own numbers."""

import cmath
import math

import invented
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from truethrow.balance import running, shaking
from truethrow.balance.layout import GENERIC, generic_layout
from truethrow.balance.work import work


def equal(name, spacing=112.0, desaxe=0.0):
    layout = generic_layout(name, spacing)
    return layout, shaking.assembly(layout, [700.0] * len(layout.places), 46.0, 155.0, desaxe)


def worked(parts=None, **tables):
    return work(invented.build(invented.document(parts, **tables)))


@given(st.sampled_from(sorted(GENERIC)), st.floats(-500, 500), st.floats(100, 9000))
@settings(max_examples=60, deadline=None)
def test_moving_the_reference_adds_force_times_distance(name, about, speed):
    _, parts = equal(name)
    here = shaking.curve(parts, speed, 0.0, 360)
    there = shaking.curve(parts, speed, about, 360)
    largest = abs(here.couple_nm).max() + abs(here.force_n).max() + 1e-9
    assert there.couple_nm == pytest.approx(here.couple_nm - here.force_n * about / 1000, abs=1e-9 * largest)


@given(st.sampled_from(sorted(GENERIC)), st.floats(1.1, 5))
@settings(max_examples=40, deadline=None)
def test_force_grows_with_the_square_of_the_speed(name, times):
    _, parts = equal(name)
    slow, fast = shaking.curve(parts, 1000, 0.0, 90), shaking.curve(parts, 1000 * times, 0.0, 90)
    assert fast.force_n == pytest.approx(slow.force_n * times**2, rel=1e-9, abs=1e-6)


def test_cylinders_add_up():
    _, parts = equal("v8-90-crossplane")
    one = [parts._replace(reciprocating_g=np.where(np.arange(8) == i, 700.0, 0.0)) for i in range(8)]
    summed = sum(shaking.curve(p, 5600, 168.0, 90).force_n for p in one)
    assert summed == pytest.approx(shaking.curve(parts, 5600, 168.0, 90).force_n, abs=1e-8)


def test_a_desaxe_offset_brings_odd_orders():
    _, parts = equal("inline-1", desaxe=5.0)
    third = shaking.orders(shaking.curve(parts, 5600, 0.0), 3)[2]
    assert abs(third.force_forward) > 1
    straight = shaking.orders(shaking.curve(equal("inline-1")[1], 5600, 0.0), 3)[2]
    assert abs(straight.force_forward) < 1e-8


@pytest.mark.parametrize(("rod", "desaxe"), [(46.0, 0.0), (40.0, 0.0), (50.0, 5.0)])
def test_a_crank_that_cannot_turn_is_refused(rod, desaxe):
    with pytest.raises(ValueError, match="cannot turn"):
        shaking.assembly(generic_layout("inline-1"), [700.0], 46.0, rod, desaxe)


@pytest.mark.parametrize("name", ["v6-60-even", "v6-90-even"])
def test_split_pins_are_split_the_right_way_round(name):
    """Six top dead centres in three equal pairs, 120 degrees apart."""
    layout = generic_layout(name)
    angle = {t.name: t.angle_deg for t in layout.throws}
    tops = sorted(round((layout.banks[p.bank] - angle[p.throw]) % 360) for p in layout.places)
    assert tops[0::2] == tops[1::2]
    assert [tops[2] - tops[0], tops[4] - tops[2]] == [120, 120]


def test_one_gram_more_changes_the_residual_by_its_vector():
    """+1 g on cylinder 5's big end (throw 3, 270°, z 224 of 336 mm), hung as before: 46 g·mm at 270°, a third
    of it in front, two thirds in the rear; in the running engine 46e-6 kg·m · ω² turning with the crank."""
    hang = {"bobweight": {"hang": "1866.5 g", "oil": 4.0}}
    before = worked(**hang)
    after = worked(invented.cylinders(big_end={5: 453.3}), **hang)
    vector = cmath.rect(46.0, math.radians(270))
    for plane, part in (("static", 1.0), ("front", 1 / 3), ("rear", 2 / 3)):
        change = getattr(after.cost, plane).vector_gmm - getattr(before.cost, plane).vector_gmm
        assert change == pytest.approx(part * vector, abs=1e-6)
    one, other = (running.shake(r, 5600).curve for r in (before, after))
    pulled = other.force_n - one.force_n
    turning = 46e-6 * shaking.omega(5600) ** 2 * np.exp(1j * (other.crank_rad + math.radians(270)))
    assert pulled == pytest.approx(turning, abs=1e-7)


def test_one_gram_of_piston_leaves_its_own_force_on_its_bank():
    before, after = (
        worked(),
        worked(invented.cylinders(piston={1: 539.4}), bobweight={"hang": "1866.5 g", "oil": 4}),
    )
    change = running.shake(after, 5600).curve.force_n - running.shake(before, 5600).curve.force_n
    bank = math.radians(45)
    along = shaking.slider_acceleration(shaking.crank_angles() - bank, 46 / 155)
    assert change == pytest.approx(46e-6 * shaking.omega(5600) ** 2 * along * np.exp(1j * bank), abs=1e-7)


def test_mounts_carry_the_force_and_the_couple():
    engine = dict(invented.V8, mounts={"front": -50.0, "rear": 400.0})
    found = running.shake(worked(invented.cylinders(piston={1: 545.0}), engine=engine), 5600)
    front, rear = found.mounts
    assert (front.z_mm, rear.z_mm) == (-50.0, 400.0)
    # A force at the front throw alone, by statics: (400 − 0)/450 of it in front.
    single = running.shake(
        worked(
            invented.cylinders(1),
            engine=dict(invented.V8, layout="inline-1", mounts={"front": -50.0, "rear": 400.0}),
        ),
        5600,
    )
    assert single.mounts[0].peak.amount == pytest.approx(single.force.amount * 400 / 450)
    assert single.mounts[1].peak.amount == pytest.approx(single.force.amount * 50 / 450)


def test_uncertainty_of_the_peak_force_matches_draws_of_the_masses():
    """5,000 engines with every reading drawn anew: the scatter of the force at the peak's own crank angle."""
    result = worked(invented.cylinders(piston={1: 560.0}))
    found = running.shake(result, 5600, steps=360)
    parts = running.assembly_of(result)
    random = np.random.default_rng(1)
    at = round(found.force.crank_deg)
    u = result.certainty.rounding_g
    along = np.exp(-1j * math.radians(found.force.direction_deg))
    crank = np.array([math.radians(at)])
    vectors = shaking.reciprocating_vectors(parts, crank)[:, 0]
    turn = np.exp(1j * (parts.crank_rad + crank[0]))
    pull = 46e-6 * shaking.omega(5600) ** 2
    slides = random.normal(0, u, (5000, 8, 5)).sum(axis=2)
    turns = random.normal(0, u, (5000, 8, 2)).sum(axis=2)
    scatter = ((slides @ (vectors * along).real + turns @ (turn * along).real) * pull).std()
    assert found.force_expanded_n == pytest.approx(2 * scatter, rel=0.04)


def test_what_the_masses_pull():
    """Newton by hand: 865.9 g at 20 513.6 m/s², two bolts; a gram at 46 mm and 5600 r/min."""
    pulls = running.shake(worked(), 5600).pulls
    omega = 5600 * 2 * math.pi / 60
    acceleration = 0.046 * omega**2 * (1 + 46 / 155)
    assert pulls.acceleration_m_s2 == pytest.approx(acceleration)
    assert pulls.pull_n == pytest.approx(0.8659 * acceleration)
    assert pulls.bolt_n == pytest.approx(0.8659 * acceleration / 2)
    assert pulls.gram_n == pytest.approx(0.001 * 0.046 * omega**2)


def test_force_and_unbalance_are_each_others_measure():
    assert shaking.unbalance_gmm(shaking.centrifugal_n(3.0, 46.0, 4200), 4200) == pytest.approx(3 * 46)


def test_a_bare_balanced_crank_has_nothing_hung_and_nothing_left():
    engine = dict(invented.V8, layout="v8-90-flatplane")
    result = worked(engine=engine, bobweight={"hang": "none", "oil": 4.0})
    assert result.bobweights.hung_g == 0
    assert result.cost.static.amount_gmm == pytest.approx(0, abs=1e-6)
    assert result.cost.front.amount_gmm == pytest.approx(0, abs=1e-6)
