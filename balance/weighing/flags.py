"""What looks wrong with a reading, before it is accepted. The words of it: worksheets/words/bench_words.py."""

from __future__ import annotations

import math
import statistics
from typing import TYPE_CHECKING, Literal, NamedTuple

from truethrow.balance.base.parts import BY_NAME, CUTTABLE, ENDS
from truethrow.balance.base.readings import Reading, allowed_range_g, tidy, verdict
from truethrow.balance.job.boxes import Box
from truethrow.balance.result import slips
from truethrow.balance.weighing.belongs import Doubt, doubt
from truethrow.balance.weighing.benchjob import WeighStep
from truethrow.balance.weighing.standing import Standing, mean_of, reading_of

if TYPE_CHECKING:
    from truethrow.balance.job.grinding import Grind


class Flag(NamedTuple):
    """One thing that looks wrong. what: it stands out among its like, is not what the cut was to leave, is apart
    from its other readings, or from the one in the job file, whose place it takes, or the ends do not make the
    whole rod, or it is not the part at the grinder, or it may be of another part (doubt says why), or it is
    none of the box that [estimate] tells of; off_g: by how
    much; is_above: or below; against_g: what the cut was to leave, what the job file has, what the part at the
    grinder read, or what is allowed; mistake: the likely one, where one explains it; agrees: as near to the job
    file as two readings of one part may be; may_be_ground: and not recorded."""

    what: Literal["outlier", "cut", "repeat", "file", "closure", "grinder", "doubt", "box"]
    off_g: float
    is_above: bool = False
    against_g: float = 0.0
    mistake: str = ""
    agrees: bool = False
    may_be_ground: bool = False
    doubt: Doubt | None = None
    box: Box | None = None


def suspect(now: Standing, step: WeighStep, grams: float) -> tuple[Flag, ...]:
    """What would look wrong with a reading of a step."""
    is_so = now.is_confirmed(step, grams)
    found = (
        None if is_so else _outlier(now, step, grams) or _doubtful(now, step, grams),
        _repeat(now, step, grams),
        _in_file(now, step, grams),
        _after_cut(now, step, grams),
        None if is_so else _closure(now, step, grams),
        None if is_so else _off_box(now, step, grams),
    )
    return tuple(filter(None, found))


def _outlier(now: Standing, step: WeighStep, grams: float) -> Flag | None:
    others = now.others(step)
    values = dict(enumerate([grams, *others]))
    if 0 not in slips.outliers(values, now.job.scale.resolution_g, now.job.limits_g.get(step.kind, 0.0)):
        return None
    median = statistics.median(others)
    mistake = slips.mistake(grams, others, now.job.scale.resolution_g)
    return Flag("outlier", abs(grams - median), is_above=grams > median, mistake=mistake)


def _off_box(now: Standing, step: WeighStep, grams: float) -> Flag | None:
    """A part that was cut is none to be held against a catalog any more."""
    box = now.job.boxes.get(step.kind)
    if box is None or (step.cylinder, step.kind) in now.cut or box.is_of(grams, now.job.scale.resolution_g):
        return None
    return Flag("box", abs(grams - box.about_g), is_above=grams > box.about_g, box=box)


def _doubtful(now: Standing, step: WeighStep, grams: float) -> Flag | None:
    """What may be of another part, though it is no outlier: of the first of a kind nothing else can be said."""
    found = doubt(now, step, grams)
    if found is None:
        return None
    return Flag("doubt", abs(grams - found.against_g), is_above=grams > found.against_g, doubt=found)


def _after_cut(now: Standing, step: WeighStep, grams: float) -> Flag | None:
    """Whether a part that was cut can have come to a reading, by what was asked for and what it was before."""
    sure, new = now.certainty(), reading_of(step.cylinder, step.kind, (grams,))
    for grind in last_grind(now, step):
        before = grind.before[step.kind]
        noise_g = math.hypot(sure.standard_g(before), sure.standard_g(new))
        if not grind.can_fall(step.kind, before.mean_g - grams, noise_g):
            expected_g = grind.expected_g[step.kind]
            off_g = grams - expected_g
            return Flag("cut", abs(off_g), is_above=off_g > 0, against_g=expected_g)
    return None


