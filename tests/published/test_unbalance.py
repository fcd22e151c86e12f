"""Unbalance: ISO 21940-11, and rotating masses in several planes from the textbooks."""

import cmath
import math

import pytest

from truethrow.balance.result.unbalance import (
    allocated,
    permissible_unbalance_gmm,
    plane_share,
    split_permissible,
)


def test_permissible_unbalance_formula():
    """ISO 21940-11:2016: U_per = 1000·m·G/Ω. 24.3 kg, G 6.3, 5600 r/min: 261.0539 g·mm, recomputed."""
    assert permissible_unbalance_gmm(24.3, 6.3, 5600) == pytest.approx(261.0539, abs=5e-5)


def test_permissible_unbalance_in_the_standards_rounded_form():
    """The same standard gives U_per ≈ 9549·m·G/n; 9549 is 30000/π cut to four digits, 3e-5 apart."""
    assert permissible_unbalance_gmm(24.3, 6.3, 5600) == pytest.approx(9549 * 24.3 * 6.3 / 5600, rel=4e-5)


def test_turbine_rotor_of_the_standard(checked):
    """ISO 1940-1:2003 (now ISO 21940-11), worked example, from memory: turbine rotor of 3600 kg, 3000 r/min,
    G 2.5, bearings 2400 mm apart with the centre of mass 1500 mm from A: e_per read off the chart as 8 g·mm/kg,
    U_per = 28.8 kg·mm, of which A 10.8 and B 18.0 kg·mm. The chart reads to about 1 %."""
    whole = permissible_unbalance_gmm(3600, 2.5, 3000)
    at_a, at_b = split_permissible(whole, 1500, 0, 2400)
    given = "turbine rotor, 3600 kg, G 2.5, 3000 r/min, bearings 2400 mm apart, center of mass 1500 mm from A"
    for what, printed, ours in (
        ("permissible unbalance", "28.8", whole),
        ("of it at bearing A", "10.8", at_a),
        ("of it at bearing B", "18.0", at_b),
    ):
        checked(
            *("ISO 1940-1:2003, now ISO 21940-11", "worked example", given, what, printed, ours / 1000, "kg·mm"),
            within=0.01 * float(printed),
            from_memory=True,
        )
    assert at_a + at_b == pytest.approx(whole)


def test_planes_outside_the_bearings_by_the_standards_simple_rule():
    """ISO 1940-1:1986, 7.2 (from memory): two planes a distance b apart, beyond bearings L apart, each keep
    U_per/2 · L/b, the centre of mass about midway. Worked here from the levers at the worst angles."""
    for bearing, plane in ((200.0, 260.0), (100.0, 400.0)):
        kept = allocated(1000.0, 0.0, (-plane, plane), (-bearing, bearing))
        assert kept == pytest.approx((500 * bearing / plane,) * 2)


def test_two_planes_of_a_shaft_with_four_masses(checked):
    """Khurmi & Gupta, Theory of Machines, Balancing of Rotating Masses, Ex. 21.2 (from memory; recomputed):
    A 0, B 300, C 400, D 700 mm; 200, 300, 400, 200 kg at 80, 70, 60, 80 mm; A→B 45°, B→C 70°, C→D 120°;
    balancing planes at 100 and 500 mm, radius 100 mm: 352.97 kg at 213.37°, 184.06 kg at 347.20°. The book's
    graphical answers are 355 and 182.5 kg, within 1 %."""
    masses = [(200, 80, 0, 0), (300, 70, 45, 300), (400, 60, 115, 400), (200, 80, 235, 700)]
    left = right = 0j
    for kg, radius, degrees, z in masses:
        vector = cmath.rect(kg * radius, math.radians(degrees))
        share = plane_share(z, 100, 500)
        left, right = left - vector * share[0], right - vector * share[1]
    assert abs(left) / 100 == pytest.approx(352.97, abs=0.005)
    assert math.degrees(cmath.phase(left)) % 360 == pytest.approx(213.37, abs=0.005)
    assert abs(right) / 100 == pytest.approx(184.06, abs=0.005)
    assert math.degrees(cmath.phase(right)) % 360 == pytest.approx(347.20, abs=0.005)
    example = "R. S. Khurmi and J. K. Gupta, Theory of Machines", "Balancing of Rotating Masses, Ex. 21.2"
    given = (
        "200, 300, 400, 200 kg at 80, 70, 60, 80 mm in planes at 0, 300, 400, 700 mm; 45, 70, 120 degrees apart"
    )
    given += "; balanced at 100 and 500 mm, radius 100 mm"
    for what, printed, ours in (("mass in plane X", "355", left), ("mass in plane Y", "182.5", right)):
        checked(
            *(*example, given, what, printed, abs(ours) / 100, "kg"),
            within=0.01 * float(printed),
            from_memory=True,
        )
