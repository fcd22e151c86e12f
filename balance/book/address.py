"""Which book: the option, else TRUETHROW_BOOK, else the one that the settings file names, else the user's own, an
embedded one in the user's data folder.

An address never holds a password. PostgreSQL's own ways have it: PGPASSWORD, a password file, a service file. What
is told of an address has no user's name in it either: somebody may have typed more than a name there.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import NamedTuple

from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from truethrow.balance.base.errors import BadInput, Fault, printable, shown
from truethrow.balance.base.settings import own_book, setting

VARIABLE = "TRUETHROW_BOOK"
FORMS = "sqlite:////folder/book.db, or postgresql://user@host/database"
_SECRET = ("password", "sslpassword")


class Address(NamedTuple):
    """Where a book is. url: for SQLAlchemy; file: of an embedded book; is_own: whether nobody named it, so that it
    is told without its path, in a folder that the user has never seen."""

    url: URL
    file: Path | None
    is_own: bool = False

    def __str__(self) -> str:
        return "your own book" if self.is_own else self.place

    @property
    def place(self) -> str:
        """Where it is, in full but for the user's name."""
        if self.file is not None:
            return printable(str(self.file))
        port = f":{self.url.port}" if self.url.port else ""
        return printable(f"postgresql://{self.url.host or ''}{port}/{self.url.database or ''}")


def of_file(path: Path) -> Address:
    """The address of an embedded book."""
    return Address(URL.create("sqlite", database=str(path)), path)


def _at_home(path: Path, where: str) -> Path:
    """A path whose ~ the shell has left in place, as it does inside an address."""
    try:
        return path.expanduser()
    except RuntimeError:
        raise BadInput([Fault(where, f"{shown(path.parts[0])} is nobody's folder here", FORMS)]) from None


def address(given: str | None = None) -> Address:
    """The book that is meant. Raises BadInput for an address that is none, or that has a password in it."""
    text, where = (os.environ.get(VARIABLE, ""), VARIABLE) if given is None else (given, "--book")
    if given is None and not text and (is_set := setting("book")):
        text, where = is_set.value, is_set.source
    if given is None and not text:
        return of_file(own_book())._replace(is_own=True)
    try:
        url = make_url(text)
        name = url.get_backend_name()
    except (ArgumentError, ValueError):
        # The text is not shown: what does not parse may well hold a password.
        raise BadInput([Fault(where, "is no address of a book", FORMS)]) from None
    if url.password is not None or any(key in url.query for key in _SECRET):
        wrong = "the address has a password in it, which others can read"
        raise BadInput([Fault(where, wrong, "PGPASSWORD, a password file or a service file")])
    if name == "sqlite" and url.database and url.database != ":memory:" and not url.query:
        return of_file(_at_home(Path(url.database), where))
    if name == "postgresql" and url.drivername in ("postgresql", "postgresql+psycopg"):
        return Address(url.set(drivername="postgresql+psycopg"), None)
    raise BadInput([Fault(where, f"{shown(url.drivername)} with nothing else is no book", FORMS)])
