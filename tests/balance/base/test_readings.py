"""Readings: uncertainty, verdicts and digits."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.base.readings import (
    Certainty,
    Mass,
    Reading,
    Scale,
    certainty,
    combine,
    decimals,
    digits_for,
    verdict,
)
from truethrow.balance.base.scatter import Scatter


def known(step_g, standard_g=0.0, **scale):
    """A scale of which the scatter is well known."""
    return Certainty(Scale(step_g, **scale), Scatter(standard_g), Scatter(standard_g))


def reading(*values, cylinder=1, kind="piston"):
    return Reading(cylinder, kind, values, tuple(map(str, values)))


def test_a_tared_reading_is_two_rounded_ones():
    tared, plain = known(0.1), known(0.1, tared=False)
    assert plain.standard_g(reading(5.0)) == pytest.approx(0.1 / math.sqrt(12))
    assert tared.standard_g(reading(5.0)) == pytest.approx(math.sqrt(2) * plain.standard_g(reading(5.0)))


def test_a_zero_seen_off_adds_up_in_sums_and_cancels_where_it_is_in_common():
    """JCGM 100:2008, 5.2.2 note 1 (from memory): errors that are one error add up with their signs."""
    sure = known(0.1)
    early, late, later = (
        Reading(n, "piston", (500.0,), ("500",), zero) for n, zero in ((1, 0.2), (2, 0.2), (3, -0.1))
    )
    alone = sure.expanded_g(Mass(0.0, {early._replace(zero_g=0.0): 1.0, late._replace(zero_g=0.0): 1.0}))
    assert sure.expanded_g(Mass(0.0, {early: 1.0, late: 1.0})) == pytest.approx(math.hypot(alone, 2 * 0.4))
    assert sure.expanded_g(Mass(0.0, {early: 1.0, late: -1.0})) == pytest.approx(alone)
    assert sure.expanded_g(Mass(0.0, {early: 1.0, later: -1.0})) == pytest.approx(math.hypot(alone, 2 * 0.3))


def test_repeats_narrow_the_repeatability_only():
    sure = known(0.1, 0.3, tared=False)
    four = sure.standard_g(reading(5.0, 5.1, 5.0, 5.1))
    assert four == pytest.approx(math.hypot(0.1 / math.sqrt(12), 0.15))


def test_a_declared_repeatability_counts_before_the_repeats_each_on_its_own_way_of_weighing():
    repeats = [reading(5.0, 5.4), reading(7.0, 7.2, kind="big_end")]
    sure = certainty(Scale(0.1, repeatability_g=0.05, repeatability_from=9), repeats)
    assert sure.pan == Scatter(0.05, 9, "declared")
    assert sure.support == Scatter(pytest.approx(0.2 / math.sqrt(2)), 1, "repeats")


def test_what_scatters_on_the_pan_says_nothing_of_rod_ends():
    """Simulated: pairs of pins (0.02 g) applied to rod ends (0.3 g) called one in ten inside that was not."""
    sure = certainty(Scale(0.01), [reading(112.1, 112.12, kind="pin"), reading(450.0, kind="big_end")])
    assert sure.scatter("pin").known == sure.scatter("rod_total").known == "repeats"
    assert sure.scatter("big_end").known == sure.scatter("small_end").known == "assumed"


def test_the_type_a_part_counts_by_its_own_factor_and_the_rest_twice():
    """One pair, 0.4 g apart: s = 0.4/√2, t = 13.97 (JCGM 100:2008, Table G.2), and the mean of two, √2."""
    sure = certainty(Scale(0.1, tared=False), [reading(5.0, 5.4)])
    mass = Mass.read(reading(5.0, 5.4))
    assert sure.expanded_g(mass) == pytest.approx(math.hypot(13.968 * 0.2, 2 * 0.1 / math.sqrt(12)), rel=1e-4)


def test_a_scatter_that_is_only_assumed_earns_no_inside_and_hides_no_outside():
    sure = certainty(Scale(0.1), [reading(5.0)])
    assert sure.assumed_for(Mass.read(reading(5.0))) == ("pan",)
    assert sure.judged(Mass.read(reading(0.0)), 1000.0) == "too close to call"
    assert sure.judged(Mass.read(reading(1001.0)), 1000.0) == "outside"
    shared = reading(41.0, cylinder=None, kind="rings")
    assert sure.assumed_for(Mass(0.0, {shared: 0.3 - 0.1 - 0.2})) == ()


def test_weighings_before_the_ones_that_count_say_what_the_scale_scatters():
    now = reading(5.0)._replace(earlier_g=(5.3,))
    assert now.mean_g == 5.0
    assert certainty(Scale(0.1), [now]).pan == Scatter(pytest.approx(0.3 / math.sqrt(2)), 1, "repeats")


def test_the_reading_that_is_left_out_of_the_scatter_is_named():
    good = [reading(n, n + 0.1, cylinder=n) for n in range(1, 8)]
    bad = reading(8.0, 12.0, cylinder=8)
    sure = certainty(Scale(0.1), [*good, bad])
    assert sure.outlying == (bad,)
    assert sure.pan == Scatter(pytest.approx(0.1 / math.sqrt(2)), 7, "repeats")


def test_a_reading_shared_by_both_sides_cancels():
    shared = Mass.read(reading(41.0, cylinder=None, kind="rings"))
    one, other = Mass.read(reading(538.4)), Mass.read(reading(538.9, cylinder=2))
    apart = combine([(1.0, combine([(1.0, one), (1.0, shared)])), (-1.0, combine([(1.0, other), (1.0, shared)]))])
    sure = known(0.1)
    assert apart.value_g == -0.5
    assert sure.expanded_g(apart) == pytest.approx(2 * math.sqrt(2) * sure.standard_g(reading(1.0)))


@pytest.mark.parametrize(
    ("value", "expanded", "limit", "said"),
    [
        (0.8, 0.1, 1.0, "inside"),
        (0.9, 0.1, 1.0, "inside"),
        (0.95, 0.1, 1.0, "too close to call"),
        (1.1, 0.1, 1.0, "too close to call"),
        (1.2, 0.1, 1.0, "outside"),
        (0.6 + 0.3, 0.1, 1.0, "inside"),
    ],
)
def test_three_verdicts(value, expanded, limit, said):
    assert verdict(value, expanded, limit) == said


@given(st.floats(0, 10), st.floats(0, 1), st.floats(0, 10), st.floats(0, 1))
def test_more_uncertainty_never_turns_inside_into_outside(value, expanded, limit, more):
    order = {"inside": 0, "too close to call": 1, "outside": 2}
    sharp, vague = verdict(value, expanded, limit), verdict(value, expanded + more, limit)
    assert abs(order[vague] - 1) <= abs(order[sharp] - 1)


@pytest.mark.parametrize(
    ("step", "places"),
    [
        *[(1, 0), (5, 0), (10, 0), (0.5, 1), (0.1, 1), (0.02, 2), (0.001, 3), (0.25, 2), (0.125, 3)],
        *[(0.14174761, 1), (0.1 / 28.349523125, 3), (0.05 / 0.01, 0)],
    ],
)
def test_decimals_of_a_step(step, places):
    assert decimals(step) == places


@pytest.mark.parametrize(
    ("expanded", "places"), [(123, 0), (12, 0), (9.96, 0), (1.2, 1), (0.25, 2), (0.0996, 2), (0, 0), (2e-14, 0)]
)
def test_two_digits_of_an_uncertainty(expanded, places):
    assert digits_for(expanded) == places
