"""A reading off the scale, and how sure it is.

Every mass carries the readings that it was made from, each with its sensitivity, so that the uncertainty of
a sum, a difference or a spread knows what its terms have in common (JCGM 100:2008, 5.1 and 5.2): a part that
was weighed once for all cylinders cancels in a spread, and so does an error that all readings share.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal, NamedTuple

COVERAGE_FACTOR = 2.0

SHORT_DECIMAL = 3  # digits of a step as scales have them: 0.1, 0.25, 0.125

Verdict = Literal["inside", "outside", "too close to call"]

# Critical range of n readings of one thing at 95 %, in standard deviations: ISO 5725-6:1994, Table 1 (the
# tests recompute it from the studentized range).
CRITICAL_RANGE = {
    **{2: 2.8, 3: 3.3, 4: 3.6, 5: 3.9, 6: 4.0, 7: 4.2, 8: 4.3, 9: 4.4, 10: 4.5, 11: 4.6, 12: 4.6},
    **{13: 4.7, 14: 4.7, 15: 4.8, 16: 4.8, 17: 4.9, 18: 4.9, 19: 5.0, 20: 5.0},
}


class Scale(NamedTuple):
    """What is known of the scale. resolution_g: its step; tared: zero is a rounded reading too;
    repeatability_g: its standard deviation for one load, when known; calibration_g: the standard
    uncertainty of its calibration, shared by all its readings, when given."""

    resolution_g: float
    tared: bool = True
    repeatability_g: float | None = None
    calibration_g: float = 0.0


class Reading(NamedTuple):
    """The readings of one part: cylinder (None = one reading stands for every cylinder), kind, each repeat
    in grams, and each as typed. zero_g: how far off zero the empty scale was seen when they were taken, their
    mean, which is not taken off them; settled: what is known of it beyond that: an earlier weighing of the part
    reads the same (twice), or somebody looked at it again and said that it is so (confirmed)."""

    cylinder: int | None
    kind: str
    repeats_g: tuple[float, ...]
    typed: tuple[str, ...]
    zero_g: float = 0.0
    settled: Literal["", "twice", "confirmed"] = ""

    @property
    def mean_g(self) -> float:
        return tidy(math.fsum(self.repeats_g) / len(self.repeats_g))


def allowed_range_g(count: int, scale: Scale) -> float:
    """How far apart so many readings of one thing may be on a scale. [g]

    The scatter of readings in doubt says nothing here: where none is declared, a step stands for it. Source: ISO
    5725-6:1994, critical range; more readings than it tables are allowed no more than the most that it does. Never
    less than a step: however little a load scatters, it may lie where the scale rounds one way or the other."""
    sigma_g = scale.repeatability_g or scale.resolution_g
    factor = CRITICAL_RANGE.get(count, CRITICAL_RANGE[max(CRITICAL_RANGE)])
    return tidy(max(factor * sigma_g, scale.resolution_g))


def is_weighed_twice(reading: Reading, scale: Scale) -> bool:
    """Whether a part was weighed more than once, and read the same each time."""
    grams = reading.repeats_g
    agree = len(grams) > 1 and tidy(max(grams) - min(grams)) <= allowed_range_g(len(grams), scale)
    return agree or reading.settled == "twice"


@dataclass(frozen=True, eq=False)
class Mass:
    """A mass and the sensitivity to each reading behind it: value_g = Σ sensitivity · reading + constant."""

    value_g: float
    sensitivity: Mapping[Reading, float] = field(default_factory=dict)

    @classmethod
    def read(cls, reading: Reading) -> Mass:
        return cls(reading.mean_g, {reading: 1.0})


def combine(terms: Iterable[tuple[float, Mass]], constant_g: float = 0.0) -> Mass:
    """Σ factor · mass + constant, exact to the nanogram, with the sensitivities added up."""
    terms = list(terms)
    value_g = math.fsum([constant_g, *(factor * mass.value_g for factor, mass in terms)])
    sensitivity: dict[Reading, float] = {}
    for factor, mass in terms:
        for reading, c in mass.sensitivity.items():
            sensitivity[reading] = sensitivity.get(reading, 0.0) + factor * c
    return Mass(tidy(value_g), sensitivity)


def tidy(value_g: float) -> float:
    """Round to the nanogram: sums of decimals come out as the decimals that a hand calculation gives."""
    return round(value_g, 9)


class Certainty(NamedTuple):
    """How sure the readings of one job are: the scale, and the standard deviation of one load on it."""

    scale: Scale
    repeatability_g: float

    @property
    def rounding_g(self) -> float:
        """Standard uncertainty of rounding to the step d: a rectangle, d/√12 (JCGM 100:2008, F.2.2.1), √2 times
        that where zero is a rounded reading too. [g]"""
        return self.scale.resolution_g / math.sqrt(12) * (math.sqrt(2) if self.scale.tared else 1.0)

    def repeating_g(self, reading: Reading) -> float:
        """Standard uncertainty of the mean of a part's repeats, s/√n (JCGM 100:2008, 4.2.3). [g]"""
        return self.repeatability_g / math.sqrt(len(reading.repeats_g))

    def standard_g(self, reading: Reading) -> float:
        """Standard uncertainty of a reading, without what all readings share: both in quadrature. [g]"""
        return math.hypot(self.rounding_g, self.repeating_g(reading))

    def combined_g(self, sensitivity: Mapping[Reading, float]) -> float:
        """Combined standard uncertainty of a sum of readings (JCGM 100:2008, eq. 10 and 5.2.2). [g]

        The calibration is one error in all readings: it adds up in a sum and cancels in a difference. So is a zero
        that was off: what was seen of it is not corrected but counted whole as a standard uncertainty, each
        reading with its own (JCGM 100:2008, F.2.4.5; 5.2.2 note 1: fully correlated; both from memory)."""
        own = math.sqrt(math.fsum((c * self.standard_g(r)) ** 2 for r, c in sensitivity.items()))
        shared = abs(math.fsum(sensitivity.values())) * self.scale.calibration_g
        return math.hypot(own, shared, zero_g(sensitivity))

    def expanded_g(self, mass: Mass) -> float:
        """Expanded uncertainty of a mass, k = 2. [g]"""
        return COVERAGE_FACTOR * self.combined_g(mass.sensitivity)


