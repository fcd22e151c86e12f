"""Quantiles of Student's t and of F, against scipy as a general reference."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import special, stats

from truethrow.balance.base.quantiles import COVERAGE, beta_part, f_quantile, t_factor, t_quantile


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 5, 7, 8, 16, 31, 100, 2000, 2.5])
@pytest.mark.parametrize("probability", [0.5, 0.6, 0.95, 0.975, COVERAGE, 0.995, 0.9999])
def test_t_quantiles(probability, freedom):
    assert t_quantile(probability, freedom) == pytest.approx(
        stats.t.ppf(probability, freedom), rel=1e-9, abs=1e-12
    )


@pytest.mark.parametrize("over", [1, 2, 3, 9])
@pytest.mark.parametrize("under", [1, 2, 7, 40, 300])
@pytest.mark.parametrize("probability", [0.05, 0.5, 0.95, 0.99, 1 - 0.01 / 16])
def test_f_quantiles(probability, over, under):
    assert f_quantile(probability, over, under) == pytest.approx(stats.f.ppf(probability, over, under), rel=1e-9)


@given(st.floats(0, 1), st.floats(0.5, 200), st.floats(0.5, 200))
def test_the_incomplete_beta_function(x, a, b):
    assert beta_part(x, a, b) == pytest.approx(special.betainc(a, b, x), rel=1e-9, abs=1e-12)


def test_a_well_known_deviation_is_covered_by_two_and_a_doubtful_one_by_more():
    assert t_factor(math.inf) == 2
    factors = [t_factor(freedom) for freedom in (1, 2, 3, 4, 8, 16, 100, 10_000)]
    assert factors == sorted(factors, reverse=True)
    assert factors[-1] == pytest.approx(2, abs=1e-3)


@pytest.mark.parametrize("freedom", [0, -1, math.nan])
def test_no_freedom_is_no_estimate(freedom):
    with pytest.raises(ValueError, match="freedom"):
        t_factor(freedom)


@pytest.mark.parametrize("probability", [0.4, 1.0, math.nan])
def test_a_probability_is_one(probability):
    with pytest.raises(ValueError, match="probability"):
        t_quantile(probability, 3)
    if probability != 0.4:
        with pytest.raises(ValueError, match="probability"):
            f_quantile(probability, 3, 3)
