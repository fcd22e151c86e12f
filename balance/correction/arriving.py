"""An arriving crank: balanced by its maker for a bobweight that is not this engine's."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from typing import NamedTuple

from truethrow.balance.base.readings import tidy
from truethrow.balance.correction.planes import TwoPlanes, split
from truethrow.balance.correction.planning import HolePlan, plan
from truethrow.balance.crank.crank import Crank
from truethrow.balance.crank.holes import Tools
from truethrow.balance.engine.layout import Throw


class ThrowOff(NamedTuple):
    """One throw: what this engine hangs on it over (under, below zero) the maker's bobweight, and that times
    the throw's radius in both planes."""

    throw: Throw
    over_g: float
    unbalance: TwoPlanes


class Arriving(NamedTuple):
    """What the first spin will show if the maker's balance was true, and the plan for it."""

    throws: tuple[ThrowOff, ...]
    unbalance: TwoPlanes
    plan: HolePlan


def off_by(
    bobweights_g: Sequence[float],
    target_g: float | Sequence[float],
    radius_mm: float,
    throws: Sequence[Throw],
    planes_mm: tuple[float, float],
) -> tuple[tuple[ThrowOff, ...], TwoPlanes]:
    """How far each throw is off what the maker balanced the crank for, and what that is in both planes; as
    against_target has them."""
    targets = [target_g] * len(throws) if isinstance(target_g, int | float) else list(target_g)
    offs = []
    for throw, bobweight, target in zip(throws, bobweights_g, targets, strict=True):
        over_g = tidy(bobweight - target)
        vector = cmath.rect(over_g * radius_mm, math.radians(throw.angle_deg))
        offs.append(ThrowOff(throw, over_g, split(vector, throw.z_mm, planes_mm)))
    whole = TwoPlanes(sum(off.unbalance.front for off in offs), sum(off.unbalance.rear for off in offs))
    return tuple(offs), whole


def against_target(
    bobweights_g: Sequence[float],
    target_g: float | Sequence[float],
    radius_mm: float,
    throws: Sequence[Throw],
    crank: Crank,
    tools: Tools,
    planes_mm: tuple[float, float],
    *,
    allowed_gmm: tuple[float, float],
    speed_rpm: float | None = None,
) -> Arriving:
    """This engine's bobweights against what the maker balanced the crank for. bobweights_g: of each throw, front
    to rear; target_g: one for all throws or one each; radius_mm: half the stroke."""
    offs, whole = off_by(bobweights_g, target_g, radius_mm, throws, planes_mm)
    planned = plan(crank, tools, whole, planes_mm, allowed_gmm=allowed_gmm, speed_rpm=speed_rpm)
    return Arriving(offs, whole, planned)
