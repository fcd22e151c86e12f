"""No metal comes off in plenty after a reading that was taken once."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from truethrow.balance.base.parts import KINDS, weighed_by
from truethrow.balance.job.job import Job
from truethrow.balance.job.settled import is_sure
from truethrow.balance.result.least_metal import counted

if TYPE_CHECKING:
    from truethrow.balance.result.spread import Spread
    from truethrow.balance.result.trim import PartTrim

# A cut of more than this part of what the part weighs takes two weighings: common practice, no source.
BIG_CUT = 0.01


def once_more(job: Job, trims: Sequence[PartTrim], before: Sequence[Spread]) -> tuple[tuple[int, str], ...]:
    """Cylinder and kind of what is to be weighed a second time before so much comes off: every part that would
    lose more than BIG_CUT of itself, and the lightest, to which it would be brought down, where no other is near
    it. All are cut to the same mass, so nothing of the plan is worth more than those readings."""
    outside = [counted(job, spread.quantity) for spread in before if spread.verdict == "outside"]
    wanted: dict[tuple[int, str], None] = {}
    for trim in trims:
        own, kinds = job.parts[trim.cylinder], weighed_by(trim.part)
        if math.fsum(cut.grams for cut in trim.cuts) <= BIG_CUT * math.fsum(own[kind].mean_g for kind in kinds):
            continue
        wanted |= dict.fromkeys((trim.cylinder, kind) for kind in kinds)
        served = {kind for weights in outside if not weights.keys().isdisjoint(kinds) for kind in weights}
        for kind in (kind.name for kind in KINDS if kind.name in served and kind.name in own):
            (light_g, lightest), (next_g, _) = sorted((p[kind].mean_g, n) for n, p in job.parts.items())[:2]
            if next_g - light_g > BIG_CUT * light_g:
                wanted |= {(trim.cylinder, kind): None, (lightest, kind): None}
    return tuple(place for place in wanted if not is_sure(job.parts[place[0]][place[1]], job.scale))
