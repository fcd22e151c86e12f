"""Unbalance as a vector, its split to two planes, and the tolerance.

A vector in the plane of rotation is a complex number, amount and angle; angle 0 is throw 1 at the top.
"""

from __future__ import annotations

import cmath
import itertools
import math
from collections.abc import Sequence
from typing import NamedTuple

from truethrow.balance.base.formulas import omega, require
from truethrow.balance.base.readings import Certainty, Mass, Verdict, combine, digits_for, tidy, verdict
from truethrow.balance.base.told import rounded, table
from truethrow.balance.engine.lengths import NotDeclared
from truethrow.balance.job.job import Job
from truethrow.balance.result.bobweight import Bobweights

Pair = tuple[float, float]


class PlaneUnbalance(NamedTuple):
    """Unbalance in one plane: the vector, the expanded uncertainty of its amount, and, where the job
    names a balance quality grade, the tolerance and the verdict."""

    plane: str
    z_mm: float
    vector_gmm: complex
    expanded_gmm: float
    permissible_gmm: float | None = None
    verdict: Verdict | None = None

    @property
    def amount_gmm(self) -> float:
        return abs(self.vector_gmm)

    def __repr__(self) -> str:
        sure = rounded(self.expanded_gmm, digits_for(self.expanded_gmm))
        amount = f"{rounded(self.amount_gmm, digits_for(self.expanded_gmm))} ± {sure} g·mm"
        judged = ""
        if self.permissible_gmm is not None:
            # Never more than it is: whoever works to the figure is inside.
            judged = f", allowed {math.floor(self.permissible_gmm * 1000) / 1000} g·mm: {self.verdict}"
        return f"PlaneUnbalance {self.plane}: {amount} at {round(self.angle_deg) % 360}°{judged}"

    @property
    def angle_deg(self) -> float:
        return math.degrees(cmath.phase(self.vector_gmm)) % 360


class Cost(NamedTuple):
    """What hanging these masses leaves: the static unbalance, and the same split to the two planes. rods: of the
    front plane's what rods side by side make, and its reverse of the rear plane's, which no bobweight can match;
    None where every rod lies in the middle of its throw."""

    static: PlaneUnbalance
    front: PlaneUnbalance
    rear: PlaneUnbalance
    rods: PlaneUnbalance | None = None

    def __repr__(self) -> str:
        told = ((one.plane, rounded(one.amount_gmm, digits_for(one.expanded_gmm))) for one in self.planes)
        return f"Cost: {', '.join(f'{plane} {amount}' for plane, amount in told)} g·mm"

    def _repr_html_(self) -> str:
        rows = [
            [
                one.plane,
                rounded(one.amount_gmm, digits_for(one.expanded_gmm)),
                rounded(one.expanded_gmm, digits_for(one.expanded_gmm)),
                f"{round(one.angle_deg) % 360}°",
                one.verdict,
            ]
            for one in (*self.planes, *([self.rods] if self.rods else []))
        ]
        return table("What hanging leaves [g·mm]", ["plane", "unbalance", "±", "at", "verdict"], rows)

    @property
    def planes(self) -> tuple[PlaneUnbalance, PlaneUnbalance, PlaneUnbalance]:
        return self.static, self.front, self.rear


def plane_share(z_mm: float, front_mm: float, rear_mm: float) -> tuple[float, float]:
    """Shares of an unbalance at z that act in the front and the rear plane. Source: statics, moments about
    the other plane; ISO 21940-11:2016 calls it the dynamic unbalance. Raises ValueError for one plane and for a
    place that is not finite."""
    require("finite", z_mm=z_mm, front_mm=front_mm, rear_mm=rear_mm)
    if front_mm == rear_mm:
        raise ValueError(f"the planes are both at {front_mm} mm")
    front = (rear_mm - z_mm) / (rear_mm - front_mm)
    return front, 1 - front


def permissible_unbalance_gmm(mass_kg: float, grade_mm_s: float, speed_rpm: float) -> float:
    """Permissible residual unbalance of a rigid rotor. [g·mm]

    mass_kg: rotor mass [kg]; grade_mm_s: balance quality grade G [mm/s]; speed_rpm: service speed [r/min].
    Raises ValueError for values that are not positive and finite.
    Source: ISO 21940-11:2016, U_per = 1000·m·G/Ω with Ω = 2π·n/60 [rad/s]."""
    require("positive", mass_kg=mass_kg, grade_mm_s=grade_mm_s)
    return 1000 * mass_kg * grade_mm_s / omega(speed_rpm)


