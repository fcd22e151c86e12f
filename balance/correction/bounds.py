"""What no choice of holes can beat: how near to nothing it brings the planes, and for how much metal.

A choice is a number of holes for every stretch. What they take together is a sum of vectors, one of each stretch,
inside as many times the outline of what one hole takes there, and no longer than so many side by side take; the
rest of each plane is to lie in a circle. That is a convex question for every choice, and two prices, one vector a
plane, bound its answer from below (weak duality): with prices y no holes leave less than

    ( y·target − Σ most that the holes of a stretch take at these prices ) / ( |y front| + |y rear| )

and inside the aim none take less metal than y·target − aim·(|y front| + |y rear|) − Σ what the holes of a stretch
earn at these prices, less their metal. (What all holes take together has a limit, with a price of its own.)

A linear programme finds the prices that are best for one choice; the bounds are worked out again from the prices
alone, over every angle and against the true circles, for all choices at once. So what they rule out is ruled out,
however exact the programme is.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from truethrow.balance.base.arrays import Complexes, Floats, Ints
from truethrow.balance.base.solver import UNBOUNDED, Programme
from truethrow.balance.correction.split import Stretch

# The programme has directions this far apart along a stretch, and a polygon of so many corners about a circle.
FAN_DEG = 5.0
CORNERS = 32


class Goal(NamedTuple):
    """What is to come off both planes, over what is allowed there, and the most that all holes may take for it,
    each at its own angle. [g·mm]"""

    front: complex
    rear: complex
    most_gmm: float


class Prices(NamedTuple):
    """What a unit of both planes, over what is allowed there, is worth, and what it costs to take a
    gram-millimetre anywhere; and at these prices, for each stretch, the most that none, one, two … holes take, and
    the most that they earn once their metal is paid for."""

    front: complex
    rear: complex
    gmm: float
    takes: list[Floats]
    earns: list[Floats]

    @property
    def size(self) -> float:
        return abs(self.front) + abs(self.rear)

    def of(self, goal: Goal) -> float:
        worth = self.front.conjugate() * goal.front + self.rear.conjugate() * goal.rear
        return worth.real - self.gmm * goal.most_gmm


class Answer(NamedTuple):
    """The programme's own answer to one choice: a vector a stretch [g·mm], the worse plane over what is allowed,
    and the prices."""

    vectors: tuple[complex, ...]
    worst: float
    prices: Prices


class Bounds:
    """One programme for all choices on these stretches, held to one after the other. target: what its polygons
    point at, so that a turned crank has the turned answer."""

    def __init__(
        self,
        stretches: Sequence[Stretch],
        allowed_gmm: tuple[float, float],
        aim: float,
        target: tuple[complex, complex],
    ) -> None:
        self._aim = aim
        self._shares = np.array([[s / a for s, a in zip(o.shares, allowed_gmm, strict=True)] for o in stretches])
        sizes = [len(one.angle_deg) for one in stretches]
        self._starts = np.cumsum([0, *sizes[:-1]])
        self._of = np.repeat(np.arange(len(sizes)), sizes)
        self._most_gmm: Floats = np.concatenate([one.most_gmm for one in stretches])
        self._towards: Complexes = np.exp(1j * np.radians(np.concatenate([one.angle_deg for one in stretches])))
        self._gram_per_gmm: Floats = np.array([one.gram_per_gmm for one in stretches])[self._of]
        self._fit = [np.array(one.together_gmm) for one in stretches]
        self._programme = _Programme(aim, [cmath.phase(wanted) for wanted in target])
        self._columns = [self._fan(one, s) for s, one in enumerate(stretches)]

    def _fan(self, one: Stretch, s: int) -> Ints:
        """Columns of a stretch: directions along it, and every one where a wall keeps a hole from the most."""
        most = max(one.most_gmm)
        less = [at for at, amount in enumerate(one.most_gmm) if amount < most]
        points: Ints = self._starts[s] + np.array(sorted({*one.fan(FAN_DEG), *less}))
        for point in points:
            most_gmm = float(self._most_gmm[point])
            self._programme.hole(
                s, complex(self._towards[point]), most_gmm, self._shares[s], one.gram_per_gmm * most_gmm
            )
        return points

    def nearest(self, holes: Sequence[int], goal: Goal) -> Answer:
        """The nearest that so many holes on each stretch bring both planes."""
        self._programme.ask(holes, self._fitting(holes), goal, nearest=True)
        return self._answer()

    def lightest(self, holes: Sequence[int], goal: Goal) -> Answer | None:
        """The least metal with which they bring both planes inside the aim; None where they do not."""
        self._programme.ask(holes, self._fitting(holes), goal, nearest=False)
        return self._answer() if self._programme.is_best else None

    def _fitting(self, holes: Sequence[int]) -> list[float]:
        return [float(fit[number]) for fit, number in zip(self._fit, holes, strict=True)]

    def _answer(self) -> Answer:
        if not self._programme.is_best:  # nothing known, and nothing proved
            return Answer((0j,) * len(self._columns), math.inf, self.at(0j, 0j))
        values, prices = np.array(self._programme.values), self._programme.prices
        weights = values[self._programme.first :]
        vectors, at = [], 0
        for points in self._columns:
            amounts = weights[at : at + points.size] * self._most_gmm[points]
            vectors.append(complex(amounts @ self._towards[points]))
            at += points.size
        planes = self._programme.planes
        front, rear = (complex(prices[row[0]], prices[row[1]]) for row in planes)
        fit = np.array([-prices[row] for _, row in self._programme.limits])
        return Answer(tuple(vectors), float(values[0]), self.at(front, rear, -prices[0], fit))

    def at(self, front: complex, rear: complex, gmm: float = 0.0, fit: Floats | float = 0.0) -> Prices:
        """What holes take and earn at these prices, over every angle. fit: what room for a gram-millimetre more on
        a stretch is worth."""
        gmm, fit = max(gmm, 0.0), np.maximum(fit, np.zeros(self._starts.size))
        worth = (self._shares[:, 0] * front + self._shares[:, 1] * rear)[self._of]
        along = worth.real * self._towards.real + worth.imag * self._towards.imag - gmm
        return Prices(front, rear, gmm, self._most(along, fit), self._most(along - self._gram_per_gmm, fit))

    def _most(self, along: Floats, fit: Floats) -> list[Floats]:
        """Of each stretch, by the number of its holes: as many times the best one, or what fits together at the
        best angle, or as many of the best one less what its room is worth, and that of all room: each of them is
        a bound. along: what a gram-millimetre is worth at every angle."""
        best = np.maximum(np.maximum.reduceat(along, self._starts), 0.0)
        one, less = (
            np.maximum(np.maximum.reduceat((along - room) * self._most_gmm, self._starts), 0.0)
            for room in (0.0, fit[self._of])
        )
        several = zip(self._fit, best, one, less, fit, strict=True)
        return [
            np.minimum(np.minimum(np.arange(g.size) * o, g * b), np.arange(g.size) * n + g * f)
            for g, b, o, n, f in several
        ]

    def least_worst(self, prices: Prices, choices: Ints, goals: Sequence[Goal]) -> Floats:
        """What no holes of each choice get below, in the worse plane over what is allowed: a row a goal."""
        worth = np.array([prices.of(goal) for goal in goals])
        least: Floats = (worth[:, None] - _sum(prices.takes, choices)) / max(prices.size, 1e-12)
        return least

    def least_metal_g(self, prices: Prices, choices: Ints, goals: Sequence[Goal]) -> Floats:
        """Less metal than which no holes of each choice take inside the aim: a row a goal."""
        worth = np.array([prices.of(goal) for goal in goals]) - self._aim * prices.size
        least: Floats = worth[:, None] - _sum(prices.earns, choices)
        return least


def _sum(by_number: Sequence[Floats], choices: Ints) -> Floats:
    total = np.zeros(len(choices))
    for of_stretch, numbers in zip(by_number, choices.T, strict=True):
        total += of_stretch[numbers]
    return total


class _Programme(Programme):
    """The rest of each plane, its polygon, and a column for every direction: how many of the largest holes."""

    def __init__(self, aim: float, corners_at: Sequence[float]) -> None:
        super().__init__()
        self._aim = aim
        self._together = self.row(-UNBOUNDED, UNBOUNDED)
        self._worst = self.column()
        rests = [[self.column(least=-UNBOUNDED) for _ in "xy"] for _ in "fr"]
        self.planes = [[self.row(0.0, 0.0, {column: 1.0}) for column in rest] for rest in rests]
        for (x, y), first in zip(rests, corners_at, strict=True):
            for corner in range(CORNERS):
                towards = cmath.rect(1.0, first + 2 * math.pi * corner / CORNERS)
                self.row(-UNBOUNDED, 0.0, {x: towards.real, y: towards.imag, self._worst: -1.0})
        self.first = self.columns
        self.limits: list[tuple[int, int]] = []
        self._metal_g: dict[int, float] = {}
        self._nearest: bool | None = None

    def hole(self, stretch: int, towards: complex, most_gmm: float, shares: Floats, metal_g: float) -> None:
        while len(self.limits) <= stretch:
            self.limits.append((self.row(-UNBOUNDED, 0.0), self.row(-UNBOUNDED, 0.0)))
        number, fit = self.limits[stretch]
        entries = {number: 1.0, fit: most_gmm, self._together: most_gmm}
        for (x, y), share in zip(self.planes, most_gmm * shares, strict=True):
            entries |= {x: share * towards.real, y: share * towards.imag}
        self._metal_g[self.column(entries=entries)] = metal_g

    def ask(self, holes: Sequence[int], fitting_gmm: Sequence[float], goal: Goal, *, nearest: bool) -> None:
        self.hold_row(self._together, -UNBOUNDED, goal.most_gmm)
        for (number, fit), most, most_gmm in zip(self.limits, holes, fitting_gmm, strict=True):
            self.hold_row(number, -UNBOUNDED, float(most))
            self.hold_row(fit, -UNBOUNDED, most_gmm)
        for (x, y), wanted in zip(self.planes, goal[:2], strict=True):
            self.hold_row(x, wanted.real, wanted.real)
            self.hold_row(y, wanted.imag, wanted.imag)
        if nearest != self._nearest:
            self._nearest = nearest
            self.cost({self._worst: 1.0} if nearest else self._metal_g)
            self.hold_column(self._worst, 0.0, UNBOUNDED if nearest else self._aim)
        self.run()
        if not (self.is_best or self.is_impossible):  # lost on the way from the last answer: once more, from none
            self.highs.clearSolver()
            self.run()
