"""A reading off the scale, and how sure it is.

Every mass carries the readings that it was made from, each with its sensitivity, so that the uncertainty of
a sum, a difference or a spread knows what its terms have in common (JCGM 100:2008, 5.1 and 5.2): a part that
was weighed once for all cylinders cancels in a spread, and so does an error that all readings share.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal, NamedTuple

from truethrow.balance.base.parts import WAYS, Way, label, way_of
from truethrow.balance.base.scatter import Scatter, scatter_of

# Of all that is well known; what a scatter is multiplied by depends on how well it is known (Scatter.factor).
COVERAGE_FACTOR = 2.0

SHORT_DECIMAL = 3  # digits of a step as scales have them: 0.1, 0.25, 0.125

# A sensitivity that is no more than the rounding of sums that cancel.
NO_PART = 1e-9

Verdict = Literal["inside", "outside", "too close to call"]

# Critical range of n readings of one thing at 95 %, in standard deviations: ISO 5725-6:1994, Table 1 (the
# tests recompute it from the studentized range).
CRITICAL_RANGE = {
    **{2: 2.8, 3: 3.3, 4: 3.6, 5: 3.9, 6: 4.0, 7: 4.2, 8: 4.3, 9: 4.4, 10: 4.5, 11: 4.6, 12: 4.6},
    **{13: 4.7, 14: 4.7, 15: 4.8, 16: 4.8, 17: 4.9, 18: 4.9, 19: 5.0, 20: 5.0},
}


class Scale(NamedTuple):
    """What is known of the scale. resolution_g: its step; tared: zero is a rounded reading too;
    repeatability_g: the standard deviation of one load on its pan, when known; calibration_g: the standard
    uncertainty of its calibration, shared by all its readings, when given; gain: the same in parts of the load;
    rod_end_repeatability_g: as
    repeatability_g, of a rod's end whose other end hangs on a support; ..._from: the degrees of freedom behind
    these, infinite where they are well known."""

    resolution_g: float
    tared: bool = True
    repeatability_g: float | None = None
    calibration_g: float = 0.0
    repeatability_from: float = math.inf
    rod_end_repeatability_g: float | None = None
    rod_end_repeatability_from: float = math.inf
    gain: float = 0.0

    def declared_g(self, kind: str) -> float | None:
        """The declared standard deviation of one load of a kind of part; None where there is none. [g]"""
        return self.repeatability_g if way_of(kind) == "pan" else self.rod_end_repeatability_g


class Estimate(NamedTuple):
    """How well a mass is known that nobody weighed: within_g, half of what the figure of the whole box may be off,
    every piece of it by the same (a rectangle, JCGM 100:2008, 4.3.7); scatter_g: standard deviation from piece to
    piece; box: the pieces with one name are of one box."""

    within_g: float
    scatter_g: float
    box: str


class Reading(NamedTuple):
    """The readings of one part: cylinder (None = one reading stands for every cylinder), kind, each repeat
    in grams, and each as typed. zero_g: how far off zero the empty scale was seen when they were taken, their
    mean, which is not taken off them; settled: what is known of it beyond that: an earlier weighing of the part
    reads the same (twice), or somebody looked at it again and said that it is so (confirmed); earlier_g: weighings
    of the part before these, nothing having been done to it in between: they are not in its mean, and say as much
    of the scatter as any; estimate: of a part that nobody weighed yet, how well its mass is known."""

    cylinder: int | None
    kind: str
    repeats_g: tuple[float, ...]
    typed: tuple[str, ...]
    zero_g: float = 0.0
    settled: Literal["", "twice", "confirmed"] = ""
    earlier_g: tuple[float, ...] = ()
    estimate: Estimate | None = None

    @property
    def weighings_g(self) -> tuple[float, ...]:
        """All weighings of the part as it is."""
        return (*self.earlier_g, *self.repeats_g)

    @property
    def mean_g(self) -> float:
        return tidy(math.fsum(self.repeats_g) / len(self.repeats_g))

    def __repr__(self) -> str:
        whose = "every cylinder" if self.cylinder is None else f"cylinder {self.cylinder}"
        times = "" if len(self.repeats_g) == 1 else f", the mean of {len(self.repeats_g)}"
        how = ", estimated" if self.estimate else times
        return f"Reading: {label(self.kind)} of {whose}, {self.mean_g:.10g} g{how}"


def allowed_range_g(count: int, scale: Scale, kind: str) -> float:
    """How far apart so many readings of one part of a kind may be on a scale. [g]

    The scatter of readings in doubt says nothing here: where none is declared, a step stands for it. Source: ISO
    5725-6:1994, critical range; more readings than it tables are allowed no more than the most that it does. Never
    less than a step: however little a load scatters, it may lie where the scale rounds one way or the other."""
    sigma_g = scale.declared_g(kind) or scale.resolution_g
    factor = CRITICAL_RANGE.get(count, CRITICAL_RANGE[max(CRITICAL_RANGE)])
    return tidy(max(factor * sigma_g, scale.resolution_g))


def agrees(grams: Sequence[float], scale: Scale, kind: str) -> bool:
    """Whether weighings of one part of a kind read the same, as far as the scale can tell."""
    return tidy(max(grams) - min(grams)) <= allowed_range_g(len(grams), scale, kind)


def is_weighed_twice(reading: Reading, scale: Scale) -> bool:
    """Whether a part was weighed more than once, and read the same each time."""
    grams = reading.repeats_g
    return (len(grams) > 1 and agrees(grams, scale, reading.kind)) or reading.settled == "twice"


@dataclass(frozen=True, eq=False)
class Mass:
    """A mass and the sensitivity to each reading behind it: value_g = Σ sensitivity · reading + constant."""

    value_g: float
    sensitivity: Mapping[Reading, float] = field(default_factory=dict)

    @classmethod
    def read(cls, reading: Reading) -> Mass:
        return cls(reading.mean_g, {reading: 1.0})

    def __repr__(self) -> str:
        count = len(self.sensitivity)
        return f"Mass: {tidy(self.value_g):.10g} g, of {count} reading{'' if count == 1 else 's'}"


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
    """How sure the readings of one job are: the scale, how far loads on its pan and rod ends on their support
    scatter, and the readings whose weighings are too far apart to say anything of that."""

    scale: Scale
    pan: Scatter
    support: Scatter
    outlying: tuple[Reading, ...] = ()

    def __repr__(self) -> str:
        return f"Certainty: scale to {self.scale.resolution_g:g} g, pan {self.pan}, support {self.support}"

    def scatter(self, kind: str) -> Scatter:
        """Of a kind of part, by the way in which it is weighed: what a scale does with a piston on its pan says
        nothing of a rod's end on a support."""
        return self.scatter_on(way_of(kind))

    def scatter_on(self, way: Way) -> Scatter:
        """Of a way of weighing."""
        return self.pan if way == "pan" else self.support

    @property
    def rounding_g(self) -> float:
        """Standard uncertainty of rounding to the step d: a rectangle, d/√12 (JCGM 100:2008, F.2.2.1), √2 times
        that where zero is a rounded reading too. [g]"""
        return self.scale.resolution_g / math.sqrt(12) * (math.sqrt(2) if self.scale.tared else 1.0)

    def repeating_g(self, reading: Reading) -> float:
        """Standard uncertainty of the mean of a part's repeats, s/√n (JCGM 100:2008, 4.2.3). [g]"""
        return self.scatter(reading.kind).standard_g / math.sqrt(len(reading.repeats_g))

    def standard_g(self, reading: Reading) -> float:
        """Standard uncertainty of a reading, without what all readings share: both in quadrature. [g]"""
        if reading.estimate is not None:
            return reading.estimate.scatter_g
        return math.hypot(self.rounding_g, self.repeating_g(reading))

    def own_expanded_g(self, reading: Reading) -> float:
        """Expanded uncertainty of a reading, without what all readings share. [g]

        Student's t times what was found from repeats, 2 times the rest, in quadrature. With the one factor that
        the effective degrees of freedom give (JCGM 100:2008, G.4) a ± of one pair would cover too little: a fifth
        of the pairs read the same, and then seem to know the scatter well."""
        if reading.estimate is not None:
            return COVERAGE_FACTOR * reading.estimate.scatter_g
        repeating_g = self.scatter(reading.kind).factor * self.repeating_g(reading)
        return math.hypot(COVERAGE_FACTOR * self.rounding_g, repeating_g)

    def expanded_g(self, mass: Mass) -> float:
        """Expanded uncertainty of a sum of readings, 95.45 % (JCGM 100:2008, eq. 10, 5.2.2 and annex G). [g]

        The calibration is one error in all readings (calibration_g). So is a zero
        that was off: what was seen of it is not corrected but counted whole as a standard uncertainty, each
        reading with its own (JCGM 100:2008, F.2.4.5; 5.2.2 note 1: fully correlated; both from memory). What a
        box may be off is one error in all of its pieces, so a mean of eight is no surer than the box."""
        own = math.sqrt(math.fsum((c * self.own_expanded_g(r)) ** 2 for r, c in mass.sensitivity.items()))
        shared = calibration_g(mass.sensitivity, self.scale)
        boxes = math.hypot(*boxes_g(mass.sensitivity).values())
        return math.hypot(own, *(COVERAGE_FACTOR * one for one in (shared, zero_g(mass.sensitivity), boxes)))

    def assumed_for(self, mass: Mass) -> tuple[Way, ...]:
        """The ways of weighing behind a mass of which the scatter is only assumed."""
        ways = {way_of(r.kind) for r, c in mass.sensitivity.items() if abs(c) > NO_PART and r.estimate is None}
        return tuple(way for way in WAYS if way in ways and self.scatter_on(way).known == "assumed")

    def judged(self, mass: Mass, limit_g: float) -> Verdict:
        """Whether a mass that must not exceed a limit does."""
        is_assumed = bool(self.assumed_for(mass)) or any(reading.estimate for reading in mass.sensitivity)
        return verdict(mass.value_g, self.expanded_g(mass), limit_g, assumed=is_assumed)


