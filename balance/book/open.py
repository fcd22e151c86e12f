"""A book opened: made where there is none, brought up to date where it is older, refused where it is newer.

A book that is up to date costs one look at its revision; Alembic is loaded only where there is something to do.
"""

from __future__ import annotations

import contextlib
import os
import random
import re
import sqlite3
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from sqlalchemy import Connection, insert, select, text

from truethrow.balance.base import dry_run
from truethrow.balance.base.errors import BadInput, Fault, NotSaved, reason, shown, shown_path
from truethrow.balance.base.files import flush_folder, made_private, private_folder
from truethrow.balance.base.flushing import to_disk
from truethrow.balance.base.settings import data_folder
from truethrow.balance.book import address as addresses
from truethrow.balance.book import leftovers, schema
from truethrow.balance.book.address import Address
from truethrow.balance.book.connection import connect
from truethrow.balance.book.opened import Book, NobodyKnows, free, is_owner, revision_of
from truethrow.balance.book.rows import now

if TYPE_CHECKING:
    from alembic.config import Config

# Any number, the same for all: two stations must not bring one book up to date at the same time.
_ADVISORY = 0x7472_7565


def open_book(given: str | Address | None = None, *, create: bool = True) -> Book:
    """Open a book. given: its address, None for the one that the environment names, or the user's own.

    create: make it where there is none. Raises BadInput for an address that is none, where there is no book (and
    none is to be made), for a book that is newer than this tool, and for a database that is another's; NotSaved
    where it cannot be made or brought up to date."""
    where = given if isinstance(given, Address) else addresses.address(given)
    if where.file is not None:
        # In this order: who makes the book makes its file first.
        beside = where.file.with_name(where.file.name + "-wal")
        is_alone = beside.exists()
        if not where.file.exists():
            _must_be_wanted(where, create)
            if is_alone:  # a new book would swallow it
                wrong = f"there is no book, but {beside.name}, which has what was last written into one"
                raise BadInput([Fault("", wrong, "that file beside its book, or moved away")], str(where))
            try:
                private_folder(where.file.parent)
                with contextlib.suppress(FileExistsError):  # two stations make one book
                    made_private(where.file)
            except OSError as error:
                raise NotSaved(f"{reason(error)}; no book was made", where.place) from None
    opened = Book(where)
    try:
        revision = _look(opened)
        leftovers.clean(where.place, f"{opened.generation} {revision}")
        if not revision:
            _must_be_wanted(where, create)
        if revision != schema.HEAD and dry_run.is_on():
            first = "it is brought up to date as it is opened: truethrow book list"
            raise BadInput([Fault("", f"the book is of an older truethrow (revision {revision})", remedy=first)])
        if revision != schema.HEAD:
            _bring_up_to_date(opened, revision)
            _look(opened)
    except BaseException:
        opened.close()
        raise
    return opened


def _must_be_wanted(where: Address, create: bool) -> None:
    if not create or dry_run.is_on():
        told = Fault("", "there is no book yet", remedy="make it: truethrow book add JOB.toml")
        raise BadInput([told], str(where))


def _look(opened: Book) -> str:
    """The revision of a book, empty for a new one; its generation is then known. Raises BadInput for what is no
    book, or one that this tool does not know."""
    with opened.reading() as connection:
        revision = revision_of(connection)
        if revision is None:
            raise BadInput(
                [Fault("", "holds another's tables or views; it is no book of jobs")], str(opened.address)
            )
        if revision and revision not in schema.REVISIONS:
            which = "a newer" if revision > schema.HEAD else "another"
            wrong = f"the book is of {which} truethrow (revision {shown(revision)})"
            raise BadInput(
                [Fault("", wrong, f"revision {schema.HEAD}, or a newer truethrow")], str(opened.address)
            )
        if revision:
            opened.generation = connection.scalar(select(schema.book.c.generation)) or ""
    return revision


def _bring_up_to_date(opened: Book, seen: str) -> None:
    told = "the book is as it was" if seen else "no book was made"
    try:
        with kept_or_gone(opened) as kept, opened.writing(told) as connection:
            if connection.dialect.name == "postgresql":
                connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _ADVISORY})
                take_your_time(connection)
            revision = revision_of(connection)  # another station may have done it meanwhile
            if revision == schema.HEAD:
                return
            if revision:
                if not is_owner(connection):
                    wrong = f"the book is of an older truethrow (revision {revision})"
                    raise NotSaved(f"{wrong}; its owner has to open it once with this one", opened.address)
                kept.keep(revision)
            migrate(connection, schema.HEAD)
            if revision and connection.dialect.name == "postgresql":
                from truethrow.balance.book.roles import give_again  # noqa: PLC0415

                give_again(connection)
            if not revision:
                connection.execute(insert(schema.book), new_book())
    except OSError as error:
        raise NotSaved(f"{reason(error)}; {told}", opened.address) from None


