"""Counterweights turned to a smaller radius: what both planes feel of it, and what it takes to bring that back."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from truethrow.balance.base.amounts import METRIC, ToldIn
from truethrow.balance.correction.planes import TwoPlanes, split
from truethrow.balance.correction.planning import HolePlan, plan
from truethrow.balance.crank import turning
from truethrow.balance.crank.crank import Crank
from truethrow.balance.crank.holes import Tools


class OnTheLathe(NamedTuple):
    """What the lathe does to a crank. turned: each counterweight; crank: as it is then; changes: what each of
    them does to both planes; then: what both planes have afterwards, from what they had before; plan: for that,
    None without tools or a tolerance."""

    turned: tuple[turning.Turned, ...]
    crank: Crank
    changes: tuple[TwoPlanes, ...]
    then: TwoPlanes
    plan: HolePlan | None = None

    @property
    def change(self) -> TwoPlanes:
        whole = TwoPlanes(0j, 0j)
        for one in self.changes:
            whole = whole.plus(one)
        return whole

    @property
    def mass_g(self) -> float:
        """What comes off in the whole. [g]"""
        return sum(one.mass_g for one in self.turned)


def on_the_lathe(
    crank: Crank,
    to_mm: float,
    names: Sequence[str],
    planes_mm: tuple[float, float],
    *,
    before: TwoPlanes | None = None,
    tools: Tools | None = None,
    allowed_gmm: tuple[float, float] | None = None,
    speed_rpm: float | None = None,
    told_in: ToldIn = METRIC,
) -> OnTheLathe:
    """Counterweights turned to a radius: those named, else all that reach beyond it. before: what both planes have
    now, nothing without it; speed_rpm: for the pull on a slug; told_in: the units of a fault. Raises BadInput as
    turning.turn does, and ValueError for planes at one place."""
    turned = turning.turn(crank, to_mm, tuple(names), told_in)
    changes = tuple(_in_planes(one, planes_mm) for one in turned)
    after = turning.after(crank, turned)
    found = OnTheLathe(turned, after, changes, before or TwoPlanes(0j, 0j))
    found = found._replace(then=found.then.plus(found.change))
    if tools is None or not tools.drills or allowed_gmm is None:
        return found
    planned = plan(after, tools, found.then, planes_mm, allowed_gmm=allowed_gmm, speed_rpm=speed_rpm)
    return found._replace(plan=planned)


def _in_planes(turned: turning.Turned, planes_mm: tuple[float, float]) -> TwoPlanes:
    whole = TwoPlanes(0j, 0j)
    for change_gmm, z_mm in turned.acts:
        whole = whole.plus(split(change_gmm, z_mm, planes_mm))
    return whole