def calibration_g(sensitivity: Mapping[Reading, float], scale: Scale) -> float:
    """What the calibration of the scale adds to a sum of readings, a standard uncertainty. [g]

    One error is in all of them: a constant one adds up in a sum and cancels in a difference; one in proportion to
    the load goes with the sum of the loads, and cancels in a difference but for its part of that (JCGM 100:2008,
    5.2.2 note 1: fully correlated; the two are taken as independent of each other)."""
    weighed = {reading: c for reading, c in sensitivity.items() if reading.estimate is None}
    constant_g = math.fsum(weighed.values()) * scale.calibration_g
    in_proportion_g = scale.gain * math.fsum(c * reading.mean_g for reading, c in weighed.items())
    return math.hypot(constant_g, in_proportion_g)


def boxes_g(sensitivity: Mapping[Reading, float]) -> dict[str, float]:
    """What the estimates of whole boxes bring to a sum, box by box, each a standard uncertainty. [g]

    One error is in all pieces of a box: it adds up in their sum and cancels in their difference. A rectangle of
    half-width a has a/√3 (JCGM 100:2008, 4.3.7)."""
    found: dict[str, float] = {}
    for reading, c in sensitivity.items():
        if reading.estimate is not None:
            box = reading.estimate.box
            found[box] = found.get(box, 0.0) + c * reading.estimate.within_g / math.sqrt(3)
    return found


