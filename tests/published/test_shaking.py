"""Shaking forces against the textbooks: worked examples and the inherent-balance table.

Worked examples are recomputed from their inputs by hand or with complex arithmetic and held tightly; printed
graphical answers are held to the 1 % of their drawing.
"""

import cmath
import math

import mpmath
import numpy as np
import pytest

from truethrow.balance.base.formulas import N_PER_GMM, centrifugal_n, omega
from truethrow.balance.engine import shaking
from truethrow.balance.engine.layout import GENERIC, CylinderAt, Layout, Throw, first_order, generic_layout

# Multiples of m·r·ω² (order 1) and m·r·ω²·λ (order 2), couples times the cylinder spacing, about the middle:
# force forward, back, couple forward, back. Zero / not zero as in Norton, Design of Machinery, and Taylor, The
# Internal-Combustion Engine in Theory and Practice, vol. 2 (from memory); the figures as closed forms of the
# same phasors: sines of the throw angles, worked by hand.
R3, R2 = math.sqrt(3), math.sqrt(2)
FIVE_1 = abs(sum((k - 2) * cmath.exp(1j * math.radians(a)) for k, a in enumerate((0, 216, 144, 72, 288)))) / 2
FIVE_2 = abs(sum((k - 2) * cmath.exp(2j * math.radians(a)) for k, a in enumerate((0, 216, 144, 72, 288)))) / 2
TEN_1 = abs(sum((k - 2) * cmath.exp(1j * math.radians(a)) for k, a in enumerate((0, 144, 288, 72, 216))))
TEN_2 = abs(sum((k - 2) * cmath.exp(2j * math.radians(a)) for k, a in enumerate((0, 144, 288, 72, 216))))


def cos(degrees):
    return math.cos(math.radians(degrees))


TABLE = {
    "inline-2": ((0, 0, 0.5, 0.5), (1, 1, 0, 0)),
    "inline-3": ((0, 0, R3 / 2, R3 / 2), (0, 0, R3 / 2, R3 / 2)),
    "inline-4": ((0, 0, 0, 0), (2, 2, 0, 0)),
    "inline-5": ((0, 0, FIVE_1, FIVE_1), (0, 0, FIVE_2, FIVE_2)),
    "inline-6": ((0, 0, 0, 0), (0, 0, 0, 0)),
    "inline-8": ((0, 0, 0, 0), (0, 0, 0, 0)),
    "vtwin-90": ((1, 0, 0, 0), (1 / R2, 1 / R2, 0, 0)),
    "vtwin-60": ((1, 0.5, 0, 0), (R3 / 2, 0, 0, 0)),
    "vtwin-45": ((1, 1 / R2, 0, 0), (cos(22.5), cos(67.5), 0, 0)),
    "v6-90-shared": ((0, 0, R3, 0), (0, 0, R3 / R2, R3 / R2)),
    "v6-60-even": ((0, 0, 1.5, 0), (0, 0, 0, 1.5)),
    "v6-90-even": ((0, 0, R3 * cos(15), R3 * cos(75)), (0, 0, R3 * cos(75), R3 * cos(15))),
    "v8-90-flatplane": ((0, 0, 0, 0), (2 * R2, 2 * R2, 0, 0)),
    "v8-90-crossplane": ((0, 0, math.sqrt(10), 0), (0, 0, 0, 0)),
    "opposed-4": ((0, 0, 0, 0), (0, 0, 0.2, 0.2)),
    "opposed-6": ((0, 0, 0, 0), (0, 0, 0, 0)),
    "v10-72": ((0, 0, TEN_1, TEN_1 * cos(72)), (0, 0, TEN_2 * cos(36), TEN_2 * abs(cos(108)))),
    "v12-60": ((0, 0, 0, 0), (0, 0, 0, 0)),
    "inline-1": ((0.5, 0.5, 0, 0), (0.5, 0.5, 0, 0)),
    "v6-60-shared": ((0, 0, R3, R3 / 2), (0, 0, 1.5, 0)),
    "v10-90": ((0, 0, TEN_1, 0), (0, 0, TEN_2 / R2, TEN_2 / R2)),
    "opposed-2": ((0, 0, 0.15, 0.15), (0, 0, 0.15, 0.15)),
    "radial-3": ((1.5, 0, 0, 0), (0, 1.5, 0, 0)),
    "radial-5": ((2.5, 0, 0, 0), (0, 0, 0, 0)),
    "radial-7": ((3.5, 0, 0, 0), (0, 0, 0, 0)),
    "radial-9": ((4.5, 0, 0, 0), (0, 0, 0, 0)),
}
# The same table as it was printed beside the closed forms, to the four digits given there.
PRINTED = {
    "inline-5": ((0, 0, 0.2245, 0.2245), (0, 0, 2.4899, 2.4899)),
    "v6-90-even": ((0, 0, 1.6730, 0.4483), (0, 0, 0.4483, 1.6730)),
    "v8-90-crossplane": ((0, 0, 3.1623, 0), (0, 0, 0, 0)),
    "v10-72": ((0, 0, 2.6287, 0.8123), (0, 0, 3.4410, 1.3143)),
}


