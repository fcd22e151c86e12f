"""Figures without powers of ten."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.base.digits import digits


@pytest.mark.parametrize(
    ("value", "most", "told"),
    [
        (1000.0, 3, "1000"),
        (1234.0, 3, "1230"),
        (12.5, 3, "12.5"),
        (0.1 + 0.2, 6, "0.3"),
        (1e9, 6, "1000000000"),
        (-2.5e7, 4, "-25000000"),
        (0.0, 6, "0"),
        (1.234e-5, 3, "0.0000123"),
        (math.inf, 3, "inf"),
        (math.nan, 3, "nan"),
    ],
)
def test_a_figure_has_its_noughts(value, most, told):
    assert digits(value, most) == told


@given(st.floats(-1e30, 1e30), st.integers(1, 12))
def test_it_is_the_number_to_so_many_digits(value, most):
    told = digits(value, most)
    assert "e" not in told
    assert float(told) == float(f"{value:.{most}g}")
    assert len(told.lstrip("-0.").replace(".", "").rstrip("0")) <= most
