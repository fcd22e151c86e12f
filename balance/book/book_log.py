"""The log of one job of the book. Each append is one transaction, under the lock of the job's row.

A connection that breaks off leaves it open whether the record is in the book. So it is tried once more with the
same id on a new connection: what is there already is not written again.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from sqlalchemy import Connection, select
from sqlalchemy.exc import SQLAlchemyError

from truethrow.balance.base.errors import Replaced, shown
from truethrow.balance.book.connection import is_beaten, is_lost, is_silent, transaction
from truethrow.balance.book.opened import Book
from truethrow.balance.book.putting import ask, is_served
from truethrow.balance.book.record_rows import RowLog, not_keepable, put_behind
from truethrow.balance.book.schema import book, jobs
from truethrow.balance.log.chain import Head
from truethrow.balance.log.lines import link_of, record_in
from truethrow.balance.log.log import called, unsaved
from truethrow.balance.log.records import Record

TRIES = 3
REPLACED = "another book was put in its place meanwhile; open the job anew"


class BookLog(RowLog):
    """The log of a job of a book, as one bench sees it. Raises BadInput where it cannot be read."""

    def __init__(self, opened: Book, job: str, bench: str = "bench", by: str = "") -> None:
        super().__init__(job, bench=bench, by=by)
        self._book = opened
        with opened.reading() as connection:
            self.kept = str(connection.scalar(select(book.c.generation)))
            self.take_up(connection)
        self._file = self._file_now()
        self._untold.clear()

    def _file_now(self) -> tuple[int, int] | None:
        """Which file an embedded book is; None for one on a server, and for one whose file is gone."""
        try:
            found = self._book.address.file and self._book.address.file.stat()
        except OSError:
            return None
        return (found.st_dev, found.st_ino) if found else None

    def _replaced(self, lost: str = "") -> Replaced:
        return Replaced(f"{REPLACED}{lost}", f"{self._book.address}, {self.name}")

    def _write(self, record: Record, may_stand: Callable[[], None]) -> list[tuple[int, bytes]]:
        if found := not_keepable(record):
            raise ValueError(f"the record {shown(record.id)} {found}")
        is_sent = False  # in one of the tries: it may stand there, and nobody was told
        for last in (False,) * (TRIES - 1) + (True,):
            try:
                with transaction(self._book.engine, writes=True) as connection:
                    seq = self._locked(connection, record)
                    if seq > self.seq:
                        self.take_up(connection)
                    may_stand()
                    lines = [] if record.id in self._known else self._sealed(record)
                    fresh = [one for one in map(record_in, lines) if one is not None]
                    put_behind(connection, self._job, seq, fresh, self._head_with(fresh))
                    is_sent = True
            except SQLAlchemyError as error:
                is_sent = is_sent and is_lost(error)
                if last or is_silent(error) or not (is_lost(error) or is_beaten(error)):
                    told = f"{self._book.address}, {self.name}: {self._book.said(error)}"
                    raise unsaved(told, record, may_stand=is_sent) from None
            else:
                self.seq = seq + len(lines)
                return list(enumerate(lines, start=seq + 1))
        raise AssertionError("the last try returns or raises")

    def _head_with(self, fresh: Sequence[Record]) -> Head:
        """The head of the log once these records stand in it."""
        chain = self.chain.copy()
        for record in fresh:
            chain.take(record, link_of(record.raw))
        return chain.head

    def _locked(self, connection: Connection, record: Record) -> int:
        """The last seq of the job, which is now locked."""
        if is_served(connection):
            ask(connection, "lock_job", job=self._job)
        generation = select(book.c.generation).scalar_subquery()
        row = connection.execute(select(jobs.c.last_seq, generation).where(jobs.c.id == self._job)).one_or_none()
        # A connection goes on to write into a file that was moved away.
        if row is None or row[1] != self.kept or self._file_now() != self._file:
            raise self._replaced(f"; the {called(record)} is not saved")
        return int(row[0])

    def _read_on(self) -> None:
        with self._book.reading() as connection:
            if connection.scalar(select(book.c.generation)) != self.kept or self._file_now() != self._file:
                raise self._replaced()
            self.take_up(connection)