def after_cut_g(now: Standing, step: WeighStep) -> float | None:
    """What the last cut of a part was to leave, as long as it is not weighed since. [g]"""
    if now.of(step):
        return None
    return next((grind.expected_g[step.kind] for grind in last_grind(now, step)), None)


def is_before_or_after_cut(now: Standing, step: WeighStep, grams: float) -> bool | None:
    """Whether a reading can be of a part that was to be cut and was not weighed since: as it was, for nobody saw
    whether it was touched, or lighter by no more than a hand takes. None where no cut waits, or where nothing is
    known of the part before it."""
    if now.of(step):
        return None
    sure, new = now.certainty(), reading_of(step.cylinder, step.kind, (grams,))
    for grind in last_grind(now, step):
        before = grind.before[step.kind]
        noise_g = math.hypot(sure.standard_g(before), sure.standard_g(new))
        return grind.can_fall(step.kind, before.mean_g - grams, noise_g, least=0.0)
    return None


def last_grind(now: Standing, step: WeighStep) -> list[Grind]:
    """The last grind of the part at a step, where it was ground and what it was before is known."""
    if (step.cylinder, step.kind) not in now.cut:
        return []
    from truethrow.balance.job.grinding import grinds  # noqa: PLC0415 (few jobs have been ground)

    older: dict[int, dict[str, Reading]] = {step.cylinder: {}}
    for kind in BY_NAME:
        if reading := now.job.older.get(now.part_at(WeighStep(step.cylinder, kind)), {}).get(kind):
            older[step.cylinder][kind] = reading
    own = [r for r in now.replay.placed if r.cylinder == step.cylinder]
    found = grinds(own, older, now.job.pads, now.job.engine.declared_rod_length_mm)
    return [grind for grind, _ in found if step.kind in grind.before][-1:]


def _repeat(now: Standing, step: WeighStep, grams: float) -> Flag | None:
    own = tuple(r.grams for r in now.of(step))
    apart = max(*own, grams) - min(*own, grams) if own else 0.0
    if apart <= allowed_range_g(len(own) + 1, now.job.scale, step.kind) + 1e-9:
        return None
    return Flag("repeat", apart, may_be_ground=grams < min(own) and step.kind in CUTTABLE)


def _in_file(now: Standing, step: WeighStep, grams: float) -> Flag | None:
    """The first reading of a part at the bench takes the place of the job file's: not without a word, where they
    differ."""
    older = now.counting_older(step)
    if older is None or now.of(step) or tidy(abs(grams - older.mean_g)) == 0:
        return None
    read = (*older.repeats_g, grams)
    agrees = max(read) - min(read) <= allowed_range_g(len(read), now.job.scale, step.kind) + 1e-9
    is_lighter = not agrees and grams < min(older.repeats_g) and step.kind in CUTTABLE
    off_g = grams - older.mean_g
    return Flag(
        "file",
        abs(off_g),
        is_above=off_g > 0,
        against_g=older.mean_g,
        agrees=agrees,
        may_be_ground=is_lighter,
    )


def _closure(now: Standing, step: WeighStep, grams: float) -> Flag | None:
    """Both ends against the rod in one go, as soon as all three are there."""
    rod = (*ENDS, "rod_total")
    if step.kind not in rod:
        return None
    found = {kind: now.readings.get((step.cylinder, kind)) for kind in rod}
    values = {kind: mean_of(records) for kind, records in found.items() if records}
    values[step.kind] = grams
    if len(values) < len(rod):
        return None
    gap = abs(values["big_end"] + values["small_end"] - values["rod_total"])
    limit_g = now.job.limits_g.get("closure", slips.DEFAULT_CLOSURE_G)
    sure = now.certainty()
    expanded = math.hypot(*(sure.own_expanded_g(reading_of(0, kind, (0.0,))) for kind in rod))
    if verdict(gap, expanded, limit_g) != "outside":
        return None
    return Flag("closure", gap, against_g=limit_g)
