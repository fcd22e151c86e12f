"""A simulated scale, for the demo: somebody puts on the part that is asked for, waits until it is taken, lifts it
off again, and at the grinder takes what the bench tells to take. All its masses are invented; it says ten lines a
second, as a scale on a port does."""

from __future__ import annotations

import itertools
import math
import random
import time
from collections.abc import Callable, Iterator, Mapping

from truethrow.balance.weighing.scaleline import Trouble

LINES_A_S = 10
EMPTY_S, ON_S, SWING_S = 1.2, 1.6, 0.5
# A hand that waits for a beep that does not come lifts the part off at last.
LONGEST_ON_S = 6.0
STEP_G = 0.1
# How much a hand at the grinder takes of what it means to.
LEAST_TAKEN, MOST_TAKEN = 0.9, 1.05

Asked = tuple[str, int]
# What a hand is to take: the cut, by which one touch is told from the next, also where the reading between them is
# as before; and by how much it lowers each reading of the part. [g]
Touch = tuple[str, Mapping[Asked, float]]


class SimulatedScale:
    """A port as serialport has it. masses_g: what lies on it, by kind and cylinder, which the grinder makes less;
    asked: tells what the bench asks for, None for nothing; taken: tells how many readings it took; touch: what it
    tells to grind, None for nothing; now: a clock [s]."""

    connected = True

    def __init__(
        self,
        masses_g: dict[Asked, float],
        asked: Callable[[], Asked | None],
        taken: Callable[[], int],
        touch: Callable[[], Touch | None] = lambda: None,
        now: Callable[[], float] = time.monotonic,
    ) -> None:
        self._masses_g, self._asked, self._taken, self._touch, self._now = masses_g, asked, taken, touch, now
        self._touched: Touch | None = None
        self._random = random.Random(7)
        self._began_s, self._said = now(), 0
        self._shows = self._hand()

    def get(self, wait_s: float = 0.0) -> tuple[float, str | Trouble] | None:
        due_s = self._began_s + (self._said + 1) / LINES_A_S
        if self._now() < due_s:
            return None
        if self._now() - due_s > 1.0:  # nobody read it for a while, as when the computer slept
            self._began_s, self._said = self._now(), 0
            due_s = self._began_s
        self._said += 1
        return due_s, f"{next(self._shows):.1f} g"

    def close(self) -> None:
        """Nothing is open."""

    def _hand(self) -> Iterator[float]:
        """What the scale shows, line by line. [g]"""
        while True:
            yield from (0.0 for _ in range(round(EMPTY_S * LINES_A_S)))
            self._grind()
            if (asked := self._asked()) is None or (mass_g := self._masses_g.get(asked)) is None:
                continue
            before = self._taken()
            yield from (mass_g * (1 - _swing(line / LINES_A_S)) for line in range(1, round(SWING_S * LINES_A_S)))
            for line in itertools.count():
                yield mass_g + (STEP_G * self._random.choice((-1, 1)) if line < 2 else 0.0)
                lies_s = line / LINES_A_S
                if lies_s > ON_S and (self._taken() != before or lies_s > LONGEST_ON_S):
                    break
            yield mass_g * 0.4

    def _grind(self) -> None:
        """Take off what the bench told, once."""
        touch = self._touch()
        if touch is not None and touch != self._touched:
            taken = self._random.uniform(LEAST_TAKEN, MOST_TAKEN)
            for part, fall_g in touch[1].items():
                self._masses_g[part] = self._masses_g.get(part, 0.0) - taken * fall_g
        self._touched = touch


def _swing(at_s: float) -> float:
    """How far a load that was just put on is off, of itself."""
    return math.exp(-6 * at_s) * math.cos(25 * at_s)
