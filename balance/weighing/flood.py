"""A scale that talks too fast must not fill the bench."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Sequence

from truethrow.balance.weighing.scaleline import Trouble

MOST_LINES_PER_S = 200
_FLOODED_PACE_S = 0.05


class FloodGuard:
    """Keeps a scale that talks too fast from filling the bench: beyond 200 lines in a second only the newest
    goes on, twenty times a second, with one trouble a second."""

    def __init__(self) -> None:
        self._came_s: deque[float] = deque(maxlen=MOST_LINES_PER_S + 1)
        self._held: tuple[float, str] | None = None
        self._passed_s = self._said_s = -math.inf

    def sift(self, lines: Sequence[str], now_s: float) -> list[tuple[float, str | Trouble]]:
        """The lines that came just now, as far as they go on, each with its time; call it without lines too,
        so that the last line of a flood is not held back."""
        self._came_s.extend([now_s] * len(lines))
        flooded = len(self._came_s) > MOST_LINES_PER_S and now_s - self._came_s[0] < 1.0
        if not flooded:
            held, self._held = self._held, None
            on: list[tuple[float, str | Trouble]] = [] if held is None else [held]
            return on + [(now_s, line) for line in lines]
        if lines:
            self._held = (now_s, lines[-1])
        passed: list[tuple[float, str | Trouble]] = []
        if lines and now_s - self._said_s >= 1.0:
            self._said_s = now_s
            said = f"the scale sends more than {MOST_LINES_PER_S} lines a second; only the newest is read"
            passed.append((now_s, Trouble("flood", said)))
        if self._held is not None and now_s - self._passed_s >= _FLOODED_PACE_S:
            self._passed_s = now_s
            passed.append(self._held)
            self._held = None
        return passed