@pytest.mark.parametrize("name", TABLE)
@pytest.mark.parametrize("order", [1, 2])
def test_inherent_balance(name, order):
    found = shaking.inherent(generic_layout(name), order).amounts()
    assert found == pytest.approx(TABLE[name][order - 1], rel=1e-9, abs=1e-9)
    if name in PRINTED:
        assert found == pytest.approx(PRINTED[name][order - 1], abs=5e-5)


@pytest.mark.parametrize("name", GENERIC)
def test_the_first_order_without_numpy_is_the_same_phasor(name):
    layout = generic_layout(name)
    assert first_order(layout) == pytest.approx(shaking.inherent(layout, 1)[1:], abs=1e-12)
    assert [abs(v) for v in first_order(layout)] == pytest.approx(TABLE[name][0], abs=1e-9)


@pytest.mark.parametrize("name", GENERIC)
def test_the_curve_taken_apart_is_the_phasors(name):
    """Equal masses, exact kinematics, 3,600 positions: order 1 of the FFT is exact (the slider's first harmonic
    is that of its crank); order 2 is the phasor with the slider's own second coefficient, λ + λ³/4 + 15λ⁵/128
    + …, here with λ = 0.2 cut where the next term is 1e-7 of it."""
    layout, lam = generic_layout(name, 100.0), 0.2
    parts = shaking.assembly(layout, [1000.0] * len(layout.places), 50.0, 250.0)
    found = shaking.orders(shaking.curve(parts, 3000, layout.middle_mm), 2)
    one_n = centrifugal_n(1000.0, 50.0, 3000)
    second = lam + lam**3 / 4 + 15 * lam**5 / 128 + 35 * lam**7 / 512
    for order, scale, rel in ((1, one_n, 1e-9), (2, one_n * second, 1e-6)):
        force_f, force_b, couple_f, couple_b = shaking.inherent(layout, order)[1:]
        wanted = [force_f * scale, force_b * scale, couple_f * scale / 1000, couple_b * scale / 1000]
        assert found[order - 1][1:] == pytest.approx(wanted, rel=rel, abs=1e-6 * scale)


def crank(angles, z=None, banks=None, places=None):
    throws = tuple(Throw(str(i + 1), float(a), float(z[i] if z else 0)) for i, a in enumerate(angles))
    banks = banks or {"line": 0.0}
    places = places or tuple(
        CylinderAt(1 + i * len(banks) + j, t.name, b) for i, t in enumerate(throws) for j, b in enumerate(banks)
    )
    return Layout(throws, places, banks)


