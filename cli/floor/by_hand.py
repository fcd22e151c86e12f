"""What the terminal tells with a command to type, for screens at which nobody types one: what a hand does there
instead, or that the shop's computer is the place for it."""

from __future__ import annotations

import contextlib
import re
from pathlib import Path
from typing import TYPE_CHECKING

from truethrow.balance.base.errors import TruethrowError
from truethrow.balance.log.place import Snapshot
from truethrow.worksheets.words import server_words as words

if TYPE_CHECKING:
    from truethrow.balance.log.place import Place

COMMAND = ": truethrow "
_ASIDE = re.compile(r" \(truethrow .*?\)(?=[,;:. ]|$)")  # how part of it is done
OF_BUILD = ("ground", "match", "accept", "trim", "confirm")
OF_STATION = ("stack", "spin", "spins", "test-mass", "holes", "sign")


def to_do(told: str, *, at_bench: bool = False, at_desk: bool = False) -> str:
    """What comes next, as `next` tells it, for a screen: a command only where no page does it. at_bench, at_desk:
    of the job's bench, or of a desk, and not the board's."""
    what, _, command = told.partition(COMMAND)
    if not command:
        return told
    what = _ASIDE.sub("", what)
    verb, *more = command.split()
    if verb == "weigh" and not at_bench:
        return (words.ON_THE_BENCH if at_desk else words.AT_ITS_BENCH).format(what=what)
    if verb == "weigh":
        return words.GO_ON_GRINDING.format(what=what) if "--grind" in more else what
    if page := words.ON_BUILD if verb in OF_BUILD else words.ON_STATION if verb in OF_STATION else "":
        return page.format(what=what.removesuffix("; run"))
    if at_desk:
        return words.BY_TYPING.format(what=what)
    return words.AT_THE_COMPUTER.format(what=what, command=f"truethrow {command}")


def remedy(told: str) -> str:
    """A fault's remedy for a desk; none where it is but a command."""
    return "" if told.startswith(f"run{COMMAND}") else to_do(told, at_desk=True)


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
