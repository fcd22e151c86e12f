"""What turns in the engine: the crank as it was last spun, and with it what hanging the bobweights leaves.

The station saw the bobweights that were hung. The engine turns the parts themselves: what each throw is
off by comes on top, as vectors in both planes. What is signed for is the sum.
"""

from __future__ import annotations

import cmath
import math
from typing import NamedTuple

from truethrow.balance.base.readings import (
    COVERAGE_FACTOR,
    Certainty,
    Mass,
    Verdict,
    combine,
    digits_for,
    verdict,
)
from truethrow.balance.log.records import Left
from truethrow.balance.result.settling import Ahead, Places
from truethrow.balance.result.unbalance import deviations, throw_arms
from truethrow.balance.result.work import Result
from truethrow.balance.station.spin import Measured
from truethrow.balance.station.spinning import Spin


class Vector(NamedTuple):
    """An unbalance in one plane, and the expanded uncertainty of its amount (k = 2). [g·mm]"""

    gmm: complex
    expanded_gmm: float

    @property
    def amount_gmm(self) -> float:
        return abs(self.gmm)

    @property
    def angle_deg(self) -> float:
        return math.degrees(cmath.phase(self.gmm)) % 360

    def __str__(self) -> str:
        places = digits_for(self.expanded_gmm)
        return f"{self.amount_gmm:.{places}f} ± {self.expanded_gmm:.{places}f} g·mm at {self.angle_deg:.1f}"


class InEngine(NamedTuple):
    """One plane: what the spin read, what hanging leaves, both together, and whether that is inside tolerance."""

    plane: str
    spin: Measured
    hanging: Vector
    whole: Vector
    limit_gmm: float
    verdict: Verdict

    @property
    def left(self) -> Left:
        """As a sign-off keeps it."""
        whole = self.whole
        return Left(self.plane, whole.amount_gmm, whole.expanded_gmm, whole.angle_deg, self.limit_gmm)


def in_engine(result: Result, spin: Spin, limits_gmm: tuple[float, float]) -> tuple[InEngine, InEngine]:
    """The front and the rear plane."""
    off = deviations(result.bobweights)
    front, rear = (
        _plane(plane, read, _masses(off, throw_arms(result.job, plane)), limit, result.certainty)
        for plane, read, limit in zip(("front", "rear"), (spin.front, spin.rear), limits_gmm, strict=True)
    )
    return front, rear


def to_settle(result: Result, spin: Spin, found: tuple[InEngine, InEngine]) -> Places:
    """The parts of which a second weighing would settle a plane that is too close to call; none where it is the
    spin that is not sure enough."""
    off, ahead = deviations(result.bobweights), Ahead(result.job, result.certainty)
    for one, read in zip(found, (spin.front, spin.rear), strict=True):
        if one.verdict != "too close to call":
            continue

        def is_called(hanging_gmm: float, one: InEngine = one, read: Measured = read) -> bool:
            expanded_gmm = math.hypot(read.widest_gmm, hanging_gmm)
            return verdict(one.whole.amount_gmm, expanded_gmm, one.limit_gmm) != "too close to call"

        sides = _masses(off, throw_arms(result.job, one.plane))
        ahead.weigh_until(max(sides, key=result.certainty.expanded_g), is_called)
    return ahead.places


def _masses(off: list[Mass], arms: list[complex]) -> tuple[Mass, Mass]:
    """What the parts bring beyond what hung, along throw 1 and across it. [g·mm]"""
    x = combine((arm.real, mass) for mass, arm in zip(off, arms, strict=True))
    y = combine((arm.imag, mass) for mass, arm in zip(off, arms, strict=True))
    return x, y


def _plane(plane: str, read: Measured, left: tuple[Mass, Mass], limit_gmm: float, sure: Certainty) -> InEngine:
    """Uncertainties in quadrature, those along the sum; of a sum too small to have a direction, the larger."""
    x, y = left
    vector = complex(x.value_g, y.value_g)
    least_sure_gmm = max(sure.expanded_g(x), sure.expanded_g(y))

    def hanging_gmm(towards: complex) -> float:
        if abs(towards) <= least_sure_gmm:
            return least_sure_gmm
        return sure.expanded_g(combine([(towards.real / abs(towards), x), (towards.imag / abs(towards), y)]))

    whole = read.vector_gmm + vector
    expanded = math.hypot(read.widest_gmm, least_sure_gmm)
    if abs(whole) > expanded:
        turned = cmath.phase(whole) - cmath.phase(read.vector_gmm)
        along = math.hypot(read.along_gmm * math.cos(turned), read.across_gmm * math.sin(turned))
        expanded = math.hypot(COVERAGE_FACTOR * along, hanging_gmm(whole))
    assumed = bool({*sure.assumed_for(x), *sure.assumed_for(y)})
    ruled = verdict(abs(whole), expanded, limit_gmm, assumed=assumed)
    return InEngine(plane, read, Vector(vector, hanging_gmm(vector)), Vector(whole, expanded), limit_gmm, ruled)
