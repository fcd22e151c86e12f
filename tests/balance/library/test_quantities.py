"""What goes into the library: numbers, texts with a unit, quantities of pint."""

import doctest
import math
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pint
import pytest

from truethrow.balance.base.errors import BadInput
from truethrow.balance.library import quantities

UREG = pint.UnitRegistry()


def test_the_examples():
    tried = doctest.testmod(quantities)
    assert (tried.failed, tried.attempted >= 7) == (0, True)


@pytest.mark.parametrize(
    "typed",
    [
        1000,
        1000.0,
        Decimal(1000),
        np.float64(1000),
        np.int64(1000),
        np.float32(1000),
        np.array(1000.0),
        "1000",
        "1 kg",
        UREG.Quantity(1, "kg"),
        UREG.Quantity(Decimal("1"), "kilogram"),
        UREG.Quantity(np.float64(1000), "g"),
    ],
)
def test_a_kilogram_however_it_comes(typed):
    assert quantities.mass_g("mass", typed) == 1000.0


def test_ounces_and_inches_are_exact_with_pint_too():
    assert quantities.mass_g("mass", UREG.Quantity(1, "oz")) == 28.349523125
    assert quantities.length_mm("stroke", UREG.Quantity(3.5, "inch")) == 88.9
    assert quantities.speed_rpm("speed", UREG.Quantity(100 * math.pi, "rad/s")) == pytest.approx(3000)


@pytest.mark.parametrize(
    "typed",
    [float("nan"), float("inf"), "heavy", None, True, [1], UREG.Quantity(1, "mm"), UREG.Quantity(math.nan, "g"),
     "12 mm", Fraction(1, 2), object(), UREG.Quantity([1, 2], "g"), np.array([1.0, 2.0]), {"g": 1}, 10**400],
)  # fmt: skip
def test_what_is_no_mass_is_told_by_its_name(typed):
    with pytest.raises(BadInput) as caught:
        quantities.mass_g("big end", typed)
    (fault,) = caught.value.faults
    assert (fault.where, "mass" in fault.allowed) == ("big end", True)
    assert "\n" not in str(fault)


@pytest.mark.parametrize("typed", [0, -1, 1e9, "nan", None])
def test_a_speed_is_above_zero(typed):
    with pytest.raises(BadInput, match="speed"):
        quantities.speed_rpm("speed", typed)


def test_every_fault_comes_at_once():
    with pytest.raises(BadInput) as caught:
        quantities.masses_g("hung", [1, "x", float("nan"), 4])
    assert [fault.where for fault in caught.value.faults] == ["hung 2", "hung 3"]


def test_tables_of_any_making_become_plain_ones_and_stay_as_they_are():
    given = {"a": {"mass": UREG.Quantity(2, "kg"), "n": np.int64(3), "list": np.array([1.0, 2.0])}, "b": ("x",)}
    assert quantities.plain(given) == {"a": {"mass": "2 kg", "n": 3, "list": [1.0, 2.0]}, "b": ["x"]}
    assert isinstance(given["b"], tuple)


def test_a_table_in_itself_ends():
    endless = {}
    endless["again"] = endless
    with pytest.raises(BadInput, match="nested"):
        quantities.plain(endless)
    listed = []
    listed.append(listed)
    with pytest.raises(BadInput, match="nested"):
        quantities.plain({"list": listed})
