"""What no division of a shelf can go below, and what each bound counts.

Cost of an engine, with b the lightest big end and L the lightest reciprocating mass in it, over its n cylinders:
Σ (big end − b) + Σ (reciprocating − L).
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from truethrow.balance.base.arrays import Floats, Ints
from truethrow.balance.base.solver import UNBOUNDED, Programme
from truethrow.balance.shelf.problem import Division, Problem

MOST_RODS = 80  # beyond, the linear programme does not come to an end within the time that a shop waits
MOST_LEVELS = 6000  # levels of mass on the grid that the readings share
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
    held at or below 0. What can be counted goes in besides (`counted`): no more than m engines have both b ≥ t
    and L ≥ u. With a price z ≤ 0 that adds z·m, and takes z off each column with such b and L. The least column is
    found exactly: for every L the cheapest mates of each rod, for every b the n cheapest rods. The programme over
    the columns found so far (HiGHS) only proposes the prices: the bound is worked out from them by the formula
    above and holds whatever they are.

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


class Rule(NamedTuple):
    """No more than most engines have both b at or above big and L at or above level."""

    big: int
    level: int
    most: int


def counted(big: Ints, reciprocating: Mapping[str, Ints], cylinders: int, engines: int) -> list[Rule]:
    """For every b of the rods and every number of engines: the highest L that the heaviest parts for so many
    engines reach, their rods with such big ends; above it there are fewer. In whole units of a grid."""
    mates = [np.sort(mass)[::-1] for kind, mass in reciprocating.items() if kind != "rod"]
    found = []
    for number in range(1, engines + 1):
        lowest = math.inf
        for at_least in np.unique(big).tolist():
            rods = np.sort(reciprocating["rod"][big >= at_least])[::-1]
            level = _highest_level([rods, *mates], cylinders * number) + 1
            if level < lowest:  # else the rule before says as much, and of more engines
                lowest = level
                found.append(Rule(at_least, level, number - 1))
            if level == 0:
                break
    return found


def _highest_level(kinds: Sequence[Ints], cylinders: int) -> int:
    """No more than this is the lightest of so many cylinders, of kinds sorted with the heaviest part first; −1
    where there are too few parts.

    Let all cylinders come to L. Heavier parts in place of others keep that, so let them be the heaviest. All that
    a part is heavier than L less the lightest of all other kinds is for nothing. And without that, any so many
    cylinders come to L each: also those of the lightest parts of a kind, with no more than the heaviest of the
    others in them."""
    if any(len(kind) < cylinders for kind in kinds):
        return -1
    used = [kind[:cylinders] for kind in kinds]
    lightest = sum(int(kind[-1]) for kind in used)
    number = np.arange(1, cylinders + 1)

    def may_be(level: int) -> bool:
        counts = [np.minimum(kind, level - lightest + kind[-1]) for kind in used]
        heaviest = [kind.cumsum() for kind in counts]
        lightest_of = [kind[::-1].cumsum() for kind in counts]
        all_heaviest = np.sum(heaviest, axis=0)
        return all(
            bool((all_heaviest - heavy + light >= level * number).all())
            for heavy, light in zip(heaviest, lightest_of, strict=True)
        )

    low, high = lightest, sum(int(kind.sum()) for kind in used) // cylinders
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if may_be(middle) else (low, middle - 1)
    return low


class _Column(NamedTuple):
    """One relaxed engine: its cost, its parts' rows in the programme, its b and its L."""

    cost: float
    parts: Ints
    big: int
    level: int


