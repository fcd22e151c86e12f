"""Turning counterweights to a smaller radius, for a longer stroke or to clear: what the lathe takes off each.

The lathe takes the shell between the new radius and the rim, over the counterweight's whole arc and thickness.
What a hole, or a grinder, took out of that shell before is not there to be taken again. A slug below the new rim
stays; one whose wall to it would be too thin leaves at speed, so its counterweight is not turned that far.
"""

from __future__ import annotations

import cmath
import math
from typing import NamedTuple

from truethrow.balance.base.amounts import METRIC, ToldIn
from truethrow.balance.base.errors import BadInput, Fault
from truethrow.balance.base.formulas import require
from truethrow.balance.crank.crank import Crank, Member
from truethrow.balance.crank.holes import (
    Hole,
    Removed,
    axial_centroid_mm,
    cone_height_mm,
    disc_mm2,
    ground_arc,
    radial_hole,
)

# Nodes of Gauss-Legendre where a hole's floor and the new rim cross: the error is below a millionth of the shell.
NODES = 96
# Records keep a hole to the micrometre.
SAME_MM = 1e-3


class Gone(NamedTuple):
    """Metal that is not there any more: its mass, its first moment about the crank's axis along its own angle,
    and where along the crank that acts."""

    mass_g: float
    unbalance_gmm: float
    z_mm: float


class Turned(NamedTuple):
    """One counterweight turned to a radius: what came off in the whole; acts: how that changes the unbalance, and
    where along the crank; opened: holes along the crank whose wall to the new rim is thinner than the crank's
    least, or that the lathe opens."""

    member: Member
    to_mm: float
    mass_g: float
    acts: tuple[tuple[complex, float], ...]
    opened: tuple[Hole, ...] = ()

    @property
    def change_gmm(self) -> complex:
        return sum((change for change, _ in self.acts), 0j)

    @property
    def after(self) -> Member:
        """The counterweight as it is then, with what is left of its holes."""
        left = (_left(self.member, hole, self.to_mm) for hole in self.member.holes)
        return self.member._replace(outer_mm=self.to_mm, holes=tuple(hole for hole in left if hole is not None))


def shell(density_g_mm3: float, outer_mm: float, to_mm: float, thickness_mm: float, arc_deg: float) -> Removed:
    """What turning a sector of a ring from outer_mm to to_mm takes, its moment along the arc's middle. [g, g·mm]

    (2/3)·ρ·t·(R2³ − R1³)·sin φ with φ half of the arc: the sector's area times its centroid, 2(R2³ − R1³)·sin φ /
    3(R2² − R1²)φ. Source: centroid of an annular sector, handbook tables of plane areas (from memory).
    Raises ValueError for figures that are not positive and finite, and a radius that is not smaller."""
    require("positive", to_mm=to_mm, outer_mm=outer_mm)
    if not to_mm < outer_mm:
        raise ValueError(f"to_mm: {to_mm} is not below {outer_mm}")
    return ground_arc(density_g_mm3, outer_mm, thickness_mm, arc_deg, outer_mm - to_mm)


def turn(crank: Crank, to_mm: float, names: tuple[str, ...] = (), told_in: ToldIn = METRIC) -> tuple[Turned, ...]:
    """Counterweights turned to a radius: those named, else all that reach beyond it. told_in: the units of
    a fault.

    Raises BadInput for a name that is no counterweight, for a radius at or below one's inner radius or beyond
    what every one has, and for each slug that would be left with less wall than the crank's least."""
    weights = [member for member in crank.members if not member.external]
    faults = [
        Fault(
            "counterweight", f"{name} is none of the job's", ", ".join(m.name for m in weights) or "none declared"
        )
        for name in names
        if name not in {member.name for member in weights}
    ]
    chosen = [m for m in weights if (m.name in names if names else m.outer_mm > to_mm)]
    if not faults and not chosen:
        largest = max((m.outer_mm for m in weights), default=0.0)
        allowed = (
            f"below {told_in.size(largest)}, the largest that there is" if weights else "a job with counterweights"
        )
        faults.append(Fault("radius", f"{told_in.size(to_mm)} takes nothing off any counterweight", allowed))
    for member in chosen:
        faults += _out_of_reach(member, to_mm, crank.wall_mm, told_in)
    if faults:
        raise BadInput(faults)
    return tuple(_turned(member, to_mm, crank.wall_mm) for member in chosen)


def after(crank: Crank, turned: tuple[Turned, ...]) -> Crank:
    """The crank with these counterweights as the lathe leaves them."""
    new = {one.member.name: one.after for one in turned}
    return crank._replace(members=tuple(new.get(member.name, member) for member in crank.members))


