"""A pattern for the lines of a scale, as a machinist writes it: the line itself, with names where it varies.

    {number}        the number, with its sign, whole: no digit, point or comma may be left beside it; no letter
                    before it, but one that stands so in the pattern
    {unit}          letters, such as g or kg; or nothing
    {stable}        a word that says whether it rests: ST, S, STABLE, or US, U, D, MOVING and the like; or nothing
    {stable=MARK}   this mark says that it rests, and where it is not there the load moves
    {moving=MARK}   this mark says that it moves
    {any}           anything, or nothing
    a blank         any blanks, or none
    all else        just that, capital or small

``{any}={number} {unit} {stable=*}``. There is nothing in it that can be read in ever more ways: a line of n
letters and a pattern of m pieces take at most n times m looks, whoever wrote them.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache
from typing import NamedTuple

from truethrow.balance.base.errors import shown

LONGEST_PATTERN = 200
STABLE = frozenset(("ST", "S", "STABLE"))
MOVING = frozenset(("US", "U", "D", "UNSTABLE", "MOVING", "?"))
# Grouped in threes by single blanks, or plain; a decimal point or comma with digits after it, or a last point.
NUMBER = re.compile(
    r"(?P<sign>[+-]?)[ \t]*"
    r"(?:(?P<whole>[1-9][0-9]{0,2}(?: [0-9]{3})+(?![0-9])|[0-9]+)(?:(?P<mark>[.,])(?P<parts>[0-9]+)|\.)?"
    r"|\.(?P<bare_parts>[0-9]+))"
)
_UNIT = re.compile(r"[A-Za-z%/]{0,8}")
_WORD = re.compile(r"[A-Za-z]+|\?|")
_BLANKS = re.compile(r"[ \t]*")
_PIECE = re.compile(r"\{(?P<name>[a-z]+)(?:=(?P<mark>[^{}]+))?\}|(?P<blanks>[ \t]+)|(?P<plain>[^{} \t]+)")
_NAMES = ("number", "unit", "stable", "moving", "any")


class Matched(NamedTuple):
    """What a line says by a pattern. stable: None where it does not say."""

    number: str
    unit: str
    stable: bool | None


class _Piece(NamedTuple):
    """One piece of a pattern. name: of what varies, or blanks or plain; text: the mark, or what is plain; of a
    number what stands before it there."""

    name: str
    text: str = ""


class LinePattern(NamedTuple):
    """A pattern, understood."""

    pieces: tuple[_Piece, ...]

    def match(self, line: str) -> Matched | None:
        """What a whole line says, None where it is no such line. Where {any} could take more or less, it takes as
        little as it can."""
        ends = self._ends(line)
        if not ends[0][0]:
            return None
        at, found, stable = 0, {"number": "", "unit": ""}, None
        for number, piece in enumerate(self.pieces):
            if piece.name == "any":
                while not ends[number + 1][at]:
                    at += 1
                continue
            end = next(end for end in _ways(piece, line, at) if ends[number + 1][end])
            taken, at = line[at:end], end
            if piece.name in found:
                found[piece.name] = taken.strip()
            elif piece.name in ("stable", "moving"):
                stable = _rests(piece, taken, stable)
        return Matched(found["number"], found["unit"], stable)

    def _ends(self, line: str) -> list[list[bool]]:
        """For each piece and each place of a line whether this piece and all after it fit to its end from
        there."""
        places = range(len(line), -1, -1)
        ends = [[False] * (len(line) + 1) for _ in range(len(self.pieces) + 1)]
        ends[-1][len(line)] = True
        for number in range(len(self.pieces) - 1, -1, -1):
            piece, here, after = self.pieces[number], ends[number], ends[number + 1]
            for at in places:
                if piece.name == "any":
                    here[at] = after[at] or (at < len(line) and here[at + 1])
                else:
                    here[at] = any(after[end] for end in _ways(piece, line, at))
        return ends


def _ways(piece: _Piece, line: str, at: int) -> tuple[int, ...]:
    """Where a piece may end that begins at a place of a line, the likeliest first: at most two."""
    if piece.name == "number":
        return _number(line, at, piece.text)
    if look := _LOOKS.get(piece.name if not piece.text else ""):
        end = look(line, at)
        return (end,) if end == at or piece.name == "blanks" else (end, at)
    end = at + len(piece.text)
    fits = line[at:end].lower() == piece.text.lower()
    if piece.name == "plain":
        return (end,) if fits else ()
    return (end, at) if fits else (at,)


def _looking(pattern: re.Pattern[str]) -> Callable[[str, int], int]:
    def look(line: str, at: int) -> int:
        found = pattern.match(line, at)
        return found.end() if found else at

    return look


_LOOKS = {"unit": _looking(_UNIT), "stable": _looking(_WORD), "blanks": _looking(_BLANKS)}


_SIGNS = frozenset("+-")
_OF_NUMBERS = frozenset("0123456789.,") | _SIGNS
_GOES_ON = re.compile(r"[0-9]|[.,][0-9]")


def _number(line: str, at: int, before: str) -> tuple[int, ...]:
    """The end of the number that begins here, if it is whole: one that lost its head or its tail is another."""
    found, left = NUMBER.match(line, at), line[at - 1 : at] if at else ""
    if found is None or left in _OF_NUMBERS or (left.isalpha() and not before):
        return ()
    if line[:at].rstrip(" \t")[-1:] in _SIGNS:  # its own, with blanks between
        return ()
    return () if _GOES_ON.match(line, found.end()) else (found.end(),)


def _rests(piece: _Piece, taken: str, so_far: bool | None) -> bool | None:
    """Whether a line says that the load rests, with what it said so far: what says that it moves counts more."""
    if piece.name == "moving":
        return False if taken else so_far
    if so_far is False:
        return False
    if piece.text:
        return bool(taken)
    return True if taken.upper() in STABLE else False if taken.upper() in MOVING else so_far


@lru_cache(maxsize=16)
def compiled(pattern: str) -> LinePattern | str:
    """A profile's pattern, or the sentence for what is wrong with it."""
    if len(pattern) > LONGEST_PATTERN:
        return f"the pattern is longer than {LONGEST_PATTERN} characters"
    pieces: list[_Piece] = []
    at = 0
    while at < len(pattern):
        found = _PIECE.match(pattern, at)
        if found is None:
            return f"the pattern {shown(pattern)!r} has a brace that is no name such as {{number}}"
        at = found.end()
        piece = _Piece(
            found["name"] or ("blanks" if found["blanks"] else "plain"), found["mark"] or found["plain"] or ""
        )
        if found["name"] and (wrong := _wrong(piece)):
            return f"the pattern {shown(pattern)!r} {wrong}"
        pieces.append(piece)
    names = [piece.name for piece in pieces]
    for name in ("number", "unit"):
        if names.count(name) > 1 or (name == "number" and name not in names):
            return f"the pattern {shown(pattern)!r} needs one {{number}}, and at most one {{unit}}"
    at = names.index("number")
    before = pieces[at - 1] if at else None
    if before and before.name == "plain":
        if before.text[-1] in _OF_NUMBERS:
            wrong = f"has {before.text[-1]!r} before {{number}}, which would be the number's own"
            return f"the pattern {shown(pattern)!r} {wrong}"
        pieces[at] = _Piece("number", before.text)
    return LinePattern(tuple(pieces))


def _wrong(piece: _Piece) -> str:
    """What is wrong with a name in braces, empty where nothing is."""
    if piece.name not in _NAMES:
        return f"has {{{shown(piece.name)}}}; allowed: {', '.join(f'{{{name}}}' for name in _NAMES)}"
    if piece.text and piece.name not in ("stable", "moving"):
        return f"has a mark for {{{piece.name}}}; only {{stable=MARK}} and {{moving=MARK}} have one"
    if piece.name == "moving" and not piece.text:
        return "has {moving} without its mark, such as {moving=?}"
    return ""
