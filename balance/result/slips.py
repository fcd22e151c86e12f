"""Slips of the pen and the scale, caught before they become a bobweight.

Each check says what it saw and what it suspects. None of them changes a figure, and none fires on a
difference that the scale cannot see.
"""

from __future__ import annotations

import statistics
from collections.abc import Mapping, Sequence
from typing import Literal, NamedTuple

from truethrow.balance.base.parts import ENDS, KINDS, UNIT_OF
from truethrow.balance.base.readings import (
    Certainty,
    Mass,
    agrees,
    allowed_range_g,
    combine,
    is_weighed_twice,
    tidy,
    verdict,
)
from truethrow.balance.base.units import MASS
from truethrow.balance.job.job import Job
from truethrow.balance.result.bobweight import Bobweights, total
from truethrow.balance.result.heaps import PAIR, Heaps, two_heaps

# Largest deviation from the mean, in standard deviations, that one of m normal values reaches once in a hundred
# sets: the critical values of the generalized extreme studentized deviate test (Rosner 1983; NIST/SEMATECH
# e-Handbook of Statistical Methods, 1.3.5.17.3), two-sided at 0.01, for 3 sisters to as many cylinders as an
# engine may have. The tests recompute them.
# fmt: off
_CRITICAL_DEVIATES = (
    1.155, 1.496, 1.764, 1.973, 2.139, 2.274, 2.387, 2.482, 2.564, 2.636, 2.699, 2.755, 2.806, 2.852, 2.894,
    2.932, 2.968, 3.001, 3.031, 3.06, 3.087, 3.112, 3.135, 3.158, 3.179, 3.199, 3.218, 3.236, 3.253, 3.27,
    3.286, 3.301, 3.316, 3.33, 3.343, 3.356, 3.369, 3.381, 3.392, 3.404, 3.415, 3.425, 3.435, 3.445, 3.455,
    3.464, 3.474, 3.482, 3.491, 3.5, 3.508, 3.516, 3.524, 3.531, 3.539, 3.546, 3.553, 3.56, 3.567, 3.573, 3.58,
    3.586, 3.592, 3.598, 3.604, 3.61, 3.616, 3.622, 3.627, 3.633, 3.638, 3.643, 3.648, 3.653, 3.658, 3.663,
    3.668, 3.673, 3.678, 3.682, 3.687, 3.691, 3.695, 3.7, 3.704, 3.708, 3.712, 3.716, 3.72, 3.724, 3.728,
    3.732, 3.736, 3.74, 3.743, 3.747, 3.75,
)
# fmt: on
CRITICAL_DEVIATE = dict(enumerate(_CRITICAL_DEVIATES, start=3))
# A difference of so few steps of the scale is never an outlier, however alike the sisters read.
STEPS_ALLOWED = 3.5
# Parts of one kind never differ by so much: common practice, no source. It catches a mistaken unit in sets that
# are too small for statistics.
GROSS = 0.2
FEWEST_SISTERS = 3

# Without a limit of the job's own, the ends of a rod and its total agree this well: common practice,
# no source.
DEFAULT_CLOSURE_G = 0.5

# A declared bobweight further than this part from the true one: common practice, no source.
HANG_APART = 0.1