def _out_of_reach(member: Member, to_mm: float, wall_mm: float, told_in: ToldIn) -> list[Fault]:
    where = f"counterweight {member.name}"
    if not member.inner_mm < to_mm < member.outer_mm:
        inner, rim = told_in.size(member.inner_mm), told_in.size(member.outer_mm)
        allowed = f"between its inner radius, {inner}, and its rim, {rim}"
        return [Fault(f"{where}, radius", str(told_in.size(to_mm)), allowed)]
    return [
        Fault(
            f"{where}, slug at {hole.angle_deg:g} degrees",
            f"{told_in.measured(_wall_mm(hole, to_mm))} of wall outside it at {told_in.size(to_mm)}: "
            "it would leave at speed",
            f"at least {told_in.size(wall_mm)}, so a radius of at least "
            f"{told_in.measured(_least_mm(hole, wall_mm))}",
        )
        for hole in member.holes
        if hole.kind == "slug" and _wall_mm(hole, to_mm) < wall_mm - 1e-9
    ]


def _wall_mm(hole: Hole, rim_mm: float) -> float:
    return rim_mm - hole.radius_mm - hole.diameter_mm / 2


def _least_mm(hole: Hole, wall_mm: float) -> float:
    return hole.radius_mm + hole.diameter_mm / 2 + wall_mm


def _turned(member: Member, to_mm: float, wall_mm: float) -> Turned:
    arc = member.arcs[0]
    whole = shell(member.density_g_mm3, member.outer_mm, to_mm, member.thickness_mm, arc.span_deg)
    mass_g = whole.mass_g
    middle = math.radians(arc.middle_deg)
    acts = [(-cmath.rect(whole.unbalance_gmm, middle), member.z_mm)]
    for hole in member.holes:
        gone = in_shell(member, hole, to_mm)
        if gone.mass_g:
            mass_g -= gone.mass_g
            acts.append((cmath.rect(gone.unbalance_gmm, math.radians(hole.angle_deg)), gone.z_mm))
    opened = tuple(h for h in member.holes if h.kind == "axial" and _wall_mm(h, to_mm) < wall_mm - 1e-9)
    return Turned(member, to_mm, mass_g, tuple(acts), opened)


def in_shell(member: Member, hole: Hole, to_mm: float) -> Gone:
    """What a hole had taken of the metal between a radius and the rim as it is: one that was drilled before an
    earlier turning begins beyond that.

    Grams that came off, or went on, in no measured shape count where their radius is. Raises ValueError for
    figures of the hole that are not positive and finite."""
    gone = _past(member, hole, to_mm)
    reaches_mm = hole.radius_mm + (hole.diameter_mm / 2 if hole.kind == "axial" else 0.0)
    if not gone.mass_g or reaches_mm <= member.outer_mm + SAME_MM:
        return gone
    before = _past(member, hole, member.outer_mm)
    unbalance_gmm = gone.unbalance_gmm - before.unbalance_gmm
    if not unbalance_gmm:
        return Gone(0.0, 0.0, hole.z_mm)
    moment = gone.unbalance_gmm * gone.z_mm - before.unbalance_gmm * before.z_mm
    return Gone(gone.mass_g - before.mass_g, unbalance_gmm, moment / unbalance_gmm)


def _past(member: Member, hole: Hole, to_mm: float) -> Gone:
    """What a hole had taken of the metal beyond a radius."""
    if hole.kind == "slug":  # all of it is below the new rim
        return Gone(0.0, 0.0, hole.z_mm)
    if hole.kind in ("took", "added"):
        beyond = hole.radius_mm > to_mm
        return Gone(hole.mass_g if beyond else 0.0, hole.removes_gmm if beyond else 0.0, hole.z_mm)
    if hole.kind == "axial":
        return _axial(member, hole, to_mm)
    density = member.density_g_mm3
    if hole.kind == "grind":
        depth_mm = min(hole.depth_mm, hole.radius_mm - to_mm)
        removed = ground_arc(density, hole.radius_mm, member.thickness_mm, hole.arc_deg, depth_mm)
    else:
        removed = _radial(density, hole, to_mm)
    return Gone(*removed, hole.z_mm)


def _radial(density: float, hole: Hole, to_mm: float) -> Removed:
    """The part of a radial hole beyond a radius. Where all of its shoulder lies below, what is left of it is a
    radial hole from the new rim; else its floor and the new rim cross, and it is summed up."""
    below_mm = hole.depth_mm - (hole.radius_mm - to_mm)
    if below_mm >= hole.diameter_mm**2 / 8 / to_mm:
        left = radial_hole(density, to_mm, hole.diameter_mm, below_mm, hole.point_deg)
        return Removed(hole.mass_g - left.mass_g, hole.removes_gmm - left.unbalance_gmm)
    import numpy as np  # noqa: PLC0415 (few turn a crank that is drilled so)

    x, w = np.polynomial.legendre.leggauss(NODES)
    half = hole.diameter_mm / 2
    rho, weight = half * (x + 1) / 2, half * w / 2
    theta = np.arange(NODES) * (2 * math.pi / NODES)
    across = rho[:, None] * np.cos(theta)
    cone_mm = cone_height_mm(hole.diameter_mm, hole.point_deg)
    floor = (hole.radius_mm - hole.depth_mm - cone_mm * (1 - rho / half))[:, None]
    top = np.sqrt(hole.radius_mm**2 - across**2)
    bottom = np.minimum(np.maximum(floor, np.sqrt(to_mm**2 - across**2)), top)
    area = (weight * rho)[:, None] * (2 * math.pi / NODES)
    volume_mm3 = float((area * (top - bottom)).sum())
    moment_mm4 = float((area * (top**2 - bottom**2) / 2).sum())
    return Removed(density * volume_mm3, density * moment_mm4)


