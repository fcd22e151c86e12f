"""How one replacement would fit: as it is, with metal off it alone, or with metal off the others too.

Off the replacement alone: every way to take whole steps at its own pads is gone through, the least grams first.
With the others: what the trim plans for the set that it would make.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Literal, NamedTuple

from truethrow.balance.base.parts import ENDS, UNIT_OF
from truethrow.balance.base.readings import Verdict, tidy
from truethrow.balance.job.pads import Pad
from truethrow.balance.result.bobweight import bobweights, to_step
from truethrow.balance.result.least_metal import TrimProgramme, can_give_g, falls, window_of
from truethrow.balance.result.replacing import Replacement, with_part
from truethrow.balance.result.spread import Spread, spreads
from truethrow.balance.result.trim import TrimPlan, plan

# How a replacement fits, best first: as it is, with metal off it, with metal off others too, or not even then.
Way = Literal["as it is", "metal off it", "metal off others", "not inside"]
WAYS: tuple[Way, ...] = ("as it is", "metal off it", "metal off others", "not inside")
# So many of those that do not fit by themselves are worked out, the nearest first: each asks the solver.
MOST_PLANNED = 12
# What is below this is a binary fraction's rounding.
DUST = 1e-9
_RANK = {"inside": 0, "too close to call": 1, "outside": 2}


class OwnCut(NamedTuple):
    """Grams to take at one pad of the replacement."""

    pad: Pad
    grams: float


class Trial(NamedTuple):
    """One replacement tried. masses: what it reads, by kind; cuts: off it alone, where that is enough; plan: the
    trim of the whole set, where it is not; after: the limited spreads that are left then, all inside but for a way
    of "not inside"."""

    masses: Mapping[str, float]
    way: Way
    cuts: tuple[OwnCut, ...]
    plan: TrimPlan | None
    after: tuple[Spread, ...]

    @property
    def grams(self) -> float:
        """All the metal that it takes, off it and off others."""
        if self.plan is not None:
            return self.plan.grams
        return tidy(math.fsum(cut.grams for cut in self.cuts))

    @property
    def worst(self) -> Verdict:
        found = [spread.verdict for spread in self.after if spread.verdict is not None]
        return max(found, key=lambda one: _RANK[one], default="inside")

    @property
    def fullness(self) -> float:
        """How much of its limit the fullest spread takes, its ± counted."""
        full = ((s.spread_g + s.expanded_g) / s.limit_g for s in self.after if s.limit_g)
        return max(full, default=0.0)

    @property
    def order(self) -> tuple[float, ...]:
        """The best first: no metal, then the least metal; of those alike, what leaves most of the limits."""
        return WAYS.index(self.way), _RANK[self.worst], self.grams, round(self.fullness, 9)


def tried(wanted: Replacement, masses: Mapping[str, float]) -> Trial:
    """One replacement in its place, with the least metal that brings the set inside. masses: what it reads. [g]"""
    job = with_part(wanted.job, wanted.unit, wanted.cylinder, masses, wanted.times)
    if wanted.is_inside(masses):
        return Trial(masses, "as it is", (), None, _limited(wanted, masses))
    if (cuts := own_cut(wanted, masses)) is not None:
        return Trial(masses, "metal off it", cuts, None, _limited(wanted, _after(wanted, masses, cuts)))
    before = spreads(job, bobweights(job), wanted.sure)
    planned = plan(job, before, wanted.sure)
    after = tuple(s for s in (planned.after if planned else before) if s.limit_g is not None)
    trial = Trial(masses, "metal off others", (), planned, after)
    return trial if trial.worst == "inside" else trial._replace(way="not inside")


def best_first(wanted: Replacement, candidates: Mapping[str, Mapping[str, float]]) -> tuple[dict[str, Trial], int]:
    """The candidates tried, the best first, and how many are farther off than those. candidates: what each reads,
    by a name of its own."""
    by_itself: list[str] = []
    rest: list[str] = []
    for name, masses in candidates.items():
        (by_itself if wanted.is_inside(masses) or own_cut(wanted, masses) is not None else rest).append(name)
    rest.sort(key=lambda name: (_beyond_g(wanted, candidates[name]), name))
    trials = {name: tried(wanted, candidates[name]) for name in (*by_itself, *rest[:MOST_PLANNED])}
    ordered = sorted(trials, key=lambda name: (trials[name].order, name))
    return {name: trials[name] for name in ordered}, max(0, len(rest) - MOST_PLANNED)


def own_cut(wanted: Replacement, masses: Mapping[str, float]) -> tuple[OwnCut, ...] | None:
    """The least metal off the replacement alone that brings the set inside, in whole steps of the scale; no cuts
    where it fits as it is, None where its pads cannot do it."""
    if wanted.is_inside(masses):
        return ()
    job, step_g = wanted.job, wanted.job.scale.resolution_g
    own = [i for i, pad in enumerate(job.pads) if UNIT_OF[pad.kind] == wanted.unit]
    most = [round(can_give_g(job, wanted.cylinder, i) / step_g) for i in own]
    if wanted.out or not any(most):
        return None
    pads = [job.pads[i] for i in own]
    for total in range(1, sum(most) + 1):
        for steps in _likely(wanted, masses, pads, most, total):
            cuts = tuple(OwnCut(pad, tidy(n * step_g)) for pad, n in zip(pads, steps, strict=True) if n)
            if wanted.is_inside(_after(wanted, masses, cuts)):
                return cuts
    return None


def heaviest_to_cut(wanted: Replacement, kind: str) -> float | None:
    """The heaviest reading of a part of one reading that metal off it alone brings into the window, all between
    being so, too; None where the window is empty or no metal comes off. [g]"""
    window, step_g = wanted.window(kind), wanted.job.scale.resolution_g
    if wanted.out or window is None or window.is_empty:
        return None
    heaviest = window.high_g
    while own_cut(wanted, {kind: tidy(heaviest + step_g)}) is not None:
        heaviest = tidy(heaviest + step_g)
    return heaviest if heaviest > window.high_g else None


def around(wanted: Replacement) -> list[dict[str, float]]:
    """Masses just outside the windows, a step and a whole limit to each side, to be tried; of a rod one end at a
    time, a whole limit off. [g]"""
    step_g, windows, middle = wanted.job.scale.resolution_g, wanted.windows, wanted.middle_g
    found = []
    for kind, window in windows.items():
        if window.is_empty:
            continue
        ends = [window.low_g - window.holds_low.limit_g, window.high_g + window.holds_high.limit_g]
        if len(wanted.kinds) == 1:
            top_g = heaviest_to_cut(wanted, kind) or window.high_g
            ends += [window.low_g - step_g, top_g + step_g, top_g + window.holds_high.limit_g]
        found += [middle | {kind: to_step(grams, step_g)} for grams in sorted(set(map(tidy, ends))) if grams > 0]
    return found


class CutGrid(NamedTuple):
    """The metal off a rod alone that brings the set inside, by what its ends read; None where it cannot. [g]"""

    big_ends_g: tuple[float, ...]
    small_ends_g: tuple[float, ...]
    grams: Mapping[tuple[float, float], float | None]


def cut_grid(wanted: Replacement, marks: int = 4) -> CutGrid | None:
    """From the top of a rod's windows to as heavy as its pads reach, so many marks at each end; None where none of
    them can be cut to fit."""
    windows = wanted.windows
    if wanted.out or windows.keys() != set(ENDS) or any(window.is_empty for window in windows.values()):
        return None
    job, step_g = wanted.job, wanted.job.scale.resolution_g
    marked = []
    for kind in ENDS:
        reach_g = max((falls(job, pad, pad.most_g).get(kind, 0.0) for pad in job.pads), default=0.0)
        marked.append([to_step(windows[kind].high_g + reach_g * n / (marks - 1), step_g) for n in range(marks)])
    grams: dict[tuple[float, float], float | None] = {}
    for big_g, small_g in itertools.product(*marked):
        cuts = own_cut(wanted, dict(zip(ENDS, (big_g, small_g), strict=True)))
        grams[big_g, small_g] = None if cuts is None else tidy(math.fsum(cut.grams for cut in cuts))
    return CutGrid(tuple(marked[0]), tuple(marked[1]), grams) if any(grams.values()) else None


def least_metal_mass(wanted: Replacement) -> dict[str, float] | None:
    """What the part would best read where the other parts have to lose metal whatever comes; None without limits.
    [g]"""
    job = wanted.job
    limited = [s for s in spreads(job, bobweights(job), wanted.sure) if s.limit_g is not None]
    if not limited:
        return None
    place = wanted.cylinder, wanted.unit
    freed = TrimProgramme(job, [window_of(job, spread) for spread in limited], [place]).solve(place)
    own, step_g = job.parts[wanted.cylinder], job.scale.resolution_g
    return {kind: to_step(own[kind].mean_g + change, step_g) for kind, change in freed.change_g.items()}


def _limited(wanted: Replacement, masses: Mapping[str, float]) -> tuple[Spread, ...]:
    job = with_part(wanted.job, wanted.unit, wanted.cylinder, masses, wanted.times)
    return tuple(s for s in spreads(job, bobweights(job), wanted.sure) if s.limit_g is not None)


def _after(wanted: Replacement, masses: Mapping[str, float], cuts: Iterable[OwnCut]) -> dict[str, float]:
    """What the scale should show once the cuts are made, as the trim expects it."""
    left = dict(masses)
    for cut in cuts:
        for kind, fall in falls(wanted.job, cut.pad, cut.grams).items():
            left[kind] -= fall
    return {kind: to_step(grams, wanted.job.scale.resolution_g) for kind, grams in left.items()}


def _likely(
    wanted: Replacement, masses: Mapping[str, float], pads: Sequence[Pad], most: Sequence[int], total: int
) -> Iterator[tuple[int, ...]]:
    """The ways to take so many steps at one pad or two that may bring every sum into its leeway, the most at the
    first pad first: what the rounding of the readings to come cannot make good is left out."""
    step_g, second = wanted.job.scale.resolution_g, most[1] if len(most) > 1 else 0
    fewest, most_here = float(max(0, total - second)), float(min(most[0], total))
    falls_g = [{kind: fall * step_g for kind, fall in falls(wanted.job, pad, 1.0).items()} for pad in pads]
    for leeway in wanted.leeways:
        first, *other = (math.fsum(leeway.counts.get(k, 0.0) * g for k, g in own.items()) for own in falls_g)
        rounding_g = step_g * math.fsum(leeway.counts.values())
        # With n steps at the first pad the sum is rest − slope · n.
        slope = first - (other[0] if other else 0.0)
        rest_g = leeway.sum_g(masses) - (other[0] * total if other else 0.0)
        ends = (rest_g - leeway.most_g - rounding_g, rest_g - leeway.least_g + rounding_g)
        if abs(slope) < DUST:
            if ends[0] > 0 or ends[1] < 0:
                return
            continue
        low, high = sorted(end / slope for end in ends)
        fewest, most_here = max(fewest, low), min(most_here, high)
    for here in range(math.floor(most_here + DUST), math.ceil(fewest - DUST) - 1, -1):
        yield (here, total - here)[: len(pads)]


def _beyond_g(wanted: Replacement, masses: Mapping[str, float]) -> float:
    """How far a part's sums are beyond their leeways, all together."""
    return math.fsum(
        max(0.0, one.sum_g(masses) - one.most_g, one.least_g - one.sum_g(masses)) for one in wanted.leeways
    )