def zero_g(sensitivity: Mapping[Reading, float]) -> float:
    """What the zeros of its readings add to a sum of them: with their signs, so that an error that two readings
    have in common cancels in their difference, and a zero that drifted between them does not. [g]"""
    return abs(math.fsum(c * reading.zero_g for reading, c in sensitivity.items()))


def certainty(scale: Scale, readings: Iterable[Reading]) -> Certainty:
    """What the scale and the repeats say together, way by way. readings: also those of parts before a cut."""
    readings = [reading for reading in readings if reading.estimate is None]
    outlying: list[Reading] = []

    def scatter(way: Way, declared_g: float | None, freedom: float) -> Scatter:
        if declared_g is not None:
            return Scatter(declared_g, freedom)
        own = [reading for reading in readings if way_of(reading.kind) == way]
        far = [at for at, reading in enumerate(own) if not agrees(reading.weighings_g, scale, reading.kind)]
        found, out = scatter_of([reading.weighings_g for reading in own], scale.resolution_g, far)
        outlying.extend(own[at] for at in out)
        return found

    pan = scatter("pan", scale.repeatability_g, scale.repeatability_from)
    support = scatter("support", scale.rod_end_repeatability_g, scale.rod_end_repeatability_from)
    return Certainty(scale, pan, support, tuple(outlying))


def verdict(value: float, expanded: float, limit: float, *, assumed: bool = False) -> Verdict:
    """Whether a value that must not exceed a limit does, as far as its uncertainty lets one say. assumed: part of
    that is only assumed, which is enough for a doubt and not for an answer: nothing is inside by it."""
    # A nanogram of slack, so that 1.0 − 0.6 ≤ 0.4 is not decided by the binary fractions.
    if value + expanded <= limit + 1e-9 and not assumed:
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
