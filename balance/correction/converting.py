"""From external balance to internal, and back: what the crank's own counterweights must then bring or give up, and
whether they have the room.

Externally balanced, damper and flexplate bring part of the balance. With members in their place that bring
nothing, the counterweights have to bring the same: so much is then too little on them, along each vector. Back, it
is too much. The bobweight is the same in both cases.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, NamedTuple

from truethrow.balance.correction.planes import TwoPlanes
from truethrow.balance.correction.planning import HolePlan, plan
from truethrow.balance.crank.crank import Crank
from truethrow.balance.crank.holes import Tools

Way = Literal["internal", "external"]


class Converted(NamedTuple):
    """brings: what each member brings; whole: all of them; unbalance: what the crank reads bare, once it is to be
    balanced in the other way; plan: holes and heavy metal in the counterweights for it."""

    to: Way
    brings: Mapping[str, TwoPlanes]
    whole: TwoPlanes
    unbalance: TwoPlanes
    plan: HolePlan

    @property
    def has_room(self) -> bool:
        """Whether the counterweights take it all."""
        return not self.plan.stays


def converted(
    crank: Crank,
    tools: Tools,
    now: TwoPlanes,
    brings: Mapping[str, TwoPlanes],
    planes_mm: tuple[float, float],
    *,
    to: Way,
    allowed_gmm: tuple[float, float],
    speed_rpm: float | None = None,
) -> Converted:
    """What it takes. now: what is too much in both planes before, as the crank is balanced now, nothing of a true
    one. [g·mm] brings: what each member brings, the members of now or those to come; speed_rpm: for the pull on a
    slug. Raises ValueError as a plan does."""
    whole = TwoPlanes(sum(one.front for one in brings.values()), sum(one.rear for one in brings.values()))
    sign = -1 if to == "internal" else 1
    unbalance = now.plus(TwoPlanes(sign * whole.front, sign * whole.rear))
    own = crank.only(())
    made = plan(own, tools, unbalance, planes_mm, allowed_gmm=allowed_gmm, speed_rpm=speed_rpm)
    return Converted(to, dict(brings), whole, unbalance, made)
