"""Slips of the pen and the scale, caught before they become a bobweight.

Each check says what it saw and what it suspects. None of them changes a figure, and none fires on a
difference that the scale cannot see.
"""

from __future__ import annotations

import statistics
from typing import Literal, NamedTuple

from truethrow.balance.bobweight import total
from truethrow.balance.job import Job
from truethrow.balance.parts import KINDS
from truethrow.balance.readings import Certainty, Mass, Reading, combine, tidy, verdict

# Modified z-score beyond which a value is a potential outlier: Iglewicz and Hoaglin, How to Detect and Handle
# Outliers (1993), as given in the NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.
OUTLIER_SCORE = 3.5
MAD_TO_SIGMA = 1.4826
FEWEST_SISTERS = 3

# Critical range of n readings of one thing at 95 %, in standard deviations: ISO 5725-6:1994, Table 1 (the
# tests recompute it from the studentized range).
CRITICAL_RANGE = {
    **{2: 2.8, 3: 3.3, 4: 3.6, 5: 3.9, 6: 4.0, 7: 4.2, 8: 4.3, 9: 4.4, 10: 4.5, 11: 4.6, 12: 4.6},
    **{13: 4.7, 14: 4.7, 15: 4.8, 16: 4.8, 17: 4.9, 18: 4.9, 19: 5.0, 20: 5.0},
}

# Without a limit of the job's own, the ends of a rod and its total agree this well: common practice,
# no source.
DEFAULT_CLOSURE_G = 0.5

_ENDS = ("big_end", "small_end")

# What a reading is multiplied by when its unit was mistaken, and how that is said.
_MISTAKES = (
    (28.349523125, "ounces read as grams"),
    (1 / 28.349523125, "grams read as ounces"),
    (453.59237, "pounds read as grams"),
    (1000.0, "kilograms read as grams"),
    (0.001, "grams read as kilograms"),
    (10.0, "a decimal mark one place to the left"),
    (0.1, "a decimal mark one place to the right"),
    (100.0, "a decimal mark two places to the left"),
    (0.01, "a decimal mark two places to the right"),
)


class Slip(NamedTuple):
    """One suspicion. check: which one; cylinder: None for a reading that stands for all; kind of part;
    found_g: the readings in doubt; against_g: what they were held against (the sisters' least, median and
    largest; both ends' typical readings; the rod in one go; nothing); apart_g and allowed_g: how far off,
    and how far it may be; suspicion: the likely mistake, if one would explain it."""

    check: Literal["outlier", "swapped ends", "closure", "repeats"]
    cylinder: int | None
    kind: str
    found_g: tuple[float, ...]
    against_g: tuple[float, ...]
    apart_g: float
    allowed_g: float
    suspicion: str = ""


def slips(job: Job, sure: Certainty) -> tuple[Slip, ...]:
    """Every slip found, cylinder by cylinder within each check."""
    swapped = _swapped_ends(job, sure)
    outliers = _outliers(job, sure)
    # What is said of an end is not said again of the whole rod, nor what is said of both ends, of each.
    said_of_ends = {slip.cylinder for slip in swapped}
    said_of_rod = said_of_ends | {slip.cylinder for slip in outliers if slip.kind in _ENDS}
    fresh = [
        slip
        for slip in outliers
        if not (slip.kind in _ENDS and slip.cylinder in said_of_ends)
        and not (slip.kind == "rod_total" and slip.cylinder in said_of_rod)
    ]
    return (*swapped, *fresh, *_closure(job, sure), *_repeats(job))


def _outliers(job: Job, sure: Certainty) -> list[Slip]:
    found: list[Slip] = []
    for kind in KINDS:
        sisters = {
            number: reading
            for number, parts in job.parts.items()
            if (reading := parts.get(kind.name)) is not None and reading.cylinder is not None
        }
        for number, reading in sisters.items():
            others = [other.mean_g for n, other in sisters.items() if n != number]
            if (allowed_g := far(reading, others, sure)) is None:
                continue
            median = statistics.median(others)
            found.append(
                Slip(
                    "outlier",
                    number,
                    kind.name,
                    (reading.mean_g,),
                    (min(others), median, max(others)),
                    tidy(abs(reading.mean_g - median)),
                    tidy(allowed_g),
                    mistake(reading.mean_g, others, job.scale.resolution_g),
                )
            )
    return found


