"""What a scale says over a cable: a line becomes a mass or a trouble, and a stream of masses becomes a reading.

Nothing here reads a port or a clock: the caller brings each line and the time that it came. A lone line is
never believed. A line that lost its head or its tail on the way is often a well-formed smaller number, so a
reading is taken from several lines that agree, and a load has left only when those that follow do not contradict.

A load is what was put on an empty scale, so none is taken before the scale was seen empty and at zero: not after
the line was lost, not after the load before, and not while an empty scale shows something else than zero.
"""

from __future__ import annotations

import math
import re
import warnings
from collections import deque
from collections.abc import Sequence
from functools import lru_cache
from typing import Literal, NamedTuple

from truethrow.balance.base.errors import shown
from truethrow.balance.base.units import MASS, NotAQuantity, parse

LONGEST_LINE = 200
LONGEST_PATTERN = 500
SLOWEST_BAUD, FASTEST_BAUD = 300, 921_600
LONGEST_SETTLE_S = 10.0
# No bench scale shows more than a tonne: such a number is noise that happens to be made of digits.
FARTHEST_G = 1e6
# An empty scale that is off by more than so many of its steps is to be tared.
ZERO_STEPS = 2

What = Literal["garbage", "half a line", "unit", "overload", "flood", "cable"]
# Of the pan: early = it rests, but the scale was not seen empty before it; off = empty, and does not show zero.
State = Literal["empty", "settling", "stable", "taken", "early", "off"]


class ScaleProfile(NamedTuple):
    """A scale as the bench knows it. port: its name or address; baud and frame (8N1): as set on the scale;
    pattern: a regular expression for a whole line, with a group `number` and perhaps `unit`, `stable` and
    `moving`, blank for the general one; unit: of a bare number; resolution_g: its step; capacity_g: its largest
    load; settle_s: how long it must rest; least_g: a load is anything above it; zero_within_g: how far an empty
    scale may be off zero, if that is more than two steps; auto: take without a key."""

    port: str = ""
    baud: int = 9600
    frame: str = "8N1"
    pattern: str = ""
    unit: str = "g"
    resolution_g: float = 0.1
    capacity_g: float | None = None
    settle_s: float = 0.5
    least_g: float = 1.0
    zero_within_g: float = 0.0
    auto: bool = True

    @property
    def zero_limit_g(self) -> float:
        """How far off zero an empty scale may be; beyond it, it is to be tared. [g]"""
        return max(ZERO_STEPS * self.resolution_g, self.zero_within_g) * (1 + 1e-6) + 1e-9


class Frame(NamedTuple):
    """One line of the scale: its mass [g], the number and its unit as a job file takes them, and whether the
    scale calls it stable (None: it does not say)."""

    grams: float
    typed: str
    stable: bool | None


class Trouble(NamedTuple):
    """What went wrong between the scale and the bench, and one sentence for the screen."""

    what: What
    said: str


def check_profile(profile: ScaleProfile) -> list[str]:
    """A sentence for everything that is wrong with a profile; none for a good one. A blank port is not wrong."""
    step, capacity = profile.resolution_g, profile.capacity_g
    wrong = []
    if not profile.port.isprintable():
        wrong.append(f"the port's name {shown(profile.port)!r} holds unprintable characters")
    if not SLOWEST_BAUD <= profile.baud <= FASTEST_BAUD:
        wrong.append(f"baud {shown(profile.baud)} is out of reach; allowed: {SLOWEST_BAUD} to {FASTEST_BAUD}")
    if not _FRAME.fullmatch(profile.frame):
        wrong.append(f"frame {shown(profile.frame)!r} is not known; allowed: 8N1, 7E1, 7O1, 8N2 and their like")
    if profile.pattern and isinstance(found := _compiled(profile.pattern), str):
        wrong.append(found)
    if profile.unit.lower() not in MASS.factors:
        wrong.append(f"unit {shown(profile.unit)!r} is not known; allowed: {', '.join(MASS.factors)}")
    if not 0 < step < math.inf:
        wrong.append(f"resolution {step:g} g does not do; allowed: a mass above 0")
    elif not step <= profile.least_g < FARTHEST_G:
        wrong.append(f"least load {profile.least_g:g} g does not do; allowed: one step of the scale or more")
    elif not 0 <= profile.zero_within_g < profile.least_g:
        wrong.append(f"zero within {profile.zero_within_g:g} g does not do; allowed: 0 to below the least load")
    if capacity is not None and not max(step, profile.least_g) < capacity < math.inf:
        wrong.append(f"capacity {capacity:g} g does not do; allowed: above the step and the least load")
    if not 0 < profile.settle_s <= LONGEST_SETTLE_S:
        wrong.append(
            f"settling time {profile.settle_s:g} s is out of reach; allowed: above 0 to {LONGEST_SETTLE_S:g} s"
        )
    return wrong


