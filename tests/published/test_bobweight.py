"""The bobweight of a 90-degree V8 against the textbooks' balance of V engines."""

import cmath
import math

import pytest

from truethrow.balance.base.readings import Reading
from truethrow.balance.result.bobweight import cylinder_mass, throw_bobweight


def parts(**grams):
    return {kind: Reading(1, kind, (value,), (str(value),)) for kind, value in grams.items()}


def primary_force_n(mass_g, radius_mm, speed_rpm, banks_deg, crank_rad):
    """Primary inertia force of the cylinders on one pin, m·r·ω²·cos(θ − ψ) along each bank, as a vector."""
    omega = speed_rpm * 2 * math.pi / 60
    return sum(
        mass_g / 1000 * radius_mm / 1000 * omega**2 * math.cos(crank_rad - psi) * cmath.exp(1j * psi)
        for psi in map(math.radians, banks_deg)
    )


def test_half_of_both_reciprocating_masses_balances_a_90_degree_pair():
    """Khurmi & Gupta, Theory of Machines, Balancing of Reciprocating Masses, V-engines: 90-degree twin on one
    pin, 11.5 kg each, crank 75 mm, 500 r/min. The primary force is constant, 2364.59 N, and turns with the
    crank, so the revolving mass that cancels it is half of the two: our bobweight at a share of one half,
    less the rotating part, must leave nothing. Recomputed, so held to 1e-9 of the force."""
    radius_mm, speed_rpm = 75.0, 500.0
    heavy = cylinder_mass(1, parts(piston=11_500.0), 0.5), cylinder_mass(2, parts(piston=11_500.0), 0.5)
    bobweight = throw_bobweight({1: heavy[0], 2: heavy[1]}, (1, 2), 0.0)
    assert bobweight.value_g == 11_500.0
    omega = speed_rpm * 2 * math.pi / 60
    for degrees in range(0, 360, 7):
        theta = math.radians(degrees)
        shaking = primary_force_n(11_500.0, radius_mm, speed_rpm, (45, -45), theta)
        counterweight = -bobweight.value_g / 1000 * radius_mm / 1000 * omega**2 * cmath.exp(1j * theta)
        assert abs(shaking) == pytest.approx(2364.59, abs=0.005)
        assert abs(shaking + counterweight) < 1e-9 * abs(shaking)


def test_any_other_share_leaves_its_difference():
    """The same pair: a share of 0.6 overbalances by a tenth of both masses, all round the turn."""
    heavy = {n: cylinder_mass(n, parts(piston=11_500.0), 0.6) for n in (1, 2)}
    over = throw_bobweight(heavy, (1, 2), 0.0).value_g - 11_500.0
    assert over == pytest.approx(0.1 * 2 * 11_500.0)


def test_bobweight_of_the_trade():
    """Common practice, no source: bobweight of a V8's throw = 2 × rotating (big end, bearings) + 2 × half of
    the reciprocating (piston, pin, locks, rings, small end) + oil. Exact decimals."""
    one = parts(piston=538.4, pin=112.1, locks=3.2, rings=41.0, small_end=171.2, big_end=452.3, bearings=46.0)
    masses = {n: cylinder_mass(n, one, 0.5) for n in (1, 2)}
    assert throw_bobweight(masses, (1, 2), 4.0).value_g == 2 * 498.3 + 865.9 + 4.0
