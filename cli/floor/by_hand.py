"""What the terminal tells with a command to type, for screens at which nobody types one: what a hand does there
instead, or that the shop's computer is the place for it."""

from __future__ import annotations

import contextlib
import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from truethrow.balance.base.errors import BadInput, TruethrowError
from truethrow.balance.log.place import Snapshot
from truethrow.worksheets.words import server_words as words

if TYPE_CHECKING:
    from truethrow.balance.log.place import Place

COMMAND = "truethrow "
GRIND = "--grind"
# A command in a sentence, to the end of what belongs to it; one in brackets tells how a part of it is done.
_COMMAND = r"truethrow (?P<verb>[\w-]+)(?P<rest>(?:(?!, then cancel\b| ?[;()\n]|: truethrow ).)*)"
_ASIDE = re.compile(rf" ?\({_COMMAND}\)")
_AT_THE_END = re.compile(rf"(?:^|[:;,]? )(?:run: )?{_COMMAND}")
_FOLDERS = re.compile(r"\S*/")
_TWICE = re.compile(r"( \([^()]*\))(?:;?\1)+")
OF_BUILD = ("ground", "match", "accept", "trim", "check", "confirm")
OF_STATION = ("stack", "spin", "spins", "test-mass", "holes", "sign")
_READ_ONLY = ("history", "why")  # tells what a page shows anyway


def to_do(told: str, *, at_bench: bool = False, at_grinder: bool = False, at_desk: bool = False) -> str:
    """A sentence of the terminal for a screen, with the place where a hand does it for each command; the command
    only where no page does it. at_bench, at_grinder, at_desk: of the job's bench, of that at the grinder, or of a
    desk; else the board's."""
    if COMMAND not in told:
        return told

    def place(found: re.Match[str]) -> str:
        verb, rest = found["verb"], found["rest"]
        if verb in _READ_ONLY and (at_bench or at_grinder):
            return ""
        if verb == "weigh":
            return _weighing(rest, at_bench=at_bench, at_grinder=at_grinder, at_desk=at_desk)
        if verb in OF_BUILD or verb in OF_STATION:
            return f" {words.ON_BUILD if verb in OF_BUILD else words.ON_STATION}"
        if verb == "strike" and (at_bench or at_grinder):
            return words.CANCEL_HERE
        if at_desk:
            return f" {words.BY_TYPING}"
        command = found[0][found[0].index(COMMAND) :].removesuffix(")")
        return f" {words.AT_THE_COMPUTER.format(command=command)}"

    def step(found: re.Match[str]) -> str:
        return f"{words.DOES.get(found['verb'], '')}{place(found)}" if told.startswith(found[0]) else place(found)

    elsewhere = {place(found) for found in _AT_THE_END.finditer(told)}

    def aside(found: re.Match[str]) -> str:
        return "" if (here := place(found)) in elsewhere else here

    said = _AT_THE_END.sub(step, _ASIDE.sub(aside, told))
    return _TWICE.sub(r"\1", said).strip()


def _weighing(rest: str, *, at_bench: bool, at_grinder: bool, at_desk: bool) -> str:
    if at_desk:
        return f" {words.ON_THE_BENCH}"
    if not (at_bench or at_grinder):
        return words.AT_ITS_BENCH
    if GRIND in rest.split():
        return "" if at_grinder else words.TO_THE_GRINDER
    if at_grinder:
        return words.WEIGH_FIRST
    return words.GO_THERE if ", then type go" in rest else ""


def told_of(error: TruethrowError, *, at_bench: bool = False, at_grinder: bool = False, own: str = "") -> str:
    """Why something is refused, in a line a fault, for a screen: without the folders of a file, which nobody sees
    there. own: what is not named, since the screen is of it."""
    if not isinstance(error, BadInput):
        return to_do(str(error), at_bench=at_bench, at_grinder=at_grinder)
    source = "" if error.source == own else _FOLDERS.sub("", error.source)
    faults = [replace(one, source=_FOLDERS.sub("", one.source)) for one in error.faults]
    return "\n".join(
        to_do(line, at_bench=at_bench, at_grinder=at_grinder) for line in BadInput(faults, source).lines()
    )


def first_of(told: str) -> str:
    """The first of several lines, and how many more there are."""
    first, *more = told.splitlines() or [""]
    return f"{first} {words.AND_MORE.format(count=len(more))}" if more else first


def remedy(told: str) -> str:
    """A fault's remedy for a desk; none where it is but a command."""
    return "" if told.startswith(f"run: {COMMAND}") else to_do(told, at_desk=True)


def lines_of(error: TruethrowError) -> list[str]:
    """A refusal, a line a fault: without the name of the file that all of a page is about, nor the folders of
    another, and with what a hand does there in the place of a command."""
    if not isinstance(error, BadInput):
        return [str(error)]
    faults = [replace(one, where=_whose(one.where), remedy=remedy(one.remedy)) for one in error.faults]
    return BadInput(faults).lines()


def _whose(where: str) -> str:
    """A field as a page has it: no folder, and no option of a command."""
    if where.startswith("--"):
        return words.FIELDS.get(where, where.removeprefix("--"))
    return _FOLDERS.sub("", where) if Path(where).is_absolute() else where


def marked_twice(place: Place) -> tuple[str, ...]:
    """Of a job of the book: which of its marks another open job has, too, a text for each of those jobs."""
    at = place.of if isinstance(place, Snapshot) else place
    if isinstance(at, Path):
        return ()
    from truethrow.balance.book import booked, stock  # noqa: PLC0415 (SQLAlchemy, which no file needs)
    from truethrow.worksheets.words import book_words  # noqa: PLC0415

    with contextlib.suppress(TruethrowError):  # a book that cannot be read is told where its jobs are
        if isinstance(at, booked.BookedJob):
            lines = book_words.marked_twice(stock.marked_twice(at.book, at.id))
            return tuple(to_do(line.removeprefix("! ")) for line in lines)
    return ()
