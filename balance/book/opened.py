"""A book that is open, and what is known of it."""

from __future__ import annotations

import contextlib
import os
import weakref
from collections.abc import Iterator
from pathlib import Path

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import SQLAlchemyError

from truethrow.balance.base.errors import BadInput, Fault, NotSaved, shown, shown_path
from truethrow.balance.book.address import Address
from truethrow.balance.book.connection import (
    OF_THE_DISK,
    SHUT,
    engine_of,
    in_words,
    is_damage,
    is_lost,
    transaction,
)

NOBODY_KNOWS = "whether it was written nobody knows: look before you do it again"


# Whether a database has a table or a view, of whatever kind; those that came with an extension are nobody's.
_ANYTHING = {
    "sqlite": "SELECT 1 FROM sqlite_master WHERE type IN ('table', 'view') AND substr(name, 1, 7) <> 'sqlite_'",
    "postgresql": (
        "SELECT 1 FROM pg_class WHERE relkind IN ('r', 'p', 'v', 'm', 'f')"
        " AND relnamespace IN (SELECT oid FROM pg_namespace WHERE nspname = ANY (current_schemas(false)))"
        " AND NOT EXISTS (SELECT 1 FROM pg_depend WHERE objid = pg_class.oid AND deptype = 'e')"
    ),
}


class Damaged(BadInput):
    """A book is so damaged that it cannot be read; or it never was one."""


class NobodyKnows(NotSaved):
    """The server went away before it said whether it had done it."""


class Book:
    """A book that is open. address: where it is; generation: which one it is, to know when a restore put another
    in its place."""

    def __init__(self, address: Address) -> None:
        self.address = address
        self.generation = ""
        self._process = os.getpid()
        self._engine = engine_of(address)
        self._closing = weakref.finalize(self, Engine.dispose, self._engine)

    @property
    def engine(self) -> Engine:
        if self._process != os.getpid():  # a forked child leaves its parent's connections alone
            self._process = os.getpid()
            self._engine.dispose(close=False)
        return self._engine

    def close(self) -> None:
        self._engine.dispose()

    @contextlib.contextmanager
    def reading(self) -> Iterator[Connection]:
        """The book as it is at one moment. Raises BadInput where it cannot be read."""
        try:
            with transaction(self.engine, writes=False) as connection:
                yield connection
        except SQLAlchemyError as error:
            raise self.unreadable(error) from None

    @contextlib.contextmanager
    def writing(self, lost: str = "nothing was written") -> Iterator[Connection]:
        """A transaction that is on the disk once it is left. lost: the end of the sentence where it is not. Raises
        NotSaved; NobodyKnows where the server went away at the very end."""
        is_done = False
        try:
            with transaction(self.engine, writes=True) as connection:
                yield connection
                is_done = True
        except SQLAlchemyError as error:
            if is_done and is_lost(error):
                raise NobodyKnows(f"{self.address}: {self.said(error)}; {NOBODY_KNOWS}") from None
            raise NotSaved(f"{self.said(error)}; {lost}", self.address) from None

    def said(self, error: SQLAlchemyError) -> str:
        """What went wrong, in words; of a disk, which one."""
        found, file = in_words(error), self.address.file
        return f"{found}: {shown_path(file.parent)}" if file is not None and found in OF_THE_DISK else found

    @property
    def saving(self) -> str:
        """What can be done about a damaged book."""
        if self.address.file is None:
            return (
                "put a backup in its place: truethrow book restore FILE; or save what can be read: truethrow book"
                " salvage FILE"
            )
        return "save what can be read: truethrow book salvage FILE"

    @property
    def mending(self) -> str:
        """What to do about a book that seems to be damaged."""
        return f"see what is damaged: truethrow book verify; {self.saving}"

    def unreadable(self, error: SQLAlchemyError) -> BadInput:
        if is_damage(error):
            return Damaged([Fault("", in_words(error), remedy=self.mending)], str(self.address))
        file = self.address.file
        found, remedy = in_words(error), ""
        if file is not None and found in SHUT and file.is_file() and not os.access(file.parent, os.W_OK):
            remedy = "copy it, and the files beside it, to a folder that can be written"
        return BadInput([Fault("", self.said(error), remedy=remedy)], str(self.address))


def revision_of(connection: Connection) -> str | None:
    """The revision of a book; empty for a database without any table or view, None for one with others."""
    # Others use Alembic, too: the number alone makes no book.
    if connection.dialect.name == "sqlite":
        query = "SELECT count(*) FROM sqlite_master WHERE name IN ('alembic_version', 'job_revisions')"
    else:
        # Not to_regclass: it may still know from before a wait for a lock that there was no such table.
        query = (
            "SELECT count(*) FROM pg_tables WHERE schemaname = ANY (current_schemas(false))"
            " AND tablename IN ('alembic_version', 'job_revisions')"
        )
    if connection.exec_driver_sql(query).scalar() == 2:
        return connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar() or None
    return None if connection.exec_driver_sql(_ANYTHING[connection.dialect.name]).first() else ""


def is_owner(connection: Connection) -> bool:
    """Whether the book is this user's: what else he may is written in its tables, but not this."""
    if connection.dialect.name == "sqlite":
        return True
    query = "SELECT pg_has_role(relowner, 'USAGE') FROM pg_class WHERE oid = to_regclass('job_revisions')"
    return bool(connection.exec_driver_sql(query).scalar())


def free(path: Path) -> Path:
    """A name that nothing has: this one, or with a number behind it."""
    found, number = path, 1
    while os.path.lexists(found):
        number += 1
        found = path.with_name(f"{path.stem}-{number}{path.suffix}")
    return found


def missing(job: str, opened: Book | None) -> BadInput:
    source = str(opened.address) if opened else ""
    return BadInput([Fault(f"job {shown(job)}", "is not in the book", remedy="run: truethrow book list")], source)
