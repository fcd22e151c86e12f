"""Spin by spin, against the tolerance."""

from __future__ import annotations

import math

import pytest
from drawings import centre_of, checked, numbers, parts, state_of, turned

from truethrow.worksheets.drawn.spin_by_spin import spin_by_spin
from truethrow.worksheets.shown.display import Display

METRIC = Display("g", "mm", 0.1)


INCH = Display("oz", "in", 0.0035)


def test_amounts_and_tolerance_have_one_scale_of_powers_of_ten():
    amounts = (1180.0, 200.0, 20.0)
    root = checked(spin_by_spin(state_of(*(turned(one, 203) for one in amounts)), METRIC))
    dots = [centre_of(one) for one in parts(root, "front")]
    assert [x for x, _ in dots] == sorted(x for x, _ in dots)
    decade = (dots[2][1] - dots[1][1]) / math.log10(200 / 20)
    assert dots[1][1] - dots[0][1] == pytest.approx(decade * math.log10(1180 / 200), abs=0.01)
    (limit,) = parts(root, "limit")
    (y,) = numbers(limit.get("y1"))
    assert y == pytest.approx(dots[1][1] + decade * math.log10(200 / 130), abs=0.01)
    assert dots[0][1] < dots[1][1] < y < dots[2][1]  # above the tolerance is outside


@pytest.mark.parametrize("show", [METRIC, INCH])
@pytest.mark.parametrize("amounts", [(), (0.0,), (5000.0, 0.0) * 20])
def test_any_number_of_spins_is_a_picture(amounts, show):
    root = checked(spin_by_spin(state_of(*(turned(one, 90) for one in amounts)), show))
    assert len(parts(root, "rear")) == len(amounts)
