"""What turns in the engine: the crank as it was last spun, and with it what hanging the bobweights leaves, and
what the members bring that were off it (members.py).

The station saw the bobweights that hung, as they were really built. The engine turns the parts themselves: what
each throw is off by comes on top, as vectors in both planes; and of rods side by side what they make by not being
where the bobweight hung. What is signed for is the sum.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from typing import NamedTuple

from truethrow.balance.base.amounts import ToldIn
from truethrow.balance.base.parts import WAYS, Way
from truethrow.balance.base.readings import (
    COVERAGE_FACTOR,
    Certainty,
    Mass,
    Verdict,
    combine,
    verdict,
)
from truethrow.balance.log.records import Left
from truethrow.balance.result.settling import Ahead, Places
from truethrow.balance.result.unbalance import acting, throw_arms
from truethrow.balance.result.work import Result
from truethrow.balance.station.built import Hung
from truethrow.balance.station.members import NONE, Brought
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

    def said(self, told_in: ToldIn) -> str:
        """As a sentence has it, its angle the crank's, in whole degrees as tables have it."""
        return f"{told_in.sure(self.amount_gmm, self.expanded_gmm)} at {math.floor(self.angle_deg + 0.5) % 360}°"


class InEngine(NamedTuple):
    """One plane: what the spin read, what hanging leaves, what members bring that were off the crank, all
    together, and whether that is inside tolerance. along_gmm: the ± of spin, hanging and members in the direction
    of the sum, which in quadrature are its own. has_parts: False where the parts were not seen: then the sum is of
    the crank with the bobweights that it was given. assumed: the ways of weighing of which the scatter is only
    assumed, so that nothing is inside by it."""

    plane: str
    spin: Measured
    hanging: Vector
    members: Vector
    whole: Vector
    limit_gmm: float
    verdict: Verdict
    along_gmm: tuple[float, float, float]
    has_parts: bool = True
    assumed: tuple[Way, ...] = ()

    @property
    def is_by_what_is_assumed(self) -> bool:
        """Whether it is too close to call, and part of the ± is only assumed."""
        return self.verdict == "too close to call" and bool(self.assumed)

    @property
    def left(self) -> Left:
        """As a sign-off keeps it."""
        whole, hanging, spin, members = self.whole, self.hanging, self.spin, self.members
        return Left(
            *(self.plane, whole.amount_gmm, whole.expanded_gmm, whole.angle_deg, self.limit_gmm),
            *(spin.amount_gmm, spin.expanded_gmm, spin.angle_deg if spin.amount_gmm else 0.0),
            *(hanging.amount_gmm, hanging.expanded_gmm, hanging.angle_deg),
            *(members.amount_gmm, members.expanded_gmm, members.angle_deg),
        )


class _Hanging(NamedTuple):
    """What the parts bring to a plane beyond what hung, along throw 1 and across it [g·mm], and with it the ± of
    each bobweight that nobody weighed, as it acts there [g·mm]: (1, 2j) is 1 along throw 1 and 2 across it."""

    x: Mass
    y: Mass
    nominal_gmm: tuple[complex, ...]

    @property
    def gmm(self) -> complex:
        return complex(self.x.value_g, self.y.value_g)

    def least_sure_gmm(self, sure: Certainty) -> float:
        """The ± along the axis that is less sure."""
        return max(
            math.hypot(sure.expanded_g(self.x), *(one.real for one in self.nominal_gmm)),
            math.hypot(sure.expanded_g(self.y), *(one.imag for one in self.nominal_gmm)),
        )

    def expanded_gmm(self, towards: complex, sure: Certainty) -> float:
        """The ± in a direction; of one too small to have any, the larger."""
        least_sure_gmm = self.least_sure_gmm(sure)
        if abs(towards) <= least_sure_gmm:
            return least_sure_gmm
        along = towards / abs(towards)
        parts_gmm = sure.expanded_g(combine([(along.real, self.x), (along.imag, self.y)]))
        return math.hypot(parts_gmm, *((one * along.conjugate()).real for one in self.nominal_gmm))


def in_engine(
    result: Result,
    spin: Spin,
    hung: Sequence[Hung],
    limits_gmm: tuple[float, float],
    missing: Brought = NONE,
) -> tuple[InEngine, InEngine]:
    """The front and the rear plane. hung: what hung at this spin on each throw; missing: what members bring that
    were off."""
    members = map(Vector, missing.gmm, missing.expanded_gmm)
    front, rear = (
        _plane(plane, read, _hanging(result, hung, plane), own, limit, result)
        for plane, read, own, limit in zip(
            ("front", "rear"), (spin.front, spin.rear), members, limits_gmm, strict=True
        )
    )
    return front, rear


