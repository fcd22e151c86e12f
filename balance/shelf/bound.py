"""What no division of a shelf can go below, and what each bound counts.

Cost of an engine, with b the lightest big end and L the lightest reciprocating mass in it, over its n cylinders:
Σ (big end − b) + Σ (reciprocating − L).
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from truethrow.balance.base.arrays import Floats, Ints
from truethrow.balance.base.solver import UNBOUNDED, Programme
from truethrow.balance.shelf.problem import Division, Problem

MOST_RODS = 80  # beyond, the linear programme does not come to an end within the time that a shop waits
MOST_LEVELS = 1500  # levels of mass on the grid that the readings share
MOST_ROUNDS = 400
SHARE_OF_BEST = 0.7  # how much of the best prices so far goes into the next: keeps them from swinging
SLACK_G = 6.0  # what it costs the programme to leave a part out or to take it twice
DUST = 1e-6  # floating-point rounding, in units of the grid; the grid is far coarser


class Bound(NamedTuple):
    """No division costs less than this [ng]; counts says what was looked at to know it."""

    nanograms: int
    counts: str


def alone(problem: Problem) -> Bound:
    """The least cost of the big ends if nothing else is asked, plus that of the reciprocating masses if one kind
    alone decides them: the sum of two minima is no more than the minimum of the sum."""
    least = _windows(problem.big[:-1], problem) if "rod" in problem.parts else 0
    if len(problem.parts) == 1:
        (mass,) = problem.reciprocating.values()
        least += _windows(mass[:-1], problem)
    counts = "big ends alone" if len(problem.parts) > 1 else "big ends and reciprocating masses, each alone"
    if "rod" not in problem.parts:
        counts = "the grid of the readings alone" if len(problem.parts) > 1 else "reciprocating masses"
    return Bound(lifted(problem, least), counts)


def _windows(masses: Ints, problem: Problem) -> int:
    """The least Σ (mass − the lightest in its engine) over all choices of disjoint sets of n, one an engine.

    Sets of neighbours in the sorted order suffice. Of the kn chosen, the largest lightest is at most the n-th from
    above, the next at most the 2n-th, and so on; blocks of neighbours reach all of these at once, and the sum
    of the chosen is given. And a part that was left between two of one block may take the place of the block's
    heaviest at no cost. So the j-th block starts at jn + s, s the parts passed over so far, and the least over s
    follows from block to block."""
    n, mass = problem.cylinders, np.sort(masses)
    added = np.concatenate([[0], np.cumsum(mass)])
    passed = np.arange(len(mass) - problem.engines * n + 1)
    least = np.zeros(len(passed), dtype=np.int64)
    for block in range(problem.engines):
        first = block * n + passed
        least = np.minimum.accumulate(least) + added[first + n] - added[first] - n * mass[first]
    return int(least.min())


def lifted(problem: Problem, nanograms: int) -> int:
    """The least cost at or above a bound that the readings allow.

    All masses of a kind lie on a grid g, so a cost is a whole number of g. Where no part stays over, more is
    known: a cost is Σ of all masses, counted from their kind's lightest, less n times the lightest of each engine,
    so that all costs leave the same remainder when divided by n·g."""
    g = _grid(problem)
    if g == 0:
        return 0
    size = problem.engines * problem.cylinders
    if any(len(pool) != size for pool in problem.parts.values()):
        return -(-nanograms // g) * g
    masses = [problem.big[:-1], *(mass[:-1] for mass in problem.reciprocating.values())]
    remainder = sum(int((mass - mass.min()).sum()) for mass in masses if len(mass)) % (problem.cylinders * g)
    step = problem.cylinders * g
    return remainder + max(0, -(-(nanograms - remainder) // step)) * step


def _grid(problem: Problem) -> int:
    """The largest mass of which every difference within a kind is a multiple [ng]; 0 where all are alike."""
    masses = [problem.big[:-1], *(mass[:-1] for mass in problem.reciprocating.values())]
    return functools.reduce(math.gcd, (int(np.gcd.reduce(mass - mass.min())) for mass in masses if len(mass)), 0)


def reaches(problem: Problem) -> bool:
    """Whether a shelf is small enough, and its readings coarse enough, for the bound that counts both masses."""
    grid = _grid(problem)
    if grid == 0 or len(problem.parts) < 2 or not 0 < len(problem.parts.get("rod", ())) <= MOST_RODS:
        return False
    spans = [int(mass[:-1].max() - mass[:-1].min()) for mass in problem.reciprocating.values()]
    return sum(spans) // grid <= MOST_LEVELS


def both(problem: Problem, known: Division, done: Callable[[Bound], bool]) -> None:
    """A bound that counts both masses, by columns of a linear programme; for a shelf that it reaches.

    Take away three rules: let an engine use a piston, a pin or a ring set more than once, let it have any b at
    or below its big ends and any L at or below its reciprocating masses, and leave banks and partners out. Every
    true engine is then still one of the columns (b, L, n different rods, a piston, … for each), so that for any
    prices y, one a part, the cost of k engines is at least

        Σ y + k · least over the columns of (cost − Σ y of the parts used),

    as each part is used just once; where a kind has more parts than are needed, at most once, and its prices are
    held at or below 0. One rule goes in besides, with prices z ≤ 0: of the big ends, N(t) are t or more,
    so no more than ⌊N(t)/n⌋ engines can have b ≥ t; that adds Σ z·⌊N(t)/n⌋, and takes Σ z over t ≤ b off each
    column. The least column is found exactly: for every L the cheapest mates of each rod, for every b the n
    cheapest rods. The programme over the columns found so far (HiGHS) only proposes the prices: the bound is
    worked out from them by the formula above and holds whatever they are.

    done hears of every better bound, and ends the work by saying so."""
    grid = _grid(problem)
    columns = _Columns(problem, grid)
    master = _Master(columns)
    for engine in range(problem.engines):
        master.take(columns.of_engine({kind: at[engine] for kind, at in known.items()}))
    best, centre = -math.inf, None
    for _ in range(MOST_ROUNDS):
        prices = columns.allowed(master.prices())
        trial = prices if centre is None else SHARE_OF_BEST * centre + (1 - SHARE_OF_BEST) * prices
        paid: list[_Column] = []
        for at in (trial, prices):
            least, new = columns.cheapest(at)
            under = float(at @ columns.most) + problem.engines * least
            if under > best:
                best, centre = under, at
            paid = [column for column in new if master.pays(column)]
            for column in paid:
                master.take(column)
            if paid:
                break
        units = max(0, math.ceil(best - DUST))
        if done(Bound(lifted(problem, units * grid), "both masses")) or not paid:
            break


class _Column(NamedTuple):
    """One relaxed engine: its cost, its parts' rows in the programme, and the number of thresholds at or
    below b."""

    cost: float
    parts: Ints
    thresholds: int


class _Columns:
    """The relaxed engines of a shelf, in units of the grid. Prices are one vector: of the rods, of the parts of
    each other kind, and of the thresholds of the big end."""

    def __init__(self, problem: Problem, grid: int) -> None:
        self.n, self.engines = problem.cylinders, problem.engines
        self.slack = SLACK_G * 1e9 / grid
        self.kinds = tuple(problem.parts)
        self.mass = {k: (m[:-1] - m[:-1].min()) // grid for k, m in problem.reciprocating.items()}
        self.big = (problem.big[:-1] - problem.big[:-1].min()) // grid
        self.by_big = np.argsort(self.big, kind="stable")
        sizes = [len(problem.parts[kind]) for kind in self.kinds]
        self.offset = dict(zip(self.kinds, np.cumsum([0, *sizes[:-1]]).tolist(), strict=True))
        self.parts = sum(sizes)
        self.thresholds = np.unique(self.big)[1:]
        at_or_above = [int((self.big >= t).sum()) // self.n for t in self.thresholds]
        self.most = np.array([1.0] * self.parts + at_or_above)
        size = self.engines * self.n
        self.exact = np.array([s == size for s in sizes for _ in range(s)] + [False] * len(at_or_above))

    def allowed(self, prices: Floats) -> Floats:
        """Prices of what may be used less often than its most are never above 0."""
        return np.where(self.exact, prices, np.minimum(prices, 0.0))

    def of_engine(self, parts: dict[str, Ints]) -> _Column:
        x = np.sum([self.mass[kind][at] for kind, at in parts.items()], axis=0)
        return self._column(parts, int(self.big[parts["rod"]].min()), int(x.min()))

    def _column(self, parts: dict[str, Ints], b: int, level: int) -> _Column:
        x = np.sum([self.mass[kind][at] for kind, at in parts.items()], axis=0)
        cost = float((self.big[parts["rod"]] - b).sum() + (x - level).sum())
        rows = np.concatenate([self.offset[kind] + at for kind, at in parts.items()])
        return _Column(cost, rows, int(np.searchsorted(self.thresholds, b, side="right")))

    def cheapest(self, prices: Floats) -> tuple[float, list[_Column]]:
        """The least reduced cost of all columns, and for every b the column that has the least there."""
        mates, makers = self._mates(prices)
        small = self.mass["rod"]
        levels = np.arange(int(small.max()) + len(mates))
        # A rod needs mates of L less its small end, or more; any will do where that is below 0.
        need = np.maximum(levels[:, None] - small[None, :], 0)
        reach = np.where(need < len(mates), mates[np.minimum(need, len(mates) - 1)], np.inf)
        rods = reach + small[None, :] - levels[:, None] + (self.big - prices[: len(self.big)])[None, :]
        rods = rods[:, self.by_big]
        sorted_big = self.big[self.by_big]
        below = np.concatenate([[0.0], np.cumsum(prices[self.parts :])])
        least, found = math.inf, []
        for first in np.unique(sorted_big, return_index=True)[1]:
            usable = rods[:, first:]
            if usable.shape[1] < self.n:
                break
            b = int(sorted_big[first])
            cheap = np.partition(usable, self.n - 1, axis=1)[:, : self.n].sum(axis=1) - self.n * b
            level = int(cheap.argmin())
            if math.isinf(cheap[level]):
                continue
            reduced = float(cheap[level]) - float(below[np.searchsorted(self.thresholds, b, side="right")])
            least = min(least, reduced)
            rod = self.by_big[first:][np.argpartition(usable[level], self.n - 1)[: self.n]]
            found.append(self._column({"rod": rod} | makers(need[level][rod]), b, level))
        return least, found

    def _mates(self, prices: Floats) -> tuple[Floats, Callable[[Ints], dict[str, Ints]]]:
        """For every mass the least of (mass − prices) that the kinds beside the rod make at that mass or above,
        and how to find who makes it."""
        sums, steps = np.zeros(1), []
        for kind in self.kinds:
            if kind == "rod":
                continue
            mass = self.mass[kind]
            own = mass - prices[self.offset[kind] : self.offset[kind] + len(mass)]
            order = np.lexsort((own, mass))
            levels, first = np.unique(mass[order], return_index=True)
            who = order[first]
            # Every sum so far with every level of this kind, laid out by the mass that they make together.
            laid = np.full((len(levels), len(sums) + int(mass.max())), np.inf)
            for row, (level, part) in enumerate(zip(levels, who, strict=True)):
                laid[row, level : level + len(sums)] = sums + own[part]
            pick = laid.argmin(axis=0)
            sums = laid[pick, np.arange(laid.shape[1])]
            steps.append((kind, levels[pick], who[pick]))
        # From there on the cheapest of all heavier ones.
        after = np.arange(len(sums))
        for at in range(len(sums) - 2, -1, -1):
            if sums[after[at + 1]] < sums[at]:
                after[at] = after[at + 1]

        def makers(need: Ints) -> dict[str, Ints]:
            at, made = after[need], {}
            for kind, level, part in reversed(steps):
                made[kind] = part[at]
                at = at - level[at]
            return made

        return sums[after], makers


class _Master:
    """The linear programme over the columns found so far: it proposes prices."""

    def __init__(self, columns: _Columns) -> None:
        self.columns, self.programme = columns, Programme()
        for most, exact in zip(columns.most, columns.exact, strict=True):
            self.programme.row(float(most) if exact else -UNBOUNDED, float(most))
        self.engines_row = self.programme.row(columns.engines, columns.engines)
        for row in range(columns.parts):
            for sign in (1.0, -1.0):
                self.programme.column(columns.slack, entries={row: sign})
        self.programme.column(columns.slack * columns.n, entries={self.engines_row: 1.0})
        self.dual = np.zeros(len(columns.most) + 1)

    def prices(self) -> Floats:
        self.programme.run()
        self.dual = np.array(self.programme.prices)
        return self.dual[:-1]

    def pays(self, column: _Column) -> bool:
        """Whether the programme would do better with a column, at its prices."""
        rows, values = self._entries(column)
        return column.cost - float(values @ self.dual[rows]) < -DUST

    def take(self, column: _Column) -> None:
        rows, values = self._entries(column)
        self.programme.column(column.cost, entries=dict(zip(rows.tolist(), values.tolist(), strict=True)))

    def _entries(self, column: _Column) -> tuple[Ints, Floats]:
        parts, times = np.unique(column.parts, return_counts=True)
        thresholds = self.columns.parts + np.arange(column.thresholds)
        rows = np.concatenate([parts, thresholds, [self.engines_row]])
        return rows, np.concatenate([times, np.ones(column.thresholds + 1)])
