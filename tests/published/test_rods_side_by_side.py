"""The couple of two rods side by side, against the textbooks' force times distance, and against sums made by hand.

Source of the couple: two equal and opposite forces in parallel planes make a couple of force times the distance
between the planes; balancing of several masses in different planes (Norton, Design of Machinery; Rao, Mechanical
Vibrations; from memory), written out here in numpy, independent of the tool. The kinematics are those of a piston
whose place is differentiated numerically, not the tool's formula.
"""

import cmath
import math

import invented
import mpmath
import numpy as np
import pytest

from truethrow.balance.base.formulas import N_PER_GMM, omega
from truethrow.balance.engine import shaking
from truethrow.balance.engine.layout import generic_layout, rods_couple
from truethrow.balance.running.running import shake

APART, RADIUS, ROD, RPM = 24.0, 46.0, 155.0, 4200.0
BESIDE = {"rods_apart": APART, "rod_in_front": "left"}
# Unlike from cylinder to cylinder, in every kind that counts.
UNLIKE = {
    "piston": {n: 538.4 + 1.3 * n for n in range(1, 9)},
    "big_end": {n: 452.3 + (7 * n % 5) for n in range(1, 9)},
    "small_end": {n: 171.2 - (3 * n % 4) for n in range(1, 9)},
}


def layout_of(name, spacing=112.0, in_front="left"):
    layout = generic_layout(name, spacing)
    half = APART / 2
    return layout._replace(
        places=tuple(p._replace(behind_mm=-half if p.bank == in_front else half) for p in layout.places)
    )


def pushed(phase):
    """What a slider of a gram pushes away from the crank with, over ω² [mm]: the place differentiated twice."""
    with mpmath.workdps(40):

        def place(angle):
            return RADIUS * mpmath.cos(angle) + mpmath.sqrt(ROD**2 - (RADIUS * mpmath.sin(angle)) ** 2)

        return -float(mpmath.diff(place, mpmath.mpf(phase), 2))


def test_ninety_degree_twin_at_one_half_keeps_the_couple_that_turns_against_the_crank():
    """By hand: of each piston ½·m·r·ω² turns with the crank and is canceled by a share of one half; of the rest,
    ½·m·r·ω²·e^{−i(θ−2ψ)}, the two of a 90-degree twin (2ψ = ±90°) are equal and opposite, the distance of the rods
    apart: a couple ½·m·r·ω²·a turning against the crank, where in one plane nothing is left of the first order."""
    mass = 700.0
    layout = layout_of("vtwin-90", 0.0)
    parts = shaking.assembly(layout, [mass] * 2, RADIUS, ROD, turning_g=[-mass])
    first = shaking.orders(shaking.curve(parts, RPM, 0.0), 1)[0]
    by_hand = mass * RADIUS * N_PER_GMM * omega(RPM) ** 2 * APART / 1000 / 2
    assert first.amounts() == pytest.approx((0, 0, 0, by_hand), abs=1e-6)
    # The rear rod is the right bank's, at −45°: its half against the crank points to −90° at crank angle 0.
    assert math.degrees(cmath.phase(first.couple_backward)) == pytest.approx(-90)
    other = shaking.assembly(layout_of("vtwin-90", 0.0, "right"), [mass] * 2, RADIUS, ROD, turning_g=[-mass])
    turned = shaking.orders(shaking.curve(other, RPM, 0.0), 1)[0]
    assert turned.couple_backward == pytest.approx(-first.couple_backward)


@pytest.mark.parametrize(
    "name", ["vtwin-45", "vtwin-60", "vtwin-90", "v8-90-crossplane", "v6-90-shared", "v10-90"]
)
def test_what_is_said_to_stay_of_the_first_order_is_what_the_curve_has(name):
    """The couple of order 1 with the rods side by side, less the same in one plane; of a twin by hand ½·a·sin of
    the angle between its banks, and of the engines whose banks leave no force, nothing."""
    layout, plain = layout_of(name), generic_layout(name, 112.0)
    added = shaking.inherent(layout, 1).couple_backward - shaking.inherent(plain, 1).couple_backward
    assert rods_couple(layout) == pytest.approx(added, abs=1e-9)
    assert shaking.inherent(layout, 1).couple_forward == pytest.approx(shaking.inherent(plain, 1).couple_forward)
    between = math.radians(plain.banks["left"] - plain.banks["right"])
    by_hand = APART / 2 * math.sin(between) if name.startswith("vtwin") else 0.0
    assert abs(rods_couple(layout)) == pytest.approx(by_hand, abs=1e-9)


