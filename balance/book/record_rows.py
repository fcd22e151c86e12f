"""The records of the jobs as rows of the book, and back: the text of each is that of its line in a file."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, TypeAlias

from sqlalchemy import Connection, RowMapping, insert, select, text, update

from truethrow.balance.book.putting import ask, is_served
from truethrow.balance.book.rows import now
from truethrow.balance.book.schema import jobs, records
from truethrow.balance.log import lines
from truethrow.balance.log.chain import Head
from truethrow.balance.log.damage import missing
from truethrow.balance.log.log import Log, unsaved
from truethrow.balance.log.records import HEAD, Damaged, Record, own_names

Row: TypeAlias = RowMapping | Mapping[str, Any]
# Beyond this nothing is a cylinder, and no view holds it.
MOST_CYLINDERS = 2**31 - 1
NO_SEAL = "damaged"


def row_of(job: str, seq: int, record: Record) -> dict[str, Any]:
    """The row of a record that was written."""
    text, seal = lines.parted(record.raw)
    if isinstance(record, Damaged):
        # No seal fits a damaged line, also in a book that it is taken into.
        text, seal = record.raw.decode("latin-1").encode("unicode_escape").decode("ascii"), NO_SEAL
    own = {"id": record.id, "at": record.at, "action": record.action}
    return {"job": job, "seq": seq, **own, "text": text, "seal": seal}


def raw_of(row: Row) -> bytes:
    """The line that a row would have in a file. Where its text is as it was, but what stands beside it is not, one
    whose seal does not fit: it must not count in a file either."""
    if row["action"] == Damaged.action and row["seal"] == NO_SEAL:
        text = str(row["text"]).encode("ascii", "backslashreplace").decode("unicode_escape")
        return text.encode("latin-1", "backslashreplace")
    raw = lines.joined(str(row["text"]), str(row["seal"]))
    record = lines.record_in(raw)
    if record is not None and (record.id, record.at, record.action) != (row["id"], row["at"], row["action"]):
        return raw + b"!"
    return raw


def sound_in(row: Row) -> Record | None:
    """The record of a row by itself, None where its text, or what stands beside it, is not what was written."""
    return None if row["action"] == Damaged.action else lines.record_in(raw_of(row))


def not_keepable(record: Record) -> str:
    """Why no book can hold a record, empty where one can. By the bench nothing such is ever written."""
    if isinstance(record, Damaged):
        return ""
    said = list(_texts([getattr(record, name) for name in (*HEAD, *own_names(type(record)))]))
    if any("\0" in text for text in said):
        return "holds a character that no book keeps"
    if any("\ud800" <= letter <= "\udfff" for text in said for letter in text):
        return "holds half a character"
    if abs(getattr(record, "cylinder", 0)) > MOST_CYLINDERS:
        return "is of no cylinder"
    return ""


def _texts(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        yield from _texts([*value.keys(), *value.values()])
    elif isinstance(value, list | tuple):
        for one in value:
            yield from _texts(one)


class RowLog(Log):
    """The log of a job as the rows of a book have it; it is only looked at."""

    unit = "record"

    def __init__(self, job: str, name: str = "", bench: str = "bench", by: str = "") -> None:
        super().__init__(name or f"the log of job {job}", bench, by)
        self._job = job
        self.seq = 0  # everything up to here is known

    def whose(self) -> str:
        return self._job

    def take_up(self, connection: Connection) -> None:
        """Take up the rows behind those that are known, and hold their end against the one that the book knows."""
        own = select(records).where(records.c.job == self._job, records.c.seq > self.seq).order_by(records.c.seq)
        for row in connection.execute(own).mappings():
            self.take_row(row)
        known = connection.execute(select(*HEAD_OF).where(jobs.c.id == self._job)).one_or_none()
        if known is not None:
            self.must_end_with(Head(*known))

    def take_row(self, row: Row) -> None:
        # A number that is none any more, of a damaged row, is the next one: no seal covers it.
        self.seq = row["seq"] if type(row["seq"]) is int else self.seq + 1
        self._take(raw_of(row), self.seq)

    def must_end_with(self, head: Head) -> None:
        """Hold the end against the one that the book knows of: behind another one records are missing."""
        lost = missing(head.seal or "all", self.seq + 1)
        if head != self.head and lost.id not in self._known:
            self._note(lost.number, "missing")
            self._add(lost)

    def _write(self, record: Record, may_stand: Callable[[], None]) -> list[tuple[int, bytes]]:
        raise unsaved(f"{self.name}: is only looked at", record)

    def _read_on(self) -> None:
        """There is no more."""


HEAD_OF = (jobs.c.head, jobs.c.head_count)


def log_of(connection: Connection, job: str) -> RowLog:
    """The log of a job, damaged records among its own."""
    log = RowLog(job)
    log.take_up(connection)
    return log


def put_behind(
    connection: Connection, job: str, last_seq: int, fresh: Sequence[Record], head: Head, *, of_file: bool = False
) -> int:
    """Put records behind those that a job has, whose lock is held; the seq of the last one then. head: of its log
    with them; of_file: they come with a file, whose log may be damaged, or of another's hand."""
    rows = [row_of(job, seq, record) for seq, record in enumerate(fresh, start=last_seq + 1)]
    if is_served(connection):
        return _put_by_server(connection, job, rows, head, of_file) if rows else last_seq
    if rows:
        connection.execute(insert(records), rows)
    # Also for none: a commit that writes takes with it to the disk what a killed station may have left half-way.
    stands: dict[str, Any] = {"last_seq": last_seq + len(rows), "head": head.seal, "head_count": head.records}
    stands |= {"active_at": now()} if rows else {}
    connection.execute(update(jobs).where(jobs.c.id == job).values(**stands))
    return last_seq + len(rows)


_MAY_TAKE_IN = text("SELECT has_function_privilege('take_in_records(text, json, integer, text)', 'EXECUTE')")


def _put_by_server(connection: Connection, job: str, rows: list[dict[str, Any]], head: Head, of_file: bool) -> int:
    """Have the server put records in. What a bench writes it numbers, checks and chains; what came with a file it
    takes as it is from whoever may add jobs."""
    if of_file and connection.scalar(_MAY_TAKE_IN):
        seq = ask(connection, "take_in_records", job=job, lines=rows, counted=head.records, seal=head.seal)
    else:
        seq = ask(connection, "append_records", job=job, lines=rows, counted=head.records)
    return int(seq)
