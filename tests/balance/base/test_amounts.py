"""A figure of a sentence has its unit, the digits that it deserves, and, as a limit, is never more than it is."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.base.amounts import DEGREES, METRIC, Amount, ToldIn, as_weighed, reach
from truethrow.balance.base.units import LENGTH, MASS, UNBALANCE, Dimension, factor

INCH = ToldIn("oz", "oz", "in")
OZ_IN = 28.349523125 * 25.4  # [g·mm] Source: international avoirdupois pound and inch (1959), exact.


def test_an_amount_is_digits_and_a_unit():
    assert str(Amount(1846.25, 1, "g")) == "1846.3 g"
    assert str(Amount(90.0, 1, DEGREES)) == "90.0°"
    assert str(Amount.as_it_is(2.50, "mm")) == "2.5 mm"


@pytest.mark.parametrize(
    ("said", "metric", "inch"),
    [
        (lambda told_in: told_in.weighed(28.349523125), "28.3495 g", "1 oz"),
        (lambda told_in: told_in.given(2.8349523125), "2.835 g", "0.1 oz"),
        (lambda told_in: told_in.given(2.84), "2.84 g", "0.1002 oz"),
        # Source: international avoirdupois pound (1959), 0.45359237 kg, exact.
        (lambda told_in: told_in.heavy(38 * 0.45359237), "17.24 kg", "38 lb"),
        (lambda told_in: told_in.heavy(17.2), "17.2 kg", "37.92 lb"),
        (lambda told_in: told_in.about(1234.4), "1234 g", "43.54 oz"),
        (lambda told_in: told_in.size(12.7), "12.7 mm", "0.5 in"),
        (lambda told_in: told_in.measured(12.7), "12.7 mm", "0.500 in"),
        # 13.8073 / 25.4 = 0.54359; of 13.8 it would be 0.543.
        (lambda told_in: told_in.worked_out(13.8073), "13.8 mm", "0.544 in"),
        (lambda told_in: told_in.worked_out(12.7), "12.7 mm", "0.5 in"),
        (lambda told_in: told_in.most(33.199), "33.19 mm", "1.307 in"),
        (lambda told_in: told_in.unbalance(OZ_IN), "720 g·mm", "1.000 oz·in"),
        (lambda told_in: told_in.sure(900.0, 28.0), "900 ± 28 g·mm", "1.250 ± 0.039 oz·in"),
        (lambda told_in: told_in.tolerance(144.0), "144 g·mm", "0.1999 oz·in"),
    ],
)
def test_a_figure_is_told_in_the_shops_units(said, metric, inch):
    assert (str(said(METRIC)), str(said(INCH))) == (metric, inch)


@pytest.mark.parametrize(
    ("grams", "metric", "inch"),
    [
        (0.5, "0.5 g", "0.0176 oz"),  # 0.5 / 28.349523125 = 0.017637
        (1.0, "1 g", "0.0352 oz"),
        (2.5, "2.5 g", "0.0881 oz"),
        (0.05 * 28.349523125, "1.41 g", "0.05 oz"),
        (12.345, "12.345 g", "0.435 oz"),
        (300.0, "300 g", "10.5 oz"),
        (0.0, "0 g", "0 oz"),
    ],
)
def test_a_limit_of_a_mass_is_told_as_it_was_typed_and_in_the_other_unit_to_a_hundredth(grams, metric, inch):
    assert (str(METRIC.allowed(grams)), str(INCH.allowed(grams))) == (metric, inch)


@given(st.floats(0.001, 5000.0), st.sampled_from([METRIC, INCH]), st.integers(0, 4))
def test_no_figure_of_a_limit_passes_what_fails_by_the_limit(grams, told_in, places):
    told = told_in.allowed(grams, places)
    told_g = float(told.digits) * float(factor(told_in.scale, MASS))
    assert 0.99 * grams - 1e-6 * grams < told_g <= grams * (1 + 1e-8)
    assert told.places >= places


@given(st.floats(0.5, 500.0), st.sampled_from([METRIC, INCH]))
def test_the_longest_that_may_be_is_never_more_than_it_is(mm, told_in):
    one = 25.4 if told_in.length == "in" else 1.0
    assert mm - 0.03 <= told_in.most(mm).number * one <= mm + 1e-6


@pytest.mark.parametrize(
    ("dimension", "least", "most", "unit", "zero", "said"),
    [
        (LENGTH, 0, 20_000, "", "", "above 0 and at most 20000 mm"),
        (LENGTH, 0, 20_000, "in", "", "above 0 and at most 787.4 in"),
        (LENGTH, -20_000, 20_000, "in", "", "-787.4 to 787.4 in"),
        (MASS, 0, 100_000, "oz", "0 (spun bare)", "0 (spun bare) to 3527 oz"),
        (MASS, 0.28349523125, 2834.9523125, "oz", "", "0.01 to 100 oz"),
        (UNBALANCE, 0, 1e9, "oz in", "0", "0 to 1388000 oz·in"),
        (LENGTH, 0, 100, "furlong", "", "above 0 and at most 100 mm"),
    ],
)
def test_what_is_allowed_is_told_in_the_unit_that_was_typed(dimension, least, most, unit, zero, said):
    """Source: international yard and pound (1959): 1 in = 25.4 mm, 1 oz = 28.349523125 g, exact."""
    assert reach(dimension, least, most, unit, zero=zero) == said


@pytest.mark.parametrize("told_in", [METRIC, INCH])
@pytest.mark.parametrize(
    ("mm", "said"), [(101.6, "4 in"), (100.0, "100 mm"), (90.0, "90 mm"), (76.2, "3 in"), (120.65, "4.75 in")]
)
def test_a_radius_is_told_as_it_was_set_whatever_is_asked_for(mm, said, told_in):
    assert str(told_in.set_at(mm)) == said


@pytest.mark.parametrize("said", ["538.4 g", "19.05 oz", "0.1 g", "0.005 oz", "1846 g", "4 oz"])
def test_what_was_weighed_is_told_as_it_was_typed(said):
    number, unit = said.split()
    assert str(as_weighed(float(number) * float(factor(unit, MASS)))) == said


@given(st.floats(0.001, 1e6), st.sampled_from([(LENGTH, "in"), (MASS, "oz"), (MASS, "lb"), (UNBALANCE, "oz·in")]))
def test_what_is_told_as_allowed_is_allowed(value, told: tuple[Dimension, str]):
    dimension, unit = told
    low, _, high, *_ = reach(dimension, value, value * 3, unit).split()
    one = float(factor(unit, dimension))
    assert float(low) * one >= value * (1 - 1e-6)
    assert float(high) * one <= value * 3 * (1 + 1e-6)
    assert float(low) * one <= value * 1.002
