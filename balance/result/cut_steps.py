"""From the solver's target to cuts on the scale's steps: what is told is a whole number of them, so that what the
scale will show stays in the windows."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from truethrow.balance.base.parts import weighed_by
from truethrow.balance.base.readings import tidy
from truethrow.balance.job.job import Job
from truethrow.balance.job.levers import solved
from truethrow.balance.result.bobweight import to_step
from truethrow.balance.result.least_metal import SOLVER_DUST_G, Target, Window, can_give_g, falls


def in_steps(job: Job, windows: Sequence[Window], target: Target) -> dict[tuple[int, int], float]:
    """Each cut as a whole number of the scale's steps, cylinder by cylinder, so that what the scale will
    show stays in the windows; among those that do, the least grams."""
    taken: dict[tuple[int, int], float] = {}
    shown = {(c, kind): reading.mean_g for c, parts in job.parts.items() for kind, reading in parts.items()}
    for (cylinder, pad), grams in target.grams.items():
        for kind, loss in falls(job, job.pads[pad], grams).items():
            shown[cylinder, kind] -= loss
    for cylinder in job.parts:
        wanted = {i: target.grams[c, i] for c, i in target.grams if c == cylinder}
        wanted = {i: grams for i, grams in wanted.items() if grams > SOLVER_DUST_G}
        if wanted:
            frames = _frames(cylinder, windows, target, shown)
            best = _best_steps(job, cylinder, wanted, frames, reach=0)
            if best.beyond > 0:
                wider = _best_steps(job, cylinder, wanted, frames, reach=1)
                best = min(best, wider, key=lambda steps: steps[:3])
            taken |= {(cylinder, i): grams for i, grams in best.cuts.items() if grams > 0}
            shown |= {(cylinder, kind): value for kind, value in best.readings.items()}
    return taken


class _Frame(NamedTuple):
    """One member of one window as one cylinder sees it: its bounds less what other cylinders bring to it, and
    what a gram of each of this cylinder's kinds counts in it."""

    low_g: float
    high_g: float
    firm: bool
    weights: Mapping[str, float]


class _Steps(NamedTuple):
    """Cuts of one cylinder in whole steps, in the order of preference: how far firm windows are left, then the
    others, in steps; then the grams. Then what the scale will show, and the cuts."""

    firm_beyond: float
    soft_beyond: float
    grams: float
    readings: dict[str, float]
    cuts: dict[int, float]

    @property
    def beyond(self) -> float:
        return self.firm_beyond + self.soft_beyond


def _frames(
    cylinder: int,
    windows: Sequence[Window],
    target: Target,
    shown: Mapping[tuple[int, str], float],
) -> list[_Frame]:
    frames = []
    for window, bottom, over in zip(windows, target.bottoms, target.excess, strict=True):
        for member in window.members:
            own = {kind: weight for (c, kind), weight in member.weights.items() if c == cylinder}
            if not own:
                continue
            others = math.fsum(w * shown[place] for place, w in member.weights.items() if place[0] != cylinder)
            low = bottom - window.rounding_g / 2 - others - member.unread_g
            frames.append(_Frame(low, low + window.width_g + over + window.rounding_g, window.firm, own))
    return frames


def _best_steps(
    job: Job,
    cylinder: int,
    wanted: Mapping[int, float],
    frames: Sequence[_Frame],
    reach: int,
) -> _Steps:
    """The best whole steps around the wanted grams, up to reach further than the two nearest; or no cut."""
    step = job.scale.resolution_g
    parts = {kind: reading.mean_g for kind, reading in job.parts[cylinder].items()}
    choices = [_nearby(grams, step, can_give_g(job, cylinder, i), reach) for i, grams in wanted.items()]
    tried = []
    for grams in (*itertools.product(*choices), *_on_the_grid(job, cylinder, wanted), (0.0,) * len(wanted)):
        cuts = dict(zip(wanted, grams, strict=True))
        readings = dict(parts)
        for i, taken in cuts.items():
            for kind, loss in falls(job, job.pads[i], taken).items():
                readings[kind] -= loss
        readings = {k: v if v == parts[k] else to_step(v, step) for k, v in readings.items()}
        beyond = {True: 0.0, False: 0.0}
        for frame in frames:
            value = math.fsum(w * readings[kind] for kind, w in frame.weights.items() if kind in readings)
            beyond[frame.firm] += max(0.0, frame.low_g - value, value - frame.high_g)
        # Beyond by less than a hundredth of a step is the programme's own rounding.
        firm, soft = (round(beyond[key] / step, 2) for key in (True, False))
        tried.append(_Steps(firm, soft, tidy(math.fsum(grams)), readings, cuts))
    return min(tried, key=lambda steps: steps[:3])


def _on_the_grid(job: Job, cylinder: int, wanted: Mapping[int, float]) -> list[tuple[float, ...]]:
    """The pair of cuts whose readings come nearest to the steps of the scale: the two equations solved for the
    readings that the wanted cuts would leave, were the scale to show them."""
    pads = {job.pads[i].kind: i for i in wanted}
    if list(pads) != list(weighed_by("rod")):
        return []
    step = job.scale.resolution_g
    fallen = dict.fromkeys(pads, 0.0)
    for i, grams in wanted.items():
        for kind, loss in falls(job, job.pads[i], grams).items():
            fallen[kind] += loss
    reads = {kind: job.parts[cylinder][kind].mean_g for kind in pads}
    big_g, small_g = (reads[kind] - to_step(reads[kind] - fallen[kind], step) for kind in pads)
    big, small = (tuple(falls(job, job.pads[i], 1.0).values()) for i in pads.values())
    pair = tuple(to_step(grams, step) for grams in solved(big_g, small_g, (big[0], big[1]), (small[0], small[1])))
    fits = all(0 <= grams <= can_give_g(job, cylinder, i) for grams, i in zip(pair, pads.values(), strict=True))
    return [pair] if fits else []


def _nearby(grams: float, step: float, most_g: float, reach: int) -> list[float]:
    floor = math.floor(grams / step + 1e-6)
    values = (tidy(k * step) for k in range(floor - reach, floor + 2 + reach))
    return [value for value in values if 0 <= value <= most_g + 1e-9]