def split_permissible(
    permissible_gmm: float, centre_mm: float, front_mm: float, rear_mm: float
) -> tuple[float, float]:
    """The permissible unbalance of the front and the rear plane, by the place of the centre of mass between.

    Source: ISO 21940-11:2016, 6.2.2 (from memory): in proportion to the distance of the centre of mass from
    the other plane, and no plane more than 0.7 or less than 0.3 of the whole. That is for a centre of mass between
    the planes alone; the standard has rules of its own for one that is overhung.
    Raises ValueError for one plane, a place that is not finite, a centre of mass that is not between the planes,
    and an amount that is not positive and finite."""
    require("positive", permissible_gmm=permissible_gmm)
    own = plane_share(centre_mm, front_mm, rear_mm)[0]
    if not 0 < own < 1:
        raise ValueError(f"centre_mm: {centre_mm} is not between {front_mm} and {rear_mm}")
    front = min(max(own, 0.3), 0.7)
    return permissible_gmm * front, permissible_gmm * (1 - front)


def allocated(permissible_gmm: float, centre_mm: float, planes_mm: Pair, bearings_mm: Pair) -> Pair:
    """What the front and the rear plane may keep so that no bearing feels more than it may, at whatever angles.

    permissible_gmm: of the whole crank; centre_mm: z of its centre of mass, between the bearings; planes_mm,
    bearings_mm: front and rear. With t_ij the part of an unbalance in plane j that bearing i feels (below zero
    beyond the other bearing), bearing i feels Σ |t_ij|·u_j at the worst angles. The planes get as much as the
    first bearing lets them, as the centre of mass lies between them, neither below 0.3 of it; planes at the
    bearings get just what is theirs.
    Source: ISO 21940-11:2016, 6.2 (from memory: split_permissible) for the bearings, statics for the planes.
    Raises ValueError as split_permissible does, and for one plane."""
    may_gmm = split_permissible(permissible_gmm, centre_mm, *bearings_mm)
    front = min(max(plane_share(centre_mm, *planes_mm)[0], 0.3), 0.7)
    parts = front, 1 - front
    felt = [plane_share(z_mm, *bearings_mm) for z_mm in planes_mm]
    most_gmm = min(
        may / sum(abs(own[bearing]) * part for own, part in zip(felt, parts, strict=True))
        for bearing, may in enumerate(may_gmm)
    )
    return most_gmm * parts[0], most_gmm * parts[1]


def outer_mains_mm(throws_mm: Sequence[float], throw_radius_mm: float) -> Pair:
    """About where the outer mains lie of a crank whose job does not say: half a throw's pitch beyond the outer
    throws; of one throw its own radius. Common practice, no source."""
    apart = [after - before for before, after in itertools.pairwise(sorted(throws_mm)) if after > before]
    half_mm = min(apart, default=2 * throw_radius_mm) / 2
    return min(throws_mm) - half_mm, max(throws_mm) + half_mm


def cost(job: Job, weights: Bobweights, sure: Certainty) -> Cost | None:
    """The unbalance left because each throw carries its own parts and not exactly what was hung on it:
    Σ deviation · r · e^{iα}, static and in the station's two planes; with it what rods side by side make, which
    are not where the bobweight hung. None where a length that it rests on is not
    declared."""
    if job.engine.not_placed:
        return None
    off = deviations(weights)
    allowed = allowed_gmm(job)

    def plane(name: str, z_mm: float, permissible: float | None) -> PlaneUnbalance:
        vector, along = _sum_of_vectors(*acting(job, off, weights, name), sure)
        expanded, assumed = sure.expanded_g(along), bool(sure.assumed_for(along))
        judged = None if permissible is None else verdict(abs(vector), expanded, permissible, assumed=assumed)
        return PlaneUnbalance(name, z_mm, vector, expanded, permissible, judged)

    def rods(z_mm: float) -> PlaneUnbalance:
        vector, along = _sum_of_vectors(*beside(job, weights, "front"), sure)
        return PlaneUnbalance("rods", z_mm, vector, sure.expanded_g(along))

    station = job.station
    return Cost(
        static=plane("static", station.centre_of_mass_mm, None),
        front=plane("front", station.front_plane_mm, allowed[0]),
        rear=plane("rear", station.rear_plane_mm, allowed[1]),
        rods=None if job.engine.rods_apart_mm is None else rods(station.front_plane_mm),
    )


def throw_arms(job: Job, plane: str) -> list[complex]:
    """What one gram on each throw gives to a plane (static, front, rear), as a vector. [mm] Raises NotDeclared."""
    if job.engine.not_placed:
        raise NotDeclared(job.engine.not_placed, job.name)
    radius_mm, station = job.engine.throw_radius_mm, job.station
    arms = []
    for throw in job.layout.throws:
        front, rear = plane_share(throw.z_mm, station.front_plane_mm, station.rear_plane_mm)
        part = {"static": 1.0, "front": front, "rear": rear}[plane]
        arms.append(part * cmath.rect(radius_mm, math.radians(throw.angle_deg)))
    return arms