# -- one line ---------------------------------------------------------------------------------------------

_FRAME = re.compile(r"[5-8][NEOneo](?:1|1\.5|2)")
# Grouped in threes by single spaces, or plain; a decimal point or comma with digits after it, or a last point.
_NUMBER = re.compile(
    r"(?P<sign>[+-]?)[ \t]*"
    r"(?:(?P<whole>[1-9][0-9]{0,2}(?: [0-9]{3})+(?![0-9])|[0-9]+)(?:(?P<mark>[.,])(?P<parts>[0-9]+)|\.)?"
    r"|\.(?P<bare_parts>[0-9]+))"
)
# Around its number a line holds no other digit, no sign, and no mark that could be the number's own.
_LINE = re.compile(
    rf"(?P<before>(?:[^0-9.+,-]|\.(?![0-9])|(?<=[A-Za-z?]),)*)(?P<number>{_NUMBER.pattern})(?P<after>(?:[^0-9.+-]|\.$)*)"
)
_BETWEEN = re.compile(r"[\s,;:=.]+")
_STABLE = frozenset(("ST", "S", "STABLE"))
_MOVING = frozenset(("US", "U", "D", "UNSTABLE", "MOVING", "?"))
# Words that name what is shown anyway. A tare's is not among them: such a line holds no load.
_LABELS = frozenset(("N", "G", "NT", "GS", "NET", "GROSS", "WT", "WEIGHT"))
_OUT_OF_RANGE = frozenset(("OL", "UL", "OVER", "UNDER", "OVERLOAD", "UNDERLOAD", "ERR", "ERROR"))
_BARS = re.compile(r"[-_^=*~.]+")
_UNIT = re.compile(r"[A-Za-z%/]{1,8}")


class _Found(NamedTuple):
    number: str
    unit: str
    stable: bool | None


def read_line(text: str, profile: ScaleProfile) -> Frame | Trouble | None:
    """One line of the scale, without its end: a mass, or what is wrong with it; None for an empty one.

    Never raises, whatever the text. A frame's `typed` is what units.parse makes the same grams of."""
    text = text.strip(" \t\r\n\v\f\x02\x03")  # some devices put a line between start and end of text
    if not text:
        return None
    if len(text) > LONGEST_LINE or not all(" " <= c <= "~" or c == "\t" for c in text):
        return Trouble("garbage", f"the scale sent {_quoted(text)}, which is no text; check baud and frame")
    found = _by_pattern(text, profile.pattern) if profile.pattern else _by_itself(text)
    return _weighed(found, text, profile) if isinstance(found, _Found) else found


def _by_itself(text: str) -> _Found | Trouble:
    """A line by the general rule: one number, perhaps a unit after it, words of stability or a label around."""
    if _out_of_range(text):
        return _overloaded(f"it shows {_quoted(text)}")
    line = _LINE.fullmatch(text)
    if line is None:
        return _unread(text)
    before, after = _words(line["before"]), _words(line["after"])
    said = {word.upper() for word in (*before, *after)}
    stable = False if said & _MOVING else True if said & _STABLE else None
    units = [word for word in after if word.upper() not in _STABLE | _MOVING | (_LABELS - {"G", "N"})]
    if any(word.upper() not in _STABLE | _MOVING | _LABELS for word in before) or len(units) > 1:
        return _unread(text)
    return _Found(line["number"], units[0] if units else "", stable)


