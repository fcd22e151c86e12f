"""A job at many shares at once: what would be hung, and what shakes then."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from truethrow.balance.base.arrays import Complexes, Floats
from truethrow.balance.base.digits import digits
from truethrow.balance.base.formulas import N_PER_GMM, omega
from truethrow.balance.base.told import rounded, table
from truethrow.balance.engine import shaking
from truethrow.balance.result.bobweight import to_step
from truethrow.balance.result.work import Result
from truethrow.balance.running.running import assembly_of


class Sweep(NamedTuple):
    """An entry a share: hung_g (shares, throws), and the largest force and couple over a turn, the couple about
    the crank's middle."""

    shares: Floats
    hung_g: Floats
    force_n: Floats
    couple_nm: Floats
    speed_rpm: float

    def __repr__(self) -> str:
        least = int(self.force_n.argmin())
        told = f"least force {digits(round(self.force_n[least], 9), 4)} N at {digits(self.shares[least], 4)}"
        return f"Sweep: {len(self.shares)} shares at {self.speed_rpm:g} r/min, {told}"

    def _repr_html_(self) -> str:
        heads = ["share", "hang, mean of the throws [g]", "force [N]", "couple [N·m]"]
        every = zip(self.shares, self.hung_g.mean(axis=1), self.force_n, self.couple_nm, strict=True)
        rows = ([digits(s, 4), rounded(g, 2), digits(n, 4), digits(nm, 4)] for s, g, n, nm in every)
        return table(repr(self), heads, rows)


def sweep(result: Result, shares: Sequence[float], speed_rpm: float, steps: int = shaking.STEPS) -> Sweep:
    """The same set at many shares. What shakes is what the masses do, which no share changes, less what is hung.

    Raises NotDeclared for lengths that are not there, and ValueError for a speed that is not positive and finite.
    """
    job = result.job
    job.engine.must_be_whole(job.name)
    at = np.array(shares, float)
    hung_g = _hung_g(result, at)
    parts = assembly_of(result)
    bare = parts._replace(turning_g=np.array(job.oil_g, float))
    about_mm = job.layout.middle_mm
    whole = shaking.curve(bare, speed_rpm, about_mm, steps)
    pull_n = parts.radius_mm * omega(speed_rpm) ** 2 * N_PER_GMM
    each = np.exp(1j * parts.throw_rad) * pull_n
    arms_m = (parts.throw_z_mm - about_mm) / 1000
    turn = np.exp(1j * whole.crank_rad)
    return Sweep(
        at,
        hung_g,
        _peaks(whole.force_n, hung_g @ each, turn),
        _peaks(whole.couple_nm, hung_g @ (each * arms_m), turn),
        speed_rpm,
    )


def _hung_g(result: Result, shares: Floats) -> Floats:
    """What the job's rule hangs on each throw at each share: their mean, or each its own, to the scale's step."""
    by_number = {one.cylinder: one for one in result.bobweights.cylinders}
    rotating = np.array(
        [
            one.oil_g + sum(by_number[number].rotating.value_g for number in one.cylinders)
            for one in result.bobweights.throws
        ]
    )
    reciprocating = np.array(
        [
            sum(by_number[number].reciprocating.value_g for number in one.cylinders)
            for one in result.bobweights.throws
        ]
    )
    weights = rotating + shares[:, None] * reciprocating
    step_g = result.job.scale.resolution_g
    if result.bobweights.rule == "mean":
        means = [to_step(float(mean), step_g) for mean in weights.mean(axis=1)]
        return np.repeat(np.array(means)[:, None], weights.shape[1], axis=1)
    return np.array([[to_step(float(one), step_g) for one in row] for row in weights])


def _peaks(whole: Complexes, hung: Complexes, turn: Complexes) -> Floats:
    """The largest of |whole − hung·turn| over a turn, share by share."""
    return np.array([shaking.largest(np.abs(whole - one * turn) ** 2) for one in hung])
