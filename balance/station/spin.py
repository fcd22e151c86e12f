"""Spin readings: amount and angle per plane as the station shows them, as vectors in the crank's own convention.

The instrument has its unit, its sense of angle and its zero; the profile says which. A reading stays as it was
typed, and with it how the profile was then (revisions.py).

Index check: runs with the crank as it is and runs with the fixture turned by 180 degrees against it, all angles
counted from throw 1. What belongs to the crank stays where it was and what belongs to the fixture changes sign,
so the crank has half the sum and the fixture half the difference.
"""

from __future__ import annotations

import cmath
import math
import re
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from truethrow.balance.base.amounts import ToldIn
from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.base.readings import COVERAGE_FACTOR
from truethrow.balance.base.units import MASS, UNBALANCE, UNBALANCE_SHOWN

MOST_RUNS = 50
LARGEST = 1e6
WRITTEN = "amount@angle, such as 12.4@37"

# Squared amounts that differ by less than this factor tell nothing of what grows with the amount.
ALIKE = 2.0
ROUNDS = 8  # of weighing by what the round before found; it settles in a few
# What grows with the amount is told by amounts that are so many times what the smallest one scatters: of readings
# near zero all of it is floor. Common practice, no source.
ABOVE_FLOOR = 20.0
# And it is told up to so many times the largest amount that was repeated: beyond that nobody saw it grow, and what
# the profile declares still does. Common practice, no source.
BEYOND = 3.0

_READING = re.compile(
    r"(\d{1,7}(?:[.,]\d{0,6})?|[.,]\d{1,6}) ?([a-z][a-z·*. -]*)?@(-?\d{1,3}(?:[.,]\d{0,6})?)°?",
    re.ASCII | re.IGNORECASE,
)
# 1,234 may be a decimal comma or thousands; 0,123 and 12,34 may not.
_THOUSANDS = re.compile(r"[1-9]\d{0,2},\d{3}")
_GROUPED = re.compile(r"(\d{1,3}(?:[.,]\d{3})+)([.,]\d{1,6})?(.*)", re.ASCII | re.DOTALL)


# What a station reads that is not calibrated: trial masses tell what one of them is (divisions.py).
DIVISIONS = "divisions"


class Instrument(NamedTuple):
    """What the station shows. unit: of mass, at radius_mm, or of unbalance, or divisions, of which nobody knows
    what they are: then floor_gmm and all vectors are in divisions, too; with_rotation: its angles count in the
    direction of rotation; zero_deg: what it shows where throw 1 is; amount_part, angle_deg: how sure amount (as a
    part of it) and angle are, floor_gmm: and how sure any reading is at best, all three expanded (k = 2)."""

    unit: str
    radius_mm: float | None
    with_rotation: bool
    zero_deg: float = 0.0
    amount_part: float = 0.0
    angle_deg: float = 0.0
    floor_gmm: float = 0.0

    @property
    def reads_divisions(self) -> bool:
        return self.unit == DIVISIONS

    @property
    def gmm(self) -> float:
        """One of its unit. [g·mm]"""
        return unit_gmm(self.unit, self.radius_mm)

    @property
    def sense(self) -> int:
        return 1 if self.with_rotation else -1

    def vector_gmm(self, amount: float, angle_deg: float) -> complex:
        """What it shows, as an unbalance: angle 0 is throw 1, positive the direction of rotation."""
        return cmath.rect(amount * self.gmm, math.radians(self.sense * (angle_deg - self.zero_deg)))

    def shows(self, vector_gmm: complex) -> tuple[float, float]:
        """Amount and angle that it shows for an unbalance: the way back."""
        return abs(vector_gmm) / self.gmm, self.own_deg(math.degrees(cmath.phase(vector_gmm)))

    def own_deg(self, crank_deg: float) -> float:
        """Its own angle for one of the crank's, 0 to 360. [degrees]"""
        return (self.zero_deg + self.sense * crank_deg) % 360

    def crank_deg(self, own_deg: float) -> float:
        """The crank's angle for one of its own, 0 to 360: the way back. [degrees]"""
        return self.sense * (own_deg - self.zero_deg) % 360