def rod_arms(job: Job, plane: str) -> list[complex]:
    """What one gram on each cylinder's rod gives to a plane (static, front, rear) beyond the same gram in the
    middle of its throw, as a vector. [mm] Raises NotDeclared. Source: statics, the moment of the way between."""
    if job.engine.not_placed:
        raise NotDeclared(job.engine.not_placed, job.name)
    radius_mm, station = job.engine.throw_radius_mm, job.station
    between_mm = station.rear_plane_mm - station.front_plane_mm
    part = {"static": 0.0, "front": -1 / between_mm, "rear": 1 / between_mm}[plane]
    angle_deg = {throw.name: throw.angle_deg for throw in job.layout.throws}
    return [
        part * place.behind_mm * cmath.rect(radius_mm, math.radians(angle_deg[place.throw]))
        for place in job.layout.places
    ]


def beside(job: Job, weights: Bobweights, plane: str) -> tuple[list[Mass], list[complex]]:
    """What rods side by side bring to a plane: what each cylinder gives to its throw, and its arm. Empty where
    every rod lies in the middle of its throw, and where no part was seen."""
    if job.engine.rods_apart_mm is None or not job.has_parts:
        return [], []
    given = {one.cylinder: one.contribution for one in weights.cylinders}
    return [given[number] for number in job.layout.cylinders], rod_arms(job, plane)


def acting(job: Job, off: Sequence[Mass], weights: Bobweights, plane: str) -> tuple[list[Mass], list[complex]]:
    """All that makes unbalance in a plane, each mass with its arm: what the throws are off by, in their middle,
    and what rods side by side bring. off: one a throw."""
    masses, arms = beside(job, weights, plane)
    return [*off, *masses], [*throw_arms(job, plane), *arms]


def allowed_gmm(job: Job) -> tuple[float | None, float | None]:
    """The tolerance of the front and the rear plane: the shop's limit, or by the grade; None without either. The
    grade's belongs to the bearings, as declared; else to the planes, or where one is beyond the outer mains to
    these."""
    station, speed_rpm = job.station, job.engine.top_speed_rpm
    if station.limit_gmm is not None:
        return station.limit_gmm, station.limit_gmm
    if station.grade_mm_s is None or station.crank_mass_g is None or speed_rpm is None:
        return None, None
    whole = permissible_unbalance_gmm(station.crank_mass_g / 1000, station.grade_mm_s, speed_rpm)
    planes_mm, bearings_mm = (station.front_plane_mm, station.rear_plane_mm), station.bearings_mm
    if bearings_mm is None and "cylinder_spacing" not in job.engine.not_placed:
        radius_mm = (job.engine.declared_stroke_mm or math.inf) / 2  # of one throw alone it counts
        mains_mm = outer_mains_mm([throw.z_mm for throw in job.layout.throws], radius_mm)
        # Between the mains the planes stand for the bearings; beyond them their lever is longer.
        if planes_mm[0] < mains_mm[0] or planes_mm[1] > mains_mm[1]:
            bearings_mm = mains_mm
    return allocated(whole, station.centre_of_mass_mm, planes_mm, bearings_mm or planes_mm)


def _sum_of_vectors(masses: Sequence[Mass], arms: Sequence[complex], sure: Certainty) -> tuple[complex, Mass]:
    """Σ mass · arm, and its amount as it hangs on the readings, first order (JCGM 100:2008, 5.2)."""
    vector = sum((mass.value_g * arm for mass, arm in zip(masses, arms, strict=True)), 0j)
    return complex(tidy(vector.real), tidy(vector.imag)), amount(masses, arms, sure)


def amount(masses: Sequence[Mass], arms: Sequence[complex], sure: Certainty) -> Mass:
    """The amount of Σ mass · arm with its sensitivities: along the vector's own direction, or, where it is
    too small to have one, along the axis that is less sure."""
    x = combine((arm.real, mass) for mass, arm in zip(masses, arms, strict=True))
    y = combine((arm.imag, mass) for mass, arm in zip(masses, arms, strict=True))
    length = math.hypot(x.value_g, y.value_g)
    less_sure = max((x, y), key=sure.expanded_g)
    if length <= sure.expanded_g(less_sure):
        return less_sure
    return combine([(x.value_g / length, x), (y.value_g / length, y)])


def deviations(weights: Bobweights) -> list[Mass]:
    """What each throw truly carries less what was hung on it."""
    return [throw.deviation for throw in weights.throws]
