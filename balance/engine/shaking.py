"""Shaking force and couple of the whole rotating assembly over one turn, from first principles.

Every cylinder's reciprocating mass moves as the exact slider-crank moves it; what turns with a throw (big
ends, bearings, oil) is met by the counterweights, which balance just what was hung. Each mass acts where it is
along the crank: of two rods side by side one before, one behind the middle of the throw, where the bobweight hung.
Vectors lie in the plane of rotation: the real part is vertical, angle 0 is up, and angles grow in the direction of
rotation. A couple is the sum of (z − z₀)·force, about a chosen z₀, and has the direction of the force at the rear.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from truethrow.balance.base.arrays import Complexes, Floats
from truethrow.balance.base.digits import digits
from truethrow.balance.base.formulas import N_PER_GMM, omega, require
from truethrow.balance.base.told import rounded, table
from truethrow.balance.engine.layout import Layout

STEPS = 3600
# Of a curve in a notebook: a row every ten degrees.
SHOWN_STEPS = 36
# The speed at which a gram at a millimetre pulls one newton: figures of a layout without lengths are per that.
UNIT_SPEED_RPM = 1000 / omega(1.0)


class Assembly(NamedTuple):
    """Masses and places of all that moves. One entry a cylinder: reciprocating_g, rotating_g (what turns with its
    rod), crank_rad (the angle of its throw), bank_rad, z_mm (of its rod), pin_z_mm (of its throw); one entry a
    throw: turning_g (what turns there besides, less what the counterweights balance), throw_rad, throw_z_mm.
    desaxe_mm: how far the cylinder axis lies off the crank axis, positive to
    the side to which the pin moves at the top."""

    reciprocating_g: Floats
    rotating_g: Floats
    crank_rad: Floats
    bank_rad: Floats
    z_mm: Floats
    pin_z_mm: Floats
    turning_g: Floats
    throw_rad: Floats
    throw_z_mm: Floats
    radius_mm: float
    rod_length_mm: float
    desaxe_mm: float = 0.0

    def __repr__(self) -> str:
        count = len(self.reciprocating_g)
        return f"Assembly: {count} cylinders, radius {self.radius_mm:g} mm, rod length {self.rod_length_mm:g} mm"


class Curve(NamedTuple):
    """One turn: crank_rad (steps,), force_n (steps,) and couple_nm (steps,) about about_mm."""

    crank_rad: Floats
    force_n: Complexes
    couple_nm: Complexes
    about_mm: float

    def __repr__(self) -> str:
        # What is left of sums that cancel is rounding.
        force_n, couple_nm = (round(np.abs(curve).max(), 9) for curve in (self.force_n, self.couple_nm))
        told = f"force up to {digits(force_n, 4)} N, couple up to {digits(couple_nm, 4)} N·m"
        return f"Curve: {len(self.crank_rad)} steps, {told}"

    def _repr_html_(self) -> str:
        every = range(0, len(self.crank_rad), max(1, len(self.crank_rad) // SHOWN_STEPS))
        rows = [
            [f"{math.degrees(self.crank_rad[at]):.0f}°", *_shown(self.force_n[at]), *_shown(self.couple_nm[at])]
            for at in every
        ]
        heads = ["crank", "force up [N]", "force across [N]", "couple up [N·m]", "couple across [N·m]"]
        return table(repr(self), heads, rows)


def _shown(vector: complex) -> tuple[str, str]:
    return rounded(vector.real, 1), rounded(vector.imag, 1)


class Phasors(NamedTuple):
    """One order of a curve: how much of it turns with the crank (forward) and how much against it (backward),
    for the force and for the couple, each with its angle at crank angle 0."""

    order: int
    force_forward: complex
    force_backward: complex
    couple_forward: complex
    couple_backward: complex

    def __repr__(self) -> str:
        names = (name.replace("_", " ") for name in self._fields[1:])
        told = (f"{name} {digits(round(one, 9), 4)}" for name, one in zip(names, self.amounts(), strict=True))
        return f"Phasors: order {self.order}, {', '.join(told)}"

    def amounts(self) -> tuple[float, float, float, float]:
        return tuple(map(abs, self[1:]))  # type: ignore[return-value]


def assembly(
    layout: Layout,
    reciprocating_g: Sequence[float],
    radius_mm: float,
    rod_length_mm: float,
    desaxe_mm: float = 0.0,
    turning_g: Sequence[float] | None = None,
    rotating_g: Sequence[float] | None = None,
) -> Assembly:
    """The assembly of a layout: reciprocating_g one a cylinder, turning_g one a throw, rotating_g one a cylinder
    (without them nothing turns but what is balanced).

    Raises ValueError for a crank that cannot turn: rod not longer than radius and offset together; and for lengths
    that are not positive and finite, and masses that are not finite."""
    require("positive", radius_mm=radius_mm, rod_length_mm=rod_length_mm)
    for what, count, masses_g in (
        ("cylinders", len(layout.places), reciprocating_g),
        ("throws", len(layout.throws), turning_g),
        ("cylinders", len(layout.places), rotating_g),
    ):
        if masses_g is not None and len(masses_g) != count:
            raise ValueError(f"{len(masses_g)} masses for {count} {what}")
        for mass_g in () if masses_g is None else masses_g:
            require("finite", mass_g=mass_g)
    if not rod_length_mm > radius_mm + abs(desaxe_mm) > 0:
        raise ValueError(f"a rod of {rod_length_mm} mm cannot turn on a radius of {radius_mm} mm")
    throw = {t.name: t for t in layout.throws}
    places = layout.places
    return Assembly(
        reciprocating_g=np.asarray(reciprocating_g, float),
        rotating_g=np.zeros(len(places)) if rotating_g is None else np.asarray(rotating_g, float),
        crank_rad=np.radians([throw[p.throw].angle_deg for p in places]),
        bank_rad=np.radians([layout.banks[p.bank] for p in places]),
        z_mm=np.array(layout.rods_mm),
        pin_z_mm=np.array([throw[p.throw].z_mm for p in places]),
        turning_g=np.zeros(len(layout.throws)) if turning_g is None else np.asarray(turning_g, float),
        throw_rad=np.radians([t.angle_deg for t in layout.throws]),
        throw_z_mm=np.array([t.z_mm for t in layout.throws]),
        radius_mm=radius_mm,
        rod_length_mm=rod_length_mm,
        desaxe_mm=desaxe_mm,
    )


def slider_acceleration(phase_rad: Floats, ratio: float, offset: float = 0.0) -> Floats:
    """Inertia force of a slider over m·r·ω², along its axis and away from the crank, exact. [1]

    phase_rad: crank angle past the slider's axis; ratio: r/L; offset: desaxé over r. Second derivative of
    s/r = cos φ + √(1/λ² − (sin φ − ε)²), with its sign turned. Source: Norton, Design of Machinery, offset
    slider-crank (from memory); the tests differentiate the position numerically to 30 digits.
    Raises ValueError for a ratio that is not positive and finite, and a crank that cannot turn."""
    require("positive", ratio=ratio)
    if not 1 / ratio > 1 + abs(offset):
        raise ValueError(f"a rod of {1 / ratio} radii cannot turn with an offset of {offset} radii")
    sin: Floats = np.sin(phase_rad)
    cos: Floats = np.cos(phase_rad)
    u = sin - offset
    q2 = 1 / ratio**2 - u**2
    q: Floats = np.sqrt(q2)
    return cos + (cos**2 - u * sin) / q + u**2 * cos**2 / (q2 * q)


def reciprocating_vectors(parts: Assembly, crank_rad: Floats) -> Complexes:
    """Unit vectors of each cylinder's inertia force over r·ω²·1 g. (cylinders, steps)"""
    phase = crank_rad[None, :] + (parts.crank_rad - parts.bank_rad)[:, None]
    ratio, offset = parts.radius_mm / parts.rod_length_mm, parts.desaxe_mm / parts.radius_mm
    along = slider_acceleration(phase, ratio, offset)
    vectors: Complexes = np.exp(1j * parts.bank_rad)[:, None] * along
    return vectors


