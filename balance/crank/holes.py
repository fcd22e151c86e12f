"""Holes: what a drill, a grinder or a slug of heavy metal does to the unbalance of a crank.

A radial hole goes in from the rim of a counterweight along its radius; an axial one runs parallel to the
crank. Depth is that of the full diameter, on the axis of the drill; the point goes deeper by its cone. The rim
is a cylinder about the crank's axis, and a hole begins at that cylinder, not at a flat.

A slug is heavier than what it replaces and wants to leave along the radius: it sits in an axial bore only, with
the metal outside it to hold it, never in a radial hole.
"""

from __future__ import annotations

import cmath
import math
from functools import lru_cache
from typing import Literal, NamedTuple

from truethrow.balance.base.formulas import require

# took, added: grams that came off or went on, of no shape that anybody measured.
HoleKind = Literal["radial", "axial", "slug", "grind", "took", "added"]

# Nominal densities of tungsten heavy alloy by class. [g/cm³] Source: ASTM B777 (from memory).
HEAVY_METAL_G_CM3 = {1: 17.0, 2: 17.5, 3: 18.0, 4: 18.5}
# What a slug may weigh for its size, of any class, where the size is not just as told. [g/cm³] Source: ASTM
# B777-15, Table 1, 16.85 to 18.85 (from memory); the room about it: common practice, no source.
SLUG_G_CM3 = 15.5, 20.0
FLAT_DEG = 180.0
COMMON_POINT_DEG = 118.0
# A blunter point keeps its cone inside the half ball on the shoulder, which the walls are measured from.
SHARPEST_POINT_DEG = 90.0


class Drill(NamedTuple):
    """One drill: its diameter, its point (flat = 180 degrees), and the depths that the shop drills with it:
    whole steps up to the deepest, of the full diameter; name: what is written on it."""

    diameter_mm: float
    point_deg: float
    step_mm: float
    deepest_mm: float
    name: str = ""

    @property
    def cone_mm(self) -> float:
        return cone_height_mm(self.diameter_mm, self.point_deg)


class Slug(NamedTuple):
    """A slug of heavy metal, of an ASTM B777 class; its bore is as deep as it is long."""

    diameter_mm: float
    length_mm: float
    density_class: int = 1

    @property
    def density_g_mm3(self) -> float:
        return HEAVY_METAL_G_CM3[self.density_class] / 1000

    @property
    def mass_g(self) -> float:
        return self.density_g_mm3 * disc_mm2(self.diameter_mm) * self.length_mm


class Grinder(NamedTuple):
    """Grinding at the rim: over one arc, the whole thickness, in passes of one depth each."""

    pass_mm: float
    deepest_mm: float
    arc_deg: float = 20.0


class Tools(NamedTuple):
    """What the shop takes metal off with, and the slugs that it has; without a grinder nothing is ground."""

    drills: tuple[Drill, ...]
    slugs: tuple[Slug, ...] = ()
    grinder: Grinder | None = None


class Hole(NamedTuple):
    """One operation on the crank, planned or done.

    member: the counterweight or external plane; angle_deg: of its middle; radius_mm: the rim of a radial hole or
    a ground arc, the bore's axis otherwise; z_mm: where its unbalance acts; diameter_mm: of the drill or slug, 0
    where ground; depth_mm: of the full diameter, or of the grinding; removes_gmm, mass_g: what it takes away,
    below zero where a slug brings more than its bore took; arc_deg: what is ground."""

    member: str
    kind: HoleKind
    angle_deg: float
    radius_mm: float
    z_mm: float
    diameter_mm: float
    depth_mm: float
    removes_gmm: float
    mass_g: float
    point_deg: float = FLAT_DEG
    arc_deg: float = 0.0

    @property
    def change_gmm(self) -> complex:
        """What it does to the unbalance of the crank: less at its own angle. [g·mm]"""
        return -cmath.rect(self.removes_gmm, math.radians(self.angle_deg))

    @property
    def tip_mm(self) -> float:
        """Depth to the tip of the drill, which a quill shows when it is set to zero with the point touching. A
        ground arc has no point: its own depth."""
        if self.kind == "grind":
            return self.depth_mm
        return self.depth_mm + cone_height_mm(self.diameter_mm, self.point_deg)


