"""First order and Monte Carlo beside each other."""

import math

import pytest
from certain import SCATTER, by_figure, worked

from truethrow.balance.running import draws


@pytest.mark.parametrize(
    "scale",
    [
        {},
        {"tared": False},
        {"repeatability": 0.3},
        {"calibration": 0.2},
        {"repeatability": 0.2, "calibration": 0.1},
    ],
)
def test_the_draws_agree_with_the_first_order_where_a_figure_is_linear(scale):
    """20,000 draws know a standard deviation to 1/√(2·20000) = 0.5 %; four times that is allowed."""
    result = worked(scale, piston=SCATTER)
    for name, figure in by_figure(draws.draw(result, 20_000)).items():
        if name.startswith(("bobweight", "spread piston")):
            assert figure.deviation == pytest.approx(figure.expanded / 2, rel=0.02)
            assert figure.mean == pytest.approx(figure.value, abs=4 * figure.deviation / math.sqrt(20_000))
            assert figure.agrees


def test_readings_taken_again_are_drawn_as_sure_as_their_mean():
    """s/√n (JCGM 100:2008, 4.2.3): two pistons far apart, four readings each, 0.3 g a load on a fine scale:
    √2·0.3/2. 20,000 draws know it to 0.5 %; four times that is allowed."""
    pistons = {n: [grams] * 4 for n, grams in SCATTER.items()}
    result = worked({"resolution": 0.001, "repeatability": 0.3}, piston=pistons)
    figure = by_figure(draws.draw(result, 20_000))["spread piston"]
    assert figure.deviation == pytest.approx(math.sqrt(2) * 0.3 / 2, rel=0.02)
    assert figure.expanded == pytest.approx(2 * figure.deviation, rel=0.02)


def test_a_small_vector_is_never_drawn_at_nothing():
    """A matched engine: the first order says 0 ± U, but an amount cannot be less than nothing, so the draws lie
    above it."""
    figure = by_figure(draws.draw(worked(), 5_000))["unbalance static"]
    assert figure.value == pytest.approx(0, abs=1e-9)
    assert 0 < figure.low < figure.mean < figure.high


def test_a_spread_of_equals_is_drawn_wider_than_it_reads():
    figure = by_figure(draws.draw(worked(), 5_000))["spread piston"]
    assert figure.value == 0
    assert figure.low > 0
    assert not figure.agrees


def test_same_seed_same_draws_and_another_seed_others():
    result = worked(piston=SCATTER)
    assert draws.draw(result, 2_000) == draws.draw(result, 2_000)
    assert draws.draw(result, 2_000, seed=1) != draws.draw(result, 2_000)


def test_progress_is_told_by_chunks():
    told = []
    draws.draw(worked(), 25_000, progress=told.append)
    assert told == [10_000, 20_000, 25_000]