def crank_angles(steps: int = STEPS) -> Floats:
    return np.arange(steps, dtype=np.float64) * (2 * math.pi / steps)


def angles(rad: Sequence[float]) -> Floats:
    return np.array(rad, float)


def curve(parts: Assembly, speed_rpm: float, about_mm: float, steps: int = STEPS) -> Curve:
    """Shaking force and couple over one turn at a steady speed, couples about a z.

    Raises ValueError for a speed that is not positive and finite, and a z that is not finite."""
    require("finite", about_mm=about_mm)
    crank = crank_angles(steps)
    pull_n = parts.radius_mm * omega(speed_rpm) ** 2 * N_PER_GMM
    vectors = reciprocating_vectors(parts, crank)
    weights = parts.reciprocating_g * pull_n
    turning = parts.turning_g * pull_n * np.exp(1j * parts.throw_rad)
    rotating = parts.rotating_g * pull_n * np.exp(1j * parts.crank_rad)
    spin = np.exp(1j * crank)
    force = weights @ vectors + (turning.sum() + rotating.sum()) * spin
    arms, throw_arms = (parts.z_mm - about_mm) / 1000, (parts.throw_z_mm - about_mm) / 1000
    turned = (turning * throw_arms).sum() + (rotating * arms).sum()
    couple = (weights * arms) @ vectors + turned * spin
    return Curve(crank, force, couple, about_mm)


