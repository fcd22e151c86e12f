"""Arrangement and metal in one programme: which part sits in which cylinder, and what comes off it there.

What it ends with is the least that the trim's own programme would give any arrangement: a spread that is outside
as the parts are arranged comes inside, one that is too close to call may stay as wide as it is, and where none
is outside nothing is cut.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from truethrow.balance.base.arrays import Floats, Ints
from truethrow.balance.base.solver import UNBOUNDED, Programme
from truethrow.balance.job.job import Job
from truethrow.balance.matching.question import Question
from truethrow.balance.result.least_metal import EXCESS_COST, can_give_g, cylinders_of, window_of
from truethrow.balance.result.spread import Spread

# The search ends after so many nodes of the solver's tree: work, not time, so that a busy machine has one answer.
MOST_NODES = 200_000


class Found(NamedTuple):
    """The arrangement that it ends with, None where there is none; and a cost that no arrangement can be below:
    grams, and what stays over a limit a thousandfold, as least_metal counts it."""

    arrangement: Ints | None
    bound: float


class Joint:
    """The programme of one question. traded: by quantity what the parts of each unit weigh in it, and last what
    stays with each cylinder. [g]"""

    def __init__(
        self, job: Job, question: Question, limited: Sequence[Spread], traded: Mapping[str, Sequence[Floats]]
    ) -> None:
        self._question = question
        self._solver = Programme(mip_rel_gap=0.0, mip_max_nodes=MOST_NODES)
        self._sits = [
            {
                (part, cylinder): self._solver.column(most=1.0, whole=True)
                for part, cylinder in np.argwhere(unit.allowed).tolist()
            }
            for unit in question.units
        ]
        self._add_rules()
        self._cuts = {
            (cylinder, pad): self._solver.column(1.0, most_g)
            for cylinder in job.parts
            for pad in range(len(job.pads))
            if (most_g := can_give_g(job, cylinder, pad)) > 0
        }
        for spread in limited:
            self._add_limit(job, spread, traded[spread.quantity])

    def solve(self, start: Ints, within: float, seconds: float) -> Found:
        """start: an arrangement to begin with; within: so near to the best is near enough [g]; seconds: the time
        that it may take at the most."""
        self._solver.set(mip_abs_gap=within, time_limit=max(0.0, seconds))
        chosen = {
            column: float(start[u, cylinder] == part)
            for u, own in enumerate(self._sits)
            for (part, cylinder), column in own.items()
        }
        self._solver.begin_with(chosen)
        self._solver.run()
        values = self._solver.values
        found = None
        if values and self._solver.is_feasible:
            found = np.zeros_like(start)
            for u, own in enumerate(self._sits):
                for (part, cylinder), column in own.items():
                    if values[column] > 1 / 2:
                        found[u, cylinder] = part
        return Found(found, max(0.0, self._solver.bound))

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

    def _add_limit(self, job: Job, spread: Spread, traded: Sequence[Floats]) -> None:
        """The members before any cut within what is not outside, or after the cuts within what is inside."""
        assert spread.limit_g is not None
        solver = self._solver
        *moving, staying = traded
        order = {number: at for at, number in enumerate(job.layout.cylinders)}
        lows, highs, rows = [], [], []
        for member in window_of(job, spread).members:
            on = [order[number] for number in cylinders_of(job, spread, member.name)]
            fixed = float(sum(staying[at] for at in on)) + (
                member.unread_g if spread.quantity == "bobweight" else 0.0
            )
            terms: dict[int, float] = {}
            for own, masses in zip(self._sits, moving, strict=True):
                base = float(masses.min())
                fixed += base * len(on)
                terms |= {column: float(masses[part]) - base for (part, at), column in own.items() if at in on}
            span = [float(masses.max() - masses.min()) * len(on) for masses in moving]
            lows.append(fixed)
            highs.append(fixed + sum(span))
            cut = {self._cuts[p]: -effect for p, effect in member.effects.items() if p in self._cuts}
            rows.append((terms, cut, fixed))
        base, most = min(lows), max(highs) - min(lows)
        inside = max(0.0, spread.limit_g - spread.expanded_g)
        outside = spread.limit_g + spread.expanded_g
        # 1 where it is too close to call before anything is cut, and may stay so: as wide as it is then.
        is_close = solver.column(most=1.0, whole=True)
        excess = solver.column(EXCESS_COST)
        before_low, low, before_width = (solver.column(least=-UNBOUNDED) for _ in range(3))
        slack = max(0.0, most - outside)
        for terms, cut, fixed in rows:
            before, after = {**terms, before_low: -1.0}, {**terms, **cut, low: -1.0}
            solver.row(base - fixed, UNBOUNDED, before)
            solver.row(-UNBOUNDED, base - fixed + outside + slack, {**before, is_close: slack})
            solver.row(base - fixed, UNBOUNDED, after)
            solver.row(-UNBOUNDED, base - fixed + inside, {**after, is_close: inside - outside, excess: -1.0})
            solver.row(-UNBOUNDED, base - fixed + most, {**after, is_close: most, before_width: -1.0})
        self._add_width(rows, before_width, most)

    def _add_width(
        self, rows: Sequence[tuple[dict[int, float], dict[int, float], float]], width: int, most: float
    ) -> None:
        """Hold a column to no more than the spread of the members before any cut: what one of them, chosen as the
        heaviest, is above another, chosen as the lightest."""
        solver = self._solver
        high, low = (solver.column(least=-UNBOUNDED) for _ in range(2))
        solver.row(-UNBOUNDED, 0.0, {width: 1.0, high: -1.0, low: 1.0})
        base = min(fixed for _, _, fixed in rows)
        ends = [[solver.column(most=1.0, whole=True) for _ in rows] for _ in range(2)]
        for own in ends:
            solver.row(1.0, 1.0, dict.fromkeys(own, 1.0))
        for (terms, _, fixed), heaviest, lightest in zip(rows, *ends, strict=True):
            negated = {column: -mass for column, mass in terms.items()}
            solver.row(-UNBOUNDED, fixed - base + most, {**negated, high: 1.0, heaviest: most})
            solver.row(fixed - base - most, UNBOUNDED, {**negated, low: 1.0, lightest: -most})
