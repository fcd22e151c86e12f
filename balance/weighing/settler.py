"""When what lies on a scale may be taken: a stream of masses becomes a reading.

No clock is read here: the caller brings each line and the time that it came. A load has left only when the lines
that follow do not contradict.

A load is what was put on an empty scale, so none is taken before the scale was seen empty and at zero: not after
the line was lost, not after the load before, and not while an empty scale shows something else than zero.
"""

from __future__ import annotations

from collections import deque
from typing import Literal, NamedTuple

from truethrow.balance.weighing.scaleline import Frame, ScaleProfile

# Of the pan: early = it rests, but the scale was not seen empty before it; off = empty, and does not show zero.
State = Literal["empty", "settling", "stable", "taken", "early", "off"]
FEWEST_FRAMES = 3
FEWEST_WHEN_TOLD = 2
# A load has left below this fraction of what was taken.
LEFT_BELOW = 0.2
# The two halves of a broken line may both look like an empty pan: what is back by the third line, or so soon
# after the first, never left.
_GONE_LINES = 3
_GONE_S = 0.25
# After such a silence nothing is known of what happened on the pan in between.
SILENCE_S = 5.0
_ZERO_LINES = 3


class Load(NamedTuple):
    """What a line means on the bench. live_g and typed: the line's own; stable: it rests; take: this line is the
    reading of this load; left: the load that was taken is gone; state: of the pan."""

    live_g: float
    typed: str
    stable: bool
    take: bool
    left: bool
    state: State


