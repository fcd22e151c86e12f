"""Ordering a crank: how far the parts may weigh from its target bobweight before drilling alone no longer does.

What does for parts that are far off does, drilled less deep, for all that are nearer: so the range is one piece,
and its ends are looked for by halves. Only what plans miss, and depths in steps, could leave a gap in it: so an
end counts where parts a little nearer are done, too.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

from truethrow.balance.correction.arriving import off_by
from truethrow.balance.correction.planning import drilled
from truethrow.balance.crank.crank import Crank
from truethrow.balance.crank.holes import Tools
from truethrow.balance.engine.layout import Throw

# The ends of the range are looked for to this part of what was found, or to a gram, whichever is the more.
FINE_PART, FINE_G = 0.02, 1.0
# Parts of an end at which plans have to do as well as at it.
NEARER = (1.0, 0.99, 0.97, 0.94)
# Nobody orders a crank that far from its parts.
FARTHEST_G = 2000.0
# About so many plans are made for a range.
STEPS = 30


class DrillingRange(NamedTuple):
    """How many grams on every throw the parts may weigh less than the target, and how many more, so that the
    station still brings both planes inside without heavy metal; holes: how many that takes at either end."""

    lighter_g: float
    heavier_g: float
    lighter_holes: int
    heavier_holes: int

    def covers(self, least_over_g: float, most_over_g: float) -> bool:
        """Whether parts that weigh between so much over the target (under it, below zero) need no heavy metal."""
        return -self.lighter_g <= least_over_g and most_over_g <= self.heavier_g


def drilling_range(
    crank: Crank,
    tools: Tools,
    radius_mm: float,
    throws: Sequence[Throw],
    planes_mm: tuple[float, float],
    allowed_gmm: tuple[float, float],
    progress: Callable[[int], None] | None = None,
) -> DrillingRange:
    """How far parts may be off a crank's target bobweight, by the same plan of holes as the station makes.

    radius_mm: half the stroke; allowed_gmm: of the front and the rear plane; progress: told how many plans were
    made. A crank on which it makes no difference what all throws carry (an in-line six) takes any."""

    tried = 0

    @functools.cache  # the ends are asked for again, for their holes
    def holes(over_g: float) -> int | None:
        """How many holes that takes, None where drilling alone does not do it."""
        nonlocal tried
        tried += 1
        if progress:
            progress(tried)
        _, measured = off_by([over_g] * len(throws), 0.0, radius_mm, throws, planes_mm)
        made = drilled(crank, tools, measured, planes_mm, allowed_gmm=allowed_gmm)
        return None if made is None else len(made)

    ends = []
    for way in (-1.0, 1.0):
        least, most = 0.0, _first_too_far(holes, way)
        while most - least > max(FINE_G, FINE_PART * least) and math.isfinite(most):
            middle = (least + most) / 2
            least, most = (middle, most) if holes(way * middle) is not None else (least, middle)
        far = most if math.isinf(most) else _with_all_nearer(holes, way, least)
        ends.append((far, holes(way * (FARTHEST_G if math.isinf(far) else far)) or 0))
    return DrillingRange(ends[0][0], ends[1][0], ends[0][1], ends[1][1])


def _first_too_far(holes: Callable[[float], int | None], way: float) -> float:
    """The first of 8, 16, 32 … grams that drilling alone does not do, infinite where it does all of them."""
    over_g = 8.0
    while over_g < FARTHEST_G:
        if holes(way * over_g) is None:
            return over_g
        over_g *= 2
    return math.inf


def _with_all_nearer(holes: Callable[[float], int | None], way: float, end_g: float) -> float:
    """The end, or as much less, in whole grams, as it takes for parts that are a little nearer to be done, too."""
    while end_g > 0:
        missed = [part * end_g for part in NEARER if holes(way * part * end_g) is None]
        if not missed:
            break
        end_g = math.ceil(min(missed)) - FINE_G
    return max(end_g, 0.0)