def far(reading: Reading, others: list[float], sure: Certainty) -> float | None:
    """How far a reading may be from the median of the set, where it is further: a robust score whose floor is
    a step of the scale. None where it is near enough, or where there are too few sisters to say."""
    if len(others) < FEWEST_SISTERS - 1:
        return None
    values = [reading.mean_g, *others]
    median = statistics.median(values)
    deviation = statistics.median(abs(value - median) for value in values)
    sigma = max(MAD_TO_SIGMA * deviation, sure.scale.resolution_g, sure.standard_g(reading))
    return OUTLIER_SCORE * sigma if abs(reading.mean_g - median) > OUTLIER_SCORE * sigma + 1e-9 else None


def mistake(value_g: float, others: list[float], step_g: float) -> str:
    """The slip of unit or decimal mark that would put the value, give or take its own rounding, among its
    sisters."""
    median = statistics.median(others)
    room = max(0.05 * median, max(others) - min(others))
    for times, said in _MISTAKES:
        if abs(value_g * times - median) <= room + times * step_g / 2:
            return said
    return ""


def _swapped_ends(job: Job, sure: Certainty) -> list[Slip]:
    """Rods whose big end reads like a small end and the other way round."""
    rods = {n: parts for n, parts in job.parts.items() if parts.keys() >= set(_ENDS)}
    found: list[Slip] = []
    for number, rod in rods.items():
        big, small = rod["big_end"].mean_g, rod["small_end"].mean_g
        bigs = [parts["big_end"].mean_g for n, parts in rods.items() if n != number]
        smalls = [parts["small_end"].mean_g for n, parts in rods.items() if n != number]
        if (allowed_g := far(rod["big_end"], bigs, sure)) is None:
            continue
        typical = statistics.median(bigs), statistics.median(smalls)
        as_read = abs(big - typical[0]) + abs(small - typical[1])
        crossed = abs(big - typical[1]) + abs(small - typical[0])
        if crossed < as_read / 4:
            apart_g = tidy(abs(big - typical[0]))
            found.append(Slip("swapped ends", number, "big_end", (big, small), typical, apart_g, tidy(allowed_g)))
    return found


def _closure(job: Job, sure: Certainty) -> list[Slip]:
    """Big end and small end against the rod weighed in one go, where it was."""
    limit_g = job.limits_g.get("closure", DEFAULT_CLOSURE_G)
    found: list[Slip] = []
    for number, parts in job.parts.items():
        if not {"rod_total", *_ENDS} <= parts.keys():
            continue
        ends, whole = total(parts, "rod_total"), Mass.read(parts["rod_total"])
        gap = combine([(1.0, ends), (-1.0, whole)])
        if verdict(abs(gap.value_g), sure.expanded_g(gap), limit_g) == "outside":
            found.append(
                Slip(
                    "closure",
                    number,
                    "rod_total",
                    (ends.value_g,),
                    (whole.value_g,),
                    abs(gap.value_g),
                    limit_g,
                )
            )
    return found


def _repeats(job: Job) -> list[Slip]:
    """Readings of one part further apart than one scale and one hand explain (ISO 5725-6, critical range)."""
    # The scatter of the readings in doubt says nothing here; without a declared one, a step stands for it.
    sigma_g = job.scale.repeatability_g or job.scale.resolution_g
    found: list[Slip] = []
    for reading in job.readings():
        if len(reading.repeats_g) < 2:
            continue
        apart_g = tidy(max(reading.repeats_g) - min(reading.repeats_g))
        allowed_g = tidy(CRITICAL_RANGE[len(reading.repeats_g)] * sigma_g)
        if apart_g > allowed_g:
            found.append(
                Slip("repeats", reading.cylinder, reading.kind, reading.repeats_g, (), apart_g, allowed_g)
            )
    return found