class _Columns:
    """The relaxed engines of a shelf, in units of the grid. Prices are one vector: of the rods, of the parts of
    each other kind, and of the rules."""

    def __init__(self, problem: Problem, grid: int) -> None:
        self.n, self.engines = problem.cylinders, problem.engines
        self.slack = SLACK_G * 1e9 / grid
        self.kinds = tuple(problem.parts)
        self.mass = {k: (m[:-1] - m[:-1].min()) // grid for k, m in problem.reciprocating.items()}
        self.big = (problem.big[:-1] - problem.big[:-1].min()) // grid
        self.heaviest_first = np.argsort(-self.big, kind="stable")
        sizes = [len(problem.parts[kind]) for kind in self.kinds]
        self.offset = dict(zip(self.kinds, np.cumsum([0, *sizes[:-1]]).tolist(), strict=True))
        self.parts = sum(sizes)
        self.rule_big, self.rule_level, self.rule_most = np.array(
            counted(self.big, self.mass, self.n, self.engines)
        ).T
        # No engine has an L at or above the first that a rule allows none of.
        self.levels = np.arange(self.rule_level[self.rule_most == 0].max())
        self.most = np.concatenate([np.ones(self.parts), self.rule_most])
        size = self.engines * self.n
        self.exact = np.array([s == size for s in sizes for _ in range(s)] + [False] * len(self.rule_most))

    def allowed(self, prices: Floats) -> Floats:
        """Prices of what may be used less often than its most are never above 0."""
        return np.where(self.exact, prices, np.minimum(prices, 0.0))

    def about(self, column: _Column) -> Ints:
        """The rules that are about a column."""
        return np.flatnonzero((self.rule_big <= column.big) & (self.rule_level <= column.level))

    def of_engine(self, parts: dict[str, Ints]) -> _Column:
        x = np.sum([self.mass[kind][at] for kind, at in parts.items()], axis=0)
        return self._column(parts, int(self.big[parts["rod"]].min()), int(x.min()))

    def _column(self, parts: dict[str, Ints], b: int, level: int) -> _Column:
        x = np.sum([self.mass[kind][at] for kind, at in parts.items()], axis=0)
        cost = float((self.big[parts["rod"]] - b).sum() + (x - level).sum())
        rows = np.concatenate([self.offset[kind] + at for kind, at in parts.items()])
        return _Column(cost, rows, b, level)

    def cheapest(self, prices: Floats) -> tuple[float, list[_Column]]:
        """The least reduced cost of all columns, and for every b the column that has the least there."""
        mates, makers = self._mates(prices)
        small, levels = self.mass["rod"][:, None], self.levels
        # A rod needs mates of L less its small end, or more; any will do where that is below 0.
        need = np.maximum(levels - small, 0)
        reach = np.where(need < len(mates), mates[np.minimum(need, len(mates) - 1)], np.inf)
        rods = reach + small - levels + (self.big - prices[: len(self.big)])[:, None]
        least, found = math.inf, []
        cheap = np.full((self.n, len(levels)), np.inf)  # for every L the cheapest rods so far
        for number, rod in enumerate(self.heaviest_first, start=1):
            dearest = cheap.argmax(axis=0)
            cheap[dearest, levels] = np.minimum(cheap[dearest, levels], rods[rod])
            b, usable = int(self.big[rod]), self.heaviest_first[:number]
            if number < self.n or (number < len(self.big) and self.big[self.heaviest_first[number]] == b):
                continue
            reduced = cheap.sum(axis=0) - self.n * b - self._ruled(prices[self.parts :], b)
            level = int(reduced.argmin())
            if math.isinf(reduced[level]):
                continue
            least = min(least, float(reduced[level]))
            own = usable[np.argpartition(rods[usable, level], self.n - 1)[: self.n]]
            found.append(self._column({"rod": own} | makers(need[own, level]), b, level))
        return least, found

    def _ruled(self, prices: Floats, b: int) -> Floats:
        """For every L, what the rules take off an engine with this b; −∞ where they allow none."""
        about = (self.rule_big <= b) & (self.rule_level < len(self.levels))
        steps = np.bincount(self.rule_level[about], prices[about], len(self.levels))
        taken: Floats = np.cumsum(steps)
        none = self.rule_level[about & (self.rule_most == 0)]
        if none.size:
            taken[none.min() :] = -np.inf
        return taken

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
        about = self.columns.about(column)
        rows = np.concatenate([parts, self.columns.parts + about, [self.engines_row]])
        return rows, np.concatenate([times, np.ones(len(about) + 1)])
