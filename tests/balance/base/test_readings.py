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
    pooled_repeatability_g,
    verdict,
)


def reading(*values, cylinder=1, kind="piston"):
    return Reading(cylinder, kind, values, tuple(map(str, values)))


def test_a_tared_reading_is_two_rounded_ones():
    tared, plain = Certainty(Scale(0.1), 0.0), Certainty(Scale(0.1, tared=False), 0.0)
    assert plain.standard_g(reading(5.0)) == pytest.approx(0.1 / math.sqrt(12))
    assert tared.standard_g(reading(5.0)) == pytest.approx(math.sqrt(2) * plain.standard_g(reading(5.0)))


def test_a_zero_seen_off_adds_up_in_sums_and_cancels_where_it_is_in_common():
    """JCGM 100:2008, 5.2.2 note 1 (from memory): errors that are one error add up with their signs."""
    sure = Certainty(Scale(0.1), 0.0)
    early, late, later = (
        Reading(n, "piston", (500.0,), ("500",), zero) for n, zero in ((1, 0.2), (2, 0.2), (3, -0.1))
    )
    alone = Certainty(Scale(0.1), 0.0).combined_g(
        {early._replace(zero_g=0.0): 1.0, late._replace(zero_g=0.0): 1.0}
    )
    assert sure.combined_g({early: 1.0, late: 1.0}) == pytest.approx(math.hypot(alone, 0.4))
    assert sure.combined_g({early: 1.0, late: -1.0}) == pytest.approx(alone)
    assert sure.combined_g({early: 1.0, later: -1.0}) == pytest.approx(math.hypot(alone, 0.3))


def test_repeats_narrow_the_repeatability_only():
    sure = Certainty(Scale(0.1, tared=False), 0.3)
    four = sure.standard_g(reading(5.0, 5.1, 5.0, 5.1))
    assert four == pytest.approx(math.hypot(0.1 / math.sqrt(12), 0.15))


def test_declared_repeatability_stands_before_the_pooled_one():
    repeats = [reading(5.0, 5.4)]
    assert certainty(Scale(0.1, repeatability_g=0.05), repeats).repeatability_g == 0.05
    assert certainty(Scale(0.1), repeats).repeatability_g == pytest.approx(0.4 / math.sqrt(2))


def test_pooling_weighs_by_degrees_of_freedom():
    assert pooled_repeatability_g([reading(1.0, 3.0), reading(5.0, 5.0, 5.0)]) == pytest.approx(math.sqrt(2 / 3))
    assert pooled_repeatability_g([reading(1.0), reading(9.0)]) == 0.0


def test_a_reading_shared_by_both_sides_cancels():
    shared = Mass.read(reading(41.0, cylinder=None, kind="rings"))
    one, other = Mass.read(reading(538.4)), Mass.read(reading(538.9, cylinder=2))
    apart = combine([(1.0, combine([(1.0, one), (1.0, shared)])), (-1.0, combine([(1.0, other), (1.0, shared)]))])
    sure = Certainty(Scale(0.1), 0.0)
    assert apart.value_g == -0.5
    assert sure.combined_g(apart.sensitivity) == pytest.approx(math.sqrt(2) * sure.standard_g(reading(1.0)))


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
