"""The metal that an arrangement costs: the trim's own linear programme, with the parts seated as they would be."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from truethrow.balance.job import Job
from truethrow.balance.matching.aims import Aim
from truethrow.balance.matching.question import Floats, Ints, Question
from truethrow.balance.readings import Certainty
from truethrow.balance.trim import least_metal

# The solver's own tolerance, in grams over all cuts; plans are in the scale's steps, far above it.
TOLERANCE_G = 1e-3
# Quantities that no arrangement of one engine's parts changes are all but these.
CHANGED = ("bobweight", "reciprocating", "rotating")


class MetalAim(Aim):
    """Grams to take until every spread is inside its limit; what stays over the limits counts a thousandfold."""

    name = "grams"
    step = TOLERANCE_G
    slow = True

    def __init__(self, question: Question, seated: Callable[[Ints], Job], sure: Certainty) -> None:
        super().__init__(question)
        self._seated, self._sure = seated, sure
        self._known: dict[bytes, float] = {}

    def of(self, arrangements: Ints) -> Floats:
        return np.array([self.at(arrangement) for arrangement in arrangements])

    def at(self, arrangement: Ints) -> float:
        key = arrangement.tobytes()
        if key not in self._known:
            self._known[key] = least_metal(self._seated(arrangement), self._sure)
        return self._known[key]

    def bound(self) -> float:
        """What the limits that no arrangement changes cost alone: each further limit can only cost more."""
        as_listed = np.tile(np.arange(self.question.cylinders), (len(self.question.units), 1))
        return least_metal(self._seated(as_listed), self._sure, without=CHANGED)

    def box(self, value: float) -> dict[str, int]:
        return {}