def _by_pattern(text: str, pattern: str) -> _Found | Trouble:
    compiled = _compiled(pattern)
    if isinstance(compiled, str):
        return Trouble("garbage", compiled)
    match = compiled.fullmatch(text)
    group = match.groupdict() if match else {}
    if not (group.get("number") or "").strip():
        return _overloaded(f"it shows {_quoted(text)}") if _out_of_range(text) else _unread(text)
    stable: bool | None = None
    if (group.get("moving") or "").strip():
        stable = False
    elif (group.get("stable") or "").strip():
        stable = True
    elif "stable" in group and "moving" not in group:
        stable = False  # a scale that marks its stable lines leaves the mark off the others
    return _Found(group["number"], (group.get("unit") or "").strip(), stable)


def _weighed(found: _Found, text: str, profile: ScaleProfile) -> Frame | Trouble:
    unit = found.unit or profile.unit
    factor = MASS.factors.get(unit.lower())
    number = _NUMBER.fullmatch(found.number.strip())
    if number is None or not _UNIT.fullmatch(unit):
        return _unread(text)
    if factor is None:
        return Trouble("unit", f"the scale weighs in {_quoted(unit)}; set it to grams")
    if _two_ways(number, float(factor), profile):
        return Trouble(
            "garbage", f"the scale sent {_quoted(text)}, which can be read in two ways; write a pattern"
        )
    typed = f"{_digits(number)} {unit.lower()}"
    try:
        grams = parse(typed, MASS, unit.lower())
    except NotAQuantity:
        grams = math.inf
    if abs(grams) > FARTHEST_G:
        return _unread(text)
    if profile.capacity_g is not None and grams > profile.capacity_g:
        return _overloaded(f"{typed} is beyond its {profile.capacity_g:g} g")
    return Frame(grams, typed, found.stable)


def _two_ways(number: re.Match[str], factor: float, profile: ScaleProfile) -> bool:
    """Whether a comma may group thousands: 1,234 g off a scale with a step of 0.1 g is not 1.234 g."""
    if number["mark"] != "," or len(number["parts"]) != 3 or " " in number["whole"]:
        return False
    return number["whole"].strip("0") != "" and factor / 1000 < profile.resolution_g / 4


def _digits(number: re.Match[str]) -> str:
    whole = (number["whole"] or "").replace(" ", "").lstrip("0") or "0"
    parts = number["parts"] or number["bare_parts"]
    digits = f"{whole}.{parts}" if parts else whole
    # A tared scale's −0.0 is 0.0.
    return f"-{digits}" if number["sign"] == "-" and digits.strip("0.") else digits


@lru_cache(maxsize=16)
def _compiled(pattern: str) -> re.Pattern[str] | str:
    """A profile's pattern, or the sentence for what is wrong with it."""
    if len(pattern) > LONGEST_PATTERN:
        return f"the pattern is longer than {LONGEST_PATTERN} characters"
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what may change its meaning in a later Python is no fault today
            compiled = re.compile(pattern)
    except (re.error, OverflowError, RecursionError) as error:
        return f"the pattern {shown(pattern)!r} is no regular expression: {shown(error)}"
    if "number" not in compiled.groupindex:
        return f"the pattern {shown(pattern)!r} has no group (?P<number>…)"
    return compiled


def _words(text: str) -> list[str]:
    return [word for word in _BETWEEN.split(text.replace("?", " ? ")) if word]


def _out_of_range(text: str) -> bool:
    if any(word.upper() in _OUT_OF_RANGE for word in re.findall(r"[A-Za-z]+", text)):
        return True
    known = _STABLE | _MOVING | _LABELS | {unit.upper() for unit in MASS.factors}
    rest = "".join(word for word in re.split(r"[\s,;:]+", text) if word.upper() not in known)
    return len(rest) > 1 and _BARS.fullmatch(rest) is not None


def _quoted(text: str) -> str:
    return f"{shown(text)!r}" if text.isprintable() else f"'{shown(text)}'"  # shown has escaped it once already


def _unread(text: str) -> Trouble:
    return Trouble("garbage", f"the scale sent {_quoted(text)}, which is no weight as this bench reads it")


def _overloaded(why: str) -> Trouble:
    return Trouble("overload", f"the scale is out of its range: {why}; take the load off")


# -- a stream of them -------------------------------------------------------------------------------------

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
        off. An empty scale that was off stays so until it is seen at zero."""
        self.rearm()
        self._lain_g = self._left_g = 0.0
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


# -- too many of them -------------------------------------------------------------------------------------

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
