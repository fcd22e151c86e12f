"""Drills by the names that are on them: letters, wire gage numbers and fractions of an inch. A shop in inches
calls no drill by its decimals.

Source: ASME B94.11M, Twist Drills, the nominal diameters of letter and number sizes (from memory; the tests hold
some of them to tables that are printed elsewhere)."""

from __future__ import annotations

import re
from fractions import Fraction

from truethrow.balance.base.units import LENGTH

MM_PER_INCH = float(LENGTH.factors["in"])
# In thousandths of an inch. [A to Z], [1 to 60]
_LETTERS = dict(
    zip(
        "ABCDEFGHIJKLMNOPQRSTUVWXYZ",
        (
            *(234, 238, 242, 246, 250, 257, 261, 266, 272, 277, 281, 290, 295),
            *(302, 316, 323, 332, 339, 348, 358, 368, 377, 386, 397, 404, 413),
        ),
        strict=True,
    )
)
_NUMBERS = dict(
    enumerate(
        (
            *(228.0, 221.0, 213.0, 209.0, 205.5, 204.0, 201.0, 199.0, 196.0, 193.5),
            *(191.0, 189.0, 185.0, 182.0, 180.0, 177.0, 173.0, 169.5, 166.0, 161.0),
            *(159.0, 157.0, 154.0, 152.0, 149.5, 147.0, 144.0, 140.5, 136.0, 128.5),
            *(120.0, 116.0, 113.0, 111.0, 110.0, 106.5, 104.0, 101.5, 99.5, 98.0),
            *(96.0, 93.5, 89.0, 86.0, 82.0, 81.0, 78.5, 76.0, 73.0, 70.0),
            *(67.0, 63.5, 59.5, 55.0, 52.0, 46.5, 43.0, 42.0, 41.0, 40.0),
        ),
        start=1,
    )
)
_LETTER = re.compile(r"(?:letter\s+)?([A-Za-z])(?:\s+drill)?")
_NUMBER = re.compile(r"(?:#|no\.?\s|number\s|wire\s(?:gage\s|gauge\s)?)\s*(\d{1,2})(?:\s+drill)?", re.IGNORECASE)
_FRACTION = re.compile(r"(?:(\d{1,2})(?:\s+|\s*-\s*))?(\d{1,3})/(\d{1,3})")


def named(typed: object) -> tuple[str, float] | None:
    """What a drill that is not told by a length is called, and its diameter [mm]; None where it is told by one, or
    by nothing that is known. A fraction without a unit is of an inch: no drill is called by a fraction of a
    millimeter.

    >>> named("F")
    ('letter F', 6.5278)
    >>> named("#7")
    ('#7', 5.1054)
    >>> named("27/64")
    ('27/64 in', 10.715625)
    """
    if not isinstance(typed, str):
        return None
    text = typed.strip()
    if found := _LETTER.fullmatch(text):
        letter = found[1].upper()
        return f"letter {letter}", _mm(_LETTERS[letter] / 1000)
    if (found := _NUMBER.fullmatch(text)) and int(found[1]) in _NUMBERS:
        return f"#{int(found[1])}", _mm(_NUMBERS[int(found[1])] / 1000)
    if (found := _FRACTION.fullmatch(text)) and int(found[3]):
        inches = int(found[1] or 0) + Fraction(int(found[2]), int(found[3]))
        return f"{' '.join(text.split())} in", _mm(float(inches))
    return None


def _mm(inches: float) -> float:
    return round(inches * MM_PER_INCH, 6)
