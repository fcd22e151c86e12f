"""What an arrangement is to be good for, each aim as a number to make small, and a bound that none can beat."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from truethrow.balance.base.arrays import Complexes, Floats, Ints
from truethrow.balance.matching.bounds import apart, lattice, least, nearly_equal
from truethrow.balance.matching.question import Masses, Question, spread

# An unbalance is told apart from another down to this: what is smaller is the rounding of floating point.
SMALLEST_GMM = 1e-6
# Arms shorter than this are none: a crank in balance whatever hangs on its throws.
SMALLEST_ARM_MM = 1e-3
# The lattice is searched this many steps around its middle, less on cranks of many throws.
LATTICE_POINTS = 40_000


class Aim:
    """One aim: its name, the unit of its values, and the step between two of them. slow: a value takes a
    solver, and is known for whole arrangements only, not for their masses; is_of_spreads: the box of a value tells
    all arrangements that are as good."""

    name: str
    unit = "g"
    step: float
    slow = False
    is_of_spreads = False

    def __init__(self, question: Question) -> None:
        self.question = question

    def of(self, arrangements: Ints) -> Floats:
        """The value of each of some arrangements (k, units, cylinders)."""
        return self.of_masses(self.question.masses(arrangements))

    def of_masses(self, masses: Masses) -> Floats:
        raise NotImplementedError

    def leaning(self, masses: Masses) -> Floats:
        """A value to search by: the same, or where that has no slope, one that leans towards it."""
        return self.of_masses(masses)

    def at_least(self, masses: Masses) -> Floats:
        """What the values are no less than: the values themselves, or, where these take a solver, a bound."""
        return self.of_masses(masses)

    def bound(self) -> float:
        """A value that no arrangement can be below."""
        raise NotImplementedError

    def box(self, value: float) -> dict[str, int]:
        """By quantity the largest spread of an arrangement of this value or a better one [grains]; empty where
        a value says nothing of spreads."""
        raise NotImplementedError

    def at(self, arrangement: Ints) -> float:
        """The value of one arrangement (units, cylinders)."""
        return float(self.of(arrangement[np.newaxis])[0])


class SpreadAim(Aim):
    """The spread of one quantity [g]."""

    is_of_spreads = True

    def __init__(self, question: Question, name: str) -> None:
        super().__init__(question)
        self.name = name
        self.step = max(apart(question, name), 1) / question.per_g

    def of_masses(self, masses: Masses) -> Floats:
        return np.asarray(spread(masses.of(self.name)) / self.question.per_g)

    def bound(self) -> float:
        return least(self.question, self.name) / self.question.per_g

    def box(self, value: float) -> dict[str, int]:
        return {self.name: math.floor(value * self.question.per_g + 0.5)}


class LimitsAim(Aim):
    """Whether metal must come off: 0 where every spread is inside its limit whatever the scale's uncertainty, as
    the parts were weighed, else 1."""

    name = "limits"
    unit = ""
    step = 1.0
    is_of_spreads = True

    def of_masses(self, masses: Masses) -> Floats:
        over = (self._over_g(masses) > 0) | self.question.metal_anyway
        return np.asarray(over, dtype=np.float64)

    def leaning(self, masses: Masses) -> Floats:
        over_g = self._over_g(masses)
        return (over_g > 0) + 4 * over_g

    def bound(self) -> float:
        question = self.question
        out_of_reach = (least(question, name) > limit.inside for name, limit in question.limited.items())
        return float(question.metal_anyway or any(out_of_reach))

    def box(self, value: float) -> dict[str, int]:
        limits = self.question.limited
        return {name: limit.inside for name, limit in limits.items()} if value < self.step / 2 else {}

    def _over_g(self, masses: Masses) -> Floats:
        """What the spreads are over their limits, all together."""
        over = np.zeros(masses.bobweight.shape[:-1], dtype=np.int64)
        for name, limit in self.question.limited.items():
            over += np.maximum(0, spread(masses.of(name)) - limit.inside)
        return np.asarray(over / self.question.per_g)


class ResidualAim(Aim):
    """The unbalance left in the worse of the two planes [g·mm]: what each throw carries less what is hung, and
    what rods side by side make; as bobweights tell nothing of that, there is neither bound nor box with it."""

    name = "residual"
    unit = "g·mm"
    step = SMALLEST_GMM

    def of_masses(self, masses: Masses) -> Floats:
        bobweights_g = masses.bobweight / self.question.per_g
        if self.question.rod_arms_mm is None:
            return self.left(bobweights_g)
        given_g = self.question.carried(masses.reciprocating, masses.rotating) / self.question.per_g
        return self.left(bobweights_g, given_g @ self.question.rod_arms_mm.T)

    def box(self, value: float) -> dict[str, int]:
        """With arms that are independent, small planes leave no throw much room: of bobweights that differ from
        their mean by d, |A·d| ≥ σ·|d|, σ the smallest singular value over all d that add up to 0, and the
        largest and the smallest of d are no further apart than √2·|d|."""
        hung, throws = self.question.hung_g, self.question.throws
        if hung is None or np.ptp(hung) > 0 or throws == 1 or self.question.rod_arms_mm is not None:
            return {}
        arms = np.vstack([self.question.arms_mm.real, self.question.arms_mm.imag])
        adding_to_0 = np.linalg.svd(np.ones((1, throws)))[2][1:].T
        singular = np.linalg.svd(arms @ adding_to_0, compute_uv=False)
        smallest = singular[-1] if len(singular) == throws - 1 else 0.0
        if smallest < SMALLEST_ARM_MM:
            return {}
        total_g = lattice(self.question, "bobweight")[2] / self.question.per_g
        of_mean = float(np.linalg.norm(arms.sum(axis=1))) * abs(total_g - hung.sum()) / throws
        wide_g = math.sqrt(2) * (math.sqrt(2) * value + of_mean) / smallest
        return {"bobweight": math.ceil(wide_g * self.question.per_g)}

    def left(self, bobweights_g: Floats, beside_gmm: Complexes | None = None) -> Floats:
        """bobweights_g: (…, throws); beside_gmm: what rods side by side make of both planes (…, 2)"""
        shape = (*bobweights_g.shape[:-1], 2)
        planes = np.zeros(shape, complex) if beside_gmm is None else beside_gmm
        if self.question.hung_g is not None:
            planes = planes + (bobweights_g - self.question.hung_g) @ self.question.arms_mm.T
        return np.asarray(np.round(np.abs(planes).max(axis=-1) / SMALLEST_GMM) * SMALLEST_GMM)

    def bound(self) -> float:
        """The least over all bobweights that the steps of the masses allow, with the total that they have.

        Searched in a box around equal bobweights. Outside it no throw's unbalance can be small, as long as the
        arms are independent: |A·d| ≥ σ·|d|, σ the smallest singular value; else nothing is claimed there."""
        question = self.question
        if question.hung_g is None or question.rod_arms_mm is not None:
            return 0.0
        rests, step, total = lattice(question, "bobweight")
        middle = nearly_equal(rests, step, total) / question.per_g
        if step == 0 or question.throws == 1:
            return float(self.left(middle))
        throws, step_g = question.throws, step / question.per_g
        reach = int((LATTICE_POINTS ** (1 / (throws - 1)) - 1) / 2)
        if reach < 1:
            return 0.0
        some = np.array(list(itertools.product(range(-reach, reach + 1), repeat=throws - 1)), dtype=np.int64)
        points = np.column_stack([some, -some.sum(axis=1)])
        inside = float(self.left(middle + points * step_g).min())
        arms = np.vstack([question.arms_mm.real, question.arms_mm.imag])
        free = arms[:, :-1] - arms[:, -1:]  # the last throw takes what the others leave
        smallest = float(np.linalg.svd(free, compute_uv=False).min()) if len(free) >= throws - 1 else 0.0
        at_middle = float(np.linalg.norm(arms @ (middle - question.hung_g)))
        outside = (smallest * (reach + 1) * step_g - at_middle) / math.sqrt(2)
        return min(inside, max(0.0, outside))


MAKERS: dict[str, Callable[[Question], Aim]] = {
    "limits": LimitsAim,
    "bobweight": lambda question: SpreadAim(question, "bobweight"),
    "reciprocating": lambda question: SpreadAim(question, "reciprocating"),
    "rotating": lambda question: SpreadAim(question, "rotating"),
    "residual": ResidualAim,
}


class Reached(NamedTuple):
    """How far one aim was brought: its value before, its value now, the bound, and what it could be brought to
    if it stood first. over_before_g, over_g: of the metal, by how much limits stay exceeded whatever is cut,
    before and now; in the values that counts a thousandfold."""

    name: str
    unit: str
    before: float
    value: float
    bound: float
    alone: float | None
    over_before_g: float = 0.0
    over_g: float = 0.0

    @property
    def proved(self) -> bool:
        return self.value <= self.bound + 1e-9
