"""Arrangement and metal in one programme: which part sits in which cylinder, and what comes off it there.

What it ends with is the least that the trim's own programme would give any arrangement: a spread that is outside
as the parts are arranged comes inside, one that is too close to call may stay as wide as it is, and where none
is outside nothing is cut. Which of the spreads stay too close to call is chosen first, one programme for each
choice: put into one, the choice leaves its relaxation next to nothing to say.

Twin throws, and twin cylinders of a throw, are told apart by the order of the parts of the first unit alone.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from truethrow.balance.base.arrays import Floats, Ints
from truethrow.balance.base.solver import UNBOUNDED, Programme
from truethrow.balance.job.job import Job
from truethrow.balance.matching.effort import Effort
from truethrow.balance.matching.question import Question
from truethrow.balance.result.least_metal import EXCESS_COST, can_give_g, cylinders_of, window_of
from truethrow.balance.result.spread import Spread

# What a node of the solver's tree costs, which grows faster than its columns (columns to this power, as a part of
# it), and how many nodes the first one is worth, which the solver looks at for cuts and for an answer. [looks]
POWER, PART, FIRST = 1.5, 1 / 4, 250
SHARE = 3 / 4  # of what is left, for one choice
CLOSE_G = 1e-6  # the solver's own tolerance, by which more is left too close to call


class Held(NamedTuple):
    """A limit in the programme [g]: the width that is aimed at; the spread up to which it is not outside; and
    where nobody's trade changes its verdict, whether it is outside. Where that depends on who sits where, or how
    sure the parts are that do, each is what costs least."""

    spread: Spread
    inside_g: float
    outside_g: float
    is_outside: bool | None


class Asked(NamedTuple):
    """What is asked of heights and programme. traded: by quantity what the parts of each unit weigh in it, and
    last what stays with each cylinder [g]."""

    job: Job
    question: Question
    held: Sequence[Held]
    traded: Mapping[str, Sequence[Floats]]


# Told now and then, and at the end: an arrangement where there is one; and a cost that none with the same spreads
# too close to call can be below: grams, and what stays over a limit a thousandfold, as least_metal counts it.
Tell = Callable[[Ints | None, float], None]


def choices(held: Sequence[Held]) -> Iterator[frozenset[str]]:
    """Every choice of spreads that are left too close to call, none of them first."""
    names = [one.spread.quantity for one in held if one.is_outside is None]
    for count in range(len(names) + 1):
        yield from map(frozenset, itertools.combinations(names, count))


class Joint:
    """The programme of what is asked and one choice, close: the spreads that are left too close to call."""

    def __init__(self, asked: Asked, close: frozenset[str]) -> None:
        job, question, held, traded = asked
        self._question, self.close = question, close
        self._solver = Programme(mip_rel_gap=0.0)
        self._sits = [
            {
                (part, cylinder): self._solver.column(most=1.0, whole=True)
                for part, cylinder in np.argwhere(unit.allowed).tolist()
            }
            for unit in question.units
        ]
        self._add_rules()
        given = {c: [can_give_g(job, c, pad) for pad in range(len(job.pads))] for c in job.parts}
        self._cuts = {
            (cylinder, pad): self._solver.column(1.0, most_g)
            for cylinder, own in given.items()
            for pad, most_g in enumerate(own)
            if most_g > 0
        }
        self._twins = twins(job, question, traded)
        self._add_order()
        self._excess: list[int] = []
        for one in held:
            self._add_limit(job, one, traded[one.spread.quantity], is_close=one.spread.quantity in close)

    def least(self) -> float:
        """A bound at once: the least with parts of parts in every cylinder. Infinite where not even they do."""
        self._solver.set(solve_relaxation=True)
        self._solver.run()
        self._solver.set(solve_relaxation=False)
        return self._solver.total if self._solver.is_best else UNBOUNDED

    def solve(self, start: Ints, most: float | None, within: float, effort: Effort, tell: Tell) -> None:
        """start: an arrangement to begin with; most: what costs more is not looked for [g], None where start
        leaves the same spreads too close to call; within: so near to the best is near enough [g]."""
        a_node = PART * self._solver.columns**POWER
        nodes = max(1, int(effort.looks * SHARE / a_node) - FIRST)
        self._solver.set(mip_abs_gap=within, mip_max_nodes=nodes, time_limit=effort.left_s)
        if most is not None:
            cost = dict.fromkeys(self._cuts.values(), 1.0) | dict.fromkeys(self._excess, EXCESS_COST)
            self._solver.row(-UNBOUNDED, most, cost)
        start = in_order(self._question, self._twins, start)
        chosen = {
            column: float(start[u, cylinder] == part)
            for u, own in enumerate(self._sits)
            for (part, cylinder), column in own.items()
        }
        self._solver.begin_with(chosen)
        try:
            self._solver.run(lambda bound: tell(None, bound))
        except KeyboardInterrupt:
            tell(self._found, 0.0)
            raise
        effort.spend(a_node * (FIRST + self._solver.nodes))
        if not self._solver.is_impossible:
            bound = max(0.0, self._solver.bound)
            tell(self._found, bound if most is None else min(most, bound))
        elif most is not None:  # there is one to begin with where most does not say otherwise
            tell(None, most)

    @property
    def _found(self) -> Ints | None:
        """The arrangement that the solver ended with."""
        values = self._solver.values
        if not values or not self._solver.is_feasible:
            return None
        found = np.zeros((len(self._sits), self._question.cylinders), dtype=np.int64)
        for u, own in enumerate(self._sits):
            for (part, cylinder), column in own.items():
                if values[column] > 1 / 2:
                    found[u, cylinder] = part
        return found

    def _add_rules(self) -> None:
        """Every part in one cylinder, one part of a unit in each, and no two together that must be apart."""
        everyone = range(self._question.cylinders)
        for own in self._sits:
            for one in everyone:
                self._solver.row(1.0, 1.0, {column: 1.0 for (part, _), column in own.items() if part == one})
                self._solver.row(1.0, 1.0, {column: 1.0 for (_, at), column in own.items() if at == one})
        for (u, v), fits in self._question.pairs.items():
            for one, other in np.argwhere(~fits).tolist():
                for at in everyone:
                    both = [self._sits[u].get((one, at)), self._sits[v].get((other, at))]
                    if None not in both:
                        self._solver.row(-UNBOUNDED, 1.0, {column: 1.0 for column in both if column is not None})

    def _add_order(self) -> None:
        """Of twins that could trade all they carry, the one with the lower part of the first unit comes first."""
        first = self._sits[0]
        for before, after in self._twins:
            for part in range(self._question.cylinders):
                lower = {column: -1.0 for (one, at), column in first.items() if at == before and one < part}
                own = {column: 1.0 for (one, at), column in first.items() if at == after and one <= part}
                self._solver.row(-UNBOUNDED, 0.0, lower | own)

    def _add_limit(self, job: Job, held: Held, traded: Sequence[Floats], *, is_close: bool) -> None:
        """The members after the cuts in the window of the spread. is_close: before any cut within what is not
        outside, and after it no further apart than before."""
        solver, spread = self._solver, held.spread
        *moving, staying = traded
        order = {number: at for at, number in enumerate(job.layout.cylinders)}
        rows = []
        for member in window_of(job, spread).members:
            on = [order[number] for number in cylinders_of(job, spread, member.name)]
            fixed = math.fsum(staying[at] for at in on) + (
                member.unread_g if spread.quantity == "bobweight" else 0.0
            )
            terms: dict[int, float] = {}
            for own, masses in zip(self._sits, moving, strict=True):
                mean = float(masses.mean())
                fixed += mean * len(on)
                terms |= {column: float(masses[part]) - mean for (part, at), column in own.items() if at in on}
            cut = {self._cuts[p]: -effect for p, effect in member.effects.items() if p in self._cuts}
            rows.append((terms, cut, fixed))
        base = rows[0][2]  # from which all are counted, so that the numbers stay small
        if is_close:
            width = self._add_width([(terms, fixed - base) for terms, _, fixed in rows], held.outside_g + CLOSE_G)
            apart = {width: -1.0}
            inside = 0.0
        else:
            firm = held.is_outside is False
            excess = solver.column(EXCESS_COST, 0.0 if firm else UNBOUNDED)
            self._excess.append(excess)
            apart, inside = {excess: -1.0}, held.inside_g
        bottom = solver.column(least=-UNBOUNDED)
        for terms, cut, fixed in rows:
            after = {**terms, **cut, bottom: -1.0}
            solver.row(base - fixed, UNBOUNDED, after)
            solver.row(-UNBOUNDED, base - fixed + inside, {**after, **apart})

    def _add_width(self, rows: Sequence[tuple[Mapping[int, float], float]], most: float) -> int:
        """A column no larger than the spread of the members before any cut, that is no larger than most: what one
        of them, chosen as the heaviest, is above another, chosen as the lightest."""
        solver = self._solver
        width = solver.column(most=most)
        bottom, high, low = (solver.column(least=-UNBOUNDED) for _ in range(3))
        solver.row(-UNBOUNDED, 0.0, {width: 1.0, high: -1.0, low: 1.0})
        ends = [[solver.column(most=1.0, whole=True) for _ in rows] for _ in range(2)]
        for own in ends:
            solver.row(1.0, 1.0, dict.fromkeys(own, 1.0))
        for (terms, fixed), heaviest, lightest in zip(rows, *ends, strict=True):
            solver.row(-fixed, UNBOUNDED, {**terms, bottom: -1.0})
            solver.row(-UNBOUNDED, most - fixed, {**terms, bottom: -1.0})
            negated = {column: -mass for column, mass in terms.items()}
            solver.row(-UNBOUNDED, fixed + most, {**negated, high: 1.0, heaviest: most})
            solver.row(fixed - most, UNBOUNDED, {**negated, low: 1.0, lightest: -most})
        return width


def twins(job: Job, question: Question, traded: Mapping[str, Sequence[Floats]]) -> list[tuple[int, int]]:
    """Two cylinders each: neighbours of a throw that could trade all that they carry, and the first ones of two
    throws that could."""
    staying = [
        (*(can_give_g(job, c, pad) for pad in range(len(job.pads))), *(own[-1][at] for own in traded.values()))
        for at, c in enumerate(job.parts)
    ]
    classes = [
        (described[0], *zip(described[1:], (staying[at] for at in on), strict=True))
        for described, on in zip(question.throw_classes, question.on_throw, strict=True)
    ]
    found = []
    for described, on in zip(classes, question.on_throw, strict=True):
        found += [(on[at - 1], on[at]) for at in range(1, len(on)) if described[at] == described[at + 1]]
    last: dict[object, int] = {}
    for throw, described in enumerate(classes):
        if described in last:
            found.append((question.on_throw[last[described]][0], question.on_throw[throw][0]))
        last[described] = throw
    return found


def in_order(question: Question, twins: Sequence[tuple[int, int]], arrangement: Ints) -> Ints:
    """The arrangement that twins' trades make of one, with the lower part of the first unit first."""
    order = np.arange(question.cylinders)
    swapped = True
    while swapped:
        swapped = False
        for before, after in twins:
            if arrangement[0, order[before]] > arrangement[0, order[after]]:
                throws = question.throw_of[[before, after]].tolist()
                here, there = [before], [after]
                if throws[0] != throws[1]:
                    here, there = (list(question.on_throw[throw]) for throw in throws)
                order[[*here, *there]] = order[[*there, *here]]
                swapped = True
    return arrangement[:, order]