def series(layout, mass_g, radius, rod, speed, about):
    """Primary and secondary as the textbooks have them, summed over one turn: amplitudes of force and couple."""
    r_omega2 = radius / 1000 * (speed * 2 * math.pi / 60) ** 2
    made = {}
    for order, size in ((1, mass_g / 1000 * r_omega2), (2, mass_g / 1000 * r_omega2 * radius / rod)):
        p = shaking.inherent(layout, order, about)
        turn = np.exp(1j * order * shaking.crank_angles())
        force = size * (p.force_forward * turn + p.force_backward / turn)
        couple = size * (p.couple_forward * turn + p.couple_backward / turn) / 1000
        made[order] = np.abs(force), np.abs(couple)
    return made


def test_ninety_degree_twin(checked):
    """Khurmi & Gupta, Balancing of Reciprocating Masses: 11.5 kg a side, crank 75, rod 300 mm, 500 r/min:
    primary constant 2364.59 N (recomputed), largest secondary 836 N (from memory; recomputed 836.01)."""
    made = series(generic_layout("vtwin-90"), 11_500, 75, 300, 500, 0.0)
    assert made[1][0] == pytest.approx(2364.59, abs=0.005)
    checked(
        "R. S. Khurmi and J. K. Gupta, Theory of Machines",
        "Balancing of Reciprocating Masses, V-engines",
        "90-degree twin, 11.5 kg a side, crank 75 mm, rod 300 mm, 500 r/min",
        *("largest secondary force", "836", made[2][0].max(), "N"),
        within=0.5,
        from_memory=True,
    )
    assert made[2][0].max() == pytest.approx(836.01, abs=0.005)


def test_in_line_four_with_quarter_cranks():
    """Theory of Machines set problem: crank 50, rod 200, pitch 200 mm, 2000 r/min, 2 kg, cranks at 90° in the
    end-view order 1-4-2-3: forces 0, primary couple 1240.69, secondary couple 877.30 N·m (recomputed)."""
    layout = crank((0, 180, 270, 90), z=(0, 200, 400, 600))
    made = series(layout, 2000, 50, 200, 2000, 300.0)
    assert made[1][0].max() == pytest.approx(0, abs=1e-6)
    assert made[2][0].max() == pytest.approx(0, abs=1e-6)
    assert made[1][1].max() == pytest.approx(1240.69, abs=0.005)
    assert made[2][1].max() == pytest.approx(877.30, abs=0.005)


def test_three_cylinder_radial():
    """Set problem: cylinders at 120°, stroke 120, rod 240 mm, 1 kg, 2400 r/min: primary 5684.89 N and secondary
    1421.22 N, both constant (recomputed)."""
    made = series(generic_layout("radial-3"), 1000, 60, 240, 2400, 0.0)
    assert made[1][0] == pytest.approx(5684.89, abs=0.005)
    assert made[2][0] == pytest.approx(1421.22, abs=0.005)


def test_five_cylinder_in_line():
    """Khurmi & Gupta: cranks 144° apart in succession, pitch 375, stroke 225 mm, rod/crank 4, 750 r/min, 15 kg:
    forces 0, primary couple 10 260.97, secondary couple 4150.65 N·m (recomputed)."""
    layout = crank([144 * k for k in range(5)], z=[375 * k for k in range(5)])
    made = series(layout, 15_000, 112.5, 450, 750, 750.0)
    assert made[1][0].max() == pytest.approx(0, abs=1e-6)
    assert made[1][1].max() == pytest.approx(10_260.97, abs=0.01)
    assert made[2][1].max() == pytest.approx(4150.65, abs=0.01)


