"""The formulas of the house for whoever builds on it: each takes a number, a text with its unit or a quantity of
pint for every mass, length and speed, and gives plain numbers in the unit that its first line names. What none of
them can answer is a BadInput, in words.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from truethrow.balance.base import formulas
from truethrow.balance.base.digits import digits
from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.base.readings import tidy
from truethrow.balance.base.units import LENGTH, LONGEST_MM, MASS
from truethrow.balance.engine.layout import GENERIC, Layout, closest, generic_layout
from truethrow.balance.library.quantities import (
    HEAVIEST_G,
    Quantity,
    above_zero,
    all_faults,
    angle_deg,
    length_mm,
    mass_g,
    masses_g,
    number,
    speed_rpm,
    whole,
)

if TYPE_CHECKING:
    from truethrow.balance.engine.shaking import Curve

STEEL_G_CM3 = 7.85
MOST_STEPS = 100_000
HIGHEST_GRADE = 1e5
DENSEST_G_CM3 = 25.0


def bobweight(rotating: Any, reciprocating: Any, share: float = 0.5, oil: Quantity = 0.0) -> float:
    """What one throw asks the station to hang, Σ (rotating + share · reciprocating) + oil. [g]

    rotating, reciprocating: a mass for each cylinder on the throw (big end and bearings; piston, pin, locks, rings
    and small end); share: of the reciprocating mass, 0 to 1. Raises BadInput. Source: the definition.

    >>> bobweight([498.3, 498.3], [865.9, 865.9], share=0.5, oil=4)
    1866.5
    >>> bobweight([498.3, 498.3], [865.9])
    Traceback (most recent call last):
    truethrow.balance.base.errors.BadInput: reciprocating: 1 mass for 2 cylinders; allowed: one each
    """
    with all_faults() as faults:
        turning = faults.of(masses_g, "rotating", rotating)
        if turning == []:
            faults.found.append(Fault("rotating", "no mass", "one for each cylinder on the throw"))
        along = faults.of(masses_g, "reciprocating", reciprocating, _count(turning), "cylinders")
        part, oil_g = faults.of(number, "share", share, 0, 1), faults.of(mass_g, "oil", oil)
    return tidy(sum(turning) + part * sum(along) + oil_g)


def layout_named(name: object, spacing_mm: float = 1.0) -> Layout:
    """A layout by its name, at a cylinder spacing. Raises BadInput.

    >>> layout_named("inline-3")
    Layout: 3 cylinders, throws at 0° 120° 240°, banks line 0°
    """
    if not isinstance(name, str) or name not in GENERIC:
        hint = closest(name) if isinstance(name, str) else ""
        raise BadInput([Fault("layout", f"{shown(name)!r} is not known{hint}", ", ".join(GENERIC))])
    return generic_layout(name, spacing_mm)


def curve(
    layout: str,
    reciprocating: Any,
    *,
    stroke: Quantity,
    rod_length: Quantity,
    cylinder_spacing: Quantity,
    speed: Quantity,
    hung: Any = None,
    steps: int = 3600,
) -> Curve:
    """The shaking force and couple of a layout over one turn, by the exact slider-crank. [N, N·m]

    layout: its name; reciprocating: a mass for each cylinder, in their order; hung: what is hung on each throw for
    the reciprocating masses, nothing without it; couples are about the crank's middle. Raises BadInput. Source:
    Norton, Design of Machinery (from memory); the tests differentiate the piston's place.

    >>> curve("inline-4", [500] * 4, stroke=90, rod_length=150, cylinder_spacing=100, speed=3000)
    Curve: 3600 steps, force up to 2793 N, couple up to 0 N·m
    >>> curve("inline-4", [500] * 3, stroke=90, rod_length=150, cylinder_spacing=100, speed=3000)
    Traceback (most recent call last):
    truethrow.balance.base.errors.BadInput: reciprocating: 3 masses for 4 cylinders; allowed: one each
    """
    from truethrow.balance.engine import shaking  # noqa: PLC0415 (numpy)

    with all_faults() as faults:
        stroke_mm = faults.of(above_zero, "stroke", stroke, LENGTH, LONGEST_MM)
        rod_mm = faults.of(above_zero, "rod_length", rod_length, LENGTH, LONGEST_MM)
        spacing_mm = faults.of(above_zero, "cylinder_spacing", cylinder_spacing, LENGTH, LONGEST_MM)
        rpm = faults.of(speed_rpm, "speed", speed)
        if rod_mm <= stroke_mm / 2:
            wrong = f"{digits(rod_mm)} mm cannot turn on a throw of {digits(stroke_mm / 2)} mm"
            faults.found.append(Fault("rod_length", wrong, "more than half the stroke"))
        positions = faults.of(whole, "steps", steps, 4, MOST_STEPS)
        made = layout_named(layout, spacing_mm)
        along = faults.of(masses_g, "reciprocating", reciprocating, len(made.places), "cylinders")
        balanced = [0.0] * len(made.throws)
        if hung is not None:
            balanced = faults.of(masses_g, "hung", hung, len(made.throws), "throws")
    parts = shaking.assembly(made, along, stroke_mm / 2, rod_mm, turning_g=[-grams for grams in balanced])
    return shaking.curve(parts, rpm, made.middle_mm, positions)


def permissible_unbalance(mass: Quantity, grade: float, speed: Quantity) -> float:
    """Permissible residual unbalance of a rigid rotor, 1000 · m · G / Ω. [g·mm]

    mass: of the rotor; grade: its balance quality grade G, in mm/s. Raises BadInput.
    Source: ISO 21940-11:2016, U_per = 1000·m·G/Ω with m in kg, Ω = 2π·n/60 in rad/s.

    >>> round(permissible_unbalance("22 kg", 6.3, "5600 rpm"), 1)
    236.3
    """
    from truethrow.balance.result.unbalance import permissible_unbalance_gmm  # noqa: PLC0415

    with all_faults() as faults:
        kg = faults.of(above_zero, "mass", mass, MASS, HEAVIEST_G) / 1000
        rpm = faults.of(speed_rpm, "speed", speed)
        mm_s = faults.of(number, "grade", grade, 0, HIGHEST_GRADE, is_above=True)
    return permissible_unbalance_gmm(kg, mm_s, rpm)


def plane_share(z: Quantity, front: Quantity, rear: Quantity) -> tuple[float, float]:
    """The parts of an unbalance at z that act in the front and in the rear plane. [1]

    z counts rearwards. Raises BadInput. Source: statics, moments about the other plane.

    >>> plane_share(75, front=0, rear=300)
    (0.75, 0.25)
    """
    from truethrow.balance.result import unbalance  # noqa: PLC0415

    with all_faults() as faults:
        at = [faults.of(length_mm, name, mm) for name, mm in (("z", z), ("front", front), ("rear", rear))]
        if at[1] == at[2]:
            faults.found.append(Fault("rear", f"{digits(at[2])} mm, where the front plane is", "another place"))
    return unbalance.plane_share(*at)


def centrifugal_force(mass: Quantity, radius: Quantity, speed: Quantity) -> float:
    """What a mass on a radius pulls outwards, m · r · ω². [N] Raises BadInput. Source: Newton's second law.

    >>> round(centrifugal_force("10 g", "4 in", 6000), 1)
    401.1
    """
    with all_faults() as faults:
        grams, mm = faults.of(mass_g, "mass", mass), faults.of(above_zero, "radius", radius, LENGTH, LONGEST_MM)
        rpm = faults.of(speed_rpm, "speed", speed)
    return formulas.centrifugal_n(grams, mm, rpm)


class Removed(NamedTuple):
    """Metal taken off a crank: its mass, and what it takes off the unbalance along the hole's own angle."""

    mass_g: float
    unbalance_gmm: float