def take_your_time(connection: Connection) -> None:
    """Lift the time limits of a server for one transaction, which is as long as the book is large."""
    for name in ("statement_timeout", "idle_in_transaction_session_timeout"):
        connection.exec_driver_sql(f"SET LOCAL {name} = 0")


class Kept(NamedTuple):
    """The copies of a book that is being changed, and the notes by which they are known for left over where it is
    killed before it is changed."""

    opened: Book
    paths: list[Path]
    notes: contextlib.ExitStack

    def keep(self, revision: str) -> None:
        """Keep a copy of the book as it is. Raises NotSaved, which names the folder that takes none: it need not
        be on the disk that the book is on."""
        path = _place_of_copy(self.opened, revision)
        stands = f"{self.opened.generation} {revision}"
        self.notes.enter_context(leftovers.noted(path, self.opened.address.place, stands))
        try:
            self.paths.append(keep_a_copy(self.opened, path))
        except OSError as error:
            told = f"{reason(error)}, and a copy of the book goes there first; the book is as it was"
            raise NotSaved(told, shown_path(path.parent)) from None


@contextlib.contextmanager
def kept_or_gone(opened: Book) -> Iterator[Kept]:
    """What keeps copies of a book that is being changed. They go where the change fails: the book is then as it
    was, and needs none."""
    with contextlib.ExitStack() as notes:
        made = Kept(opened, [], notes)
        try:
            yield made
        except NobodyKnows:
            raise
        except BaseException:
            for path in made.paths:
                path.unlink(missing_ok=True)
            raise


def numbers_after(highest: int) -> int:
    """Above which number new texts of jobs are counted in a book that was put back or salvaged. highest: of those
    that are known. The book that is gone may have given others, and so may another one put back from the same
    backup; hence a leap, and one by chance."""
    return highest + random.randint(100, 999)


def new_book(revisions_after: int = 0) -> dict[str, object]:
    """The one row of a book that is made, or put in the place of another."""
    generation = uuid.uuid4().hex
    return {"one": 1, "generation": generation, "made_at": now(), "revisions_after": revisions_after}


def migrate(connection: Connection, revision: str) -> None:
    """Run the scripts up to a revision, in the transaction at hand."""
    from alembic import command  # noqa: PLC0415
    from alembic.config import Config  # noqa: PLC0415

    config: Config = Config()
    scripts = Path(__file__).parent / "migrations"
    config.set_main_option("script_location", str(scripts).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    command.upgrade(config, revision)


def _place_of_copy(opened: Book, revision: str) -> Path:
    """Where a copy of a book goes before it is brought up to date or replaced: of an embedded one beside it, of
    one on a server into the user's data folder."""
    stamp = now()[:19].replace(":", "").replace("-", "") + "Z"
    if opened.address.file is not None:
        book = opened.address.file
        return free(book.with_name(f"{book.stem}-{revision}-{stamp}{book.suffix}"))
    folder = data_folder() / "copies"
    private_folder(folder)
    name = re.sub(r"[^\w-]", "_", opened.address.url.database or "book")
    return free(folder / f"{name}-{revision}-{stamp}.jsonl")


def keep_a_copy(opened: Book, copy: Path) -> Path:
    """A copy of a book: an embedded one as it is, one on a server as plain lines. Raises OSError."""
    if opened.address.file is not None:
        copy_file(opened.address.file, copy)
        return copy
    from truethrow.balance.book.copies import write  # noqa: PLC0415

    with opened.reading() as connection:
        write(connection, copy)
    return copy


def copy_file(source: Path, target: Path) -> None:
    """Copy an embedded book while others use it: whole, as at one moment, and on the disk before it has its name.
    Raises OSError."""
    temporary = free(target.with_name(f".{target.name}.part"))
    with leftovers.noted(temporary):
        try:
            made_private(temporary)
            with (
                contextlib.closing(connect(source, "ro")) as old,
                contextlib.closing(sqlite3.connect(temporary)) as new,
            ):
                old.backup(new)
                new.execute("PRAGMA journal_mode=DELETE")  # one file, nothing beside it
            handle = os.open(temporary, os.O_RDWR)
            try:
                to_disk(handle)
            finally:
                os.close(handle)
            temporary.replace(target)
            flush_folder(target.parent)
        except sqlite3.Error as error:
            raise OSError(None, f"not copied: {error}") from None
        finally:
            leftovers.remove(temporary)
