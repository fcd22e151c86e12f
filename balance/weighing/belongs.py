"""Whether what lies on the scale can be the part that is asked for, by what is weighed of the job; and which part,
read before the others were, turns out to be none of them. The words of it: worksheets/words/bench_words.py."""

from __future__ import annotations

import statistics
from collections.abc import Iterator, Sequence
from typing import Literal, NamedTuple

from truethrow.balance.base.parts import BY_NAME
from truethrow.balance.job.plausible_masses import BESIDE, PISTON_G_A_CM3
from truethrow.balance.log.records import Weighed
from truethrow.balance.result import slips
from truethrow.balance.weighing.benchjob import WeighStep
from truethrow.balance.weighing.standing import Sister, Standing

# Parts of one set are no farther apart than this (with one other alone: slips.GROSS); so few steps of the scale
# may be more than that of a light part: common practice, no source.
ANOTHER_PART = 0.05
ANOTHER_PART_STEPS = 5
# So near to a part of another kind, the first of a kind is one of those: common practice, no source.
OF_A_KIND = 0.005
# What stands out by less is for the work after the bench, not for a second weighing at once: common practice, no
# source.
FAR_OUT = 0.02
# So many of a kind are read before statistics can say anything of one: of three none can be far enough out.
EARLY = 3


class Doubt(NamedTuple):
    """Why a reading may be of another part. what: it is far from the others of its set (another), or from the only
    one that there is, so that either may be wrong (apart); it weighs as much as one of another kind (kind), or
    hardly fits one (beside), or the bore (bore). What only stands out among its like is taken, with a flag, so
    that the loads to come stay in step with the list. against_g: what it was held against (the bore in mm);
    kind, cylinder: of that."""

    what: Literal["another", "apart", "kind", "beside", "bore"]
    against_g: float
    kind: str = ""
    cylinder: int = 0

    @property
    def passes_twice(self) -> bool:
        """Whether the same load, lifted off and put on again, is taken: it may well be so."""
        return self.what not in ("another", "kind")


def doubt(now: Standing, step: WeighStep, grams: float) -> Doubt | None:
    """Why a reading of a step is not taken before somebody has looked; None where nothing speaks against it."""
    if now.is_confirmed(step, grams):
        return None
    sisters = [sister for sister in now.sisters(step.kind) if sister.cylinder != step.cylinder]
    step_g = now.job.scale.resolution_g
    if far := _far_from(sisters, step.kind, grams, step_g):
        return far
    if len(sisters) > 1:
        return None
    near = _of_another_kind(now, step, sisters, grams)
    return near or (None if sisters else _unlike_its_kind(now, step, grams))


def alone(now: Standing) -> tuple[WeighStep, ...]:
    """The parts that were weighed once at the bench and are none of their set, as the others read. Of the first
    of a kind nothing could be said when they were read; what was flagged then is not told again."""
    return tuple(step for kind in BY_NAME for step in _alone_of(now, kind, now.sisters(kind)))


def _alone_of(now: Standing, kind: str, sisters: Sequence[Sister]) -> Iterator[WeighStep]:
    step_g, limit_g = now.job.scale.resolution_g, now.job.limits_g.get(kind, 0.0)
    masses = {sister.cylinder: sister.mean_g for sister in sisters}
    out = slips.outliers(masses, step_g, limit_g)
    early = [r.cylinder for r in now.replay.placed if isinstance(r, Weighed) and r.kind == kind][:EARLY]
    for cylinder, grams in masses.items():
        others = [other_g for other, other_g in masses.items() if other != cylinder]
        is_far = len(others) > 1 and _like(min(others), max(others), step_g)
        is_far = is_far and not any(_like(grams, other_g, step_g) for other_g in others)
        step = WeighStep(cylinder, kind)
        stands_out = cylinder in out and cylinder in early and _stands_out(grams, others, step_g)
        if (is_far or stands_out) and _may_be_asked(now, step, grams):
            yield step


def _stands_out(grams: float, others: Sequence[float], step_g: float) -> bool:
    median = statistics.median(others)
    far_g = max(FAR_OUT * median, ANOTHER_PART_STEPS * step_g)
    return abs(grams - median) > far_g + 1e-9 and _like(grams, median, step_g)


def _may_be_asked(now: Standing, step: WeighStep, grams: float) -> bool:
    return len(now.of(step)) == 1 and now.older(step) is None and not now.is_confirmed(step, grams)


def _like(a_g: float, b_g: float, step_g: float) -> bool:
    """Whether two parts may be of one set."""
    return abs(a_g - b_g) <= max(ANOTHER_PART * max(a_g, b_g), ANOTHER_PART_STEPS * step_g) + 1e-9


def _far_from(sisters: Sequence[Sister], kind: str, grams: float, step_g: float) -> Doubt | None:
    """Too far from its sisters, by what most of them agree on: one of them may itself be another part."""
    if not sisters:
        return None
    if len(sisters) == 1:
        (only,) = sisters
        far = abs(grams - only.mean_g) > max(slips.GROSS * only.mean_g, ANOTHER_PART_STEPS * step_g)
        return Doubt("apart", only.mean_g, kind, only.cylinder) if far else None
    near = sum(_like(grams, sister.mean_g, step_g) for sister in sisters)
    heaps = [[b for b in sisters if _like(a.mean_g, b.mean_g, step_g)] for a in sisters]
    largest = max(heaps, key=len)
    if len(largest) >= max(2, 2 * near):
        return Doubt("another", statistics.median(s.mean_g for s in largest))
    return None if near else Doubt("apart", largest[0].mean_g, kind, largest[0].cylinder)


def _of_another_kind(now: Standing, step: WeighStep, sisters: Sequence[Sister], grams: float) -> Doubt | None:
    others = [(sister, kind) for kind in BY_NAME if kind != step.kind for sister in now.sisters(kind)]
    if not others:
        return None
    nearest, kind = min(others, key=lambda one: abs(one[0].mean_g - grams))
    own_g = min((abs(grams - sister.mean_g) for sister in sisters), default=float("inf"))
    near_g = abs(nearest.mean_g - grams)
    is_one = near_g <= max(OF_A_KIND * grams, now.job.scale.resolution_g) < own_g
    return Doubt("kind", nearest.mean_g, kind, nearest.cylinder) if is_one else None


def _unlike_its_kind(now: Standing, step: WeighStep, grams: float) -> Doubt | None:
    """Of the first of a kind, by what other kinds weigh; of the first piston of all, by the bore."""
    for (kind, other), (least, most) in BESIDE.items():
        if kind != step.kind or not (known := now.sisters(other)):
            continue
        median = statistics.median(sister.mean_g for sister in known)
        if not least * median <= grams <= most * median:
            return Doubt("beside", median, other)
    bore_mm = now.job.engine.bore_mm
    if step.kind == "piston" and bore_mm is not None:
        least, most = (density * (bore_mm / 10) ** 3 for density in PISTON_G_A_CM3)
        if not least <= grams <= most:
            return Doubt("bore", bore_mm)
    return None