class Removed(NamedTuple):
    """Metal taken: its mass and its first moment about the crank's axis, along the hole's own angle."""

    mass_g: float
    unbalance_gmm: float


def disc_mm2(diameter_mm: float) -> float:
    """Area of a disc. [mm²] Raises ValueError for a diameter that is not positive and finite."""
    require("positive", diameter_mm=diameter_mm)
    return math.pi * diameter_mm**2 / 4


def cone_height_mm(diameter_mm: float, point_deg: float) -> float:
    """How far a drill's point goes beyond its full diameter. Source: D / (2·tan(point/2)), machinist handbooks
    (from memory): 0.3004·D for 118 degrees. Raises ValueError for a diameter that is not positive and finite, and
    for a point that is not above 0 and at most 180 degrees."""
    require("positive", diameter_mm=diameter_mm)
    if not 0 < point_deg <= FLAT_DEG:
        raise ValueError(f"point_deg: {point_deg} is not above 0 and at most 180 degrees")
    return diameter_mm / (2 * math.tan(math.radians(point_deg / 2)))


@lru_cache(maxsize=10_000)  # a plan asks for the same depths on every counterweight
def radial_hole(
    density_g_mm3: float, rim_mm: float, diameter_mm: float, depth_mm: float, point_deg: float = COMMON_POINT_DEG
) -> Removed:
    """What a hole drilled from the rim towards the crank's axis takes away.

    rim_mm: radius of the rim; depth_mm: of the full diameter, on the drill's axis, from the rim.
    The rim falls away from its tangent by x²/2R, so the hole is shallower beside its axis. The first moment is
    exact: A·(R·h − h²/2) less A·D²/32 for the rim, plus the cone's third at R − h − c/4. The mass is a series
    in D/2R to the sixth power: below a millionth of the hole at D ≤ R/2.
    Exact from a depth of D²/8R on, where all of the shoulder is below the rim; a shallower hole is told short by
    less than that depth over its edge. Raises ValueError for figures that are not positive and finite."""
    require("positive", density_g_mm3=density_g_mm3, rim_mm=rim_mm, depth_mm=depth_mm)
    area, cone = disc_mm2(diameter_mm), cone_height_mm(diameter_mm, point_deg)
    q = (diameter_mm / 2 / rim_mm) ** 2
    rim_mean_mm = rim_mm * (1 - q / 8 - q**2 / 64 - 5 * q**3 / 1024)  # mean of √(R² − x²) over the disc
    cylinder_mm3 = area * (rim_mean_mm - rim_mm + depth_mm)
    cylinder_mm4 = area * (rim_mm * depth_mm - depth_mm**2 / 2 - diameter_mm**2 / 32)
    cone_mm3 = area * cone / 3
    cone_mm4 = cone_mm3 * (rim_mm - depth_mm - cone / 4)
    return Removed(density_g_mm3 * (cylinder_mm3 + cone_mm3), density_g_mm3 * (cylinder_mm4 + cone_mm4))


def axial_hole(
    density_g_mm3: float,
    radius_mm: float,
    diameter_mm: float,
    depth_mm: float,
    point_deg: float = FLAT_DEG,
    thickness_mm: float = math.inf,
) -> Removed:
    """What a hole parallel to the crank takes away, its axis at a radius; a hole right through has no point, and
    a point that leaves the back face takes nothing there. thickness_mm: of the metal, no less than the depth.
    Exact: every slice is a disc about the drill's axis. Raises ValueError for figures that are not positive and
    finite (the thickness may be without end)."""
    require("positive", density_g_mm3=density_g_mm3, radius_mm=radius_mm)
    cone_mm, beyond_mm, _ = _point(diameter_mm, depth_mm, point_deg, thickness_mm)
    mass_g = density_g_mm3 * disc_mm2(diameter_mm) * (depth_mm + cone_mm / 3 - beyond_mm)
    return Removed(mass_g, mass_g * radius_mm)


def axial_centroid_mm(
    diameter_mm: float, depth_mm: float, point_deg: float = FLAT_DEG, thickness_mm: float = math.inf
) -> float:
    """How deep below its face the unbalance of an axial hole acts: the centroid of its cylinder and cone, as far
    as there is metal."""
    cone_mm, beyond_mm, beyond_at_mm = _point(diameter_mm, depth_mm, point_deg, thickness_mm)
    moment_mm2 = depth_mm**2 / 2 + cone_mm / 3 * (depth_mm + cone_mm / 4) - beyond_mm * beyond_at_mm
    return moment_mm2 / (depth_mm + cone_mm / 3 - beyond_mm)


