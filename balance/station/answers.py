"""What the crank taught: whether it answered to its holes as they should have changed it, and by how much."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from functools import cached_property

from truethrow.balance.correction import NEUTRAL, CrankResponse, DrilledStep, changed_by, learned
from truethrow.balance.correction.learning import DRILLED_MM, WEIGHED
from truethrow.balance.station.spinning import Spin
from truethrow.balance.station.testmass import SEPARATION

# A change that misses the one predicted by more than this part of it, beyond what spins and depths leave open, is
# no answer: as much as 30 degrees or a gain of a half. Common practice, no source.
NO_ANSWER = 0.5


@dataclass(frozen=True)
class Answers:
    """The answers of a crank to its holes. counted: the spins that count, in order."""

    counted: tuple[Spin, ...]
    planes_mm: tuple[float, float]

    @cached_property
    def _steps(self) -> list[tuple[Spin, DrilledStep]]:
        """Each spin after holes with the step that led to it, where both were of the same bobweights."""
        return [
            (after, DrilledStep(before.raw, tuple(one.hole for one in after.drilled), after.raw))
            for before, after in itertools.pairwise(self.counted)
            if after.drilled and before.record.digest == after.record.digest
        ]

    @cached_property
    def unsure_gmm(self) -> tuple[float, float]:
        """The expanded uncertainty that a reading has at worst."""
        front, rear = (max(spin.expanded_gmm[at] for spin in self.counted) for at in (0, 1))
        return front, rear

    @cached_property
    def response(self) -> CrankResponse:
        """What the steps so far taught, of spins of the same bobweights; one that was no answer teaches none."""
        steps = [step for _, step in self._steps if self._is_answer(step)]
        return learned(steps, self.planes_mm, self.unsure_gmm) if steps else NEUTRAL

    def _is_answer(self, step: DrilledStep) -> bool:
        """Whether a change is what the holes should have made, gain, angle and depths as wrong as they may be."""
        predicted = changed_by(step.operations, self.planes_mm)
        deep = [abs(one.removes_gmm) / one.depth_mm for one in step.operations if one.kind not in WEIGHED]
        depths_gmm = math.hypot(*deep) * DRILLED_MM
        for at in (0, 1):
            miss = abs(step.after[at] - step.before[at] - predicted[at])
            unsure = math.hypot(math.sqrt(2) * self.unsure_gmm[at], depths_gmm)
            if miss > unsure + NO_ANSWER * abs(predicted[at]) + SEPARATION * abs(predicted[1 - at]):
                return False
        return True

    def missing(self, since: int) -> tuple[Spin, ...]:
        """The spins after that number that did not change as the holes before them say."""
        return tuple(after for after, step in self._steps if after.number > since and not self._is_answer(step))
