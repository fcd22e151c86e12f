"""How much may be done. Work is counted: a busy machine gives the same answer, later."""

from __future__ import annotations

import time
from collections.abc import Callable

# Work is counted in looks: one is what an arrangement costs whose masses are added up, about a microsecond.
LOOKS = 12_000_000
SOLVED = 1_000  # one linear programme
PAIR = 1 / 40  # two half-filled arrangements held against each other


class Effort:
    """The looks that may be taken, and the time that caps them. seconds: from now on, by now, which tells the
    time."""

    def __init__(
        self,
        seconds: float,
        now: Callable[[], float] = time.monotonic,
        looks: float = LOOKS,
        *,
        of: Effort | None = None,
    ) -> None:
        self._now, self._of = now, of
        self._until = now() + seconds
        self.looks = looks
        self.is_late = False

    def part(self, share: float, most_looks: float = LOOKS) -> Effort:
        """A share of the looks and of the time that are left; what it takes is taken from the whole as well."""
        return Effort(self.left_s * share, self._now, min(most_looks, self.looks * share), of=self)

    @property
    def left_s(self) -> float:
        """Of the time; what runs for so long by itself is not stopped by anything else."""
        return max(0.0, self._until - self._now())

    def spend(self, looks: float) -> None:
        """Count what was done."""
        self.looks -= looks
        if self._of:
            self._of.spend(looks)

    def is_out(self) -> bool:
        """Whether no more may be done. Where the time ended it, that is remembered: is_late, of the whole too."""
        if self.looks <= 0:
            return True
        if self._until - self._now() > 0:
            return False
        effort: Effort | None = self
        while effort:
            effort.is_late, effort = True, effort._of
        return True