def unit_gmm(unit: str, radius_mm: float | None) -> float:
    """One of a unit of mass at a radius, or of a unit of unbalance. [g·mm] A division is one of itself."""
    if unit == DIVISIONS:
        return 1.0
    if unit in UNBALANCE.factors:
        return float(UNBALANCE.factors[unit])
    assert radius_mm is not None
    return float(MASS.factors[unit]) * radius_mm


class PlaneReading(NamedTuple):
    """One plane of one run, as the instrument shows it: both numbers as they were typed, with their decimals."""

    amount_typed: str
    angle_typed: str

    @property
    def amount(self) -> float:
        return float(self.amount_typed)

    @property
    def angle_deg(self) -> float:
        return float(self.angle_typed)

    @property
    def places(self) -> int:
        """Decimal places of its amount, as it was typed."""
        return len(self.amount_typed.partition(".")[2])

    def __str__(self) -> str:
        return f"{self.amount_typed}@{self.angle_typed}"


class Runs(NamedTuple):
    """Runs of one set-up: front and rear of each, and the unit that they are read in; typed_unit: as it was typed
    with them, empty where none was."""

    readings: tuple[tuple[PlaneReading, PlaneReading], ...]
    unit: str
    radius_mm: float | None
    typed_unit: str = ""

    def told(self, told_in: ToldIn) -> str:
        """As it is told, the radius as it was set."""
        read = " ".join(f"{front} {rear}" for front, rear in self.readings)
        return f"{read} in {self.unit.replace(' ', '·')}" + (
            f" at {told_in.set_at(self.radius_mm)}" if self.radius_mm else ""
        )


def typed_runs(texts: Sequence[str], instrument: Instrument) -> Runs:
    """Runs as typed: front and rear of the first, of the second … A unit may be typed with a figure, which must be
    the instrument's. Raises BadInput with every fault."""
    readings: list[PlaneReading] = []
    faults: list[Fault] = []
    units: set[str] = set()
    for at, text in enumerate(texts):
        where = f"run {at // 2 + 1}, {'rear' if at % 2 else 'front'}"
        try:
            reading, unit = _reading(text)
        except _NoReading as error:
            faults.append(Fault(where, str(error), error.allowed))
            continue
        readings.append(reading)
        if unit:
            units.add(unit)
        if unit and plain(unit) != plain(instrument.unit):
            wrong = f"typed in {unit}, and the profile reads {plain(instrument.unit)}"
            way = "type what the display shows, or set the unit in the profile's [spin]"
            faults.append(Fault(where, wrong, remedy=way))
    if not texts or len(texts) % 2:
        faults.append(Fault("runs", f"{len(texts)} readings", "front and rear of each run"))
    if len(texts) > 2 * MOST_RUNS:
        faults.append(Fault("runs", f"{len(texts) // 2} runs at once", f"at most {MOST_RUNS}"))
    if faults:
        raise BadInput(faults)
    pairs = tuple(zip(readings[::2], readings[1::2], strict=True))
    return Runs(pairs, instrument.unit, instrument.radius_mm, plain(instrument.unit) if units else "")


def plain(unit: str) -> str:
    """A unit as it is shown, however it is written."""
    return UNBALANCE_SHOWN.get(unit, unit)


class _NoReading(Exception):
    """What was typed is no reading; allowed: what would be one."""

    def __init__(self, what: str, allowed: str = WRITTEN) -> None:
        self.allowed = allowed
        super().__init__(what)


def _reading(text: str) -> tuple[PlaneReading, str]:
    """Amount and angle, a decimal comma made a point, and the unit that was typed with them."""
    typed = text.strip()
    written = _READING.fullmatch(typed)
    if written is None:
        raise _not_read(typed)
    amount, angle = (figure.replace(",", ".") for figure in written.group(1, 3))
    unit, rest = (written[2] or "").strip(), typed[len(written[1]) :]
    if _THOUSANDS.fullmatch(written[1]) and "," not in written[3]:  # a comma in degrees is a decimal one
        both = f"{amount}{rest}, or {amount.replace('.', '')}{rest}, whichever it is"
        raise _NoReading(f"{shown(typed)!r} can be read as thousands or as a decimal", both)
    if float(amount) > LARGEST or abs(float(angle)) > 360:
        raise _NoReading(f"{shown(typed)!r} is out of reach")
    if unit and unit not in MASS.factors and unit not in UNBALANCE.factors:
        raise _NoReading(f"{shown(unit)!r} is no unit of a station")
    return PlaneReading(amount, angle), unit


