"""Units: the daily table against pint, and every text that is no quantity."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.base import units
from truethrow.balance.base.units import ANGLE, LENGTH, MASS, SPEED, UNBALANCE, NotAQuantity

DIMENSIONS = (MASS, LENGTH, ANGLE, SPEED)
DAILY = [(dimension, unit) for dimension in DIMENSIONS for unit in dimension.factors]


@pytest.mark.parametrize(("dimension", "unit"), DAILY, ids=lambda value: getattr(value, "name", value))
def test_the_daily_table_is_pints_own_to_the_last_digit(dimension, unit):
    asked = {"°": "degree", "r/min": "revolution/minute"}.get(unit, unit)
    one = units.registry().Quantity(Decimal(1), asked)
    if dimension is SPEED:  # by way of radians, whose ratio is irrational
        assert one.to("rpm").magnitude == pytest.approx(Decimal(1), rel=Decimal("1e-26"))
    else:
        assert one.to(dimension.inside).magnitude == dimension.factors[unit]


@pytest.mark.parametrize("unit", [unit for unit in UNBALANCE.factors if "*" in unit])
def test_units_of_unbalance_are_pints_own_however_they_are_typed(unit):
    exact = units.registry().Quantity(Decimal(1), unit).to("g*mm").magnitude
    for dot in ("·", "*", "-", " ", ""):
        assert UNBALANCE.factors[unit.replace("*", dot)] == pytest.approx(exact, rel=Decimal("1e-26"))


@pytest.mark.parametrize(
    ("unit", "grams"),
    # 7000 grains, 256 drams and 1/14 stone to the pound of 453.59237 g.
    [
        ("grain", Decimal("453.59237") / 7000),
        ("dram", Decimal("453.59237") / 256),
        ("stone", Decimal("453.59237") * 14),
        ("tonne", Decimal(1_000_000)),
        ("µg", Decimal("0.000001")),
    ],
)
def test_units_outside_the_daily_table_come_from_pint(unit, grams):
    assert units.factor(unit, MASS) == grams


@pytest.mark.parametrize(
    ("text", "dimension", "inside"),
    [
        ("1 rad", ANGLE, 57.29577951308232),
        ("0.25 turn", ANGLE, 90.0),
        ("10 rps", SPEED, 600.0),
        ("2 ft", LENGTH, 609.6),
        ("3.622 in", LENGTH, 91.9988),
        ("18.99 oz", MASS, 538.357444144),
    ],
)
def test_a_text_with_a_unit_is_converted(text, dimension, inside):
    assert units.parse(text, dimension, dimension.inside) == pytest.approx(inside, rel=1e-12)


@pytest.mark.parametrize(
    ("typed", "grams"),
    [
        (538, 538.0),
        (538.4, 538.4),
        (Decimal("538.40"), 538.4),
        ("538.4", 538.4),
        ("+538.4 g", 538.4),
        (".5", 0.5),
        ("538.", 538.0),
        ("  538.4g ", 538.4),
        ("5.384e2", 538.4),
        ("-2 g", -2.0),
        ("0e999999999", 0.0),
    ],
)
def test_a_number_may_be_written_in_any_plain_way(typed, grams):
    assert units.parse(typed, MASS, "g") == grams


@pytest.mark.parametrize(
    ("typed", "unit"),
    [
        ("538.4", ""),
        (Decimal("538.4"), ""),
        ("538.4 g", "g"),
        ("18.99oz", "oz"),
        ("7/8 ounces", "oz"),
        ("1 lb 3.2 oz", "oz"),
        ("0.5 grain", "grain"),
        ("53x", ""),
        ("3 gr", ""),
        ("12 mm", ""),
        ("", ""),
        (True, ""),
    ],
)
def test_the_unit_that_a_number_was_typed_with(typed, unit):
    assert units.unit_of(typed, MASS) == unit


def test_a_bare_number_takes_the_default_unit_and_a_text_its_own():
    assert units.parse(1, MASS, "oz") == units.parse("1 oz", MASS, "kg") == 28.349523125


@pytest.mark.parametrize(
    "typed",
    [
        *(True, False, None, b"1", [538.4], {}, pytest.param(object(), id="object")),
        *(float("nan"), float("inf"), -float("inf"), Decimal("NaN"), Decimal("sNaN"), Decimal("Infinity")),
        *("", " ", "\n", "g", "-", "e5", "nan", "inf", "538,4", "1.2.3", "²", "1 ½", "--5"),
    ],
    ids=repr,
)
def test_what_is_no_number_is_refused(typed):
    with pytest.raises(NotAQuantity):
        units.parse(typed, MASS, "g")


@pytest.mark.parametrize(
    "typed",
    [
        *("1e400", "1e-400", Decimal("1e400"), Decimal("1e-400"), 10**5000, 1 << 40_000, -(10**31)),
        *("1e99999999999999999999", "1e-99999999999999999999", "1" * 100_000, "0." + "0" * 100_000 + "1"),
    ],
    ids=lambda typed: type(typed).__name__,
)
def test_what_no_scale_reads_is_refused_however_far_out(typed):
    with pytest.raises(NotAQuantity, match="out of reach"):
        units.parse(typed, MASS, "g")


def test_a_decimal_comma_is_named_as_such():
    with pytest.raises(NotAQuantity, match="decimal point"):
        units.parse("538,4", MASS, "g")


@pytest.mark.parametrize(
    ("unit", "dimension"),
    [
        *(("mm", MASS), ("g", LENGTH), ("deg", MASS), ("rpm", ANGLE), ("oz", LENGTH)),
        *(("m/s", SPEED), ("newton", MASS), ("degC", ANGLE), ("G", MASS), ("g*g", MASS)),
    ],
)
def test_a_unit_of_another_dimension_is_refused(unit, dimension):
    with pytest.raises(NotAQuantity, match=f"no unit of {dimension.name}|not a unit of {dimension.name}"):
        units.factor(unit, dimension)


@pytest.mark.parametrize(("unit", "dimension"), [("Hz", SPEED), ("percent", ANGLE), ("ppm", ANGLE)])
def test_a_dimensionless_unit_does_not_pass_for_radians(unit, dimension):
    with pytest.raises(NotAQuantity, match="no unit of"):
        units.factor(unit, dimension)


def test_gr_is_refused_because_it_may_be_gram_or_grain():
    with pytest.raises(NotAQuantity, match="write g or grain"):
        units.parse("538.4 gr", MASS, "g")


@pytest.mark.parametrize(
    "unit",
    [
        *("9**9**9", "g*9**9**9", "g^9^9^9", "m*2^99999", "g 1e999999999", "g/0", "g*0", "g/", "ggJJis·"),
        *("lambda", "import", "__import__('os')", "a" * 32, "a" * 100_000, "deg**0", "^", "", "\x1b[31mg"),
    ],
    ids=lambda unit: unit[:20],
)
def test_nonsense_for_a_unit_is_refused_and_never_worked_out(unit):
    for dimension in DIMENSIONS:
        with pytest.raises(NotAQuantity):
            units.factor(unit, dimension)


@given(st.text() | st.from_regex(r"[+-]?[0-9.,]{1,9}(e[0-9]{1,30})? ?[a-zA-Z*/^0-9 -]{0,12}", fullmatch=True))
def test_any_text_is_a_finite_quantity_or_refused(text):
    for dimension in DIMENSIONS:
        try:
            value = units.parse(text, dimension, dimension.inside)
        except NotAQuantity:
            continue
        assert abs(value) < float("inf")


@given(
    st.decimals(0, 5000, places=2, allow_nan=False),
    st.sampled_from([(d, u) for d, u in DAILY if d is not SPEED]),
)
def test_a_unit_and_back_is_the_number_typed(number, of):
    dimension, unit = of
    inside = units.parse(f"{number} {unit}", dimension, "")
    assert inside / float(dimension.factors[unit]) == pytest.approx(float(number), rel=1e-15)


@pytest.mark.parametrize(
    ("typed", "dimension", "inside"),
    [
        ("3 3/4 in", LENGTH, 95.25),
        ('3-3/4"', LENGTH, 95.25),
        ('3.48"', LENGTH, 88.392),
        ("3.48 inches", LENGTH, 88.392),
        ("1/2 in", LENGTH, 12.7),
        ("1 lb 5.59 oz", MASS, 21.59 * 28.349523125),
        ("1 lb, 5 1/2 oz", MASS, 21.5 * 28.349523125),
        ("21 1/2 oz", MASS, 21.5 * 28.349523125),
        ("2 lbs", MASS, 907.18474),
        ("520 grams", MASS, 520.0),
    ],
)
def test_a_rule_and_a_postal_scale_are_read_aloud(typed, dimension, inside):
    assert units.parse(typed, dimension, dimension.inside) == pytest.approx(inside, rel=1e-12)


@pytest.mark.parametrize(
    ("typed", "dimension", "said"),
    [
        ("6,385", LENGTH, "'6,385' has a comma; write it with a decimal point and its unit, such as \"6.385 in\""),
        ("538,4", MASS, 'such as "538.4 g"'),
        ("3 5/4 in", LENGTH, "has a fraction that no rule has"),
        ("3 1/0 in", LENGTH, "has a fraction that no rule has"),
        ("1 lb 16 oz", MASS, "has a pound or more of ounces"),
        ("1 lb 5 oz", LENGTH, "is no unit of length"),
        ("3 3/4 oz", LENGTH, "is no unit of length"),
        ("9" * 5000 + "/2", LENGTH, "is out of reach"),
    ],
)
def test_what_can_be_read_in_two_ways_is_refused_with_how_to_write_it(typed, dimension, said):
    with pytest.raises(NotAQuantity) as caught:
        units.parse(typed, dimension, dimension.inside)
    assert said in str(caught.value)