def zero_g(sensitivity: Mapping[Reading, float]) -> float:
    """What the zeros of its readings add to a sum of them: with their signs, so that an error that two readings
    have in common cancels in their difference, and a zero that drifted between them does not. [g]"""
    return abs(math.fsum(c * reading.zero_g for reading, c in sensitivity.items()))


def certainty(scale: Scale, readings: Iterable[Reading]) -> Certainty:
    """What the scale and the repeats together say: the declared repeatability, else the pooled one."""
    declared = scale.repeatability_g
    return Certainty(scale, pooled_repeatability_g(readings) if declared is None else declared)


def pooled_repeatability_g(readings: Iterable[Reading]) -> float:
    """Pooled standard deviation of one load, from all parts weighed more than once; 0 without any. [g]

    Source: JCGM 100:2008, 4.2.4 and H.3.6: s² = Σ (nᵢ−1)sᵢ² / Σ (nᵢ−1)."""
    squares: list[float] = []
    freedom = 0
    for reading in readings:
        mean = math.fsum(reading.repeats_g) / len(reading.repeats_g)
        squares += [(x - mean) ** 2 for x in reading.repeats_g]
        freedom += len(reading.repeats_g) - 1
    return math.sqrt(math.fsum(squares) / freedom) if freedom else 0.0


def verdict(value: float, expanded: float, limit: float) -> Verdict:
    """Whether a value that must not exceed a limit does, as far as its uncertainty lets one say."""
    # A nanogram of slack, so that 1.0 − 0.6 ≤ 0.4 is not decided by the binary fractions.
    if value + expanded <= limit + 1e-9:
        return "inside"
    if value - expanded > limit + 1e-9:
        return "outside"
    return "too close to call"


def decimals(step: float) -> int:
    """Decimal places that a step supports: 0.1 → 1, 0.5 → 1, 0.25 → 2, 1 → 0, 0.005 → 3; one place of a step
    that is no short decimal, such as 0.1 g in ounces, 0.0035 → 3."""
    exact = Decimal(repr(step)).normalize()
    if len(exact.as_tuple().digits) <= SHORT_DECIMAL:
        return max(0, -int(exact.as_tuple().exponent))
    return max(0, -exact.adjusted())


def places_of(value: float) -> int:
    """Decimal places that a number has, six digits in all at the most."""
    return max(0, -int(Decimal(f"{value:g}").normalize().as_tuple().exponent))


def digits_for(expanded: float) -> int:
    """Decimal places that leave an uncertainty two significant digits (JCGM 100:2008, 7.2.6); none for one that
    is only the rounding of sums that cancel."""
    return max(0, 1 - Decimal(f"{expanded:.1e}").adjusted()) if expanded > 1e-9 else 0