def _not_read(typed: str) -> _NoReading:
    """Why a text is no reading, and what was perhaps meant: two in one, or thousands set apart."""
    if typed.count("@") > 1:
        return _NoReading(f"{shown(typed)!r} is more than one reading", "a blank between them: 12.4@37 8.1@210")
    grouped = _GROUPED.fullmatch(typed)
    if grouped and _READING.fullmatch(f"1{grouped[3]}"):
        whole, part = re.sub(r"[.,]", "", grouped[1]), (grouped[2] or "").replace(",", ".")
        return _NoReading(f"{shown(typed)!r} has thousands set apart", f"{whole}{part}{grouped[3]}")
    return _NoReading(f"{shown(typed)!r} is no reading")


class Average(NamedTuple):
    """The mean vector of some runs in one plane; squares: Σ|v − mean|², freedom: how many of its terms are free,
    two for each run but the first."""

    vector_gmm: complex
    runs: int
    squares: float

    @property
    def freedom(self) -> int:
        return 2 * (self.runs - 1)


def averages(runs: Runs, instrument: Instrument) -> tuple[Average, Average]:
    """The mean vectors of the front and the rear plane, read by an instrument: as it was declared when they were
    typed, to know what was read then; as it is declared now, to hold one declaration against another."""
    front, rear = zip(*runs.readings, strict=True)
    return (
        _average([instrument.vector_gmm(r.amount, r.angle_deg) for r in front]),
        _average([instrument.vector_gmm(r.amount, r.angle_deg) for r in rear]),
    )


def _average(vectors: Sequence[complex]) -> Average:
    mean = sum(vectors) / len(vectors)
    return Average(mean, len(vectors), math.fsum(abs(vector - mean) ** 2 for vector in vectors))


class Scatter(NamedTuple):
    """Standard deviation of one run in each direction: what any reading has, and what grows with its amount, as a
    degree or a percent of it does; s² = floor² + (part · amount)², of an amount beyond upto_gmm as of that.
    Nothing where no runs were repeated."""

    floor_gmm: float = 0.0
    part: float = 0.0
    upto_gmm: float = math.inf

    @property
    def is_seen(self) -> bool:
        """Whether repeated runs told any."""
        return self.floor_gmm > 0 or self.part > 0

    def of(self, amount_gmm: float) -> float:
        """Of a reading so large. [g·mm]"""
        return math.hypot(self.floor_gmm, self.part * min(amount_gmm, self.upto_gmm))


def scatter(found: Iterable[Average]) -> Scatter:
    """The scatter that runs which were repeated have, from all of them together.

    Least squares over the variances of the spins, each weighed by how sure it is (that of s² is 2σ⁴/ν), neither
    part below zero; of spins of one amount all of it is floor, so that no smaller reading is told surer than any
    was seen, and so it is of spins near zero (ABOVE_FLOOR). Source: JCGM 100:2008, 4.2.4 and H.3 for the pooling;
    weighted least squares of any text."""
    repeated = [one for one in found if one.freedom]
    if not repeated or not any(one.squares for one in repeated):
        return Scatter()
    rows = [(abs(one.vector_gmm) ** 2, one.squares / one.freedom, one.freedom) for one in repeated]
    _, least, _ = min(rows)
    largest = math.sqrt(max(rows)[0])
    if largest < ABOVE_FLOOR * math.sqrt(least):
        freedom = sum(freedom for _, _, freedom in rows)
        return Scatter(math.sqrt(math.fsum(one.squares for one in repeated) / freedom))
    floor, part = _weighed(rows, [1.0] * len(rows))
    for _ in range(ROUNDS):
        floor, part = _weighed(rows, [floor + part * size for size, _, _ in rows])
    return Scatter(math.sqrt(floor), math.sqrt(part), BEYOND * largest)