def test_sixty_degree_twin_with_a_counterweight():
    """Set problem: crank 120, rod 600 mm, rotating 2 kg at the pin, 1.2 kg a side, counterweight 2.2 kg at
    150 mm, 800 r/min: primary resultant between 126.33 and 884.32 N, secondary constant 175.05 N (recomputed).
    Our curve has the counterweight as turning mass; order 1 of it is the primary."""
    layout = generic_layout("vtwin-60")
    turning = 2000 - 2200 * 150 / 120
    parts = shaking.assembly(layout, [1200, 1200], 120, 600, turning_g=[turning])
    first, second = shaking.orders(shaking.curve(parts, 800, 0.0), 2)
    amounts = abs(first.force_forward), abs(first.force_backward)
    assert abs(amounts[0] - amounts[1]) == pytest.approx(126.33, abs=0.005)
    assert sum(amounts) == pytest.approx(884.32, abs=0.005)
    # The slider's exact second coefficient is 1 + λ²/4 + 15λ⁴/128 of the series' at λ = 0.2.
    exact = 1 + 0.2**2 / 4 + 15 * 0.2**4 / 128 + 35 * 0.2**6 / 512
    assert abs(second.force_forward) == pytest.approx(175.05 * exact, abs=0.01)


def test_fourth_order_of_a_cross_plane_v8():
    """Equal masses of 700 g, crank 46, rod 155 mm, 5600 r/min, exact kinematics: nothing but a vertical force of
    the fourth order, 438.5 N (recomputed from the exact slider-crank), is left at a share of one half."""
    layout = generic_layout("v8-90-crossplane", 112.0)
    parts = shaking.assembly(layout, [700.0] * 8, 46, 155)
    found = shaking.curve(parts, 5600, 168.0)
    assert shaking.peak(found.crank_rad, found.force_n).amount == pytest.approx(438.5, abs=0.05)
    fourth = shaking.orders(found, 4)[3]
    # The eighth order, 0.3 N, is the rest of the peak.
    assert abs(fourth.force_forward) + abs(fourth.force_backward) == pytest.approx(438.5, abs=0.3)


def test_rotating_masses_in_one_plane(checked):
    """Khurmi & Gupta, Balancing of Rotating Masses, Ex. 21.1: 200, 300, 240, 260 kg at 0.20, 0.15, 0.25, 0.30 m,
    45°, 75°, 135° apart in succession; balance at 0.20 m: 116 kg at 201.5° (graphical, from memory); 116.10 kg
    at 201.31° recomputed. Our curve's order 1 is the resultant to be balanced."""
    throws = tuple(Throw(str(i), float(a), 0.0) for i, a in enumerate((0, 45, 120, 255)))
    layout = Layout(throws, (CylinderAt(1, "0", "line"),), {"line": 0.0})
    turning = [200e3 * 0.20, 300e3 * 0.15, 240e3 * 0.25, 260e3 * 0.30]
    parts = shaking.assembly(layout, [0.0], 1000.0, 5000.0, turning_g=turning)
    force = shaking.orders(shaking.curve(parts, 60, 0.0), 1)[0].force_forward
    balance = -force / (omega(60) ** 2) / 0.20
    assert abs(balance) == pytest.approx(116.10, abs=0.005)
    assert math.degrees(cmath.phase(balance)) % 360 == pytest.approx(201.31, abs=0.005)
    example = "R. S. Khurmi and J. K. Gupta, Theory of Machines", "Balancing of Rotating Masses, Ex. 21.1"
    given = "200, 300, 240, 260 kg at 0.20, 0.15, 0.25, 0.30 m, 45, 75, 135 degrees apart; balance at 0.20 m"
    checked(*example, given, "balancing mass", "116", abs(balance), "kg", within=1.16, from_memory=True)
    at_deg = math.degrees(cmath.phase(balance)) % 360
    checked(*example, given, "its angle", "201.5", at_deg, "degrees", within=1, from_memory=True)


