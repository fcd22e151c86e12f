"""A book copied to one file, and put back from it.

An embedded book is copied as it is, while others use it. One on a server is written as plain lines (copies.py), as
at one moment. Either can be put back into either.
"""

from __future__ import annotations

import contextlib
import tempfile
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from sqlalchemy import Connection, insert, select

from truethrow.balance.book import address as addresses
from truethrow.balance.book import copies, schema
from truethrow.balance.book.address import Address
from truethrow.balance.book.check import verify
from truethrow.balance.book.open import Book, copy_file, free, keep_a_copy, migrate, open_book
from truethrow.balance.book.rows import now
from truethrow.balance.errors import BadInput, Fault, NotSaved, reason, shown_path
from truethrow.balance.files import must_not_stand

_SQLITE = b"SQLite format 3\0"


class Restored(NamedTuple):
    """A book that was put back: how many jobs and records it has; kept: where the one before it is, None where
    there was none."""

    jobs: int
    records: int
    kept: Path | None


def backup(opened: Book, path: Path) -> None:
    """Copy a book to a file, whole or not at all, and look the copy through. Raises NotSaved where the file stands
    already or cannot be written; BadInput where the book is damaged: the copy then has what it had."""
    must_not_stand([path])
    try:
        if opened.address.file is not None:
            copy_file(opened.address.file, path)
        else:
            with opened.reading() as connection:
                copies.write(connection, path)
    except OSError as error:
        raise NotSaved(f"{shown_path(path)}: {reason(error)}; no backup was made") from None
    with source(path) as made:
        _must_be_sound(made, path, "copied as it is, but the book is damaged")


def _must_be_sound(made: Book, path: Path, told: str) -> None:
    if faults := verify(made).faults:
        more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
        raise BadInput([Fault("", f"{told}: {faults[0]}{more}", "truethrow book salvage FILE")], str(path))


@contextlib.contextmanager
def source(path: Path) -> Iterator[Book]:
    """The book in a backup, opened as a copy that is thrown away. Raises BadInput for a file that is none."""
    try:
        with path.open("rb") as file:
            start = file.read(len(_SQLITE))
    except OSError as error:
        raise BadInput([Fault("", reason(error))], str(path)) from None
    with tempfile.TemporaryDirectory(prefix="truethrow-") as folder:
        copy = addresses.of_file(Path(folder) / "book.db")
        assert copy.file
        try:
            if start == _SQLITE:
                copy_file(path, copy.file)
            elif copies.is_plain(path):
                _from_lines(copy, path)
            else:
                raise BadInput([Fault("", "is no backup of a book")], str(path))
        except OSError as error:
            raise BadInput([Fault("", reason(error))], str(path)) from None
        opened: Book | None = None
        try:
            opened = open_book(copy)
            yield opened
        except BadInput as error:  # the name of the copy tells nobody anything
            if error.source == str(copy):
                raise BadInput(error.faults, str(path)) from None
            raise
        finally:
            if opened:
                opened.close()


def _from_lines(copy: Address, path: Path) -> None:
    made = Book(copy)
    try:
        with made.writing() as connection:
            migrate(connection, copies.revision_in(path))
            copies.put_in(connection, copies.read(path))
    finally:
        made.close()


def restore(target: Address, path: Path) -> Restored:
    """Put a backup in the place of a book, which is made where there is none; a copy of the one before is kept.
    Who has a job of it open is told that it is another book now.

    Raises BadInput for a backup that is none, or is damaged; NotSaved where it cannot be put back: the book is
    then as it was."""
    with source(path) as backed:
        _must_be_sound(backed, path, "is damaged, and nothing was put back")
        moved = _put_aside(target)
        opened = open_book(target)
        try:
            with backed.reading() as old:
                kept = _replace(opened, old)
                jobs = old.execute(select(schema.jobs.c.id)).all()
                records = sum(old.scalars(select(schema.jobs.c.last_seq)))
        finally:
            opened.close()
    return Restored(len(jobs), records, kept or moved)


def _put_aside(target: Address) -> Path | None:
    """Where an embedded book is so damaged that it cannot be opened, give it another name; that name."""
    if target.file is None or not target.file.exists():
        return None
    try:
        open_book(target).close()
    except BadInput:
        stamp = now()[:19].replace(":", "").replace("-", "") + "Z"
        aside = free(target.file.with_name(f"{target.file.stem}-damaged-{stamp}{target.file.suffix}"))
        try:
            for ending in ("-wal", "-shm", ""):
                beside = target.file.with_name(target.file.name + ending)
                if beside.exists():
                    beside.rename(aside.with_name(aside.name + ending))
        except OSError as error:
            raise NotSaved(f"{target}: {reason(error)}; nothing was put back") from None
        return aside
    return None


def _replace(opened: Book, old: Connection) -> Path | None:
    """Put the rows of another book in the place of all that a book has; where the copy of it is."""
    try:
        with opened.writing("the book is as it was") as connection:
            dialect = connection.dialect.name
            if dialect == "postgresql":
                # Readers go on with the book as it was; writers wait, and then find another one.
                tables = ", ".join(table.name for table in schema.ALL_TABLES)
                connection.exec_driver_sql(f"LOCK TABLE {tables} IN EXCLUSIVE MODE")
                for name in ("statement_timeout", "idle_in_transaction_session_timeout"):
                    connection.exec_driver_sql(f"SET LOCAL {name} = 0")
            is_empty = connection.execute(select(schema.jobs.c.id).limit(1)).first() is None
            is_empty &= connection.execute(select(schema.stock.c.label).limit(1)).first() is None
            kept = None if is_empty else keep_a_copy(opened, schema.HEAD)
            for statement in schema.guards_off(dialect):
                connection.exec_driver_sql(statement)
            for table in reversed(schema.ALL_TABLES):
                connection.execute(table.delete())
            connection.execute(insert(schema.book), {"one": 1, "generation": uuid.uuid4().hex, "made_at": now()})
            copies.put_in(connection, (row for row in copies.rows(old, schema.HEAD) if row[0] != "book"))
            for statement in schema.guards_on(dialect):
                connection.exec_driver_sql(statement)
    except OSError as error:
        raise NotSaved(f"{opened.address}: {reason(error)}; the book is as it was") from None
    return kept
