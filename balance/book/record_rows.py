"""The records of the jobs as rows of the book, and back: the text of each is that of its line in a file."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any, TypeAlias

from sqlalchemy import Connection, RowMapping, insert, select, update

from truethrow.balance.book.schema import jobs, records
from truethrow.balance.log import lines
from truethrow.balance.log.damage import damaged
from truethrow.balance.log.records import HEAD, Damaged, Record, own_names

Row: TypeAlias = RowMapping | Mapping[str, Any]
# Beyond this nothing is a cylinder, and no view holds it.
MOST_CYLINDERS = 2**31 - 1
NO_SEAL = "damaged"


def row_of(job: str, seq: int, record: Record) -> dict[str, Any]:
    text, seal = lines.parted(lines.line(record))
    if isinstance(record, Damaged):
        # No seal fits a damaged line, also in a book that it is taken into.
        text, seal = record.raw.decode("latin-1").encode("unicode_escape").decode("ascii"), NO_SEAL
    own = {"id": record.id, "at": record.at, "action": record.action}
    return {"job": job, "seq": seq, **own, "text": text, "seal": seal}


def sound_in(row: Row) -> Record | None:
    """The record of a row, None where its text, or what stands beside it, is not what was written."""
    record = lines.record_in(_line_of(row))
    if record is None or (record.id, record.at, record.action) != (row["id"], row["at"], row["action"]):
        return None
    return record


def record_of(row: Row) -> Record:
    """The record of a row; where it is damaged, what stands for a damaged line."""
    if (record := sound_in(row)) is not None:
        return record
    if row["action"] == Damaged.action and row["seal"] == NO_SEAL:
        text = str(row["text"]).encode("ascii", "backslashreplace").decode("unicode_escape")
        return damaged(text.encode("latin-1", "backslashreplace"), row["seq"])
    raw = _line_of(row)
    # Where the text is as it was, what stands beside it is not: the line must not count in a file either.
    return damaged(raw if lines.record_in(raw) is None else raw + b"!", row["seq"])


def _line_of(row: Row) -> bytes:
    """The line that a row would have in a file, its seal as it is."""
    return lines.joined(str(row["text"]), str(row["seal"]))


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


def take_up(connection: Connection, job: str, after: int, take: Callable[[int, Record], None]) -> None:
    """Give each record of a job after a seq to take, in order."""
    found = connection.execute(
        select(records).where(records.c.job == job, records.c.seq > after).order_by(records.c.seq)
    )
    for row in found.mappings():
        take(row["seq"], record_of(row))


def all_of(connection: Connection, job: str) -> list[Record]:
    """The records of a job, in order, damaged ones among them."""
    found: list[Record] = []
    take_up(connection, job, 0, lambda _, record: found.append(record))
    return found


def put_behind(connection: Connection, job: str, last_seq: int, fresh: Iterable[Record]) -> int:
    """Put records behind those that a job has, whose lock is held; the seq of the last one then."""
    rows = [row_of(job, seq, record) for seq, record in enumerate(fresh, start=last_seq + 1)]
    if rows:
        connection.execute(insert(records), rows)
    # Also for none: a commit that writes takes with it to the disk what a killed station may have left half-way.
    connection.execute(update(jobs).where(jobs.c.id == job).values(last_seq=last_seq + len(rows)))
    return last_seq + len(rows)