@pytest.mark.parametrize(
    ("name", "leaves"), [("v8-90-crossplane", False), ("v8-90-flatplane", True), ("v6-60-shared", False)]
)
def test_a_vee_is_two_engines_in_line_one_behind_the_other(name, leaves):
    """By hand: the rods' couple is half of what they are apart times the rear bank's force less the front bank's.
    Of equal parts a cross-plane V8's banks leave no force of the first and second order, nor a V6's, so it adds
    nothing there; a flat-plane V8's leave the second."""
    layout, plain = layout_of(name), generic_layout(name, 112.0)
    masses = [700.0] * len(layout.places)
    found, without = (
        shaking.orders(shaking.curve(shaking.assembly(one, masses, RADIUS, ROD), RPM, 168.0), 2)
        for one in (layout, plain)
    )
    for order, (one, other) in enumerate(zip(found, without, strict=True), start=1):
        added = one.couple_forward - other.couple_forward, one.couple_backward - other.couple_backward
        is_left = leaves and order == 2
        assert (max(map(abs, added)) > 1.0) == is_left, (order, added)
        assert one.force_forward == pytest.approx(other.force_forward, abs=1e-9)


def test_the_curve_of_unlike_parts_is_every_mass_pushed_at_its_own_place():
    """Every mass with its own arm, summed for some angles of the crank; the big ends turn in the plane of their
    rod, oil and what was hung in the middle of the throw. To 1e-9 of the largest couple."""
    result = invented.worked(invented.cylinders(**UNLIKE), engine=invented.V8 | BESIDE)
    found = shake(result, RPM).curve
    angles = np.radians([0.0, 90.0, 270.0, 180.0])
    for at in (0, 431, 1777, 3001):
        theta, force, couple = found.crank_rad[at], 0j, 0j
        for one in result.bobweights.cylinders:
            throw, is_left = (one.cylinder - 1) // 2, one.cylinder % 2 == 1
            z = 112.0 * throw + (-12.0 if is_left else 12.0) - 168.0
            bank = math.radians(45 if is_left else -45)
            push = one.reciprocating.value_g * cmath.exp(1j * bank) * pushed(theta + angles[throw] - bank)
            push += one.rotating.value_g * RADIUS * cmath.exp(1j * (theta + angles[throw]))
            force, couple = force + push, couple + push * z
        for throw, made in enumerate(result.bobweights.throws):
            turns = (4.0 - made.hung_g) * RADIUS * cmath.exp(1j * (theta + angles[throw]))
            force, couple = force + turns, couple + turns * (112.0 * throw - 168.0)
        scale = N_PER_GMM * omega(RPM) ** 2
        assert found.force_n[at] == pytest.approx(force * scale, rel=1e-9, abs=1e-6)
        assert found.couple_nm[at] == pytest.approx(couple * scale / 1000, rel=1e-9, abs=1e-6)


@pytest.mark.parametrize("in_front", ["left", "right"])
def test_the_planes_are_every_mass_and_every_bobweight_added_by_hand(in_front):
    """Moments about the other plane, each mass where it is: planes at −40 and 380 mm."""
    beside = BESIDE | {"rod_in_front": in_front}
    station = {"front_plane": -40.0, "rear_plane": 380.0}
    result = invented.worked(invented.cylinders(**UNLIKE), engine=invented.V8 | beside, station=station)
    turned = np.exp(1j * np.radians([0.0, 90.0, 270.0, 180.0]))
    masses, places, vectors = [], [], []
    for one in result.bobweights.cylinders:
        throw, is_front = (one.cylinder - 1) // 2, (one.cylinder % 2 == 1) == (in_front == "left")
        masses.append(one.rotating.value_g + 0.5 * one.reciprocating.value_g)
        places.append(112.0 * throw + (-12.0 if is_front else 12.0))
        vectors.append(turned[throw])
    for throw, made in enumerate(result.bobweights.throws):
        masses.append(4.0 - made.hung_g)
        places.append(112.0 * throw)
        vectors.append(turned[throw])
    unbalance = np.array(masses) * RADIUS * np.array(vectors)
    rear = (unbalance * (np.array(places) + 40.0)).sum() / 420.0
    front = unbalance.sum() - rear
    assert result.cost.front.vector_gmm == pytest.approx(front, abs=1e-6)
    assert result.cost.rear.vector_gmm == pytest.approx(rear, abs=1e-6)
    assert result.cost.static.vector_gmm == pytest.approx(unbalance.sum(), abs=1e-6)
    by_rods = sum(
        m * v * RADIUS * (z - 112.0 * ((n) // 2)) / 420.0
        for n, (m, z, v) in enumerate(zip(masses[:8], places[:8], vectors[:8], strict=True))
    )
    assert result.cost.rods.vector_gmm == pytest.approx(-by_rods, abs=1e-6)
