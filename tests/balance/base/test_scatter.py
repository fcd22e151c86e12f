"""How far loads scatter: pooled, declared or assumed, and the one pair that is left out."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.base.scatter import ASSUMED_STEPS, Scatter, cochran, outlying, scatter_of


def test_pooling_weighs_by_degrees_of_freedom():
    found, out = scatter_of([(1.0, 3.0), (5.0, 5.0, 5.0), (9.0,)], 0.1)
    assert found == Scatter(pytest.approx(math.sqrt(2 / 3)), 3, "repeats")
    assert out == ()


def test_pairs_that_agree_on_a_coarse_scale_do_not_say_that_nothing_scatters():
    found, _ = scatter_of([(5.0, 5.0), (7.0, 7.0)], 0.1)
    assert found == Scatter(pytest.approx(0.1 / math.sqrt(12)), 2, "repeats")
    assert found.factor == pytest.approx(4.53, abs=0.005)


def test_without_repeats_a_step_is_assumed():
    assert scatter_of([(5.0,), (7.0,)], 0.1)[0] == Scatter(ASSUMED_STEPS * 0.1, math.inf, "assumed")
    assert scatter_of([], 0.1)[0].known == "assumed"


def test_a_scatter_that_is_well_known_counts_twice():
    assert Scatter(0.02).factor == Scatter(0.0).factor == 2
    assert Scatter(0.02, 12).factor == pytest.approx(2.23, abs=0.005)


ANY = range(100)


def pairs(*apart):
    return [(100.0, 100.0 + one) for one in apart]


def test_one_bad_pair_is_left_out_and_not_spread_over_every_uncertainty():
    found, out = scatter_of(pairs(0.1, 0.0, 0.1, 2.0, 0.0, 0.1, 0.1, 0.0), 0.1, suspects=(3,))
    assert out == (3,)
    assert found == Scatter(pytest.approx(math.sqrt(4 * 0.005 / 7)), 7, "repeats")


@pytest.mark.parametrize("apart", [(0.0, 0.0, 0.0, 0.1), (0.0, 0.0, 0.0, 0.3), (0.0, 0.1), (0.0, 5.0), (3.0,)])
def test_what_the_step_explains_is_no_outlier_nor_is_one_of_two(apart):
    """Of two that differ nobody can tell which is bad; of alike pairs one falls on the next step by chance."""
    assert outlying(pairs(*apart), 0.1, ANY) == ()


def test_only_a_suspect_is_left_out():
    """Among many alike pairs one that is two steps apart stands out, and is no more than a load may scatter."""
    many = pairs(*([0.0] * 20), 0.2)
    assert outlying(many, 0.1, ANY) == (20,)
    assert outlying(many, 0.1, ()) == ()


def test_at_most_a_third_is_left_out():
    assert outlying(pairs(9.0, 30.0, 0.0, 0.1, 0.1, 0.0), 0.1, ANY) == (1, 0)
    assert outlying(pairs(900.0, 90.0, 9.0, 0.1, 0.1, 0.0), 0.1, ANY) == (0, 1)


def test_groups_of_unlike_sizes_are_held_against_what_each_may_have():
    """The part of the whole that one group may have grows with its own degrees of freedom."""
    assert cochran(6, 1, 5) == pytest.approx(0.883, abs=0.001)  # ISO 5725-2, six pairs (from memory)
    shares = [cochran(6, own, 6 - own) for own in (1, 2, 3)]
    assert shares == sorted(shares)
    assert all(0 < share < 1 for share in shares)


@given(st.lists(st.lists(st.integers(0, 40), min_size=1, max_size=4), max_size=9), st.integers(1, 1000))
def test_what_is_left_out_depends_on_neither_order_nor_unit(steps, times):
    groups = [tuple(0.1 * n for n in group) for group in steps]
    out = {groups[at] for at in outlying(groups, 0.1, ANY)}
    assert {groups[::-1][at] for at in outlying(groups[::-1], 0.1, ANY)} == out or len(set(groups)) < len(groups)
    larger = [tuple(times * x for x in group) for group in groups]
    assert outlying(larger, 0.1 * times, ANY) == outlying(groups, 0.1, ANY)