def test_complete_balance_of_four_planes():
    """IAS 2004, also Khurmi & Gupta: planes A, B, C, D; B 18 kg, C 12.5 kg at 60 mm, A and D at 80 mm; B→C 100°,
    B→A 190°; A–B 100, B–C 200 mm: A 9.669, D 7.911 kg at 252.72°, A–D 366.7 mm (recomputed; graphical answers 10
    and 8 kg, 251°, 360 mm, from memory). Force and couple of our curve vanish together."""
    throws = (
        Throw("A", 190.0, 0.0),
        Throw("B", 0.0, 100.0),
        Throw("C", 100.0, 300.0),
        Throw("D", 252.72, 366.7),
    )
    layout = Layout(throws, (CylinderAt(1, "B", "line"),), {"line": 0.0})
    turning = [9669 * 80, 18_000 * 60, 12_500 * 60, 7911 * 80]
    parts = shaking.assembly(layout, [0.0], 1.0, 5.0, turning_g=turning)
    found = shaking.orders(shaking.curve(parts, 600, 0.0), 1)[0]
    whole = sum(turning) * N_PER_GMM * omega(600) ** 2
    assert abs(found.force_forward) < 2e-4 * whole
    assert abs(found.couple_forward) < 2e-4 * whole * 0.3667


@pytest.mark.parametrize("offset", [0, 0.15])
@pytest.mark.parametrize("degrees", [0, 17, 90, 133, 180, 271])
def test_slider_acceleration_is_the_second_derivative_of_the_position(degrees, offset):
    """mpmath's numerical derivative, 30 digits, of s/r = cos φ + √(1/λ² − (sin φ − ε)²)."""
    lam = mpmath.mpf("0.3")
    with mpmath.workdps(30):
        phi = mpmath.radians(degrees)
        second = mpmath.diff(
            lambda a: mpmath.cos(a) + mpmath.sqrt(1 / lam**2 - (mpmath.sin(a) - offset) ** 2), phi, 2
        )
    found = shaking.slider_acceleration(np.array([math.radians(degrees)]), 0.3, offset)[0]
    assert found == pytest.approx(-float(second), rel=1e-12, abs=1e-12)


@pytest.mark.parametrize("lam", [0.2, 0.25, 0.297, 0.35])
def test_fourier_coefficients_of_the_slider(lam):
    """mpmath's quadrature, 30 digits, of the exact acceleration against cos nφ, n = 1 … 6: our FFT of 3,600
    positions agrees to rounding. The second and fourth are the textbooks' λ + λ³/4 + 15λ⁵/128 + … and
    −(λ³/4 + 3λ⁵/16 + …) (Taylor, vol. 2, from memory), held to the next term of the series."""
    phi = shaking.crank_angles()
    spectrum = np.fft.rfft(shaking.slider_acceleration(phi, lam)).real / len(phi) * 2
    with mpmath.workdps(30):
        for n in range(1, 7):
            exact = (
                mpmath.quad(
                    lambda a, n=n: (
                        mpmath.cos(n * a)
                        * n**2
                        * (mpmath.cos(a) + mpmath.sqrt(1 / mpmath.mpf(lam) ** 2 - mpmath.sin(a) ** 2))
                    ),
                    mpmath.linspace(0, 2 * mpmath.pi, 9),
                )
                / mpmath.pi
            )
            assert spectrum[n] == pytest.approx(float(exact), abs=1e-12)
    assert spectrum[2] == pytest.approx(lam + lam**3 / 4 + 15 * lam**5 / 128, abs=lam**7 / 8)
    assert spectrum[4] == pytest.approx(-(lam**3 / 4 + 3 * lam**5 / 16), abs=lam**7 / 4)


def test_peak_piston_acceleration_is_the_curves():
    """The closed form at top dead centre is the largest of the exact curve."""
    from truethrow.balance.engine.engine import peak_piston_acceleration_m_s2

    exact = shaking.slider_acceleration(shaking.crank_angles(), 46 / 155).max()
    found = peak_piston_acceleration_m_s2(92, 155, 5600)
    assert found == pytest.approx(exact * 0.046 * omega(5600) ** 2, rel=1e-12)
