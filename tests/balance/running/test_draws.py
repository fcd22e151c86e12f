"""First order and Monte Carlo beside each other."""

import math

import invented
import pytest
from certain import SCATTER, by_figure, worked
from scipy import stats

from truethrow.balance.running import draws


@pytest.mark.parametrize(
    "scale",
    [
        {},
        {"tared": False},
        {"repeatability": 0.3},
        {"calibration": 0.2},
        {"repeatability": 0.2, "calibration": 0.1},
        {"calibration_percent": 0.05, "calibration": 0.1},
    ],
)
def test_the_draws_agree_with_the_first_order_where_a_figure_is_linear(scale):
    """60,000 draws know the ends of their interval to 0.5 % of the ±, √(p(1−p)/n)/φ with p = 2.3 %, φ = 0.054;
    the difference of two rectangles, a triangle, ends 4 % sooner than at 2 standard deviations, at
    (1 − √0.0455)·√6 = 1.93 of them."""
    result = worked(scale, piston=SCATTER)
    for name, figure in by_figure(draws.draw(result, 60_000)).items():
        if name.startswith(("bobweight", "spread piston")):
            assert figure.reach == pytest.approx(figure.expanded, rel=0.05)
            assert figure.mean == pytest.approx(figure.value, abs=2 * figure.reach / math.sqrt(60_000))
            assert figure.agrees


def test_readings_taken_again_are_drawn_as_sure_as_their_mean():
    """s/√n (JCGM 100:2008, 4.2.3): two pistons far apart, four readings each, 0.3 g a load on a fine scale:
    2·√2·0.3/2. 20,000 draws know it to 1 %; three times that is allowed."""
    pistons = {n: [grams] * 4 for n, grams in SCATTER.items()}
    result = worked({"resolution": 0.001, "repeatability": 0.3}, piston=pistons)
    figure = by_figure(draws.draw(result, 20_000))["spread piston"]
    assert figure.reach == pytest.approx(2 * math.sqrt(2) * 0.3 / 2, rel=0.03)
    assert figure.expanded == pytest.approx(figure.reach, rel=0.03)


@pytest.mark.parametrize("pairs", [1, 3, 8])
def test_few_repeats_are_drawn_from_a_t_as_wide_as_the_factor_says(pairs):
    """What was pooled is one estimate for all readings of its way of weighing: a spread of pistons is drawn as
    wide as Student's t says of one, however many readings are in it. On a scale so fine that nothing else counts;
    60,000 draws know the ends of an interval of t to 0.5 % at ν = 8 and 1.5 % at ν = 1; three times is allowed."""
    pistons = SCATTER | {n: [SCATTER[n], SCATTER[n] + 0.03] for n in range(1, pairs + 1)}
    scale = {"resolution": 0.0001, "repeatability": None, "rod_end_repeatability": 0.0}
    figure = by_figure(draws.draw(worked(scale, piston=pistons), 60_000))["spread piston"]
    s = 0.03 / math.sqrt(2)
    assert figure.expanded == pytest.approx(stats.t.ppf(0.97725, pairs) * s * math.sqrt(2), rel=0.3)
    assert figure.reach == pytest.approx(figure.expanded, rel=0.045)


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


def test_rods_side_by_side_are_drawn_with_what_they_bring_to_the_planes():
    """Pistons so far apart that the planes are far from nothing, where the first order is linear."""
    engine = invented.V8 | {"rods_apart": 24.0, "rod_in_front": "left"}
    parts = invented.cylinders(piston={1: 578.4, 4: 518.4})
    result = invented.worked(parts, engine=engine, scale={"resolution": 0.1, "repeatability": 0.2})
    figures = by_figure(draws.draw(result, 20_000))
    for plane in (result.cost.front, result.cost.rear):
        figure = figures[f"unbalance {plane.plane}"]
        assert figure.value == pytest.approx(plane.amount_gmm)
        assert figure.mean == pytest.approx(plane.amount_gmm, rel=0.01)
        assert figure.reach == pytest.approx(figure.expanded, rel=0.05)
