"""Influence coefficients: what a station that reads divisions shows for a known unbalance, and the way back.

Readings are complex, in divisions, at the station's own angle; unbalance in g·mm from throw 1. With v0 as found
and v_j with a known unbalance u_j on plane j alone, a_ij = (v_j,i − v0,i) / u_j, and a reading v is of the
unbalance A⁻¹ v. Any zero and any gain are in A. A sense is not: on a station that counts its angles the other way
every reading is the conjugate of such a one, and three runs fit both. A fourth, both masses at once and each moved
by the same angle, tells them apart; best by 90 degrees, and never by half a turn, which a conjugate reads the
same.

Source: two-plane balancing by influence coefficients, as in S. S. Rao, Mechanical Vibrations (from memory).
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Mapping
from typing import Literal, NamedTuple

from truethrow.balance.base.readings import COVERAGE_FACTOR
from truethrow.balance.correction import TwoPlanes

Plane = Literal["front", "rear"]
# How well a known mass is known with its radius, and its angle (k = 2), as of any known mass. Common practice, no
# source.
MASS_PART, MASS_DEG = 0.01, 1.0
# Planes that are told apart no better than this: the determinant as a part of what its terms come to. Common
# practice, no source.
POOR = 0.2
# How well a coefficient has to be known (k = 2). Common practice, no source.
SURE_PART = 0.1
# How far each mass of the run that proves them is to be moved from where its trial had it, both by the same.
# Common practice, no source.
MOVED_DEG = 60.0, 120.0
# Within so many times its ± a reading is as foretold. Common practice, no source.
NEAR = 1.25


def one_plane(before: complex, with_mass: complex, known_gmm: complex) -> complex:
    """The unbalance of a rotor of one plane, from a run and another with a known unbalance on. [g·mm]

    before, with_mass: readings, in any unit; known_gmm: the unbalance put on [g·mm]. Raises ValueError where it
    moves nothing. Source: the same, with one plane; the sense of the angle is left open by two runs, too."""
    if not known_gmm or with_mass == before:
        raise ValueError("a known unbalance that moves the reading is needed")
    return before * known_gmm / (with_mass - before)


class OnePlane(NamedTuple):
    """A station that reads divisions, of one plane: per_gmm: what it shows of one g·mm; is_mirrored: whether it
    counts its angles the other way; sure_part: how well that is known (k = 2), as a part of it."""

    per_gmm: complex
    is_mirrored: bool
    sure_part: float

    def unbalance(self, read: complex) -> complex:
        """What a reading is of. [g·mm]"""
        return (read.conjugate() if self.is_mirrored else read) / self.per_gmm


def one_plane_by(
    before: complex, first: tuple[complex, complex], second: tuple[complex, complex], sure: float
) -> OnePlane:
    """What two runs with a known mass tell of a station of one plane. before: as found; first, second: the
    unbalance that was on [g·mm] and the reading with it; sure: standard uncertainty of a reading, in divisions.
    The second proves what the first told, and tells the sense of the angles. Raises ValueError, in words, where
    they tell nothing.

    Source: as one_plane; the second run as the fourth run of two planes."""
    known, read = first
    moved, again = second
    one_plane(before, read, known)
    part = moved / known
    turned = abs(math.degrees(cmath.phase(part)))
    low, high = MOVED_DEG
    if not low <= round(turned, 6) <= high:
        raise ValueError(
            f"the second is {turned:.0f} degrees from the first, {low:g} to {high:g} tell; 90 is best"
        )
    change = read - before
    sure_part = math.hypot(COVERAGE_FACTOR * math.sqrt(2) * sure / abs(change), MASS_PART)
    if sure_part > SURE_PART:
        raise ValueError(
            f"the first moved the reading too little: it is known to {sure_part:.0%}; hang a heavier one"
        )
    unsure = sure * math.sqrt(abs(1 - part) ** 2 + abs(part) ** 2 + 1)
    known_to = math.sqrt(2) * max(MASS_PART, math.radians(MASS_DEG)) * abs(change * part)
    allowed = NEAR * math.hypot(COVERAGE_FACTOR * unsure, known_to)
    plain, mirrored = before + change * part, before + (change.conjugate() * part).conjugate()
    fits = [abs(again - one) <= allowed for one in (plain, mirrored)]
    if fits[0] == fits[1]:
        wrong = (
            "would read so either way: hang a heavier one" if fits[0] else "does not read as the first foretells"
        )
        raise ValueError(f"the second {wrong}")
    return OnePlane((change.conjugate() if fits[1] else change) / known, fits[1], sure_part)


class Trial(NamedTuple):
    """One mass on one plane. known_gmm: its unbalance; before, after: what the station read in both planes without
    it and with it; before_sure, after_sure: standard uncertainties of these, in any direction, in divisions; base:
    a name for the run before."""

    known_gmm: complex
    before: TwoPlanes
    after: TwoPlanes
    before_sure: tuple[float, float]
    after_sure: tuple[float, float]
    base: str

    @property
    def moved(self) -> TwoPlanes:
        """What it changed, per g·mm."""
        front, rear = (after - before for before, after in zip(self.before, self.after, strict=True))
        return TwoPlanes(front / self.known_gmm, rear / self.known_gmm)

    def sure_part(self, at: int) -> float:
        """How well the coefficient of a plane is known, as a part of it (k = 2)."""
        change = abs(self.after[at] - self.before[at])
        noise = math.hypot(self.before_sure[at], self.after_sure[at])
        return math.hypot(COVERAGE_FACTOR * noise / change, MASS_PART) if change else math.inf

    def conjugated(self) -> Trial:
        """The same on a station that counts its angles the other way."""
        return self._replace(before=_conjugated(self.before), after=_conjugated(self.after))


class Coefficients(NamedTuple):
    """front, rear: the trial on each plane; is_mirrored: whether the station counts its angles the other way."""

    front: Trial
    rear: Trial
    is_mirrored: bool = False

    @property
    def trials(self) -> tuple[Trial, Trial]:
        if self.is_mirrored:
            return self.front.conjugated(), self.rear.conjugated()
        return self.front, self.rear

    @property
    def matrix(self) -> tuple[tuple[complex, complex], tuple[complex, complex]]:
        """a_ij: what plane i shows of one g·mm on plane j. [divisions]"""
        front, rear = (trial.moved for trial in self.trials)
        return (front.front, rear.front), (front.rear, rear.rear)

    @property
    def separation(self) -> float:
        """How well it tells the planes apart: 1 where none shows anything of the other, 0 where both show the
        same."""
        (a, b), (c, d) = self.matrix
        whole = abs(a * d) + abs(b * c)
        return abs(a * d - b * c) / whole if whole else 0.0

    @property
    def is_poor(self) -> bool:
        return self.separation < POOR

    def unbalance(self, read: TwoPlanes) -> TwoPlanes:
        """What a reading is of. [g·mm] Raises ValueError where the planes are not told apart at all."""
        front, rear = _conjugated(read) if self.is_mirrored else read
        (p, q), (r, s) = self._inverse()
        return TwoPlanes(p * front + q * rear, r * front + s * rear)

    def reads(self, unbalance_gmm: TwoPlanes) -> TwoPlanes:
        """What the station shows for an unbalance. [divisions]"""
        (a, b), (c, d) = self.matrix
        front, rear = unbalance_gmm
        shown = TwoPlanes(a * front + b * rear, c * front + d * rear)
        return _conjugated(shown) if self.is_mirrored else shown

    def sure_gmm(self, unbalance_gmm: TwoPlanes, sure: tuple[float, float], base: str = "") -> tuple[float, float]:
        """Standard uncertainty of an unbalance in each plane, in any direction. sure: of the reading, in
        divisions; base: its name, since what it is off by is in the coefficients of its own trials, too.

        First order: δu = A⁻¹ (δv − δA u), δa_ij = (δv_j,i − δv0,i) / u_j. Source: JCGM 100:2008, 5.1.2, and 5.2.2
        for what a reading and a coefficient share."""
        inverse = self._inverse()
        parts = [own / trial.known_gmm for own, trial in zip(unbalance_gmm, self.trials, strict=True)]
        noise: list[float] = []  # of δv − δA u, in each plane
        for at in (0, 1):
            shared: dict[str, complex] = {base: 1 + 0j}
            squares = 0.0
            own = {base: sure[at]}
            for part, trial in zip(parts, self.trials, strict=True):
                shared[trial.base] = shared.get(trial.base, 0j) + part
                own.setdefault(trial.base, trial.before_sure[at])
                squares += (abs(part) * trial.after_sure[at]) ** 2
            noise.append(math.sqrt(squares + sum((abs(by) * own[name]) ** 2 for name, by in shared.items())))
        known = max(MASS_PART, math.radians(MASS_DEG)) / COVERAGE_FACTOR
        front, rear = (
            math.hypot(*(abs(one) * off for one, off in zip(row, noise, strict=True)), known * abs(own_gmm))
            for row, own_gmm in zip(inverse, unbalance_gmm, strict=True)
        )
        return front, rear

    def _inverse(self) -> tuple[tuple[complex, complex], tuple[complex, complex]]:
        (a, b), (c, d) = self.matrix
        determinant = a * d - b * c
        if not determinant:
            raise ValueError("both planes show the same: nothing tells them apart")
        return (d / determinant, -b / determinant), (-c / determinant, a / determinant)


class Foretold(NamedTuple):
    """What the fourth run must read, with how sure that is (k = 2) in each plane; read: what it did; mirrored:
    what it would read on a station that counts the other way. [divisions]"""

    reads: TwoPlanes
    mirrored: TwoPlanes
    read: TwoPlanes
    expanded: tuple[float, float]

    def misses(self, foretold: TwoPlanes) -> float:
        """How far it is from what was foretold, in times its ±, in the worse plane."""
        return max(
            abs(one - other) / sure if sure else (0.0 if one == other else math.inf)
            for one, other, sure in zip(self.read, foretold, self.expanded, strict=True)
        )


def foretold(
    made: Coefficients, before: TwoPlanes, known_gmm: TwoPlanes, read: TwoPlanes, sure: tuple[float, float]
) -> Foretold:
    """The fourth run. before: as found; known_gmm: what was put on both planes; read: what it read, and sure: its
    standard uncertainty. How sure: as its own reading, the one before and the trials leave it."""
    plain, mirrored = made._replace(is_mirrored=False), made._replace(is_mirrored=True)
    expanded = []
    for at in (0, 1):
        parts = [own / trial.known_gmm for own, trial in zip(known_gmm, made.trials, strict=True)]
        squares = sure[at] ** 2
        squares += max((abs(1 - sum(parts)) * trial.before_sure[at]) ** 2 for trial in made.trials)
        squares += sum(
            (abs(part) * trial.after_sure[at]) ** 2 for part, trial in zip(parts, made.trials, strict=True)
        )
        known = max(MASS_PART, math.radians(MASS_DEG)) / COVERAGE_FACTOR
        columns = (plain.matrix[at][n] * known_gmm[n] for n in (0, 1))
        # Its own masses may be off, and those of the trials.
        squares += sum(2 * (known * abs(one)) ** 2 for one in columns)
        expanded.append(COVERAGE_FACTOR * math.sqrt(squares))
    return Foretold(
        before.plus(plain.reads(known_gmm)),
        before.plus(mirrored.reads(known_gmm)),
        read,
        (expanded[0], expanded[1]),
    )


def turned_deg(known_gmm: Mapping[Plane, complex], trials: Mapping[Plane, complex]) -> tuple[float, float]:
    """By how much each mass of the fourth run was moved from where its trial had it, -180 to 180 degrees."""
    front, rear = (math.degrees(cmath.phase(known_gmm[plane] / trials[plane])) for plane in ("front", "rear"))
    return front, rear


def _conjugated(vectors: TwoPlanes) -> TwoPlanes:
    return TwoPlanes(vectors.front.conjugate(), vectors.rear.conjugate())
