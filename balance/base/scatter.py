"""How far loads of one way of weighing scatter, and how much is known of that: from parts weighed more than once,
declared, or only assumed.

A standard deviation that was found from few differences is itself unsure. So it never counts for less than the
step of the scale explains, the ± holds Student's t times it instead of twice, and one pair that is far wider apart
than the others is left out instead of spread over every ±.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from functools import lru_cache
from typing import Literal, NamedTuple

from truethrow.balance.base.quantiles import f_quantile, t_factor

# What a load is taken to scatter by where nobody weighed a part twice and none is declared, in steps of the scale:
# common practice, no source. It widens the ±; nothing is called inside by it.
ASSUMED_STEPS = 1.0
# One pair in a hundred sets is left out though it belongs to the others: ISO 5725-2:1994, 7.3.3.
OUTLYING = 0.01
# At most so many of the weighings are left out: beyond that it is the scale that scatters.
MOST_OUTLYING = 1 / 3


class Scatter(NamedTuple):
    """Standard deviation of one load; the degrees of freedom behind it, infinite where it is taken as well known;
    and where it comes from."""

    standard_g: float
    freedom: float = math.inf
    known: Literal["declared", "repeats", "assumed"] = "declared"

    @property
    def factor(self) -> float:
        """How many of it a ± holds: Student's t at 95.45 % (JCGM 100:2008, G.3 and Table G.2)."""
        return t_factor(self.freedom)


def scatter_of(
    groups: Sequence[Sequence[float]], step_g: float, suspects: Collection[int] = ()
) -> tuple[Scatter, tuple[int, ...]]:
    """The scatter of one way of weighing by its repeats, and which of the groups were left out of it.

    groups: the weighings of each part with nothing done to it in between [g]; step_g: of the scale; suspects: the
    groups that may be left out. Pooled, a scatter is never less than the rectangle of a step, d/√12: pairs that
    agree on a coarse scale do not say that nothing scatters. Source of the pooling: JCGM 100:2008, 4.2.4 and
    H.3.6, s² = Σ (nᵢ−1)sᵢ² / Σ (nᵢ−1)."""
    out = outlying(groups, step_g, suspects)
    kept = [group for at, group in enumerate(groups) if at not in out]
    freedom = sum(len(group) - 1 for group in kept)
    if not freedom:
        return Scatter(ASSUMED_STEPS * step_g, known="assumed"), out
    pooled_g = math.sqrt(math.fsum(map(_squares, kept)) / freedom)
    return Scatter(max(pooled_g, step_g / math.sqrt(12)), freedom, "repeats"), out


def outlying(groups: Sequence[Sequence[float]], step_g: float, suspects: Collection[int]) -> tuple[int, ...]:
    """The groups, among those that may be, whose weighings are farther apart than those of the others explain, the
    worst first.

    Source: Cochran's test of the largest of p variances at 1 %, one after the other (ISO 5725-2:1994, 7.3.3). Each
    counts for no less than the rectangle of a step: a set of pairs that read alike makes no outlier of one that
    fell on the next step."""
    squares = {
        at: max(_squares(group), (len(group) - 1) * step_g**2 / 12)
        for at, group in enumerate(groups)
        if len(group) > 1
    }
    found: list[int] = []
    most = int(len(squares) * MOST_OUTLYING)
    while len(found) < most:
        worst = max(squares, key=lambda at: squares[at] / (len(groups[at]) - 1))
        own = len(groups[worst]) - 1
        others = sum(len(groups[at]) - 1 for at in squares) - own
        share = squares[worst] / math.fsum(squares.values())
        if worst not in suspects or share <= cochran(len(squares), own, others):
            break
        found.append(worst)
        del squares[worst]
    return tuple(found)


@lru_cache(maxsize=256)
def cochran(count: int, own: int, others: int) -> float:
    """The largest part of the sum of squares that one of count groups has once in a hundred sets.

    own: degrees of freedom of that group; others: of all the others together. Source: C = 1/(1 + (p−1)/F) with F
    at 1 − α/p, which makes the table of ISO 5725-2; with groups of unlike sizes p−1 is others/own ('t Lam 2010,
    from memory)."""
    return 1 / (1 + others / own / f_quantile(1 - OUTLYING / count, own, others))


def _squares(group: Sequence[float]) -> float:
    """Σ (x − mean)² of one group."""
    mean = math.fsum(group) / len(group)
    return math.fsum((x - mean) ** 2 for x in group)
