"""A book copied to one file, and put back from it.

An embedded book is copied as it is, while others use it. One on a server is written as plain lines (copies.py), as
at one moment. Either can be put back into either.
"""

from __future__ import annotations

import contextlib
import shutil
import tempfile
import uuid
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from sqlalchemy import Connection, func, insert, select
from sqlalchemy.exc import SQLAlchemyError

from truethrow.balance.base.errors import BadInput, Fault, NotSaved, reason, shown_path
from truethrow.balance.base.files import must_be_a_file, must_not_stand
from truethrow.balance.book import address as addresses
from truethrow.balance.book import copies, leftovers, outside, schema, states
from truethrow.balance.book.address import Address
from truethrow.balance.book.check import Verified, verify
from truethrow.balance.book.connection import in_words, is_damage
from truethrow.balance.book.open import (
    Kept,
    copy_file,
    kept_or_gone,
    migrate,
    new_book,
    numbers_after,
    open_book,
    take_your_time,
)
from truethrow.balance.book.opened import Book, Damaged, is_owner
from truethrow.balance.log.place import to_paste
from truethrow.balance.log.records import Begun

_SQLITE = b"SQLite format 3\0"


class Restored(NamedTuple):
    """A book that was put back: how many jobs and records it has; kept: where the one before it is, None where
    there was none."""

    jobs: int
    records: int
    kept: Path | None


class Going(NamedTuple):
    """What of a job would go with a book that is replaced: all of it, or so many records and texts that the backup
    has not."""

    job: str
    is_whole: bool
    records: int
    texts: int


def going(now: Connection, old: Connection) -> list[Going]:
    """What would go, job by job, if one book came in the place of another. Jobs whose last seals and texts are the
    same in both are not looked into."""
    stands, would = _stands(now), _stands(old)
    found = []
    for job in sorted(stands.keys() - {job for job, one in would.items() if stands.get(job) == one}):
        records = _ids(now, schema.records.c.id, job) - _ids(old, schema.records.c.id, job)
        texts = _ids(now, schema.job_revisions.c.seal, job) - _ids(old, schema.job_revisions.c.seal, job)
        if records or texts or job not in would:
            begun = select(func.count()).where(
                schema.records.c.job == job, schema.records.c.action == Begun.action
            )
            logs = now.scalar(begun.where(schema.records.c.id.in_(records))) or 0
            found.append(Going(job, job not in would, len(records) - logs, len(texts)))
    return found


def _stands(connection: Connection) -> dict[str, tuple[Any, ...]]:
    """Each job's last seal, how many records it has, and the seal of its text."""
    own, text = schema.jobs, schema.job_revisions
    is_last = (text.c.job == own.c.id) & (text.c.revision == own.c.revision)
    query = select(own.c.id, own.c.head, own.c.head_count, own.c.last_seq, text.c.seal).outerjoin(text, is_last)
    return {row[0]: tuple(row[1:]) for row in connection.execute(query)}


def _ids(connection: Connection, column: Any, job: str) -> set[str]:
    return set(connection.scalars(select(column).where(column.table.c.job == job)))


def backup(opened: Book, path: Path) -> Verified:
    """Copy a book to a file, whole or not at all, and look the copy through; what was found. The copy of a damaged
    book has what it had. Raises NotSaved where the file stands already or cannot be written; BadInput where the
    copy is no book that can be opened."""
    must_not_stand([path])
    try:
        if opened.address.file is not None:
            copy_file(opened.address.file, path)
        else:
            with opened.reading() as connection:
                copies.write(connection, path)
    except OSError as error:
        raise NotSaved(f"{reason(error)}; no backup was made", shown_path(path)) from None
    with source(path) as made:
        return verify(made)


@contextlib.contextmanager
def source(path: Path) -> Iterator[Book]:
    """The book in a backup, or in a folder that export_all wrote, opened as a copy that is thrown away. Raises
    BadInput for one that is none."""
    must_be_a_file(path)
    start = b""
    try:
        if not path.is_dir():
            with path.open("rb") as file:
                start = file.read(len(_SQLITE))
    except OSError as error:
        raise BadInput([Fault("", reason(error))], str(path)) from None
    with _folder_for_a_while() as folder:
        copy = addresses.of_file(folder / "book.db")
        assert copy.file
        # The name of the copy tells nobody anything.
        try:
            if start == _SQLITE:
                copy_file(path, copy.file)
            elif path.is_dir():
                _from_rows(copy, schema.HEAD, outside.rows_in(path), new_book())
            elif copies.is_plain(path):
                _from_rows(copy, copies.revision_in(path), copies.read(path))
            else:
                raise BadInput([Fault("", "is no backup of a book")], str(path))
            opened = open_book(copy)
        except OSError as error:
            raise BadInput([Fault("", reason(error))], str(path)) from None
        except NotSaved as error:
            raise BadInput([Fault("", error.told)], str(path)) from None
        except BadInput as error:
            raise BadInput(error.faults, str(path)) from None
        try:
            yield opened
        except BadInput as error:
            if error.source == str(copy):
                raise BadInput(error.faults, str(path)) from None
            raise
        finally:
            opened.close()


