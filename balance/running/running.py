"""The engine running: what a job's weighed parts shake at a speed, and how sure that is."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from truethrow.balance.base.arrays import Complexes, Floats
from truethrow.balance.base.digits import digits
from truethrow.balance.base.formulas import N_PER_GMM, omega
from truethrow.balance.base.readings import COVERAGE_FACTOR, boxes_g
from truethrow.balance.base.told import table
from truethrow.balance.engine import shaking, share
from truethrow.balance.engine.shaking import Assembly, Curve, Peak, Phasors
from truethrow.balance.job.job import Job
from truethrow.balance.result.work import Result
from truethrow.balance.running.inertia import AtSpeed, at_speed

SHOWN_ORDERS = (1, 2, 4)


class Mount(NamedTuple):
    """The largest force on one of the two planes that carry the engine, and its expanded uncertainty."""

    plane: str
    z_mm: float
    peak: Peak
    expanded_n: float


class Shake(NamedTuple):
    """One turn at a speed. force, couple: the largest of each with its expanded uncertainty;
    vertical_n, horizontal_n: the largest of the force each way, with theirs; orders: 1, 2 and 4;
    mounts: the largest force on each of two planes; pulls: what the masses pull."""

    speed_rpm: float
    curve: Curve
    force: Peak
    force_expanded_n: float
    couple: Peak
    couple_expanded_nm: float
    vertical_n: float
    vertical_expanded_n: float
    horizontal_n: float
    horizontal_expanded_n: float
    orders: tuple[Phasors, ...]
    mounts: tuple[Mount, Mount]
    pulls: AtSpeed

    def __repr__(self) -> str:
        force = f"force {digits(self.force.amount, 4)} ± {digits(self.force_expanded_n, 2)} N"
        couple = f"couple {digits(self.couple.amount, 4)} ± {digits(self.couple_expanded_nm, 2)} N·m"
        return f"Shake at {self.speed_rpm:g} r/min: {force}, {couple}"

    def _repr_html_(self) -> str:
        rows: list[tuple[str, float, float]] = [
            ("force [N]", self.force.amount, self.force_expanded_n),
            ("force up and down [N]", self.vertical_n, self.vertical_expanded_n),
            ("force across [N]", self.horizontal_n, self.horizontal_expanded_n),
            ("couple [N·m]", self.couple.amount, self.couple_expanded_nm),
            *((f"{one.plane} mount [N]", one.peak.amount, one.expanded_n) for one in self.mounts),
        ]
        return table(repr(self), ["", "at most", "±"], [[n, digits(a, 4), digits(e, 2)] for n, a, e in rows])


def assembly_of(result: Result) -> Assembly:
    """A job's assembly as weighed: what turns on each throw less what the counterweights balance, which is what
    was hung there, in the middle of the throw."""
    job, weights = result.job, result.bobweights
    job.engine.must_be_whole(job.name)
    by_cylinder = {c.cylinder: c for c in weights.cylinders}
    in_order = [by_cylinder[number] for number in job.layout.cylinders]
    return shaking.assembly(
        job.layout,
        [cylinder.reciprocating.value_g for cylinder in in_order],
        job.engine.throw_radius_mm,
        job.engine.rod_length_mm,
        job.engine.desaxe_mm,
        [throw.oil_g - throw.hung_g for throw in weights.throws],
        [cylinder.rotating.value_g for cylinder in in_order],
    )


def shake(result: Result, speed_rpm: float, about_mm: float | None = None, steps: int = shaking.STEPS) -> Shake:
    """Shaking of a job's engine over one turn; couples about a z, the crank's middle without one.

    Raises ValueError for a speed that is not positive and finite, and a z that is not finite."""
    job = result.job
    job.engine.must_be_whole(job.name)
    about = job.layout.middle_mm if about_mm is None else about_mm
    parts = assembly_of(result)
    found = shaking.curve(parts, speed_rpm, about, steps)
    force = shaking.peak(found.crank_rad, found.force_n)
    couple = shaking.peak(found.crank_rad, found.couple_nm)
    by_order = {phasors.order: phasors for phasors in shaking.orders(found, max(SHOWN_ORDERS))}
    spread, ones = _Spread(result, parts, found.crank_rad, speed_rpm), np.ones(len(parts.z_mm))

    def expanded(vectors: Complexes, arms: Floats = ones) -> float:
        return spread.expanded(vectors, arms)

    return Shake(
        speed_rpm=speed_rpm,
        curve=found,
        force=force,
        force_expanded_n=expanded(found.force_n),
        couple=couple,
        couple_expanded_nm=expanded(found.couple_nm, (parts.z_mm - about) / 1000),
        vertical_n=float(np.abs(found.force_n.real).max()),
        vertical_expanded_n=expanded(found.force_n.real.astype(complex)),
        horizontal_n=float(np.abs(found.force_n.imag).max()),
        horizontal_expanded_n=expanded((1j * found.force_n.imag).astype(complex)),
        orders=tuple(by_order[order] for order in SHOWN_ORDERS),
        mounts=_mounts(job, found, spread, parts),
        pulls=at_speed(result, speed_rpm),
    )


def job_shares(result: Result, speed_rpm: float) -> share.Shares:
    """The right share for a job's layout and lengths, with the mean of its reciprocating masses on every
    cylinder: the share belongs to the layout, not to the scatter of one set.
    Raises ValueError for a speed that is not positive and finite."""
    job = result.job
    job.engine.must_be_whole(job.name)
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


class _Spread:
    """How far the masses' uncertainty carries a vector that is a sum of them: covariance of every cylinder's
    reciprocating and rotating mass, expanded, first order (JCGM 100:2008, 5.2). What was hung is what it is."""

    def __init__(self, result: Result, parts: Assembly, crank_rad: Floats, speed_rpm: float) -> None:
        cylinders = {c.cylinder: c for c in result.bobweights.cylinders}
        order = [cylinders[number] for number in result.job.layout.cylinders]
        masses = [*(c.reciprocating for c in order), *(c.rotating for c in order)]
        readings = result.job.readings()
        sure = result.certainty
        own = np.array([[m.sensitivity.get(r, 0.0) * sure.own_expanded_g(r) for r in readings] for m in masses])
        weighed = [{r: c for r, c in m.sensitivity.items() if r.estimate is None} for m in masses]
        sums = np.array([sum(own.values()) for own in weighed])
        shared = COVERAGE_FACTOR * sums * sure.scale.calibration_g
        loads = np.array([sum(c * r.mean_g for r, c in own.items()) for own in weighed])
        gain = COVERAGE_FACTOR * sure.scale.gain * loads
        zeros = np.array([sum(c * r.zero_g for r, c in m.sensitivity.items()) for m in masses])
        zero = COVERAGE_FACTOR * zeros
        self._covariance = own @ own.T + np.outer(shared, shared) + np.outer(zero, zero)
        self._covariance += np.outer(gain, gain)
        in_boxes = [boxes_g(m.sensitivity) for m in masses]
        for box in sorted({box for own in in_boxes for box in own}):
            off = COVERAGE_FACTOR * np.array([own.get(box, 0.0) for own in in_boxes])
            self._covariance += np.outer(off, off)
        pull = parts.radius_mm * omega(speed_rpm) ** 2 * N_PER_GMM
        slides = shaking.reciprocating_vectors(parts, crank_rad)
        turns = np.exp(1j * (parts.crank_rad[:, None] + crank_rad))
        self._pulls = np.concatenate([slides, turns]) * pull

    def expanded(self, vectors: Complexes, arms: Floats) -> float:
        """Expanded uncertainty of the largest amount of a curve: at its peak, along its direction there;
        where the peak itself is less than what is uncertain, the largest anywhere and any way."""
        peak = int(np.argmax(np.abs(vectors)))
        a = self._pulls * np.tile(arms, 2)[:, None]
        covered = self._covariance @ a
        xx, yy = (a.real * covered.real).sum(axis=0), (a.imag * covered.imag).sum(axis=0)
        xy = (a.real * covered.imag).sum(axis=0)
        widest = float(np.sqrt(((xx + yy) / 2 + np.hypot((xx - yy) / 2, xy)).max()))
        amount = float(np.abs(vectors[peak]))
        if amount <= widest:
            return widest
        x, y = vectors[peak].real / amount, vectors[peak].imag / amount
        return float(np.sqrt(x * x * xx[peak] + y * y * yy[peak] + 2 * x * y * xy[peak]))


def _mounts(job: Job, found: Curve, spread: _Spread, parts: Assembly) -> tuple[Mount, Mount]:
    front_mm, rear_mm = job.engine.mounts_mm
    about_front = found.couple_nm + found.force_n * (found.about_mm - front_mm) / 1000
    rear = about_front / ((rear_mm - front_mm) / 1000)
    share = (parts.z_mm - front_mm) / (rear_mm - front_mm)

    def mount(plane: str, z_mm: float, vectors: Complexes, arms: Floats) -> Mount:
        return Mount(plane, z_mm, shaking.peak(found.crank_rad, vectors), spread.expanded(vectors, arms))

    return mount("front", front_mm, found.force_n - rear, 1 - share), mount("rear", rear_mm, rear, share)
