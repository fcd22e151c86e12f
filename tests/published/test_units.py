"""Unit factors from the international definitions, and the conversions that the trade checks itself by."""

from decimal import Decimal
from fractions import Fraction

import pytest

from truethrow.balance.base import units
from truethrow.balance.base.units import LENGTH, MASS
from truethrow.balance.engine.engine import displacement_cm3, mean_piston_speed_m_s


def test_international_yard_and_pound_1959(checked):
    """International yard and pound agreement (1959): 1 yd = 0.9144 m, 1 lb = 0.45359237 kg, both exact; the
    inch is 1/36 yd and the avoirdupois ounce 1/16 lb. Exact, so no tolerance."""
    assert Fraction(units.factor("in", LENGTH)) == Fraction("914.4") / 36
    assert Fraction(units.factor("lb", MASS)) == Fraction("453.59237")
    assert Fraction(units.factor("oz", MASS)) == Fraction("453.59237") / 16
    agreement = "International yard and pound agreement, 1959", "exact definitions"
    checked(*agreement, "1 lb", "in grams", "453.59237", float(units.factor("lb", MASS)), "g")
    checked(
        *agreement,
        "1 yd, of 36 in",
        "in millimeters",
        "914.4",
        36 * float(units.factor("in", LENGTH)),
        "mm",
        within=1e-9,
    )


def test_ounce_inch():
    """The same definitions: 1 oz·in = 28.349523125 g × 25.4 mm = 720.077887375 g·mm, exact."""
    assert units.factor("oz", MASS) * units.factor("in", LENGTH) == Decimal("720.077887375")


def test_the_grain_through_the_registry():
    """Same agreement: 1 lb = 7000 grains; the division is cut at 28 digits, hence 1e-27 relative."""
    assert abs(units.factor("grain", MASS) * 7000 / Decimal("453.59237") - 1) < Decimal("1e-26")


def test_bore_of_a_known_displacement():
    """Common practice, no source: eight cylinders, 4.600 in stroke, 502 in³ → bore 4.168 in. Given to a
    thousandth of an inch, so the displacement is held to what half of that makes."""
    found = displacement_cm3(4.168 * 25.4, 4.600 * 25.4, 8) / 2.54**3
    assert found == pytest.approx(502, abs=502 * 2 * 0.0005 / 4.168)


def test_mean_piston_speed_of_a_known_engine():
    """Common practice, no source: 4.600 in stroke at 6,400 r/min → 4,907 ft/min, given to a foot."""
    assert mean_piston_speed_m_s(4.600 * 25.4, 6400) / 0.3048 * 60 == pytest.approx(4907, abs=0.5)


@pytest.mark.parametrize(("horsepower", "speed_rpm", "torque_lbf_ft"), [(720, 6400, 591), (675, 5300, 669)])
def test_power_and_torque(horsepower, speed_rpm, torque_lbf_ft):
    """Common practice, no source: 720 hp at 6,400 r/min is 591 lbf·ft; 669 lbf·ft at 5,300 r/min is 675 hp.
    Each given to one unit; the horsepower is 550 ft·lbf/s by definition."""
    registry = units.registry()
    power = registry.Quantity(Decimal(horsepower), "horsepower")
    speed = registry.Quantity(Decimal(speed_rpm), "revolution / minute")
    torque = (power / speed).to("force_pound * foot / radian").magnitude
    assert float(torque) == pytest.approx(torque_lbf_ft, abs=0.6)