def drilled_hole(
    rim: Quantity, diameter: Quantity, depth: Quantity, point: Quantity = 118.0, density: float = STEEL_G_CM3
) -> Removed:
    """What a hole drilled from a counterweight's rim towards the crank's axis takes away. [g, g·mm]

    rim: radius of the rim; depth: of the full diameter, without the drill's point; point: its angle, 180 for a
    flat one; density: in g/cm³. Raises BadInput. Source: the integral over the hole, worked out in crank/holes.

    >>> hole = drilled_hole(rim=90, diameter=12, depth=20)
    >>> round(hole.mass_g, 1), round(hole.unbalance_gmm)
    (18.8, 1490)
    """
    from truethrow.balance.crank import holes  # noqa: PLC0415

    lengths = (("rim", rim), ("diameter", diameter), ("depth", depth))
    with all_faults() as faults:
        rim_mm, diameter_mm, depth_mm = (
            faults.of(above_zero, name, mm, LENGTH, LONGEST_MM) for name, mm in lengths
        )
        degrees = faults.of(angle_deg, "point", point)
        g_cm3 = faults.of(number, "density", density, 0, DENSEST_G_CM3, is_above=True)
        edge = f"{digits(rim_mm)} mm, the rim's radius"
        if depth_mm >= rim_mm:
            faults.found.append(Fault("depth", "goes through the crank's axis", f"below {edge}"))
        if diameter_mm > rim_mm:
            faults.found.append(Fault("diameter", f"{digits(diameter_mm)} mm", f"at most {edge}"))
        if degrees < holes.SHARPEST_POINT_DEG or degrees > holes.FLAT_DEG:
            allowed = f"{holes.SHARPEST_POINT_DEG:g} to {holes.FLAT_DEG:g} degrees"
            faults.found.append(Fault("point", f"{digits(degrees)} degrees", allowed))
    return Removed(*holes.radial_hole(g_cm3 / 1000, rim_mm, diameter_mm, depth_mm, degrees))


def piston_speed(stroke: Quantity, speed: Quantity) -> float:
    """Mean piston speed, 2 · s · n. [m/s] Raises BadInput. Source: Heywood, Internal Combustion Engine
    Fundamentals, eq. 2.9.

    >>> round(piston_speed("92 mm", 5600), 2)
    17.17
    """
    from truethrow.balance.engine.engine import mean_piston_speed_m_s  # noqa: PLC0415

    with all_faults() as faults:
        mm = faults.of(above_zero, "stroke", stroke, LENGTH, LONGEST_MM)
        rpm = faults.of(speed_rpm, "speed", speed)
    return mean_piston_speed_m_s(mm, rpm)


def _count(masses: Any) -> int | None:
    """Of a list that was read; None where it was refused."""
    return len(masses) if isinstance(masses, list) else None
