"""Known masses on a crank: what each does to the two planes by statics, and the influence coefficients of
two-plane balancing, solved by numpy, a way of its own."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest

from truethrow.balance.base.formulas import centrifugal_n
from truethrow.balance.result.unbalance import plane_share
from truethrow.balance.station.pair import check_pair
from truethrow.balance.station.spin import Instrument
from truethrow.balance.station.stationlog import KnownMass
from truethrow.balance.station.testmass import Trial

PROFILE = Instrument("g·mm", None, True, amount_part=0.01, angle_deg=1.0, floor_gmm=0.01)
# The worked example: what was read as found, with 10 at 270 degrees on the first plane, and with 12 at 180 degrees
# on the second. Its two masses are unequal, and 90 degrees apart.
FIRST, SECOND = KnownMass("front", 10.0, 1.0, 270.0), KnownMass("rear", 12.0, 1.0, 180.0)


def polar(amount, degrees):
    return cmath.rect(amount, math.radians(degrees))


FOUND = np.array([polar(8.5, 60), polar(6.5, 205)])
WITH_FIRST = np.array([polar(6, 125), polar(4.5, 230)])
WITH_SECOND = np.array([polar(6, 35), polar(10.5, 160)])


def influence():
    """Column j: what one of unbalance on plane j changes, in both planes."""
    return np.column_stack([(WITH_FIRST - FOUND) / FIRST.vector_gmm, (WITH_SECOND - FOUND) / SECOND.vector_gmm])


def says(front_gmm, rear_gmm, noise_gmm=0.05):
    """What the two planes say whose changes are these."""
    front = Trial("front", FIRST.vector_gmm, front_gmm, 0j, noise_gmm, 10.0)
    rear = Trial("rear", SECOND.vector_gmm, 0j, rear_gmm, noise_gmm, 12.0)
    return [one.kind for one in check_pair((), front, rear, PROFILE)]


def test_the_worked_example_is_solved():
    """Two-plane balancing by influence coefficients, as any text on field balancing has it; readings from memory,
    the answers recomputed here: |u| = 10.0561 at 145.555 and 5.8774 at 248.256 degrees."""
    unbalance = np.linalg.solve(influence(), FOUND)
    assert np.abs(unbalance) == pytest.approx([10.0561, 5.8774], abs=5e-5)
    assert np.degrees(np.angle(unbalance)) % 360 == pytest.approx([145.555, 248.256], abs=5e-4)


def test_both_masses_of_the_worked_example_at_once():
    """Superposition: with both on, the station shows v1 + v2 − v0. Read by the coefficients the change is the two
    masses, and they agree; read as it is, without them, the planes are not separated and it is told. Read by the
    coefficients of a station that counts the other way it is the mirror."""
    both = WITH_FIRST + WITH_SECOND - FOUND
    solved = np.linalg.solve(influence(), both - FOUND)
    assert solved == pytest.approx([FIRST.vector_gmm, SECOND.vector_gmm])
    assert says(*solved) == []
    assert says(*(both - FOUND)) == ["crossed"]
    assert says(*solved[::-1]) == ["planes"]
    assert says(*(-1j * np.conj(solved))) != []


@pytest.mark.parametrize(("z_mm", "agrees"), [(0.0, True), (3.0, True), (60.0, False), (-60.0, False)])
def test_a_mass_beside_its_plane_by_statics(z_mm, agrees):
    """A station with planes 0 and 300 mm; the first mass hangs z from the front one. By statics (two forces and
    their moments about either plane, any text) 1 − z/300 of it is in the front plane and z/300 in the rear one."""
    shares = 1 - z_mm / 300, z_mm / 300
    assert plane_share(z_mm, 0.0, 300.0) == pytest.approx(shares)
    found = says(FIRST.vector_gmm * shares[0], SECOND.vector_gmm + FIRST.vector_gmm * shares[1])
    assert (found == []) == agrees


def test_what_a_known_mass_pulls():
    """Newton's second law, by hand: 60 g at 90 mm and 550 r/min: 0.06 · 0.09 · (2π · 550/60)² = 17.913 N."""
    assert KnownMass("front", 60.0, 90.0, 30.0).pulls_n(550) == pytest.approx(17.913, abs=5e-4)
    assert KnownMass("rear", 60.0, 90.0, 120.0).pulls_n(550) == centrifugal_n(60.0, 90.0, 550.0)
