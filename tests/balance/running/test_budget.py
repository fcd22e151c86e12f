"""What an uncertainty is made of."""

import math

import pytest
from certain import SCATTER, by_figure, worked

from truethrow.balance.running import budget


def test_a_budget_names_the_largest_first():
    result = worked({"repeatability": 0.3}, big_end={n: [452.3] * 9 for n in range(1, 9)})
    found = by_figure(budget.budgets(result))
    for figure in found.values():
        parts = [part for _, part in figure.kinds]
        assert parts == sorted(parts, reverse=True)
    # Bearings count whole and were read once; the big ends, read nine times, are surer, the rest count by half.
    assert found["bobweight 1"].kinds[0][0] == "bearings"
    assert len({part for _, part in found["bobweight 1"].kinds}) > 2


def test_a_budget_adds_up_in_quadrature():
    result = worked({"repeatability": 0.2, "calibration": 0.1}, piston={3: [538.4, 538.6]})
    for figure in budget.budgets(result):
        whole = math.hypot(figure.rounding, figure.on_the_pan, figure.rod_ends, figure.calibration, figure.zero)
        assert figure.expanded == pytest.approx(whole)
        assert sum(part for _, part in figure.kinds) == pytest.approx(1, abs=1e-3)


def test_bearings_bring_what_a_rotating_part_brings():
    """Rotating parts count whole, reciprocating ones half: 1 to ¼ in the variance, so 2 of 2 + 5/4 are the two
    rotating kinds'."""
    kinds = dict(by_figure(budget.budgets(worked()))["bobweight 1"].kinds)
    assert kinds["big_end"] == pytest.approx(1 / 3.25, abs=1e-4)
    assert kinds["piston"] == pytest.approx(0.25 / 3.25, abs=1e-4)


def test_calibration_cancels_in_spreads_and_adds_in_bobweights():
    """An error in all readings: 2 · (2 + 5/2) = 9 readings' worth in a bobweight of two cylinders, none in a
    spread."""
    found = by_figure(budget.budgets(worked({"calibration": 0.1}, piston=SCATTER)))
    assert found["bobweight 1"].calibration == pytest.approx(2 * 9 * 0.1)
    assert found["spread piston"].calibration == pytest.approx(0, abs=1e-12)


def test_a_calibration_in_parts_of_the_load_goes_with_the_load_and_with_the_spread():
    """0.02 % in every reading alike: 0.02 % of what was weighed for a bobweight (its oil was not), and of a spread
    only its own 0.02 %: both pistons read too much by as many parts of a thousand."""
    result = worked({"calibration_percent": 0.02}, piston=SCATTER)
    found = by_figure(budget.budgets(result))
    throw, oil_g = found["bobweight 1"], result.job.oil_g[0]
    assert throw.calibration == pytest.approx(2 * 0.0002 * (throw.value - oil_g))
    spread = found["spread piston"]
    assert spread.calibration == pytest.approx(2 * 0.0002 * spread.value)
    for figure in found.values():
        whole = math.hypot(figure.rounding, figure.on_the_pan, figure.rod_ends, figure.calibration, figure.zero)
        assert figure.expanded == pytest.approx(whole)
