"""Letters on a drawing: their sizes, how wide a text is at most, and a text made fit for any drawing."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from typing import Literal

from truethrow.worksheets.shown.turned import UNSEEN

FONT = "B612, DejaVu Sans Mono, sans-serif"
# Heights of letters [mm]: 9 pt is 3.175 mm, and a drawing may be shown a little smaller than it is.
SMALL, TEXT, LARGE, HUGE = 3.5, 4.2, 5.2, 7.0
LONGEST_LINE = 120  # characters of anything

# Of B612, rounded up; what it has not comes from another font, which is wider. [parts of the size]
_NARROW, _MIDDLE, _WIDE, _FOREIGN, _PICTURE = 0.48, 0.67, 1.05, 0.95, 1.4
_LONGEST = 40  # characters of a name
_WORDS = re.compile(r"[^ _/.:-]+[ _/.:-]*|[ _/.:-]+")  # of a name, each with what parts it from the next
_MARKS_ON_ONE = 2  # more combining marks than these grow out of their line

Anchor = Literal["start", "middle", "end"]
ANCHORED = {"start": 0.0, "middle": 0.5, "end": 1.0}  # what part of a text lies left of its point


def plain(text: str, longest: int = _LONGEST) -> str:
    """A text that any drawing can hold: one line, without what XML cannot hold and what turns or hides its
    neighbours, its middle left out where it is longer than that."""
    kept: list[str] = []
    marks = 0
    for character in text:
        category = unicodedata.category(character)
        marks = marks + 1 if category[0] == "M" else 0
        if category in {"Zl", "Zp"} or character in "\t\n\r":
            kept.append(" ")
        elif category[0] != "C" and marks <= _MARKS_ON_ONE:
            kept.append(character)
    clean = " ".join("".join(kept).split())
    return clean if len(clean) <= longest else _without_middle(clean, longest - 1)


def wide_mm(text: str, size_mm: float) -> float:
    """How wide a text is at most."""
    return size_mm * sum(_em(letter) for letter in text if letter not in UNSEEN)


def fitting(text: str, size_mm: float, most_mm: float) -> str:
    """A text that is not wider than that, its middle left out where it would be."""
    clean = plain(text)
    fits, kept = clean, len(clean)
    while kept and wide_mm(fits, size_mm) > most_mm:
        kept -= 1
        fits = _without_middle(clean, kept)
    return fits


def told_apart(names: Sequence[str], size_mm: float, most_mm: Sequence[float]) -> list[str]:
    """Names of one drawing, each no wider than its room. Where one would be, all go without what they share at
    both ends: counterweight 1 front is …1 front, so that it is still told from its neighbours."""

    def all_fit(said: Sequence[str]) -> bool:
        return all(wide_mm(one, size_mm) <= room for one, room in zip(said, most_mm, strict=True))

    whole = [plain(name, LONGEST_LINE) for name in names]
    words = [_WORDS.findall(name) for name in whole]
    tries = [
        whole,
        ["".join(own) for own in _without_shared(words)],
        ["".join(own) for own in _without_shared(whole)],
    ]
    for said in tries:
        if all_fit(said) and len({*said}) == len({*whole}):
            return said
    return [fitting(one, size_mm, room) for one, room in zip(tries[1], most_mm, strict=True)]


def _without_shared(names: Sequence[Sequence[str]]) -> list[list[str]]:
    """Each without the pieces that all of them begin or end with, dots in their place; one is left to each."""
    before = after = 0
    most = min(map(len, names), default=1) - 1
    if len({tuple(name) for name in names}) > 1:
        while before < most and len({name[before] for name in names}) == 1:
            before += 1
        while before + after < most and len({name[-1 - after] for name in names}) == 1:
            after += 1
    dots = ["…"]
    return [
        [*(dots if before else []), *name[before : len(name) - after], *(dots if after else [])] for name in names
    ]


def _without_middle(text: str, kept: int) -> str:
    """So many characters of both ends: names that differ in one word only differ in the first or the last."""
    head, tail = text[: kept - kept // 2], text[len(text) - kept // 2 :]
    # A mark without its letter would stand on the dots.
    while tail and unicodedata.category(tail[0])[0] == "M":
        tail = tail[1:]
    return f"{head.rstrip()}…{tail.lstrip()}"


def _em(character: str) -> float:
    if unicodedata.category(character)[0] == "M":
        return _MIDDLE  # beside its letter, in a font that cannot put it over one
    if character in " !\"'(),-.:;I[]`fijlrt|·°":
        return _NARROW
    if character in "MWm@%#wNOQØ×~^…":
        return _WIDE
    if character.isascii() or character in "−±µ²³":
        return _MIDDLE
    if unicodedata.category(character) == "So" or unicodedata.east_asian_width(character) in "WF":
        return _PICTURE
    return _FOREIGN
