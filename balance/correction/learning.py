"""What the spins teach: how this crank on this station answers to metal taken off, and whether it may go.

After every step the change that the station measured is held against the change that the holes should have
made. Both are vectors, so their quotient is a gain and an angle: what the station reads too much, and how far
its zero mark is off.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from truethrow.balance.base.readings import COVERAGE_FACTOR, Verdict, verdict
from truethrow.balance.correction.planes import TwoPlanes, changed_by
from truethrow.balance.crank.holes import Hole
from truethrow.balance.result.unbalance import plane_share

# What a station and a shop's drilling are believed to be right to before a crank says otherwise, in gain and,
# in radians, in angle. Common practice, no source.
PRIOR = 0.1
# How far a depth drilled by the quill may be off, either way. Common practice, no source.
DRILLED_MM = 0.3
# No change is known better than this; keeps an uncertainty of zero out of the quotient.
SUREST_GMM = 1e-3


# What is known by its mass, however deep it is.
WEIGHED = ("slug", "took", "added")


class CrankResponse(NamedTuple):
    """The complex scale of each plane: measured change = scale · predicted change; 1 where nothing is known."""

    front: complex = 1 + 0j
    rear: complex = 1 + 0j

    def as_measured(self, change: TwoPlanes) -> TwoPlanes:
        """A change of the crank as this station shows it."""
        return TwoPlanes(self.front * change.front, self.rear * change.rear)

    def as_drilled(self, measured: TwoPlanes) -> TwoPlanes:
        """What the station shows, in the unbalance that holes are reckoned in."""
        return TwoPlanes(measured.front / self.front, measured.rear / self.rear)


NEUTRAL = CrankResponse()


class DrilledStep(NamedTuple):
    """One step at the station: the unbalance before, the operations done, the unbalance after."""

    before: TwoPlanes
    operations: tuple[Hole, ...]
    after: TwoPlanes


def learned(
    steps: Sequence[DrilledStep],
    planes_mm: tuple[float, float],
    uncertainty_gmm: tuple[float, float],
    drilled_mm: float = DRILLED_MM,
) -> CrankResponse:
    """The response that the steps so far speak for, each plane for itself; 1 while every change is as predicted
    within what one can tell.

    uncertainty_gmm: expanded uncertainty (k = 2) of one reading of each plane; drilled_mm: how far a depth may
    be off, either way. Source: least squares with a prior of 1 of standard deviation PRIOR: scale =
    (1/s² + Σ p̄·c/u²) / (1/s² + Σ |p|²/u²), p the change predicted, c the one measured, u its standard
    uncertainty: both readings (JCGM 100:2008, 5.1.2) and every depth a rectangle (4.3.7)."""
    scales = []
    for plane in (0, 1):
        weight, pull, surprised = 1 / PRIOR**2, 1 / PRIOR**2 + 0j, False
        for step in steps:
            predicted = changed_by(step.operations, planes_mm)[plane]
            change = step.after[plane] - step.before[plane]
            u = math.hypot(
                uncertainty_gmm[plane] / COVERAGE_FACTOR * math.sqrt(2),
                _drilling_gmm(step, planes_mm, plane, drilled_mm),
            )
            surprised |= abs(change - predicted) > COVERAGE_FACTOR * u
            weight += abs(predicted) ** 2 / max(u, SUREST_GMM) ** 2
            pull += predicted.conjugate() * change / max(u, SUREST_GMM) ** 2
        scales.append(pull / weight if surprised else 1 + 0j)
    return CrankResponse(scales[0], scales[1])


def _drilling_gmm(step: DrilledStep, planes_mm: tuple[float, float], plane: int, drilled_mm: float) -> float:
    """Standard uncertainty that the depths bring to a plane: each hole by what it takes per depth, on average,
    which is no less than its last millimetre takes. What has no depth brings none."""
    parts = []
    for hole in step.operations:
        if hole.kind not in WEIGHED and hole.depth_mm > 0:
            share = plane_share(hole.z_mm, *planes_mm)[plane]
            parts.append(share * hole.removes_gmm / hole.depth_mm * drilled_mm / math.sqrt(3))
    return math.hypot(*parts)


def verdicts(
    measured: TwoPlanes, uncertainty_gmm: tuple[float, float], allowed_gmm: tuple[float, float]
) -> tuple[Verdict, Verdict]:
    """Whether the front and the rear plane are inside what is allowed, as far as the station can tell."""
    front, rear = (
        verdict(abs(vector), expanded, allowed)
        for vector, expanded, allowed in zip(measured, uncertainty_gmm, allowed_gmm, strict=True)
    )
    return front, rear