def by_the_spin(
    spin: Spin, limits_gmm: tuple[float, float], verdicts: tuple[Verdict, Verdict], missing: Brought = NONE
) -> tuple[InEngine, InEngine]:
    """The same where nobody knows how a bobweight acts in the planes: what the spin and the members say, by which
    nothing is signed. verdicts: by both."""
    nothing = Vector(0j, 0.0)
    front, rear = (
        InEngine(
            *(plane, read, nothing, own, Vector(read.vector_gmm + own.gmm, read.expanded_gmm), limit, ruled),
            along_gmm=(read.expanded_gmm, 0.0, 0.0),
        )
        for plane, read, own, limit, ruled in zip(
            ("front", "rear"),
            (spin.front, spin.rear),
            map(Vector, missing.gmm, missing.expanded_gmm),
            limits_gmm,
            verdicts,
            strict=True,
        )
    )
    return front, rear


def to_settle(result: Result, spin: Spin, hung: Sequence[Hung], found: tuple[InEngine, InEngine]) -> Places:
    """The parts of which a second weighing would settle a plane that is too close to call; none where it is the
    spin, or a bobweight that nobody weighed, that is not sure enough."""
    ahead = Ahead(result.job, result.certainty)
    for one, read in zip(found, (spin.front, spin.rear), strict=True):
        if one.verdict != "too close to call":
            continue
        hanging = _hanging(result, hung, one.plane)
        nominal_gmm = math.hypot(*map(abs, hanging.nominal_gmm))

        def is_called(
            parts_gmm: float, one: InEngine = one, read: Measured = read, nominal_gmm: float = nominal_gmm
        ) -> bool:
            expanded_gmm = math.hypot(read.widest_gmm, parts_gmm, nominal_gmm, one.members.expanded_gmm)
            return verdict(one.whole.amount_gmm, expanded_gmm, one.limit_gmm) != "too close to call"

        ahead.weigh_until(max(hanging.x, hanging.y, key=result.certainty.expanded_g), is_called)
    return ahead.places


def _hanging(result: Result, hung: Sequence[Hung], plane: str) -> _Hanging:
    arms = throw_arms(result.job, plane)
    masses, own = acting(result.job, [one.deviation for one in hung], result.bobweights, plane)
    x = combine((arm.real, mass) for mass, arm in zip(masses, own, strict=True))
    y = combine((arm.imag, mass) for mass, arm in zip(masses, own, strict=True))
    return _Hanging(x, y, tuple(one.nominal_g * arm for one, arm in zip(hung, arms, strict=True)))


def _plane(
    plane: str, read: Measured, left: _Hanging, members: Vector, limit_gmm: float, result: Result
) -> InEngine:
    """Uncertainties in quadrature, those along the sum; of a sum too small to have a direction, the larger."""
    sure = result.certainty
    whole = read.vector_gmm + left.gmm + members.gmm
    each = read.widest_gmm, left.least_sure_gmm(sure), members.expanded_gmm
    if abs(whole) > math.hypot(*each):
        turned = cmath.phase(whole) - cmath.phase(read.vector_gmm)
        along = math.hypot(read.along_gmm * math.cos(turned), read.across_gmm * math.sin(turned))
        each = COVERAGE_FACTOR * along, left.expanded_gmm(whole, sure), members.expanded_gmm
    expanded = math.hypot(*each)
    # The ± of a bobweight that nobody weighed has the scatter of the pan in it as well (built.nominal_expanded_g).
    by_pieces = any(left.nominal_gmm) and sure.pan.known == "assumed"
    ways = {*sure.assumed_for(left.x), *sure.assumed_for(left.y), *(["pan"] if by_pieces else [])}
    assumed = tuple(way for way in WAYS if way in ways)
    ruled = verdict(abs(whole), expanded, limit_gmm, assumed=bool(assumed))
    hanging = Vector(left.gmm, left.expanded_gmm(left.gmm, sure))
    return InEngine(
        *(plane, read, hanging, members, Vector(whole, expanded), limit_gmm, ruled, each),
        result.job.has_parts,
        assumed,
    )