@contextlib.contextmanager
def _folder_for_a_while() -> Iterator[Path]:
    """A folder that nobody else may look into, and that is gone afterwards. Raises NotSaved."""
    folder = Path(tempfile.gettempdir()) / f"truethrow-{uuid.uuid4().hex}"
    with contextlib.ExitStack() as stack:
        try:
            stack.enter_context(leftovers.noted(folder))
            folder.mkdir(mode=0o700)
        except OSError as error:
            raise NotSaved(f"{reason(error)}; nothing was done", folder) from None
        stack.callback(shutil.rmtree, folder, ignore_errors=True)
        yield folder


def _from_rows(
    copy: Address, revision: str, rows: Iterable[copies.Row], own: dict[str, object] | None = None
) -> None:
    """Make a book of rows. own: the row that says which book it is, where it is not among them."""
    made = Book(copy)
    try:
        with made.writing("its rows make no book") as connection:
            migrate(connection, revision)
            if own:
                connection.execute(insert(schema.book), own)
            copies.put_in(connection, rows)
    finally:
        made.close()


def restore(target: Address, path: Path, may_go: Callable[[Sequence[Going]], None] | None = None) -> Restored:
    """Put a backup in the place of a book, which is made where there is none; a copy of the one before is kept.
    Who has a job of it open is told that it is another book now. may_go: told what of it the backup has not, where
    there is anything; what it raises leaves the book as it was.

    Raises BadInput for a backup that is none, or is damaged, and for a book that cannot be opened: stations may
    have it open all the same, and write into whatever is renamed under them; NotSaved where it cannot be put back:
    the book is then as it was."""
    with source(path) as backed:
        if faults := verify(backed).faults:
            more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
            wrong = f"is damaged, and nothing was put back: {faults[0]}{more}"
            way = f"save what is sound of it first: truethrow book salvage sound.db --from {to_paste(path)}"
            raise BadInput([Fault("", wrong, remedy=way)], str(path))
        try:
            opened = open_book(target)
        except Damaged as error:
            wrong = f"{error.faults[0].wrong}; nothing was put back"
            raise BadInput([Fault("", wrong, remedy=_instead(target))], str(target)) from None
        try:
            with backed.reading() as old:
                with opened.reading() as now:
                    goes = going(now, old)
                if goes and may_go is not None:
                    may_go(goes)
                kept = _replace(opened, old, goes if may_go is not None else None)
                jobs = old.execute(select(schema.jobs.c.id)).all()
                records = sum(old.scalars(select(schema.jobs.c.head_count)))
        finally:
            opened.close()
    states.forget(opened.generation)  # of the book that is gone
    return Restored(len(jobs), records, kept)


def _instead(target: Address) -> str:
    """What can be done where a damaged book does not let itself be replaced."""
    if target.file is None:
        return "take another database (--book)"
    return "take another file (--book); or stop all stations and move this one and those beside it away"


def _replace(opened: Book, old: Connection, goes: Sequence[Going] | None) -> Path | None:
    """Put the rows of another book in the place of all that a book has; where the copy of it is. goes: what
    somebody agreed to, so that nothing else goes."""
    told = "the book is as it was"
    try:
        with kept_or_gone(opened) as kept, opened.writing(told) as connection:
            if not is_owner(connection):
                raise NotSaved(f"only its owner can put another in its place; {told}", opened.address)
            try:
                _fill(opened, connection, old, kept, goes)
            except SQLAlchemyError as error:
                if not is_damage(error):
                    raise
                hint = _instead(opened.address)
                raise NotSaved(f"{in_words(error)}; {told}; {hint}", opened.address) from None
    except OSError as error:
        raise NotSaved(f"{reason(error)}; {told}", opened.address) from None
    return kept.paths[0] if kept.paths else None


def _fill(opened: Book, connection: Connection, old: Connection, kept: Kept, goes: Sequence[Going] | None) -> None:
    dialect = connection.dialect.name
    if dialect == "postgresql":
        # Readers go on with the book as it was; writers wait, and then find another one.
        tables = ", ".join(table.name for table in schema.ALL_TABLES)
        connection.exec_driver_sql(f"LOCK TABLE {tables} IN EXCLUSIVE MODE")
        take_your_time(connection)
    if goes is not None and going(connection, old) != goes:
        told = "something was written into the book meanwhile; the book is as it was: look again at what would go"
        raise NotSaved(told, opened.address)
    is_empty = connection.execute(select(schema.jobs.c.id).limit(1)).first() is None
    is_empty &= connection.execute(select(schema.stock.c.label).limit(1)).first() is None
    if not is_empty:
        kept.keep(schema.HEAD)
    highest = max(_highest(connection), _highest(old))
    for statement in schema.guards_off(dialect):
        connection.exec_driver_sql(statement)
    for table in reversed(schema.ALL_TABLES):
        connection.execute(table.delete())
    connection.execute(insert(schema.book), new_book(numbers_after(highest)))
    copies.put_in(connection, (row for row in copies.rows(old, schema.HEAD) if row[0] != "book"))
    for statement in schema.guards_on(dialect):
        connection.exec_driver_sql(statement)


def _highest(connection: Connection) -> int:
    """The highest number of a text that a book has given, or has left out."""
    given = connection.scalar(select(func.max(schema.job_revisions.c.revision))) or 0
    return max(given, connection.scalar(select(schema.book.c.revisions_after)) or 0)