def _weighed(rows: Sequence[tuple[float, float, int]], variances: Sequence[float]) -> tuple[float, float]:
    """The squares of floor and part. rows: squared amount, variance, and freedom of each spin; variances: what
    each is thought to be, by which it is weighed."""
    weights = [freedom / max(one, 1e-12) ** 2 for (_, _, freedom), one in zip(rows, variances, strict=True)]
    w, wx, wxx, wy, wxy = (
        math.fsum(weight * term for weight, term in zip(weights, terms, strict=True))
        for terms in (
            [1.0] * len(rows),
            [x for x, _, _ in rows],
            [x * x for x, _, _ in rows],
            [y for _, y, _ in rows],
            [x * y for x, y, _ in rows],
        )
    )
    if max(x for x, _, _ in rows) <= ALIKE * min(x for x, _, _ in rows):
        return wy / w, 0.0
    determinant = w * wxx - wx * wx
    floor, part = (wxx * wy - wx * wxy) / determinant, (w * wxy - wx * wy) / determinant
    if floor < 0:
        return 0.0, wxy / wxx
    return (floor, part) if part > 0 else (wy / w, 0.0)


class Measured(NamedTuple):
    """An unbalance and how sure it is: standard uncertainties along its own direction and across it. [g·mm]"""

    vector_gmm: complex
    along_gmm: float
    across_gmm: float

    @property
    def amount_gmm(self) -> float:
        return abs(self.vector_gmm)

    @property
    def angle_deg(self) -> float:
        return math.degrees(cmath.phase(self.vector_gmm)) % 360

    @property
    def expanded_gmm(self) -> float:
        """Expanded uncertainty of its amount (k = 2); of one too small to have a direction, the larger."""
        wide = COVERAGE_FACTOR * max(self.along_gmm, self.across_gmm)
        return COVERAGE_FACTOR * self.along_gmm if self.amount_gmm > wide else wide

    @property
    def widest_gmm(self) -> float:
        """Expanded uncertainty (k = 2) in the direction in which it is least sure."""
        return COVERAGE_FACTOR * max(self.along_gmm, self.across_gmm)

    @property
    def expanded_deg(self) -> float | None:
        """Expanded uncertainty of its angle (k = 2), None for one that has no angle to speak of."""
        wide = COVERAGE_FACTOR * self.across_gmm
        return math.degrees(math.asin(wide / self.amount_gmm)) if wide < self.amount_gmm else None

    def said(self, told_in: ToldIn) -> str:
        """As a sentence has it, its angle the crank's, in whole degrees as tables have it."""
        return f"{told_in.sure(self.amount_gmm, self.expanded_gmm)} at {math.floor(self.angle_deg + 0.5) % 360}°"


def measured(vector_gmm: complex, type_a_gmm: float, instrument: Instrument) -> Measured:
    """A vector with what its runs' scatter leaves (type A, in each direction) and what the profile declares, in
    quadrature. Source: JCGM 100:2008, 5.1.2; the declared part at the vector's own size."""
    amount, k = abs(vector_gmm), COVERAGE_FACTOR
    base = math.hypot(type_a_gmm, instrument.floor_gmm / k)
    return Measured(
        vector_gmm,
        math.hypot(base, instrument.amount_part * amount / k),
        math.hypot(base, math.radians(instrument.angle_deg) * amount / k),
    )


def indexed(straight: complex, turned: complex) -> tuple[complex, complex]:
    """The crank's own unbalance and the fixture's, from runs as they are and runs with the fixture turned by 180
    degrees, angles from throw 1: (A + B)/2 and (A − B)/2."""
    return (straight + turned) / 2, (straight - turned) / 2


def joined(several: Sequence[Average]) -> Average:
    """The mean of runs that were typed in several goes."""
    runs = sum(average.runs for average in several)
    vector = sum(average.vector_gmm * average.runs for average in several) / runs
    return Average(vector, runs, math.fsum(average.squares for average in several))
