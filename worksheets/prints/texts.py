"""Texts on their way to paper: what cannot be printed is dropped, what is too long is cut; how wide they will be.

B612's advances are known here, so that the columns of a table are set once for both HTML and PDF.
"""

from __future__ import annotations

import re
import sys
import unicodedata

MM_PER_PT = 25.4 / 72
LINE = 1.25  # a line's height, in sizes of its type

# In sizes of the type; the same in regular and bold.
_ADVANCES = {
    0.25: "'|,;·′",
    0.3: ".:Iij°²³",
    0.35: " !l‘’\N{NO-BREAK SPACE}",
    0.4: '"frt″',
    0.45: "()-J[s",
    0.5: "=]cz“”",
    0.55: "$*/?FLS\\_`aekvxy–−",
    0.6: "+CEKPTYZbdghnopqu}±",
    0.65: "0123456789<>ABDGRVX{µ",
    0.7: "&HU",
    0.75: "N^w~…",
    0.8: "OQ×Ø",
    0.85: "#",
    0.9: "%Mm",
    0.95: "W",
    1.05: "@—",
}
_ADVANCE = {character: em for em, characters in _ADVANCES.items() for character in characters}
_OTHER, _FULL_WIDTH = 0.8, 1.1

# Where a long word may be broken, and behind a hyphen where one is not. Marks for the renderings, which leave them
# out: what is copied off a page, a command or a formula, has no character that nobody sees, and none in place of a
# hyphen at a line's end, which a reader of PDF takes for a syllable's.
BREAK, HELD = "\N{ZERO WIDTH SPACE}", "\N{WORD JOINER}"
LONGEST_WORD = 24  # characters of one that is never broken: a label, a verdict, a name
# In a longer one, such as a path or a code: behind such a sign, and before a hyphen.
_BREAKS = re.compile(r"(?<=[/:._\\])(?=[^-/:._\\])|(?<=[^-/:._\\])(?=-)")
_HYPHEN = re.compile(r"-(?=.)")
LONG_WORD_MM = 16.0  # a longer one has so much room at least
MOST_MARKS = 2


def plain(text: str) -> str:
    """A text of one paragraph with nothing that upsets a page: no control or direction characters, no towers of
    combining marks, no runs of blanks."""
    kept: list[str] = []
    marks = 0
    for character in " ".join(text.split()):
        category = unicodedata.category(character)
        marks = marks + 1 if category in ("Mn", "Me") else 0
        if category[0] == "C" or marks > MOST_MARKS:  # control, direction, surrogate, private, unassigned
            continue
        kept.append(character)
    return " ".join("".join(kept).split())


def soft(text: str, size_pt: float, room_mm: float) -> str:
    """A plain text whose words may be broken where they are very long, or wider than the room there is: between
    their parts, and anywhere in a part that is too long itself."""

    def is_kept(word: str) -> bool:
        return len(word) <= LONGEST_WORD and width_mm(word, size_pt) <= room_mm

    def parted(word: str) -> str:
        return BREAK.join(
            held(part) if is_kept(part) else BREAK.join(_clusters(part)) for part in _BREAKS.split(word)
        )

    def held(word: str) -> str:
        return _HYPHEN.sub(f"-{HELD}", word)

    return " ".join(held(word) if is_kept(word) else parted(word) for word in text.split(" "))


def firm(text: str) -> str:
    """A plain text of one line that is never broken, such as a figure with its unit."""
    return text.replace(" ", "\N{NO-BREAK SPACE}")


def width_mm(text: str, size_pt: float) -> float:
    """How wide a text stands on one line, or a little less."""
    return sum(map(_advance, text)) * size_pt * MM_PER_PT


def longest_word_mm(text: str, size_pt: float) -> float:
    """How wide the widest word stands, of one that may be broken its least."""
    return max((_least_mm(word, size_pt) for word in text.split()), default=0.0)


def _least_mm(word: str, size_pt: float) -> float:
    wide = width_mm(word, size_pt)
    return wide if len(word) <= LONGEST_WORD else min(wide, LONG_WORD_MM)


def cut(text: str, size_pt: float, room_mm: float, lines: int) -> str:
    """A plain text, cut to about so many lines: its middle gives way to an ellipsis, since names that differ in
    one word only differ in the first or the last, and nobody may drill the one for the other."""
    room = room_mm * lines * (0.9 if lines > 1 else 0.98)  # what ragged lines leave unused
    if width_mm(text, size_pt) <= room or _lines(text, size_pt, 0.98 * room_mm) <= lines:
        return text
    room -= width_mm("…", size_pt)
    used, begin, end = 0.0, 0, len(text)
    while begin < end:
        from_head = begin <= len(text) - end
        used += width_mm(text[begin if from_head else end - 1], size_pt)
        if used > room:
            break
        begin, end = (begin + 1, end) if from_head else (begin, end - 1)
    while end < len(text) and unicodedata.combining(text[end]):
        end += 1  # a mark without its letter would stand on the dots
    return f"{text[:begin].rstrip()}…{text[end:].lstrip()}"


def _lines(text: str, size_pt: float, room_mm: float) -> int:
    """How many lines a text takes, broken at its blanks; more than any where a word is wider than the room."""
    blank, found, left = width_mm(" ", size_pt), 1, room_mm
    for word in text.split():
        wide = width_mm(word, size_pt)
        if wide > room_mm:
            return sys.maxsize
        if wide > left:
            found, left = found + 1, room_mm
        left -= wide + blank
    return found


def _clusters(word: str) -> list[str]:
    """A word's characters, each with its combining marks."""
    found: list[str] = []
    for character in word:
        if found and unicodedata.combining(character):
            found[-1] += character
        else:
            found.append(character)
    return found


def _advance(character: str) -> float:
    known = _ADVANCE.get(character)
    if known is not None:
        return known
    if unicodedata.combining(character) or character in (BREAK, HELD):
        return 0.0
    return _FULL_WIDTH if unicodedata.east_asian_width(character) in "WF" else _OTHER
