"""What the formulas share, and that none of them takes the impossible."""

import math

import pytest

from truethrow.balance.base.formulas import centrifugal_n, omega, unbalance_gmm
from truethrow.balance.engine import shaking
from truethrow.balance.engine.engine import peak_piston_acceleration_m_s2, top_acceleration_m_s2
from truethrow.balance.engine.layout import generic_layout
from truethrow.balance.job.levers import lever, pad_grams, solved
from truethrow.balance.result.unbalance import plane_share, split_permissible
from truethrow.balance.running.inertia import rod_bolt_tension_n

NO_NUMBER = (math.nan, math.inf, -math.inf)
ONE = generic_layout("inline-1")


def test_a_turn_a_second():
    assert omega(60.0) == pytest.approx(2 * math.pi, rel=1e-15)


def test_the_pull_of_a_slug_is_that_of_a_mass_on_a_string():
    """m·v²/r: 100 g at 70 mm and 5,600 r/min goes v = 2π·0.07·5600/60 m/s."""
    v = 2 * math.pi * 0.07 * 5600 / 60
    assert centrifugal_n(100.0, 70.0, 5600.0) == pytest.approx(0.1 * v**2 / 0.07)
    assert centrifugal_n(0.0, 70.0, 5600.0) == 0


def test_force_and_unbalance_are_each_others_measure():
    assert unbalance_gmm(centrifugal_n(3.0, 46.0, 4200), 4200) == pytest.approx(3 * 46)


@pytest.mark.parametrize(
    ("formula", "figures", "impossible"),
    [
        (omega, (5600.0,), {0: (0.0, -1.0)}),
        (centrifugal_n, (1.0, 46.0, 5600.0), {0: (-1.0,), 1: (-1.0,), 2: (0.0, -1.0)}),
        (unbalance_gmm, (1.0, 5600.0), {1: (0.0, -1.0)}),
        (rod_bolt_tension_n, (860.0, 20_000.0), {0: (-1.0,)}),
        (
            lambda *some: shaking.assembly(ONE, [some[0]], *some[1:4], [some[4]]),
            (700.0, 46.0, 155.0, 5.0, -9.0),
            {
                1: (0.0, -1.0, 150.0),
                2: (0.0, -1.0, 51.0),
                3: (109.0, -109.0),
            },
        ),
        (
            lambda ratio, offset: shaking.slider_acceleration(shaking.angles([1.0]), ratio, offset),
            (0.3, 0.1),
            {
                0: (0.0, -0.3, 0.91),
                1: (2.4, -2.4),
            },
        ),
        (
            lambda speed, about: shaking.curve(shaking.assembly(ONE, [700.0], 46.0, 155.0), speed, about, 4),
            (5600.0, 10.0),
            {0: (0.0, -1.0)},
        ),
        (lambda speed: peak_piston_acceleration_m_s2(92.0, 155.0, speed), (5600.0,), {0: (0.0, -1.0)}),
        (lambda speed: top_acceleration_m_s2(92.0, 155.0, speed), (5600.0,), {0: (0.0, -1.0)}),
        (lever, (-48.0, 155.0), {1: (0.0, -1.0)}),
        (pad_grams, (3.0, 1.2, -48.0, 182.0, 155.0), {2: (182.0,), 3: (-48.0,), 4: (0.0, -1.0)}),
        (lambda *some: solved(some[0], some[1], some[2:4], some[4:]), (3.0, 1.2, 1.3, -0.3, -0.2, 1.2), {}),
        (plane_share, (100.0, 0.0, 336.0), {1: (336.0,), 2: (0.0,)}),
        (split_permissible, (261.0, 150.0, 0.0, 336.0), {0: (0.0, -1.0), 2: (336.0,), 3: (0.0,)}),
    ],
)
def test_no_formula_takes_the_impossible(formula, figures, impossible):
    """Each figure in turn as no number at all, and as what just this one must not be; the rest are possible."""
    formula(*figures)
    for at in range(len(figures)):
        for bad in (*NO_NUMBER, *impossible.get(at, ())):
            with pytest.raises(ValueError, match=r"not a|cannot turn|both"):
                formula(*figures[:at], bad, *figures[at + 1 :])