_OUNCE_G, _POUND_G = float(MASS.factors["oz"]), float(MASS.factors["lb"])
# What a reading is multiplied by when its unit was mistaken, and how that is said.
_MISTAKES = (
    (_OUNCE_G, "ounces read as grams"),
    (1 / _OUNCE_G, "grams read as ounces"),
    (_POUND_G, "pounds read as grams"),
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
    largest; both ends' typical readings; the rod in one go; the other heap's least, median and largest; nothing);
    apart_g and allowed_g: how far off, and how far it may be; suspicion: the likely mistake, if one would explain
    it; heaps: the parts of which found_g and against_g are, where half a set is of another one; of: the kinds
    of reading that say so."""

    check: Literal["outlier", "two heaps", "swapped ends", "closure", "repeats", "hang"]
    cylinder: int | None
    kind: str
    found_g: tuple[float, ...]
    against_g: tuple[float, ...]
    apart_g: float
    allowed_g: float
    suspicion: str = ""
    heaps: tuple[tuple[int, ...], ...] = ()
    of: tuple[str, ...] = ()

    @property
    def is_a_pair(self) -> bool:
        """Whether the heaps are one part each: of which the reading is wrong, nobody can tell."""
        return bool(self.heaps) and all(len(heap) == 1 for heap in self.heaps)

    @property
    def kinds(self) -> tuple[str, ...]:
        """The kinds of reading that are in doubt; none for a mass that the job declares."""
        match self.check:
            case "two heaps":
                return self.of
            case "swapped ends":
                return ENDS
            case "closure":
                return (*ENDS, "rod_total")
            case "hang":
                return ()
        return (self.kind,)


def slips(job: Job, weights: Bobweights, sure: Certainty) -> tuple[Slip, ...]:
    """Every slip found, cylinder by cylinder within each check; not what was looked at again since: a part that
    was weighed twice and reads the same, or a reading that was confirmed."""
    swapped = _swapped_ends(job)
    said_of_ends = {slip.cylinder for slip in swapped}
    # Of two rods, the one whose ends are swapped is all that is wrong.
    heaps = [slip for slip in _two_heaps(job) if not (slip.is_a_pair and slip.kind in ENDS and said_of_ends)]
    in_heaps = {kind for slip in heaps for kind in slip.kinds}
    far = [slip for slip in _outliers(job) if slip.kind not in in_heaps]
    # What is said of an end is not said again of the whole rod, nor what is said of both ends, of each.
    said_of_rod = said_of_ends | {slip.cylinder for slip in far if slip.kind in ENDS}
    fresh = [
        slip
        for slip in far
        if not (slip.kind in ENDS and slip.cylinder in said_of_ends)
        and not (slip.kind == "rod_total" and slip.cylinder in said_of_rod)
    ]
    readings = (*heaps, *swapped, *fresh, *_closure(job, sure), *_repeats(job, sure))
    return (*(slip for slip in readings if not _is_settled(slip, job)), *_hung(job, weights))


def _is_settled(slip: Slip, job: Job) -> bool:
    """Whether a suspicion was looked into. A second weighing settles that a part is as far from the others as it
    reads; a mistaken unit or ends that are swapped may well come twice, and only a word settles them. Readings of
    one part that disagree cannot all be right, whatever is said of them."""
    if slip.check == "repeats":
        return False
    if (
        slip.check == "two heaps"
    ):  # weighed twice they are as far apart; only a word says that they belong together
        return any(
            all(job.parts[n][kind].settled == "confirmed" for n in heap for kind in slip.of) for heap in slip.heaps
        )
    parts = job.parts[slip.cylinder] if slip.cylinder else next(iter(job.parts.values()))
    read = [parts[kind] for kind in slip.kinds if kind in parts]
    if all(reading.settled == "confirmed" for reading in read):
        return True
    return slip.check == "outlier" and not slip.suspicion and all(is_weighed_twice(r, job.scale) for r in read)


def _masses(job: Job, kind: str) -> dict[int, float]:
    """The parts of a kind that were weighed each on its own."""
    return {
        number: parts[kind].mean_g
        for number, parts in job.parts.items()
        if kind in parts and parts[kind].cylinder is not None
    }


def _two_heaps(job: Job) -> list[Slip]:
    """Kinds of which half is from another set; both ends of the same rods are told once, and so the whole rods."""
    step_g = job.scale.resolution_g
    found = {
        kind.name: heaps
        for kind in KINDS
        if (heaps := two_heaps(_masses(job, kind.name), step_g, job.limits_g.get(kind.name, 0.0)))
    }
    told: dict[tuple[str, frozenset[tuple[int, ...]]], list[str]] = {}
    for kind, heaps in found.items():
        told.setdefault((UNIT_OF.get(kind, kind), frozenset(heaps)), []).append(kind)
    return [_heaps_slip(job, kinds, found[kinds[0]]) for kinds in told.values()]


def _heaps_slip(job: Job, kinds: Sequence[str], heaps: Heaps) -> Slip:
    masses, step_g = _masses(job, kinds[0]), job.scale.resolution_g
    in_doubt, others = ([masses[n] for n in heap] for heap in (heaps.fewer, heaps.others))
    median = statistics.median(others)
    return Slip(
        "two heaps",
        None,
        kinds[0],
        tuple(in_doubt),
        (min(others), median, max(others)),
        tidy(abs(statistics.median(in_doubt) - median)),
        tidy(max(job.limits_g.get(kinds[0], 0.0), STEPS_ALLOWED * step_g)),
        "" if len(masses) == PAIR else mistake(statistics.median(in_doubt), others, step_g),  # of two, either
        (heaps.fewer, heaps.others),
        tuple(kinds),
    )


def _outliers(job: Job) -> list[Slip]:
    found: list[Slip] = []
    for kind in KINDS:
        values = _masses(job, kind.name)
        allowed = job.limits_g.get(kind.name, 0.0)
        out = outliers(values, job.scale.resolution_g, allowed)
        clean = [value for number, value in values.items() if number not in out]
        for number in out:
            median = statistics.median(clean)
            found.append(
                Slip(
                    "outlier",
                    number,
                    kind.name,
                    (values[number],),
                    (min(clean), median, max(clean)),
                    tidy(abs(values[number] - median)),
                    tidy(max(allowed, STEPS_ALLOWED * job.scale.resolution_g)),
                    mistake(values[number], clean, job.scale.resolution_g),
                )
            )
    return found


def outliers(values: Mapping[int, float], step_g: float, allowed_g: float = 0.0) -> tuple[int, ...]:
    """The values that do not belong to their sisters, by the generalized ESD test at 0.01 with at most a third
    of them out, or by being a fifth of the median away, if that is more than the scale's steps. allowed_g: a
    deviation that is no outlier anyway."""
    if len(values) < FEWEST_SISTERS:
        return ()
    median = statistics.median(values.values())
    far_g = max(GROSS * median, STEPS_ALLOWED * step_g)
    gross = {n for n, value in values.items() if abs(value - median) > far_g + 1e-9}
    left = {n: value for n, value in values.items() if n not in gross}
    removed: list[int] = []
    out = 0
    while len(left) >= FEWEST_SISTERS and len(removed) < max(1, len(values) // 3):
        mean = statistics.fmean(left.values())
        # Parts that read alike still scatter within the scale's step.
        deviation = max(statistics.stdev(left.values()), step_g)
        farthest = max(left, key=lambda n: abs(left[n] - mean))
        removed.append(farthest)
        if abs(left[farthest] - mean) / deviation > CRITICAL_DEVIATE[len(left)]:
            out = len(removed)
        del left[farthest]
    clean = [value for n, value in values.items() if n not in gross and n not in removed[:out]]
    middle = statistics.median(clean or values.values())
    reach = max(allowed_g, STEPS_ALLOWED * step_g) + 1e-9
    far = gross | {n for n in removed[:out] if abs(values[n] - middle) > reach}
    return tuple(n for n in values if n in far) if len(far) < len(values) else ()


def mistake(value_g: float, others: Sequence[float], step_g: float) -> str:
    """The slip of unit or decimal mark that would put the value, give or take its own rounding, among its
    sisters; nothing for a value that is among them."""
    median = statistics.median(others)
    room = 0.05 * median
    if abs(value_g - median) <= room:
        return ""
    for times, said in _MISTAKES:
        if abs(value_g * times - median) <= room + times * step_g / 2:
            return said
    return ""


def _swapped_ends(job: Job) -> list[Slip]:
    """Rods whose big end reads like a small end and the other way round: by the others, or because it is not
    heavier than its own small end, be they all alike. Rods whose big end is the lighter one hardly exist: common
    practice, no source."""
    rods = {n: parts for n, parts in job.parts.items() if parts.keys() >= set(ENDS)}
    if not rods:
        return []
    typical = tuple(statistics.median(parts[end].mean_g for parts in rods.values()) for end in ENDS)
    found: list[Slip] = []
    for number, rod in rods.items():
        read = tuple(rod[end].mean_g for end in ENDS)
        if read[0] <= read[1]:
            found.append(Slip("swapped ends", number, "big_end", read, read[::-1], tidy(read[1] - read[0]), 0.0))
            continue
        if len(rods) < FEWEST_SISTERS:
            continue
        as_read = abs(read[0] - typical[0]) + abs(read[1] - typical[1])
        crossed = abs(read[0] - typical[1]) + abs(read[1] - typical[0])
        if crossed < as_read / 4 and as_read > STEPS_ALLOWED * job.scale.resolution_g:
            apart_g = tidy(abs(read[0] - typical[0]))
            found.append(Slip("swapped ends", number, "big_end", read, typical, apart_g, tidy(as_read / 4)))
    return found


def _hung(job: Job, weights: Bobweights) -> list[Slip]:
    """A declared mass to hang that is far from what the throws carry: a slip of the pen, or another engine's."""
    return [
        Slip(
            "hang",
            None,
            "bobweight",
            (throw.hung_g,),
            (throw.bobweight.value_g,),
            abs(throw.deviation.value_g),
            tidy(HANG_APART * throw.bobweight.value_g),
            f"throw {throw.throw.name}",
        )
        for throw in weights.throws
        if weights.rule == "declared" and abs(throw.deviation.value_g) > HANG_APART * throw.bobweight.value_g
    ]


def _closure(job: Job, sure: Certainty) -> list[Slip]:
    """Big end and small end against the rod weighed in one go, where it was."""
    limit_g = job.limits_g.get("closure", DEFAULT_CLOSURE_G)
    found: list[Slip] = []
    for number, parts in job.parts.items():
        if not {"rod_total", *ENDS} <= parts.keys():
            continue
        ends, whole = total(parts, "both_ends"), Mass.read(parts["rod_total"])
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


def _repeats(job: Job, sure: Certainty) -> list[Slip]:
    """Readings of one part further apart than one scale and one hand explain (ISO 5725-6, critical range); of one
    that is left out of the scatter, with those before them."""
    found: list[Slip] = []
    for reading in job.readings():
        grams = reading.weighings_g if reading in sure.outlying else reading.repeats_g
        if not agrees(grams, job.scale, reading.kind):
            apart_g = tidy(max(grams) - min(grams))
            allowed_g = allowed_range_g(len(grams), job.scale, reading.kind)
            found.append(Slip("repeats", reading.cylinder, reading.kind, grams, (), apart_g, allowed_g))
    return found