def _axial(member: Member, hole: Hole, to_mm: float) -> Gone:
    """The part of a hole along the crank beyond a radius: of each slice, the disc less what lies within."""
    area, moment = _beyond(hole.radius_mm, hole.diameter_mm / 2, to_mm)
    if not area:
        return Gone(0.0, 0.0, hole.z_mm)
    slices = [(hole.depth_mm, hole.depth_mm / 2, area, moment)]  # thick, its middle down, area, moment
    cone_mm = cone_height_mm(hole.diameter_mm, hole.point_deg)
    cone_there_mm = min(cone_mm, member.thickness_mm - hole.depth_mm)
    if cone_there_mm > 0:
        import numpy as np  # noqa: PLC0415

        for x, w in zip(*np.polynomial.legendre.leggauss(NODES), strict=True):
            down_mm = cone_there_mm * (float(x) + 1) / 2
            area, moment = _beyond(hole.radius_mm, hole.diameter_mm / 2 * (1 - down_mm / cone_mm), to_mm)
            slices.append((float(w) * cone_there_mm / 2, hole.depth_mm + down_mm, area, moment))
    mass_g = member.density_g_mm3 * sum(thick * area for thick, _, area, _ in slices)
    unbalance_gmm = member.density_g_mm3 * sum(thick * moment for thick, _, _, moment in slices)
    down_mm = sum(thick * down * moment for thick, down, _, moment in slices) / (
        unbalance_gmm / member.density_g_mm3
    )
    drill = hole.diameter_mm, hole.depth_mm, hole.point_deg, member.thickness_mm
    deeper_mm = down_mm - axial_centroid_mm(*drill)  # than the whole hole acts
    return Gone(mass_g, unbalance_gmm, hole.z_mm + (deeper_mm if member.bore == "front" else -deeper_mm))


def _beyond(at_mm: float, half_mm: float, rim_mm: float) -> tuple[float, float]:
    """Area and first moment, along the line to its middle, of the part of a disc beyond a circle about the crank's
    axis. [mm², mm³] Source: chords of two circles, integrated; with u from the middle of each,
    ∫2√(a² − u²)du = u√(a² − u²) + a²·asin(u/a), ∫2u√(a² − u²)du = −(2/3)(a² − u²)^(3/2)."""
    if at_mm + half_mm <= rim_mm:
        return 0.0, 0.0
    area = disc_mm2(2 * half_mm)
    if at_mm - half_mm >= rim_mm:
        return area, area * at_mm
    meet_mm = (at_mm**2 + rim_mm**2 - half_mm**2) / (2 * at_mm)
    # Within: the disc up to where the circles meet, then the rim's circle.
    disc = _half_areas(half_mm, -half_mm, meet_mm - at_mm)
    rim = _half_areas(rim_mm, meet_mm, rim_mm)
    within, moment = disc[0] + rim[0], disc[1] + at_mm * disc[0] + rim[1]
    return area - within, area * at_mm - moment


def _half_areas(radius_mm: float, low_mm: float, high_mm: float) -> tuple[float, float]:
    """Area and first moment about its middle of a circle between two chords."""

    def area(u: float) -> float:
        u = min(max(u, -radius_mm), radius_mm)
        return u * math.sqrt(radius_mm**2 - u**2) + radius_mm**2 * math.asin(u / radius_mm)

    def moment(u: float) -> float:
        return -2 / 3 * math.sqrt(max(radius_mm**2 - u**2, 0.0)) ** 3

    return area(high_mm) - area(low_mm), moment(high_mm) - moment(low_mm)


def _left(member: Member, hole: Hole, to_mm: float) -> Hole | None:
    """What is left of a hole below the new rim, for what else is to keep clear of it; nothing where the lathe took
    all of it."""
    if hole.kind not in ("radial", "grind"):
        return None if hole.kind in ("took", "added") and hole.radius_mm > to_mm else hole
    depth_mm = hole.depth_mm - (hole.radius_mm - to_mm)
    if depth_mm <= 0:  # of a radial hole, the tip of its point at the most
        return None
    gone = _past(member, hole, to_mm)
    return hole._replace(
        radius_mm=to_mm,
        depth_mm=depth_mm,
        mass_g=hole.mass_g - gone.mass_g,
        removes_gmm=hole.removes_gmm - gone.unbalance_gmm,
    )