class Settler:
    """Tells rest from movement and takes each load once, if the scale was seen empty before it.

    At rest: where the scale says so, its last two lines agree within one step; where it does not say, all
    lines of the last settle_s do, back to one that is at least that old, and no fewer than three. Where it
    says that it moves, never.

    zero: what the empty scale showed before the load at hand; None where that was not seen since the line was
    lost, or since the load before left. off: what the empty scale shows instead of zero, until it is seen at
    zero."""

    def __init__(self, profile: ScaleProfile) -> None:
        self._profile = profile
        self._step = profile.resolution_g * (1 + 1e-6) + 1e-9  # binary fractions of a step are no movement
        self._seen: deque[tuple[float, Frame]] = deque()
        self._taken_g: float | None = None
        self._gone_s: list[float] = []
        self.zero: Frame | None = None
        self.off: Frame | None = None
        self._empty: deque[Frame] = deque(maxlen=_ZERO_LINES)
        self._empty_s = 0.0
        # Since the scale was last seen empty: what lay there for several lines, and the load that left.
        self._lain_g = self._left_g = 0.0

    def feed(self, frame: Frame, at_s: float) -> Load:
        """One line and when it came. [s, by any clock that does not step]"""
        if self._seen and not 0 <= at_s - self._seen[-1][0] <= max(SILENCE_S, 2 * self._profile.settle_s):
            self.lost()
        self._remember(frame, at_s)
        stable = self._rests()
        left = self._has_left(frame.grams, at_s)
        if self._taken_g is None:
            if len(self._seen) >= _GONE_LINES:
                lain_g = min(frame.grams for _, frame in list(self._seen)[-_GONE_LINES:])
                self._lain_g = max(self._lain_g, lain_g)
            self._look_for_zero(frame, at_s)
            if stable:
                self._look_for_off(frame)
        loaded = frame.grams > self._profile.least_g
        known = self.zero is not None and self.off is None
        take = self._profile.auto and self._taken_g is None and loaded and stable and known
        if take:
            self._take(frame.grams)
        state: State = "empty"
        if self._taken_g is not None:
            state = "taken"
        elif self.off is not None:
            state = "off"
        elif loaded:
            state = ("stable" if known else "early") if stable else "settling"
        return Load(frame.grams, frame.typed, stable, take, left, state)

    def taken(self) -> None:
        """The load on the pan has been taken by hand: not again before it has left."""
        if self._seen:
            self._take(self._seen[-1][1].grams)

    def rearm(self) -> None:
        """The load on the pan may be taken once more without being lifted, from lines still to come."""
        self._taken_g = None
        self._gone_s = []
        self._seen.clear()

    def lost(self) -> None:
        """The line was lost: nobody knows what happened on the pan meanwhile, nor whether the scale was switched
        off. An empty scale that was off stays so until it is seen at zero; what is far less than the load that was
        taken is what the scale shows without it, not a load."""
        self._lain_g, self._left_g = 0.0, self._taken_g or self._left_g
        self.rearm()
        self.not_seen_empty()

    def not_seen_empty(self) -> None:
        """What lies on the pan is not to be taken: the scale has to be seen empty first."""
        self.zero = None
        self._empty.clear()

    def _take(self, grams: float) -> None:
        self._taken_g = grams
        self._gone_s = []

    def _remember(self, frame: Frame, at_s: float) -> None:
        seen, settle_s = self._seen, self._profile.settle_s
        seen.append((at_s, frame))
        while len(seen) > FEWEST_FRAMES and seen[1][0] <= at_s - settle_s:
            seen.popleft()

    def _rests(self) -> bool:
        at_s, newest = self._seen[-1]
        if newest.stable is False:
            return False
        if newest.stable:
            together = [frame.grams for _, frame in self._seen][-FEWEST_WHEN_TOLD:]
            return len(together) == FEWEST_WHEN_TOLD and max(together) - min(together) <= self._step
        if len(self._seen) < FEWEST_FRAMES or self._seen[0][0] > at_s - self._profile.settle_s + 1e-9:
            return False
        grams = [frame.grams for _, frame in self._seen]
        moved = any(frame.stable is False for _, frame in self._seen)
        return not moved and max(grams) - min(grams) <= self._step

    def _has_left(self, grams: float, at_s: float) -> bool:
        """Whether the load that was taken is gone: a line says so, and those that follow are not back at it."""
        if self._taken_g is None:
            return False
        # Well below what was taken: a load just above least_g flutters about it without going anywhere.
        low = min(max(self._profile.least_g, LEFT_BELOW * self._taken_g), self._taken_g - 1.5 * self._step)
        away = grams < low or (bool(self._gone_s) and abs(grams - self._taken_g) > 2 * self._step)
        self._gone_s = [*self._gone_s, at_s] if away else []
        left = _several(len(self._gone_s), at_s - self._gone_s[0] if self._gone_s else 0.0)
        if left:
            self._left_g = self._taken_g
            self._taken_g = self.zero = None
            # The lines that told of its leaving may be those of the empty scale.
            for when, frame in list(self._seen)[-len(self._gone_s) : -1]:
                self._look_for_zero(frame, when)
            self._gone_s = []
        return left

    def _look_for_zero(self, frame: Frame, at_s: float) -> None:
        """Whether the pan is empty and at zero: as with a load that left, one line does not tell."""
        if frame.stable is False or abs(frame.grams) > self._profile.zero_limit_g:
            self._empty.clear()
            return
        if not self._empty:
            self._empty_s = at_s
        self._empty.append(frame)
        if _several(len(self._empty), at_s - self._empty_s):
            self.zero = sorted(self._empty, key=lambda seen: seen.grams)[(len(self._empty) - 1) // 2]
            self.off, self._lain_g, self._left_g = None, 0.0, 0.0

    def _look_for_off(self, frame: Frame) -> None:
        """Whether what rests is no load but an empty scale that is off."""
        grams = frame.grams
        if abs(grams) <= self._profile.zero_limit_g:
            return
        if grams > self._profile.least_g and grams >= LEFT_BELOW * self._left_g:
            if grams < LEFT_BELOW * self._lain_g:
                # A small part, or what the scale shows once a larger one was lifted off before it was taken.
                self.not_seen_empty()
            return
        self.zero = None
        if self.off is None or abs(self.off.grams - grams) > 2 * self._step:  # flutter is no news
            self.off = frame


def _several(count: int, over_s: float) -> bool:
    """Whether so many lines in a row, over such a time, may be believed."""
    return count >= _GONE_LINES or (count > 1 and over_s >= _GONE_S)
