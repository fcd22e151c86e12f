"""A new damper or flexplate made equal to an old one: what to take off it, or put on it, where and how much.

Both are known as vectors from the crank's throw 1, so the new one is held against the old one as it will sit, its
keyway where the old one's was. What it brings too much lies in its own plane along the crank.
"""

from __future__ import annotations

import cmath
import math
from typing import NamedTuple

from truethrow.balance.correction.planes import TwoPlanes
from truethrow.balance.correction.planning import HolePlan, plan
from truethrow.balance.crank.crank import Crank, Member
from truethrow.balance.crank.holes import Tools

# Nobody makes two of them more alike than this. [g·mm] Common practice, no source.
LEAST_GMM = 10.0
# The second plane of a plan that has one alone: far off, and free to take what depths along the crank leave there.
ASIDE_MM, FREE_GMM = 1000.0, 1e9


class Alike(NamedTuple):
    """old, new: what each brings; expanded_gmm: how sure the difference is (k = 2); plan: holes in the new one,
    None where none is needed; add_g, add_deg: what put on at the radius of its holes does the same."""

    old_gmm: complex
    new_gmm: complex
    expanded_gmm: float
    plan: HolePlan | None
    add_g: float
    add_deg: float

    @property
    def too_much_gmm(self) -> complex:
        return self.new_gmm - self.old_gmm

    @property
    def is_equal(self) -> bool:
        """Whether the two are the same, as far as anybody can tell."""
        return abs(self.too_much_gmm) <= self.allowed_gmm

    @property
    def allowed_gmm(self) -> float:
        return max(self.expanded_gmm, LEAST_GMM)

    @property
    def left_gmm(self) -> complex:
        """What the new one brings too much once the plan is done."""
        if self.plan is None:
            return self.too_much_gmm
        return self.too_much_gmm + sum(hole.change_gmm for hole in self.plan.operations)


def alike(
    new: Member, new_gmm: complex, old_gmm: complex, expanded_gmm: float, tools: Tools, wall_mm: float
) -> Alike:
    """What makes the new one equal. new_gmm, old_gmm: what each brings at its own place, from throw 1;
    expanded_gmm: how sure their difference is. [g·mm] Raises ValueError for what is no damper or flexplate."""
    if new.pitch_mm is None:
        raise ValueError(f"{new.name} is no damper or flexplate")
    too_much = new_gmm - old_gmm
    found = Alike(
        *(old_gmm, new_gmm, expanded_gmm, None),
        add_g=abs(too_much) / new.pitch_mm,
        add_deg=(math.degrees(cmath.phase(too_much)) + 180) % 360,
    )
    if found.is_equal:
        return found
    made = plan(
        Crank((new,), wall_mm),
        tools,
        TwoPlanes(too_much, 0j),
        (new.z_mm, new.z_mm + ASIDE_MM),
        allowed_gmm=(found.allowed_gmm, FREE_GMM),
        slugs=False,
    )
    return found._replace(plan=made)
