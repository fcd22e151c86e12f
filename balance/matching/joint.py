"""Arrangement and metal in one programme: which part sits in which cylinder, and what comes off it there.

What it finds is an arrangement; what it proves is a bound on the metal of all of them. A spread that is not
outside as the parts are arranged needs no metal, and what it may grow to then is taken as wide as it can be: so
the bound holds for the metal as the trim counts it, and is seldom below it.
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
MOST_NODES = 20_000


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
        # 1 where it is not outside before anything is cut: then nothing is to be cut for it.
        is_fine = solver.column(most=1.0, whole=True)
        excess = solver.column(EXCESS_COST)
        bottoms = [solver.column(least=-UNBOUNDED) for _ in range(2)]
        for terms, cut, fixed in rows:
            before, after = ({**terms, bottom: -1.0} for bottom in bottoms)
            solver.row(base - fixed, UNBOUNDED, before)
            slack = max(0.0, most - outside)
            solver.row(-UNBOUNDED, base - fixed + outside + slack, before | {is_fine: slack})
            after |= cut
            solver.row(base - fixed, UNBOUNDED, after)
            solver.row(-UNBOUNDED, base - fixed + inside, after | {is_fine: inside - outside, excess: -1.0})
