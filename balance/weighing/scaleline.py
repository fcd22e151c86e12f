"""A line that a scale says over a cable: a mass, or a trouble.

Nothing here reads a port. A lone line is never believed: one that lost its head or its tail on the way is often a
well-formed smaller number, so a reading is taken from several lines that agree (settler).
"""

from __future__ import annotations

import math
import re
from typing import Literal, NamedTuple

from truethrow.balance.base.digits import digits
from truethrow.balance.base.errors import shown
from truethrow.balance.base.units import MASS, NotAQuantity, parse
from truethrow.balance.weighing import linepattern
from truethrow.balance.weighing.linepattern import MOVING, NUMBER, STABLE

LONGEST_LINE = 200
SLOWEST_BAUD, FASTEST_BAUD = 300, 921_600
LONGEST_SETTLE_S = 10.0
# No bench scale shows more than a tonne: such a number is noise that happens to be made of digits.
FARTHEST_G = 1e6
# An empty scale that is off by more than so many of its steps is to be tared.
ZERO_STEPS = 2

What = Literal["garbage", "half a line", "unit", "overload", "flood", "cable"]


class ScaleProfile(NamedTuple):
    """A scale as the bench knows it. port: its name or address; baud and frame (8N1): as set on the scale;
    pattern: of a whole line (linepattern), blank for the general rule; unit: of a bare number; resolution_g: its
    step; capacity_g: its largest load; settle_s: how long it must rest; least_g: a load is anything above it;
    zero_within_g: how far an empty scale may be off zero, if that is more than two steps; auto: take without a
    key."""

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

    def told(self, grams: float) -> str:
        """A mass in the scale's own unit; in grams where nobody knows that one."""
        unit = self.unit.lower() if self.unit.lower() in MASS.factors else "g"
        return f"{digits(grams / float(MASS.factors[unit]))} {unit}"

    @property
    def zero_limit_g(self) -> float:
        """How far off zero an empty scale may be; beyond it, it is to be tared. [g]"""
        return max(ZERO_STEPS * self.resolution_g, self.zero_within_g) * (1 + 1e-6) + 1e-9


class Frame(NamedTuple):
    """One line of the scale: its mass [g], the number and its unit as a job file takes them, whether the scale
    calls it stable (None: it does not say), and that unit."""

    grams: float
    typed: str
    stable: bool | None
    unit: str


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
    if profile.pattern and isinstance(found := linepattern.compiled(profile.pattern), str):
        wrong.append(found)
    if profile.unit.lower() not in MASS.factors:
        wrong.append(f"unit {shown(profile.unit)!r} is not known; allowed: {', '.join(MASS.factors)}")
    if not 0 < step < math.inf:
        wrong.append(f"resolution {profile.told(step)}; allowed: a mass above 0")
    elif not step <= profile.least_g < FARTHEST_G:
        wrong.append(f"least load {profile.told(profile.least_g)}; allowed: one step of the scale or more")
    elif not 0 <= profile.zero_within_g < profile.least_g:
        wrong.append(f"zero within {profile.told(profile.zero_within_g)}; allowed: 0 to below the least load")
    if capacity is not None and not max(step, profile.least_g) < capacity < math.inf:
        wrong.append(f"capacity {profile.told(capacity)}; allowed: above the step and the least load")
    if not 0 < profile.settle_s <= LONGEST_SETTLE_S:
        allowed = f"above 0 and at most {LONGEST_SETTLE_S:g} s"
        wrong.append(f"settling time {digits(profile.settle_s)} s is out of reach; allowed: {allowed}")
    return wrong


_FRAME = re.compile(r"[5-8][NEOneo](?:1|1\.5|2)")
# Around its number a line holds no other digit, no sign, and no mark that could be the number's own.
_LINE = re.compile(
    rf"(?P<before>(?:[^0-9.+,-]|\.(?![0-9])|(?<=[A-Za-z?]),)*)(?P<number>{NUMBER.pattern})(?P<after>(?:[^0-9.+-]|\.$)*)"
)
_BETWEEN = re.compile(r"[\s,;:=.]+")
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
    stable = False if said & MOVING else True if said & STABLE else None
    units = [word for word in after if word.upper() not in STABLE | MOVING | (_LABELS - {"G", "N"})]
    if any(word.upper() not in STABLE | MOVING | _LABELS for word in before) or len(units) > 1:
        return _unread(text)
    return _Found(line["number"], units[0] if units else "", stable)


def _by_pattern(text: str, pattern: str) -> _Found | Trouble:
    known = linepattern.compiled(pattern)
    if isinstance(known, str):
        return Trouble("garbage", known)
    found = known.match(text)
    if found is None:
        return _overloaded(f"it shows {_quoted(text)}") if _out_of_range(text) else _unread(text)
    return _Found(*found)


def _weighed(found: _Found, text: str, profile: ScaleProfile) -> Frame | Trouble:
    unit = found.unit or profile.unit
    factor = MASS.factors.get(unit.lower())
    number = NUMBER.fullmatch(found.number.strip())
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
        return _overloaded(f"{typed} is beyond its {profile.told(profile.capacity_g)}")
    return Frame(grams, typed, found.stable, unit.lower())


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


def _words(text: str) -> list[str]:
    return [word for word in _BETWEEN.split(text.replace("?", " ? ")) if word]


def _out_of_range(text: str) -> bool:
    if any(word.upper() in _OUT_OF_RANGE for word in re.findall(r"[A-Za-z]+", text)):
        return True
    known = STABLE | MOVING | _LABELS | {unit.upper() for unit in MASS.factors}
    rest = "".join(word for word in re.split(r"[\s,;:]+", text) if word.upper() not in known)
    return len(rest) > 1 and _BARS.fullmatch(rest) is not None


def _quoted(text: str) -> str:
    return f"{shown(text)!r}" if text.isprintable() else f"'{shown(text)}'"  # shown has escaped it once already


def _unread(text: str) -> Trouble:
    return Trouble("garbage", f"the scale sent {_quoted(text)}, which is no weight as this bench reads it")


def _overloaded(why: str) -> Trouble:
    return Trouble("overload", f"the scale is out of its range: {why}; take the load off")