def _point(
    diameter_mm: float, depth_mm: float, point_deg: float, thickness_mm: float
) -> tuple[float, float, float]:
    """Height of a drill's point; what of it is beyond the back face, as depth of full diameter, and how deep below
    the front face that lies: a like cone, so its volume goes with the cube of its height."""
    require("positive", depth_mm=depth_mm)
    if not thickness_mm > 0:
        raise ValueError(f"thickness_mm: {thickness_mm} is not a positive number")
    cone_mm = cone_height_mm(diameter_mm, point_deg)
    tip_mm = depth_mm + cone_mm - thickness_mm
    if tip_mm <= 0:
        return cone_mm, 0.0, 0.0
    return cone_mm, tip_mm**3 / cone_mm**2 / 3, thickness_mm + tip_mm / 4


def slug_gain(density_g_mm3: float, radius_mm: float, slug: Slug) -> Removed:
    """What a slug in an axial bore takes away, which is less than nothing: (ρ_crank − ρ_slug)·A·l·r.

    Raises ValueError for figures that are not positive and finite."""
    require("positive", density_g_mm3=density_g_mm3, radius_mm=radius_mm, length_mm=slug.length_mm)
    mass_g = (density_g_mm3 - slug.density_g_mm3) * disc_mm2(slug.diameter_mm) * slug.length_mm
    return Removed(mass_g, mass_g * radius_mm)


def weighed_slug(
    density_g_mm3: float, radius_mm: float, diameter_mm: float, length_mm: float, mass_g: float
) -> Removed:
    """What a slug takes away whose mass is what the scale says: ρ_crank·A·l − m, at the bore's radius; less than
    nothing where it brings more than its bore took. Raises ValueError for figures that are not positive and
    finite."""
    require("positive", density_g_mm3=density_g_mm3, radius_mm=radius_mm, length_mm=length_mm, mass_g=mass_g)
    taken_g = density_g_mm3 * disc_mm2(diameter_mm) * length_mm - mass_g
    return Removed(taken_g, taken_g * radius_mm)


def moved_mass(mass_g: float, radius_mm: float) -> Removed:
    """What grams that came off at a radius take away; below zero for grams that went on. m·r, by definition: ISO
    21940-2, unbalance. Raises ValueError for figures that are not finite, and a radius that is not positive."""
    require("positive", radius_mm=radius_mm, mass_g=abs(mass_g))
    return Removed(mass_g, mass_g * radius_mm)


def ball_mm(mass_g: float, density_g_mm3: float) -> float:
    """The diameter of a ball of a mass: (6·m/(π·ρ))^(1/3). [mm] Raises ValueError for figures that are not
    positive and finite."""
    require("positive", mass_g=mass_g, density_g_mm3=density_g_mm3)
    return float((6 * mass_g / (math.pi * density_g_mm3)) ** (1 / 3))


def ground_arc(
    density_g_mm3: float, rim_mm: float, thickness_mm: float, arc_deg: float, depth_mm: float
) -> Removed:
    """What grinding the rim over an arc to a depth takes away; exact, the moment along the arc's middle:
    ∫ρ² dρ · 2·sin(arc/2) · t from R − d to R. Raises ValueError for figures that are not positive and finite, and
    for what is beyond a whole turn or below the crank's axis."""
    require("positive", density_g_mm3=density_g_mm3, thickness_mm=thickness_mm, arc_deg=arc_deg, depth_mm=depth_mm)
    if arc_deg > 360 or not depth_mm <= rim_mm < math.inf:
        raise ValueError(f"{arc_deg} degrees, {depth_mm} mm deep, cannot be ground off a rim of {rim_mm} mm")
    arc, floor_mm = math.radians(arc_deg), rim_mm - depth_mm
    volume_mm3 = arc * (rim_mm**2 - floor_mm**2) / 2 * thickness_mm
    moment_mm4 = (rim_mm**3 - floor_mm**3) / 3 * 2 * math.sin(arc / 2) * thickness_mm
    return Removed(density_g_mm3 * volume_mm3, density_g_mm3 * moment_mm4)
