"""Where jobs stood when this user last looked, kept in a file of his own beside his data, so that a list works out
again only what has changed.

It is no part of the book: there a state is worked out and never believed. What is kept counts only for the very
texts and records that it was worked out from (its stamp), and whatever is wrong with the file costs nothing but
the time to work it out again."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import NamedTuple, TypeVar

from truethrow.balance.base.files import private_folder
from truethrow.balance.base.settings import data_folder

T = TypeVar("T")
_LONGEST_WAIT_S = 0.1
_AT_ONCE = 500
_MADE = (
    "CREATE TABLE IF NOT EXISTS states (book TEXT, job TEXT, stamp TEXT, state TEXT, blocked TEXT, digest TEXT,"
    " PRIMARY KEY (book, job)) WITHOUT ROWID"
)


class State(NamedTuple):
    """state: one of schema.STATES; blocked: what blocks the job, in one sentence, empty once signed; digest: of
    the job, empty where it cannot be worked yet."""

    state: str
    blocked: str
    digest: str = ""


def file() -> Path:
    """Where they are kept."""
    return data_folder() / "states.db"


def _asked(work: Callable[[sqlite3.Connection], T], otherwise: T) -> T:
    """What is done with the file, which is made where it is not there; otherwise where it cannot be used."""
    path = file()
    try:
        private_folder(path.parent)
        os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))
        with contextlib.closing(sqlite3.connect(path, timeout=_LONGEST_WAIT_S)) as kept, kept:
            kept.execute("PRAGMA synchronous=OFF")
            kept.execute(_MADE)
            return work(kept)
    except sqlite3.DatabaseError as error:
        if getattr(error, "sqlite_errorcode", 0) & 0xFF in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB):
            path.unlink(missing_ok=True)
    except OSError:
        pass
    return otherwise


def known(book: str, jobs: Iterable[str]) -> dict[str, tuple[str, State]]:
    """What is kept of some jobs of a book, with its stamp. book: its generation."""
    names = list(jobs)

    def found(kept: sqlite3.Connection) -> dict[str, tuple[str, State]]:
        made = {}
        for start in range(0, len(names), _AT_ONCE):
            some = names[start : start + _AT_ONCE]
            marks = ",".join("?" * len(some))
            rows = kept.execute(
                f"SELECT job, stamp, state, blocked, digest FROM states WHERE book = ? AND job IN ({marks})",
                (book, *some),
            )
            made.update({row[0]: (row[1], State(*row[2:])) for row in rows})
        return made

    return _asked(found, {})


def keep(book: str, made: Mapping[str, tuple[str, State]]) -> None:
    """Keep states with their stamps, of jobs of a book."""
    rows = [(book, job, stamp, *state) for job, (stamp, state) in made.items()]
    _asked(lambda kept: kept.executemany("INSERT OR REPLACE INTO states VALUES (?, ?, ?, ?, ?, ?)", rows), None)


def blocked_by(book: str, word: str) -> set[str]:
    """The jobs of a book whose last known reason has a word, in no matter which letters."""

    def found(kept: sqlite3.Connection) -> set[str]:
        rows = kept.execute("SELECT job, blocked FROM states WHERE book = ? AND blocked <> ''", (book,))
        return {job for job, blocked in rows if word.casefold() in blocked.casefold()}

    return _asked(found, set())


def forget(book: str) -> None:
    """Keep nothing any more of a book."""
    _asked(lambda kept: kept.execute("DELETE FROM states WHERE book = ?", (book,)), None)
