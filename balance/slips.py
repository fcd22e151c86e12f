"""Slips of the pen and the scale, caught before they become a bobweight.

Each check says what it saw and what it suspects. None of them changes a figure, and none fires on a
difference that the scale cannot see.
"""

from __future__ import annotations

import statistics
from collections.abc import Mapping
from dataclasses import dataclass

from truethrow.balance.bobweight import total
from truethrow.balance.job import Job
from truethrow.balance.parts import KINDS, label
from truethrow.balance.readings import Certainty, Mass, Reading, combine, decimals, verdict

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

# Without a limit of the job's own, the ends of a rod and its total agree this well: common practice, no source.
DEFAULT_CLOSURE_G = 0.5

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


@dataclass(frozen=True)
class Slip:
    """One suspicion: which check, which cylinder, which kind, and the sentence."""

    check: str
    cylinder: int | None
    kind: str
    sentence: str


def slips(job: Job, sure: Certainty) -> tuple[Slip, ...]:
    """Every slip found, cylinder by cylinder within each check."""
    swapped = _swapped_ends(job, sure)
    crossed = {slip.cylinder for slip in swapped}
    outliers = [
        slip
        for slip in _outliers(job, sure)
        if not (slip.cylinder in crossed and slip.kind in ("big_end", "small_end"))
    ]
    return (*swapped, *outliers, *_closure(job, sure), *_repeats(job))


def _outliers(job: Job, sure: Certainty) -> list[Slip]:
    found: list[Slip] = []
    for kind in KINDS:
        readings = {n: parts[kind.name] for n, parts in job.parts.items() if kind.name in parts}
        sisters = {n: reading for n, reading in readings.items() if reading.cylinder is not None}
        for number, reading in sisters.items():
            others = [other.mean_g for n, other in sisters.items() if n != number]
            if _far(reading, others, sure):
                sentence = _outlier_sentence(number, kind.label, reading.mean_g, others, job)
                found.append(Slip("outlier", number, kind.name, sentence))
    return found


def _far(reading: Reading, others: list[float], sure: Certainty) -> bool:
    """Whether a reading is far from its sisters: a robust score with a floor of one step of the scale."""
    if len(others) < FEWEST_SISTERS - 1:
        return False
    values = [reading.mean_g, *others]
    median = statistics.median(values)
    deviation = statistics.median(abs(value - median) for value in values)
    sigma = max(MAD_TO_SIGMA * deviation, sure.scale.resolution_g, sure.standard_g(reading))
    return abs(reading.mean_g - median) > OUTLIER_SCORE * sigma


def _outlier_sentence(number: int, name: str, value_g: float, others: list[float], job: Job) -> str:
    places = decimals(job.scale.resolution_g)
    median = statistics.median(others)
    side = "above" if value_g > median else "below"
    sentence = (
        f"cylinder {number}, {name}: {value_g:.{places}f} g is {abs(value_g - median):.{places}f} g {side} the "
        f"median of its sisters ({min(others):.{places}f} to {max(others):.{places}f} g)"
    )
    mistake = _mistake(value_g, others)
    return f"{sentence}; {mistake}?" if mistake else sentence


def _mistake(value_g: float, others: list[float]) -> str:
    """The slip of unit or decimal mark that would put the value among its sisters."""
    median = statistics.median(others)
    room = max(0.05 * median, max(others) - min(others))
    return next((said for times, said in _MISTAKES if abs(value_g * times - median) <= room), "")


def _swapped_ends(job: Job, sure: Certainty) -> list[Slip]:
    """Rods whose big end reads like a small end and the other way round."""
    big = {n: parts["big_end"] for n, parts in job.parts.items() if "big_end" in parts}
    small = {n: parts["small_end"] for n, parts in job.parts.items() if "small_end" in parts}
    found: list[Slip] = []
    for number in big.keys() & small.keys():
        bigs = [r.mean_g for n, r in big.items() if n != number]
        smalls = [r.mean_g for n, r in small.items() if n != number]
        if len(bigs) < FEWEST_SISTERS - 1 or not _far(big[number], bigs, sure):
            continue
        typical_big, typical_small = statistics.median(bigs), statistics.median(smalls)
        as_read = abs(big[number].mean_g - typical_big) + abs(small[number].mean_g - typical_small)
        crossed = abs(big[number].mean_g - typical_small) + abs(small[number].mean_g - typical_big)
        if crossed < as_read / 4:
            places = decimals(job.scale.resolution_g)
            sentence = (
                f"cylinder {number}, big end and small end: {big[number].mean_g:.{places}f} and "
                f"{small[number].mean_g:.{places}f} g look swapped (sisters {typical_big:.{places}f} and "
                f"{typical_small:.{places}f} g)"
            )
            found.append(Slip("swapped ends", number, "big_end", sentence))
    return sorted(found, key=lambda slip: slip.cylinder or 0)


def _closure(job: Job, sure: Certainty) -> list[Slip]:
    """Big end and small end against the rod weighed in one go, where it was."""
    limit_g = job.limits_g.get("closure", DEFAULT_CLOSURE_G)
    places = decimals(job.scale.resolution_g)
    found: list[Slip] = []
    for number, parts in job.parts.items():
        if not _whole_rod(parts):
            continue
        ends, whole = total(parts, "rod_total"), Mass.read(parts["rod_total"])
        gap = combine([(1.0, ends), (-1.0, whole)])
        if verdict(abs(gap.value_g), sure.expanded_g(gap), limit_g) == "outside":
            sentence = (
                f"cylinder {number}, rod: the ends add up to {ends.value_g:.{places}f} g, the rod in one go is "
                f"{whole.value_g:.{places}f} g; {abs(gap.value_g):.{places}f} g apart, {limit_g:g} g allowed"
            )
            found.append(Slip("closure", number, "rod_total", sentence))
    return found


def _whole_rod(parts: Mapping[str, Reading]) -> bool:
    return {"rod_total", "big_end", "small_end"} <= parts.keys()


def _repeats(job: Job) -> list[Slip]:
    """Readings of one part further apart than one scale and one hand explain (ISO 5725-6, critical range)."""
    places = decimals(job.scale.resolution_g)
    # The scatter of the very readings in doubt says nothing here; without a declared one, a step stands for it.
    sigma_g = job.scale.repeatability_g or job.scale.resolution_g
    found: list[Slip] = []
    for reading in job.readings():
        count = len(reading.repeats_g)
        if count < 2:
            continue
        apart_g = max(reading.repeats_g) - min(reading.repeats_g)
        allowed_g = CRITICAL_RANGE[count] * sigma_g
        if apart_g > allowed_g + 1e-9:
            who = "every cylinder" if reading.cylinder is None else f"cylinder {reading.cylinder}"
            sentence = (
                f"{who}, {label(reading.kind)}: {count} readings are {apart_g:.{places}f} g apart "
                f"({', '.join(f'{value:.{places}f}' for value in reading.repeats_g)} g); weigh it again"
            )
            found.append(Slip("repeats", reading.cylinder, reading.kind, sentence))
    return found
