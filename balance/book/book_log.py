"""The log of one job of the book. Each append is one transaction, under the lock of the job's row.

A connection that breaks off leaves it open whether the record is in the book. So it is tried once more with the
same id on a new connection: what is there already is not written again.
"""

from __future__ import annotations

from collections.abc import Callable

from sqlalchemy import Connection, select
from sqlalchemy.exc import SQLAlchemyError

from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.book.connection import in_words, is_beaten, is_lost, transaction
from truethrow.balance.book.opened import Book
from truethrow.balance.book.record_rows import not_keepable, put_behind, take_up
from truethrow.balance.book.schema import book, jobs
from truethrow.balance.log.log import Log, Note, unsaved
from truethrow.balance.log.records import Damaged, Record

TRIES = 3
REPLACED = "another book was put in its place meanwhile"


class BookLog(Log):
    """The log of a job of a book, as one bench sees it. Raises BadInput where it cannot be read."""

    unit = "record"

    def __init__(self, opened: Book, job: str, bench: str = "bench", by: str = "") -> None:
        super().__init__(f"the log of job {job}", bench, by)
        self._book = opened
        self._job = job
        self._seq = 0  # everything up to here is known
        with opened.reading() as connection:
            self._generation = connection.scalar(select(book.c.generation))
            take_up(connection, job, 0, self._taker(self._add))

    def _taker(self, add: Callable[[Record], None]) -> Callable[[int, Record], None]:
        def take(seq: int, record: Record) -> None:
            self._seq = seq
            if isinstance(record, Damaged):
                self.notes.append(Note(seq, "damaged", unit=self.unit))
            if record.id not in self._known:
                add(record)

        return take

    def _write(self, record: Record, may_stand: Callable[[], None]) -> None:
        if found := not_keepable(record):
            raise ValueError(f"the record {shown(record.id)} {found}")
        for last in (False,) * (TRIES - 1) + (True,):
            try:
                with transaction(self._book.engine, writes=True) as connection:
                    seq = self._locked(connection, record)
                    if seq > self._seq:
                        take_up(connection, self._job, self._seq, self._taker(self._add_of_another))
                    may_stand()
                    seq = put_behind(connection, self._job, seq, [] if record.id in self._known else [record])
            except SQLAlchemyError as error:
                if last or not (is_lost(error) or is_beaten(error)):
                    told = f"{self._book.address}, {self.name}: {in_words(error)}"
                    raise unsaved(told, record) from None
            else:
                self._seq = seq
                return

    def _locked(self, connection: Connection, record: Record) -> int:
        """The last seq of the job, which is now locked."""
        generation = select(book.c.generation).scalar_subquery()
        row = connection.execute(
            select(jobs.c.last_seq, generation)
            .where(jobs.c.id == self._job)
            .with_for_update(of=jobs, key_share=True)
        ).one_or_none()
        if row is None or row[1] != self._generation:
            told = f"{self._book.address}, {self.name}: {REPLACED}; open the job anew"
            raise unsaved(told, record)
        return int(row[0])

    def _read_on(self) -> None:
        with self._book.reading() as connection:
            if connection.scalar(select(book.c.generation)) != self._generation:
                found = Fault("", REPLACED, "this log as it was; open the job anew")
                raise BadInput([found], f"{self._book.address}, {self.name}")
            take_up(connection, self._job, self._seq, self._taker(self._add_of_another))
