"""The metal that an arrangement costs: the trim's own linear programme, with the parts traded as they would be."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

import numpy as np

from truethrow.balance.base.arrays import Floats, Ints
from truethrow.balance.base.parts import BY_NAME, UNITS
from truethrow.balance.base.readings import Reading
from truethrow.balance.job.job import Job
from truethrow.balance.matching.aims import Aim
from truethrow.balance.matching.bounds import least
from truethrow.balance.matching.joint import Found, Joint
from truethrow.balance.matching.question import Limited, Masses, Question, spread
from truethrow.balance.result.least_metal import EXCESS_COST, Rearranged, counted, least_metal
from truethrow.balance.result.work import Result

# The solver's own tolerance, in grams over all cuts; plans are in the scale's steps, far above it.
TOLERANCE_G = 1e-3
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
        readings = _movable(job, question)
        self._alike = all(
            len({len(own.repeats_g) for own in readings if own.kind == kind}) == 1
            for kind in {own.kind for own in readings}
        )
        own = self._alike and all(reading.cylinder is not None for reading in readings)
        self._programme = Rearranged(job, result.spreads) if own and job.ground is None else None
        if self._programme:
            self._masses = _Members(job, question, [spread.quantity for spread in self._programme.limited])

    def of(self, arrangements: Ints) -> Floats:
        return np.array([self.at(arrangement) for arrangement in arrangements])

    def at(self, arrangement: Ints) -> float:
        key = arrangement.tobytes()
        if key not in self._known:
            if self._programme:
                self._known[key] = self._programme.least_metal(self._masses.of(arrangement))
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

    def jointly(self, start: Ints, seconds: float) -> Found:
        """The best that is found, and a bound, by arrangement and cuts in one programme; neither where not every
        part has a reading of its own, or not all of a kind are equally sure."""
        if self._programme is None:
            return Found(None, 0.0)
        joint = Joint(self._result.job, self.question, self._programme.limited, self._masses.parts)
        return joint.solve(start, self.step / 4, seconds)

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


def _movable(job: Job, question: Question) -> list[Reading]:
    kinds = [kind for unit in question.units for kind in UNITS[unit.name]]
    return [parts[kind] for parts in job.parts.values() for kind in kinds if kind in parts]


class _Members:
    """What the members of the limited quantities weigh in any arrangement. parts: by quantity what the parts of
    each unit weigh in it, and last what stays with each cylinder. [g]"""

    def __init__(self, job: Job, question: Question, quantities: Sequence[str]) -> None:
        self._on_throw, self._oil_g = question.on_throw, np.array(job.oil_g)
        self.parts: dict[str, list[Floats]] = {}
        moving = [UNITS[unit.name] for unit in question.units]
        orders = [*(unit.sits for unit in question.units), np.arange(question.cylinders)]
        staying = [kind for kind in BY_NAME if not any(kind in kinds for kinds in moving)]
        for quantity in quantities:
            weights = counted(job, quantity)
            self.parts[quantity] = [
                np.array([_weighed(parts, weights, kinds) for parts in job.parts.values()])[order]
                for kinds, order in zip((*moving, staying), orders, strict=True)
            ]

    def of(self, arrangement: Ints) -> dict[str, list[float]]:
        found = {}
        for quantity, (*moving, staying) in self.parts.items():
            masses = staying + sum(own[parts] for own, parts in zip(moving, arrangement, strict=True))
            if quantity == "bobweight":
                masses = self._oil_g + [masses[list(on)].sum() for on in self._on_throw]
            found[quantity] = np.round(masses, 9).tolist()
        return found


def _weighed(parts: Mapping[str, Reading], weights: Mapping[str, float], kinds: Sequence[str]) -> float:
    return math.fsum(weights[kind] * parts[kind].mean_g for kind in kinds if kind in weights and kind in parts)
