"""The least metal in whole steps of the scale, proved: what each pad gives is a whole number of steps, and so is
what the scale will show of every part that was cut, both ends of a rod among them.

A reading between two steps is shown as the nearer one; one that lies in the middle is counted as the worse of the
two, so that the plan holds whichever the scale shows. Limits come first: only where they are out of reach is
anything left over them, the least that there is.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Collection, Mapping, Sequence
from typing import NamedTuple

from truethrow.balance.base.parts import UNIT_OF, weighed_by
from truethrow.balance.base.readings import Certainty, combine, tidy
from truethrow.balance.base.solver import UNBOUNDED, Programme
from truethrow.balance.job.job import Job
from truethrow.balance.result.least_metal import Member, Window, can_give_g, falls

# What is nearer to the middle of two steps than this counts as the middle; in steps. HiGHS keeps to its rows and
# to whole numbers closer than that.
TIE = 1e-5
TOLERANCE = 1e-7
# Two masses of readings closer than this are one, in steps: what is left of binary fractions.
DUST = 1e-6

Place = tuple[int, int]  # cylinder, and number of the pad


class Steps(NamedTuple):
    """What to take at each pad, and what stays over the limits whatever is taken, less their ±. [g]"""

    taken_g: dict[Place, float]
    excess_g: float


class _Shown(NamedTuple):
    """By how many steps what the scale shows of a part changes, at the most and at the least, as columns of the
    programme: the two differ where it may show either of two steps."""

    upper: Mapping[int, float]
    lower: Mapping[int, float]


class StepProgramme:
    """The programme of one job in steps of its scale. done: parts (and their cylinders) that give no more."""

    def __init__(
        self, job: Job, windows: Sequence[Window], sure: Certainty, done: Collection[tuple[str, int]] = ()
    ) -> None:
        self._done, self._job, self._sure, self._step_g = done, job, sure, job.scale.resolution_g
        self._solver = Programme(
            mip_rel_gap=0.0, mip_feasibility_tolerance=TOLERANCE, primal_feasibility_tolerance=TOLERANCE
        )
        self._cuts: dict[Place, int] = {}
        self._shown: dict[tuple[int, str], _Shown] = {}
        needed = {place for window in windows for member in window.members for place in member.weights}
        for cylinder in job.parts:
            self._add_parts(cylinder, needed)
        self._excess: dict[int, float] = {}  # column, and what it is now, which is the most it may be
        self._apart: dict[int, float] = {}  # row, and its width where the limit is out of reach
        for window in windows:
            self._add_window(window)
        self._over = self._solver.row(-UNBOUNDED, UNBOUNDED, dict.fromkeys(self._excess, 1.0))

    def solve(self) -> Steps:
        """The least metal that brings every window inside its width; where none does, the least that leaves the
        least over all of them. Raises ArithmeticError where the solver finds nothing: to cut nothing always is a
        solution."""
        metal = dict.fromkeys(self._cuts.values(), 1.0)
        excess = 0.0
        self._solver.cost(metal)
        self._solver.run()
        if self._solver.is_impossible:
            for row, width in self._apart.items():
                self._solver.hold_row(row, -UNBOUNDED, width)
            for column, most in self._excess.items():
                self._solver.hold_column(column, 0.0, most)
            self._solver.cost(dict.fromkeys(self._excess, 1.0))
            self._run()
            excess = self._solver.total
            self._solver.hold_row(self._over, -UNBOUNDED, excess + DUST)
            self._solver.cost(metal)
            self._run()
        elif not self._solver.is_best:
            raise ArithmeticError(f"trim: {self._solver.ended}")
        values = self._solver.values
        steps = {place: round(values[column]) for place, column in self._cuts.items()}
        return Steps({p: tidy(n * self._step_g) for p, n in steps.items() if n}, excess * self._step_g)

    def _run(self) -> None:
        self._solver.run()
        if not self._solver.is_best:
            raise ArithmeticError(f"trim: {self._solver.ended}")

    def _add_parts(self, cylinder: int, needed: set[tuple[int, str]]) -> None:
        """What may be taken off each part of a cylinder, and what the scale shows then."""
        job, solver = self._job, self._solver
        for part in dict.fromkeys(UNIT_OF[pad.kind] for pad in job.pads):
            own = {
                i: round(most_g / self._step_g)
                for i, pad in enumerate(job.pads)
                if UNIT_OF[pad.kind] == part and (most_g := can_give_g(job, cylinder, i)) > 0
            }
            if not own or (part, cylinder) in self._done:
                continue
            self._cuts |= {(cylinder, i): solver.column(most=most, whole=True) for i, most in own.items()}
            kinds = [kind for kind in weighed_by(part) if (cylinder, kind) in needed]
            reads = {kind: tidy(job.parts[cylinder][kind].mean_g / self._step_g) for kind in kinds}
            is_cut: int | None = None
            if any(abs(value - round(value)) > DUST for value in reads.values()):
                # As long as nothing is cut it keeps its mean, which no scale shows.
                is_cut = solver.column(most=1.0, whole=True)
                for i, most in own.items():
                    solver.row(-UNBOUNDED, 0.0, {self._cuts[cylinder, i]: 1.0, is_cut: -float(most)})
            for kind in kinds:
                lowered = {self._cuts[cylinder, i]: falls(job, job.pads[i], 1.0)[kind] for i in own}
                self._shown[cylinder, kind] = self._rounded(reads[kind], lowered, is_cut)

    def _rounded(self, reads: float, lowered: Mapping[int, float], is_cut: int | None) -> _Shown:
        """What is shown of a reading, in steps from what it reads. lowered: by how much a step of each cut does
        that."""
        top, bottom = math.floor(reads + 0.5 + DUST), math.ceil(reads - 0.5 - DUST)
        upper = {column: -fall for column, fall in lowered.items()}
        lower = dict(upper)
        if any(abs(fall - round(fall)) > DUST for fall in lowered.values()):
            high = self._solver.column(least=-UNBOUNDED, whole=True)
            low = self._solver.column(least=-UNBOUNDED, whole=True)
            self._solver.row(reads - top - 0.5 + TIE, UNBOUNDED, {**lowered, high: 1.0})
            self._solver.row(-UNBOUNDED, reads - bottom + 0.5 - TIE, {**lowered, low: 1.0})
            upper, lower = {high: 1.0}, {low: 1.0}
        if is_cut is not None:
            upper[is_cut], lower[is_cut] = top - reads, bottom - reads
        return _Shown(upper, lower)

    def _add_window(self, window: Window) -> None:
        """Every two members no further apart than the limit less the ± of their difference; where the spread is
        not outside, or than they are now."""
        base_g = min(member.now_g for member in window.members)
        now = {m.name: tidy((m.now_g - base_g) / self._step_g) for m in window.members}
        classes: dict[object, list[Member]] = equally_sure(window, self._sure)
        widths = self._widths(window)
        over = 0.0
        for (one, other), width in widths.items():
            apart = max(now[m.name] for m in classes[one]) - min(now[m.name] for m in classes[other])
            over = max(over, apart - width)
            if window.firm:
                widths[one, other] = max(width, apart)
        grid = self._grid(window)
        floored = {pair: math.floor(width / grid) * grid if grid else width for pair, width in widths.items()}
        if len(set(widths.values())) == 1 or (window.firm and len(set(floored.values())) == 1):
            # The same for any two.
            classes = {"": list(window.members)}
            widths = {("", ""): next(iter(widths.values()))}
            floored = {("", ""): next(iter(floored.values()))}
        excess = {}
        if not window.firm:
            column = self._solver.column(most=0.0)
            self._excess[column], excess = over, {column: -1.0}
        tops = {key: self._solver.column(least=-UNBOUNDED) for key in classes}
        bottoms = {key: self._solver.column(least=-UNBOUNDED) for key in classes}
        for key, members in classes.items():
            for member in members:
                self._solver.row(-UNBOUNDED, -now[member.name], {**self._terms(member, "upper"), tops[key]: -1.0})
                self._solver.row(
                    -now[member.name], UNBOUNDED, {**self._terms(member, "lower"), bottoms[key]: -1.0}
                )
        for (one, other), width in floored.items():
            row = self._solver.row(-UNBOUNDED, width, {tops[one]: 1.0, bottoms[other]: -1.0, **excess})
            self._apart[row] = widths[one, other]

    def _widths(self, window: Window) -> dict[tuple[object, object], float]:
        """How far two members may be apart to be inside, by how sure the heavier and the lighter one are; in
        steps."""
        limit_g, members = window.spread.limit_g, window.spread.members
        assert limit_g is not None
        widths = {}
        classes = equally_sure(window, self._sure)
        for (one, own), (other, others) in itertools.product(classes.items(), repeat=2):
            pair = next(((a.name, b.name) for a in own for b in others if a.name != b.name), None)
            if pair is not None:  # a member is never held against itself
                apart = combine([(1.0, members[pair[0]]), (-1.0, members[pair[1]])])
                widths[one, other] = max(0.0, limit_g - self._sure.expanded_g(apart)) / self._step_g + DUST
        return widths

    def _grid(self, window: Window) -> float:
        """What all members are apart by whole multiples of, whatever is cut; in steps, 0 where there is none."""
        weights = {weight for member in window.members for weight in member.weights.values() if weight}
        grid = min(weights, default=1.0)
        first_g = window.members[0].now_g
        places = [place for member in window.members for place in member.weights if place in self._shown]
        reads = [self._job.parts[cylinder][kind].mean_g / self._step_g for cylinder, kind in places]
        apart = [(member.now_g - first_g) / self._step_g / grid for member in window.members]
        multiples = [*reads, *apart, *(weight / grid for weight in weights)]
        return grid if all(abs(number - round(number)) <= DUST for number in multiples) else 0.0

    def _terms(self, member: Member, end: str) -> dict[int, float]:
        """How many steps a member changes by, as columns."""
        terms: dict[int, float] = {}
        for place, weight in member.weights.items():
            if place in self._shown:
                for column, factor in getattr(self._shown[place], end).items():
                    terms[column] = terms.get(column, 0.0) + weight * factor
        return terms


def equally_sure(window: Window, sure: Certainty) -> dict[object, list[Member]]:
    """The members of a window that are equally sure, together."""
    found: dict[object, list[Member]] = {}
    for member in window.members:
        own = {r: c for r, c in window.spread.members[member.name].sensitivity.items() if r.cylinder is not None}
        squared = math.fsum((c * sure.own_expanded_g(reading)) ** 2 for reading, c in own.items())
        zero_g = math.fsum(c * reading.zero_g for reading, c in own.items())
        found.setdefault((round(squared, 12), round(zero_g, 9)), []).append(member)
    return found
