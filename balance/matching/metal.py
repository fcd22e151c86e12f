"""The metal that an arrangement costs: the trim's own linear programme, with the parts traded as they would be."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from truethrow.balance.base.arrays import Floats, Ints
from truethrow.balance.base.parts import UNITS
from truethrow.balance.base.readings import verdict
from truethrow.balance.job.job import Job
from truethrow.balance.matching import heights
from truethrow.balance.matching.aims import Aim
from truethrow.balance.matching.bounds import least
from truethrow.balance.matching.effort import Effort
from truethrow.balance.matching.heights import Heights
from truethrow.balance.matching.joint import Asked, Held, Joint, Tell, choices
from truethrow.balance.matching.members import Members, can_tell
from truethrow.balance.matching.question import Limited, Masses, Question, spread
from truethrow.balance.result.least_metal import EXCESS_COST, Rearranged, least_metal
from truethrow.balance.result.spread import Spread
from truethrow.balance.result.work import Result

# The solver's own tolerance, in grams over all cuts; plans are in the scale's steps, far above it.
TOLERANCE_G = 1e-3
ROUNDING_G = 1e-9  # of a spread against its limit
OTHERS = 0.3
# Quantities that no arrangement of one engine's parts changes are all but these.
CHANGED = ("bobweight", "reciprocating", "rotating")


class MetalAim(Aim):
    """Grams to take until every spread is inside its limit; what stays over the limits counts a thousandfold."""

    name = "grams"
    step = TOLERANCE_G
    slow = True

    def __init__(self, question: Question, result: Result, trades: Callable[[Ints], Job]) -> None:
        super().__init__(question)
        self._result, self._trades = result, trades
        self._known: dict[bytes, float] = {}
        job = result.job
        self._alike = _alike(job, question)
        self._programme = Rearranged(job, result.spreads) if can_tell(job, question) else None
        if self._programme:
            quantities = [spread.quantity for spread in self._programme.limited]
            self.members = Members(job, result.certainty, question, quantities)

    def of(self, arrangements: Ints) -> Floats:
        return np.array([self.at(arrangement) for arrangement in arrangements])

    def at(self, arrangement: Ints) -> float:
        key = arrangement.tobytes()
        if key not in self._known:
            if self._programme:
                self._known[key] = self._programme.least_metal(self.members.of(arrangement))
            else:
                self._known[key] = least_metal(self._trades(arrangement), self._result.certainty).cost
        return self._known[key]

    def at_least(self, masses: Masses) -> Floats:
        """What one quantity that is outside costs by itself, in the widest window that could be aimed at."""
        most = np.zeros(masses.bobweight.shape[:-1])
        for name, limit in self.question.limited.items():
            values = masses.of(name)
            outside = spread(values) > limit.outside
            most[outside] = np.maximum(most[outside], self._alone(values[outside], limit, limit.most_inside))
        return most

    def leaning(self, masses: Masses) -> Floats:
        """Roughly the metal, with no solver: that of the worst quantity and a part of the others', since a cut
        often serves more than one."""
        worst = total = np.zeros(masses.bobweight.shape[:-1])
        for name, limit in self.question.limited.items():
            grams = self._alone(masses.of(name), limit, limit.inside)
            worst, total = np.maximum(worst, grams), total + grams
        return np.asarray(worst + OTHERS * (total - worst))

    def _alone(self, values: Ints, limit: Limited, width: int) -> Floats:
        """The least metal that brings members into a window of this width, wherever it may lie, with the best
        pad for each: every member above it is lowered, every member below it raised. The cost bends only where
        an end of the window meets a member, so the best window is one of these."""
        least = np.full(values.shape[:-1], np.inf)
        for ends in (values, values - width):
            for at in range(values.shape[-1]):
                bottom = ends[..., at : at + 1]
                above = np.maximum(0, values - bottom - width).sum(axis=-1)
                below = np.maximum(0, bottom - values).sum(axis=-1)
                least = np.minimum(least, _grams(above, limit.lowers) + _grams(below, limit.raises))
        # Where no pad does anything, no metal helps, and none is counted.
        return np.where(np.isfinite(least), least, 0.0) / self.question.per_g

    def bound(self) -> float:
        """What the limits that no arrangement changes cost alone, each further limit costing only more; or what
        the least spread of a quantity still has over its window."""
        question = self.question
        if not self._alike:
            return 0.0  # which of two like parts is surer decides what counts as outside
        bound = least_metal(self._result.job, self._result.certainty, without=CHANGED).cost
        for name, limit in question.limited.items():
            lowest, best = least(question, name), _best(limit)
            if lowest > limit.outside:
                bound = max(bound, (lowest - limit.most_inside) / (question.per_g * best))
        return bound

    def jointly(self, start: Ints, effort: Effort, tell: Tell) -> None:
        """Search by the heights of the windows, where the engine is small enough, else and for what is left by
        arrangement and cuts in one programme for each choice of what stays too close to call, from an arrangement
        on; not where a part does not take along all that is known of it. tell: is told arrangements, and what no
        arrangement at all can be below."""
        if self._programme is None:
            return
        best = start
        held = self.held()
        traded = {one.spread.quantity: self.members.masses_g(one.spread.quantity) for one in held}
        asked = Asked(self._result.job, self.question, held, traded)
        lowest = 0.0

        def tell_by_heights(arrangement: Ints | None, bound: float) -> None:
            nonlocal lowest
            lowest = bound
            tell(arrangement, bound)

        if heights.reaches(self.question):
            every = [Heights(asked, close) for close in choices(held)]
            best = heights.search(every, start, self.at, self.step / 4, effort, tell_by_heights)
            if lowest >= self.at(best) - self.step / 4:
                return
        joints = [Joint(asked, close) for close in choices(held)]
        bounds = [max(lowest, joint.least()) for joint in joints]
        own = self.close(best)  # first: it has an answer to begin with
        for at in sorted(range(len(joints)), key=lambda at: (joints[at].close != own, bounds[at])):
            nearly = self.at(best) - self.step / 4
            if bounds[at] >= nearly or effort.is_out():
                continue

            def tell_of_all(arrangement: Ints | None, bound: float, at: int = at) -> None:
                nonlocal best
                bounds[at] = max(bounds[at], bound)
                if arrangement is not None and self.at(arrangement) < self.at(best):
                    best = arrangement
                tell(best, min(bounds))

            begins = self.close(best) == joints[at].close
            joints[at].solve(best, None if begins else nearly, self.step / 4, effort, tell_of_all)

    def held(self) -> list[Held]:
        """The limits whoever sits where; none where a part does not take along all that is known of it."""
        return [self._held(spread) for spread in self._programme.limited] if self._programme else []

    def _held(self, spread: Spread) -> Held:
        """A limit whoever sits where: where that makes a difference, as it costs least."""
        assert spread.limit_g is not None
        masses = [mass.value_g for mass in spread.members.values()]
        settled = self.members.is_settled(spread.quantity)
        if settled and masses.count(min(masses)) == masses.count(max(masses)) == 1:
            least_g = most_g = spread.expanded_g
        else:
            least_g, most_g = self.members.doubts_g(spread.quantity)
        inside, outside = max(0.0, spread.limit_g - least_g), spread.limit_g + most_g + ROUNDING_G
        if settled and spread.spread_g > outside:
            return Held(spread, inside, outside, True)
        if settled and spread.spread_g <= spread.limit_g + least_g + ROUNDING_G:
            return Held(spread, max(inside, spread.spread_g), outside, False)
        return Held(spread, inside, outside, None)

    def close(self, arrangement: Ints) -> frozenset[str]:
        """Which spreads that depend on who sits where are too close to call in an arrangement."""
        found = self.members.of(arrangement)
        verdicts = {}
        for one in self.held():
            weighed, limit_g = found[one.spread.quantity], one.spread.limit_g
            if one.is_outside is None and limit_g is not None:
                verdicts[one.spread.quantity] = verdict(weighed.spread_g, weighed.expanded_g, limit_g)
        return frozenset(name for name, judged in verdicts.items() if judged == "too close to call")

    def box(self, value: float) -> dict[str, int]:
        """A gram brings the heaviest and the lightest member nearer by no more than its best effect on one."""
        found = {}
        for name, limit in self.question.limited.items():
            nearer = value * _best(limit) * self.question.per_g
            found[name] = max(limit.outside, limit.most_inside + math.ceil(nearer))
        return found


def _best(limit: Limited) -> float:
    """How much nearer a gram brings two members: by the best pad, or by staying over the limit and counting for
    so much more."""
    return max(limit.lowers, limit.raises, 1 / EXCESS_COST)


def _grams(mass: Ints, effect: float) -> Floats:
    """Grams to cut for a mass to be brought about; infinite where no cut does."""
    return mass / effect if effect else np.where(mass > 0, np.inf, 0.0)


def _alike(job: Job, question: Question) -> bool:
    """Whether the parts of each kind that moves are equally sure."""
    kinds = [kind for unit in question.units for kind in UNITS[unit.name]]
    return all(
        len({(len(own.repeats_g), own.zero_g) for parts in job.parts.values() if (own := parts.get(kind))}) <= 1
        for kind in kinds
    )
