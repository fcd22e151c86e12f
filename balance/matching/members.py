"""What the members of the limited quantities weigh in any arrangement, and how sure the difference of two of them
is, without working the whole job anew: for jobs whose parts take all that is known of them along."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from truethrow.balance.base.arrays import Floats, Ints
from truethrow.balance.base.parts import BY_NAME, SUMS, UNITS
from truethrow.balance.base.readings import COVERAGE_FACTOR, Certainty, Reading
from truethrow.balance.job.job import Job
from truethrow.balance.matching.question import Question
from truethrow.balance.result.least_metal import Weighed, counted

# Of a part in a quantity: its mass; the square of what is its own in its ±; how many readings it is and their
# zeros, which cancel between two members as masses do; and then the same for each kind of which one reading
# stands for all.
MASS, SQUARE, COUNT, ZERO, SHARED = range(5)


def can_tell(job: Job, question: Question) -> bool:
    """Whether a part takes all that is known of it along: each of its readings is its own, or one for all, none
    is an estimate, and none was ground."""
    if job.ground is not None:
        return False
    moving = {kind for unit in question.units for kind in UNITS[unit.name]}
    for kind in (*SUMS["reciprocating"], *SUMS["rotating"]):
        readings = [parts[kind] for parts in job.parts.values() if kind in parts]
        own = [reading for reading in readings if reading.cylinder is not None]
        if any(reading.estimate for reading in readings) or (own and kind in moving and len(own) < len(job.parts)):
            return False
        if len({reading.mean_g for reading in readings if reading.cylinder is None}) > 1:
            return False
    return True


class Members:
    """parts: by quantity what the parts of each unit are in it, and last what stays with each cylinder, (parts,
    columns as above)."""

    def __init__(self, job: Job, sure: Certainty, question: Question, quantities: Sequence[str]) -> None:
        self._scale, self._on_throw, self._oil_g = sure.scale, question.on_throw, np.array(job.oil_g)
        moving = [UNITS[unit.name] for unit in question.units]
        orders = [*(unit.sits for unit in question.units), np.arange(question.cylinders)]
        staying = [kind for kind in BY_NAME if not any(kind in kinds for kinds in moving)]
        shared = {
            reading.kind: reading
            for parts in job.parts.values()
            for reading in parts.values()
            if reading.cylinder is None
        }
        self._shared_g = np.array([sure.own_expanded_g(reading) for reading in shared.values()])

        def known(reading: Reading, weight: float) -> Floats:
            own = reading.cylinder is not None
            square = (weight * sure.own_expanded_g(reading)) ** 2 if own else 0.0
            common = [weight if not own and reading.kind == kind else 0.0 for kind in shared]
            mass_g = weight * reading.mean_g
            return np.array([mass_g, square, weight, weight * reading.zero_g, *common])

        self.parts: dict[str, list[Floats]] = {}
        nothing = np.zeros(SHARED + len(shared))
        for quantity in quantities:
            weights = counted(job, quantity)
            self.parts[quantity] = [
                np.array(
                    [
                        sum((known(own[k], weights[k]) for k in kinds if k in weights and k in own), nothing)
                        for own in job.parts.values()
                    ]
                )[order]
                for kinds, order in zip((*moving, staying), orders, strict=True)
            ]

    def masses_g(self, quantity: str) -> list[Floats]:
        """What the parts of each unit weigh in a quantity, and last what stays with each cylinder."""
        return [own[:, MASS] for own in self.parts[quantity]]

    def of(self, arrangement: Ints) -> dict[str, Weighed]:
        found = {}
        for quantity, (*moving, staying) in self.parts.items():
            members = staying + sum(own[parts] for own, parts in zip(moving, arrangement, strict=True))
            masses = members[:, MASS]
            if quantity == "bobweight":
                members = np.array([members[list(on)].sum(axis=0) for on in self._on_throw])
                masses = self._oil_g + members[:, MASS]
            masses = np.round(masses, 9)
            light, heavy = int(masses.argmin()), int(masses.argmax())
            heavy = heavy if heavy != light else 1  # all alike: any two
            apart = np.abs(members[heavy] - members[light])
            squares = members[heavy, SQUARE] + members[light, SQUARE]
            found[quantity] = Weighed(masses.tolist(), self._expanded_g(squares, apart))
        return found

    def doubts_g(self, quantity: str) -> tuple[float, float]:
        """The least and the largest ± that the difference of two members can have, whoever sits where."""
        sizes = [len(on) for on in self._on_throw] if quantity == "bobweight" else [1]
        least, most = (
            np.sum([end(own, axis=0) for own in self.parts[quantity]], axis=0) * size
            for end, size in ((np.min, min(sizes)), (np.max, max(sizes)))
        )
        apart = most - least
        if min(sizes) < max(sizes):  # a zero may be below nothing
            apart[ZERO] = 2 * max(sizes) * sum(float(np.abs(own[:, ZERO]).max()) for own in self.parts[quantity])
        return math.sqrt(2 * least[SQUARE]), self._expanded_g(2 * most[SQUARE], apart)

    def is_settled(self, quantity: str) -> bool:
        """Whether the members weigh the same whoever sits where: one unit alone makes them."""
        varying = sum(bool(np.ptp(own[:, MASS]) or np.ptp(own[:, SQUARE])) for own in self.parts[quantity])
        return quantity != "bobweight" and varying <= 1

    def _expanded_g(self, squares: float, apart: Floats) -> float:
        """Of two members, by what each has of its own and what they have not in common."""
        scale = self._scale
        alike = (scale.calibration_g * apart[COUNT], scale.gain * apart[MASS], apart[ZERO])
        shared = self._shared_g * apart[SHARED:]
        return math.hypot(math.sqrt(squares), *(COVERAGE_FACTOR * float(one) for one in alike), *shared.tolist())
