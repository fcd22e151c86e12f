"""The engine running: what a job's weighed parts shake at a speed, and how sure that is."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from truethrow.balance import shaking, share
from truethrow.balance.inertia import AtSpeed, at_speed
from truethrow.balance.job import Job
from truethrow.balance.readings import combine
from truethrow.balance.shaking import Assembly, Curve, Peak, Phasors
from truethrow.balance.work import Result

SHOWN_ORDERS = (1, 2, 4)


class Mount(NamedTuple):
    """The largest force on one of the two planes that carry the engine."""

    plane: str
    z_mm: float
    peak: Peak


class Shake(NamedTuple):
    """One turn at a speed. force, couple: the largest of each with its expanded uncertainty (k = 2);
    vertical_n, horizontal_n: the largest of the force each way; orders: 1, 2 and 4; mounts: the largest force
    on each of two planes; pulls: what the masses pull."""

    speed_rpm: float
    curve: Curve
    force: Peak
    force_expanded_n: float
    couple: Peak
    couple_expanded_nm: float
    vertical_n: float
    horizontal_n: float
    orders: tuple[Phasors, ...]
    mounts: tuple[Mount, Mount]
    pulls: AtSpeed


def assembly_of(result: Result) -> Assembly:
    """A job's assembly as weighed: what turns on each throw less what the counterweights balance, which is what
    was hung there."""
    job, weights = result.job, result.bobweights
    by_cylinder = {c.cylinder: c for c in weights.cylinders}
    turning = [
        sum(by_cylinder[number].rotating.value_g for number in throw.cylinders) + throw.oil_g - throw.hung_g
        for throw in weights.throws
    ]
    return shaking.assembly(
        job.layout,
        [by_cylinder[number].reciprocating.value_g for number in job.layout.cylinders],
        job.engine.throw_radius_mm,
        job.engine.rod_length_mm,
        job.engine.desaxe_mm,
        turning,
    )


def shake(result: Result, speed_rpm: float, about_mm: float | None = None, steps: int = shaking.STEPS) -> Shake:
    """Shaking of a job's engine over one turn; couples about a z, the crank's middle without one."""
    job = result.job
    about = shaking.middle_mm(job.layout) if about_mm is None else about_mm
    parts = assembly_of(result)
    found = shaking.curve(parts, speed_rpm, about, steps)
    force = shaking.peak(found.crank_rad, found.force_n)
    couple = shaking.peak(found.crank_rad, found.couple_nm)
    by_order = {phasors.order: phasors for phasors in shaking.orders(found, max(SHOWN_ORDERS))}
    return Shake(
        speed_rpm=speed_rpm,
        curve=found,
        force=force,
        force_expanded_n=_expanded(result, parts, speed_rpm, force, None),
        couple=couple,
        couple_expanded_nm=_expanded(result, parts, speed_rpm, couple, about),
        vertical_n=float(np.abs(found.force_n.real).max()),
        horizontal_n=float(np.abs(found.force_n.imag).max()),
        orders=tuple(by_order[order] for order in SHOWN_ORDERS),
        mounts=_mounts(job, found),
        pulls=at_speed(result, speed_rpm),
    )


def job_shares(result: Result, speed_rpm: float) -> share.Shares:
    """The right share for a job's layout and lengths, with the mean of its reciprocating masses on every
    cylinder: the share belongs to the layout, not to the scatter of one set."""
    job = result.job
    masses = [c.reciprocating.value_g for c in result.bobweights.cylinders]
    mean = sum(masses) / len(masses)
    parts = shaking.assembly(
        job.layout,
        [mean] * len(masses),
        job.engine.throw_radius_mm,
        job.engine.rod_length_mm,
        job.engine.desaxe_mm,
    )
    return share.shares(job.layout, parts, speed_rpm)


def _mounts(job: Job, found: Curve) -> tuple[Mount, Mount]:
    front_mm, rear_mm = job.engine.mounts_mm
    about_front = found.couple_nm + found.force_n * (found.about_mm - front_mm) / 1000
    rear = about_front / ((rear_mm - front_mm) / 1000)
    front = found.force_n - rear
    return (
        Mount("front", front_mm, shaking.peak(found.crank_rad, front)),
        Mount("rear", rear_mm, shaking.peak(found.crank_rad, rear)),
    )


def _expanded(result: Result, parts: Assembly, speed_rpm: float, peak: Peak, about_mm: float | None) -> float:
    """Expanded uncertainty of a peak, first order: what each cylinder's masses give along its direction there.

    What was hung is what it is; the peak's place on the turn moves only in the second order."""
    crank = np.array([np.radians(peak.crank_deg)])
    along = np.exp(-1j * np.radians(peak.direction_deg))
    pull = parts.radius_mm * shaking.omega(speed_rpm) ** 2 * shaking.N_PER_GMM
    arms = np.ones(len(parts.z_mm)) if about_mm is None else (parts.z_mm - about_mm) / 1000
    slides = (shaking.reciprocating_vectors(parts, crank)[:, 0] * along).real * pull * arms
    turns = (np.exp(1j * (parts.crank_rad + crank[0])) * along).real * pull * arms
    by_cylinder = {c.cylinder: c for c in result.bobweights.cylinders}
    terms = []
    for number, slide, turn in zip(result.job.layout.cylinders, slides, turns, strict=True):
        mass = by_cylinder[number]
        terms += [(float(slide), mass.reciprocating), (float(turn), mass.rotating)]
    return result.certainty.expanded_g(combine(terms))
