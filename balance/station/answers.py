"""What the crank taught: whether it answered to its holes as they should have changed it, and by how much."""

from __future__ import annotations

import cmath
import itertools
import math
from dataclasses import dataclass, field
from functools import cached_property

from truethrow.balance.correction import NEUTRAL, CrankResponse, DrilledStep, changed_by, learned
from truethrow.balance.correction.learning import DRILLED_MM, WEIGHED
from truethrow.balance.crank.crank import Crank
from truethrow.balance.crank.holes import Tools
from truethrow.balance.station.members import Members
from truethrow.balance.station.mishaps import Scene
from truethrow.balance.station.slips import explaining, slips
from truethrow.balance.station.spinning import Spin
from truethrow.balance.station.testmass import SEPARATION

# A change that misses the one predicted by more than this part of it, beyond what spins and depths leave open, is
# no answer: a gain of a quarter, or 14 degrees. Common practice, no source.
NO_ANSWER = 0.25
# What a proved station may read beside the truth, in gain and in angle: a change outside it that one slip of the
# hand explains is taken for the slip. Common practice, no source.
GAIN = 0.1
TURN_DEG = 8.0


@dataclass(frozen=True)
class Answers:
    """The answers of a crank to its holes. counted: the spins that count, in order; crank, tools: what may have
    been drilled otherwise than recorded, None where there is no crank; members: which were on at each spin."""

    counted: tuple[Spin, ...]
    planes_mm: tuple[float, float]
    crank: Crank | None
    tools: Tools
    members: Members
    _slips: dict[str, tuple[str, ...]] = field(default_factory=dict, compare=False, repr=False)

    @cached_property
    def _steps(self) -> list[tuple[Spin, DrilledStep]]:
        """Each spin after holes with the step that led to it, where both were of the same bobweights and had the
        same members on."""
        return [
            (after, DrilledStep(before.raw, tuple(done), after.raw))
            for before, after in itertools.pairwise(self.counted)
            if (done := self.members.seen((one.hole for one in after.drilled), after))
            and before.record.digest == after.record.digest
            and set(before.record.members) == set(after.record.members)
        ]

    @cached_property
    def unsure_gmm(self) -> tuple[float, float]:
        """The expanded uncertainty that a reading has at worst."""
        front, rear = (max(spin.expanded_gmm[at] for spin in self.counted) for at in (0, 1))
        return front, rear

    @cached_property
    def response(self) -> CrankResponse:
        """What the steps so far taught, of spins of the same bobweights; one that was no answer teaches none."""
        steps = [step for after, step in self._steps if self._is_answer(after, step)]
        return learned(steps, self.planes_mm, self.unsure_gmm) if steps else NEUTRAL

    def _is_answer(self, after: Spin, step: DrilledStep) -> bool:
        """Whether a change is what the holes should have made, gain, angle and depths as wrong as they may be, and
        no slip explains it."""
        predicted, unsure = changed_by(step.operations, self.planes_mm), self._sure_gmm(step)
        for at in (0, 1):
            miss = abs(step.after[at] - step.before[at] - predicted[at])
            if miss > unsure[at] + NO_ANSWER * abs(predicted[at]) + SEPARATION * abs(predicted[1 - at]):
                return False
        return not self.slips_before(after)

    def _sure_gmm(self, step: DrilledStep) -> tuple[float, float]:
        """How well a change of each plane is known: both readings, and the depths."""
        deep = [abs(one.removes_gmm) / one.depth_mm for one in step.operations if one.kind not in WEIGHED]
        depths_gmm = math.hypot(*deep) * DRILLED_MM
        front, rear = (math.hypot(math.sqrt(2) * unsure, depths_gmm) for unsure in self.unsure_gmm)
        return front, rear

    def slips_before(self, after: Spin) -> tuple[str, ...]:
        """What of the holes before a spin may have been done otherwise than recorded, in words, the nearest
        first: where the spin is farther from them than a right station reads, and one slip explains it."""
        if after.id not in self._slips:
            self._slips[after.id] = self._found(after)
        return self._slips[after.id]

    def _found(self, after: Spin) -> tuple[str, ...]:
        step = next((step for spin, step in self._steps if spin.id == after.id), None)
        if step is None or self.crank is None:
            return ()
        predicted, unsure = changed_by(step.operations, self.planes_mm), self._sure_gmm(step)
        changes = (step.after[at] - step.before[at] for at in (0, 1))
        if not any(map(_is_off, changes, predicted, unsure)):
            return ()
        scene = Scene(step.before.plus(predicted), unsure, step.after, (0.0, 0.0))
        return explaining(scene, [*slips(self.crank, self.tools, after.drilled, self.planes_mm)])

    def missing(self, since: int) -> tuple[Spin, ...]:
        """The spins after that number that did not change as the holes before them say."""
        return tuple(
            after for after, step in self._steps if after.number > since and not self._is_answer(after, step)
        )


def _is_off(change: complex, predicted: complex, unsure_gmm: float) -> bool:
    """Whether a change of one plane is farther from the one predicted than its ±, and than a station that is right
    reads in gain or in angle."""
    if abs(change - predicted) <= unsure_gmm:
        return False
    if not predicted or not change:
        return True
    return abs(abs(change / predicted) - 1) > GAIN or abs(cmath.phase(change / predicted)) > math.radians(TURN_DEG)
