"""The records of the jobs as rows of the book, and back."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from typing import Any

from sqlalchemy import Connection, RowMapping, insert, select, update

from truethrow.balance.book.schema import jobs, records
from truethrow.balance.log.damage import damaged
from truethrow.balance.log.lines import line, raw_of
from truethrow.balance.log.records import DAMAGED, Record

# Beyond this nothing is a cylinder, and no column holds it.
MOST_CYLINDERS = 2**31 - 1
NO_SEAL = "damaged"


def seal_of(record: Record) -> str:
    """The checksum that the record's line in a file ends with."""
    return line(record)[-11:-3].decode("ascii")


def row_of(job: str, seq: int, record: Record) -> dict[str, Any]:
    # No seal fits a damaged line, also in a book that it is taken into.
    seal = NO_SEAL if record.action == DAMAGED else seal_of(record)
    return {"job": job, "seq": seq, "seal": seal} | record._asdict()


def record_of(row: RowMapping) -> Record:
    """The record of a row; where its seal says that it is damaged, what stands for a damaged line."""
    record = Record(*(row[name] for name in Record._fields))
    try:
        if record.action == DAMAGED and row["seal"] == NO_SEAL:
            return damaged(raw_of(record), row["seq"])
        if seal_of(record) == row["seal"]:
            return record
    except (ValueError, TypeError):  # grams that are no number any more
        pass
    return damaged(_line_of(record, str(row["seal"])), row["seq"])


def _line_of(record: Record, seal: str) -> bytes:
    """The line that a row would have in a file, its seal as it is."""
    said = {name: value for name, value in record._asdict().items() if value not in ("", None)}
    text = json.dumps({"id": record.id} | said, separators=(",", ":"), default=repr)[:-1].encode("ascii")
    return text + b',"crc":' + json.dumps(seal).encode("ascii") + b"}"


def not_keepable(record: Record) -> str:
    """Why no book can hold a record, empty where one can. By the bench nothing such is ever written."""
    if any("\0" in value for value in record if isinstance(value, str)):
        return "holds a character that no book keeps"
    if any("\ud800" <= letter <= "\udfff" for value in record if isinstance(value, str) for letter in value):
        return "holds half a character"
    if record.cylinder is not None and abs(record.cylinder) > MOST_CYLINDERS:
        return "is of no cylinder"
    return ""


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