def orders(found: Curve, highest: int = 6) -> list[Phasors]:
    """The curve taken apart into orders 1 to highest, by FFT. Units as the curve."""
    force = np.fft.fft(found.force_n) / len(found.force_n)
    couple = np.fft.fft(found.couple_nm) / len(found.couple_nm)
    return [
        Phasors(n, complex(force[n]), complex(force[-n]), complex(couple[n]), complex(couple[-n]))
        for n in range(1, highest + 1)
    ]


def inherent(layout: Layout, order: int, about: float | None = None) -> Phasors:
    """The layout's own balance for equal masses, order 1 over m·r·ω², order 2 over m·r·ω²·λ; couples times
    the unit of z.

    Cylinder i at crank angle α on bank axis ψ gives cos n(θ+α−ψ) along ψ: half of it turning with the crank,
    ½·e^{i(nα−(n−1)ψ)}, half against it, ½·e^{−i(nα−(n+1)ψ)}. Source: the textbooks' primary and secondary
    phasors (Norton, Design of Machinery; Taylor, The Internal-Combustion Engine in Theory and Practice)."""
    made = assembly(layout, [1.0] * len(layout.places), 1.0, 2.0)
    alpha, psi, n = made.crank_rad, made.bank_rad, order
    forward = np.exp(1j * (n * alpha - (n - 1) * psi)) / 2
    backward = np.exp(-1j * (n * alpha - (n + 1) * psi)) / 2
    arm = made.z_mm - (layout.middle_mm if about is None else about)
    return Phasors(
        order,
        complex(forward.sum()),
        complex(backward.sum()),
        complex((forward * arm).sum()),
        complex((backward * arm).sum()),
    )


class Peak(NamedTuple):
    """The largest of a curve: amount, the crank angle where it comes, and its direction there."""

    amount: float
    crank_deg: float
    direction_deg: float


def peak(crank_rad: Floats, vectors: Complexes) -> Peak:
    """The largest vector of a curve, the first of several that are alike to a millionth."""
    amounts = np.abs(vectors)
    at = int(np.argmax(amounts >= amounts.max() * (1 - 1e-6)))
    return Peak(
        float(amounts[at]),
        math.degrees(crank_rad[at]),
        math.degrees(math.atan2(vectors[at].imag, vectors[at].real)) % 360,
    )


def largest(squares: Floats) -> float:
    """The largest of squared amounts round the turn, refined between the positions by a parabola through each
    maximum and its neighbours, and its root. (…, steps)"""
    before, after = np.roll(squares, 1, axis=-1), np.roll(squares, -1, axis=-1)
    bend = 2 * squares - before - after
    top = (squares >= before) & (squares >= after) & (bend > 1e-12 * squares.max())
    gain = np.divide((after - before) ** 2, 8 * bend, out=np.zeros_like(squares), where=top)
    return math.sqrt(float((squares + gain).max()))
