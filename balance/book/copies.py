"""Every row of a book as plain lines of one file, and back again, whatever database holds it.

JSON Lines. The first line says what it is and of which revision, then a line a row, ["records",{…}], table by
table, and at last how many rows there are and the SHA-256 of all lines before. Values stand as the database has
them, so that an older revision can be written and read by a tool that is newer.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import math
import re
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from sqlalchemy import Column, Connection, Float, Integer, text

from truethrow.balance.base.errors import BadInput, Fault, reason, shown
from truethrow.balance.base.files import made_private
from truethrow.balance.base.flushing import to_disk
from truethrow.balance.book import leftovers, schema
from truethrow.balance.book.rows import now

HEADING = "truethrow book"
_BATCH = 500
_NO_TEXT = re.compile("[\0\ud800-\udfff]")  # what no database keeps, or no file
_LARGEST = 2**31  # of the whole numbers that every database holds
Row = tuple[str, dict[str, Any]]


def names(revision: str) -> list[str]:
    """The tables of a book of a revision, those first that others refer to."""
    upto = schema.REVISIONS[: schema.REVISIONS.index(revision) + 1]
    return [table.name for each in upto for table in schema.TABLES[each]]


def rows(connection: Connection, revision: str) -> Iterator[Row]:
    """Every row, as the database has it."""
    for name in names(revision):
        yield from rows_of(connection, name)


def rows_of(connection: Connection, table: str) -> Iterator[Row]:
    """Every row of one table."""
    keys = ", ".join(column.name for column in schema.metadata.tables[table].primary_key)
    found = connection.execute(
        text(f"SELECT * FROM {table} ORDER BY {keys}"), execution_options={"yield_per": _BATCH}
    )
    for row in found.mappings():
        yield table, dict(row)


def put_in(connection: Connection, rows: Iterable[Row]) -> int:
    """Put rows in; how many. They come table by table."""
    count, table = 0, ""
    batch: list[dict[str, Any]] = []
    for name, row in rows:
        if batch and (name != table or len(batch) >= _BATCH or row.keys() != batch[0].keys()):
            _insert(connection, table, batch)
            batch = []
        table = name
        batch.append(row)
        count += 1
    if batch:
        _insert(connection, table, batch)
    return count


def _insert(connection: Connection, table: str, batch: list[dict[str, Any]]) -> None:
    columns = ", ".join(f'"{name}"' for name in batch[0])
    values = ", ".join(f":v_{name}" for name in batch[0])
    connection.execute(
        text(f"INSERT INTO {table} ({columns}) VALUES ({values})"),
        [{f"v_{name}": value for name, value in row.items()} for row in batch],
    )


def write(connection: Connection, path: Path) -> int:
    """Write the book into a file, whole or not at all; how many rows. The connection's transaction must see it as
    at one moment. Raises OSError."""
    from truethrow.balance.book.opened import free, revision_of  # noqa: PLC0415

    revision = revision_of(connection) or schema.HEAD
    temporary = free(path.with_name(f".{path.name}.part"))
    hashed = hashlib.sha256()
    count = 0
    with leftovers.noted(temporary), contextlib.ExitStack() as stack:
        stack.callback(temporary.unlink, missing_ok=True)
        with made_private(temporary).open("wb") as out:

            def put(value: object) -> None:
                line = json.dumps(value, separators=(",", ":"), allow_nan=False).encode("ascii") + b"\n"
                hashed.update(line)
                out.write(line)

            put({HEADING: revision, "at": now()})
            for name, row in rows(connection, revision):
                put([name, row])
                count += 1
            put({"rows": count, "sha256": hashed.hexdigest()})
            out.flush()
            to_disk(out.fileno())
        temporary.replace(path)
    return count


def is_plain(path: Path) -> bool:
    """Whether a file begins as one of ours. Raises BadInput where it cannot be read."""
    try:
        with path.open("rb") as file:
            return file.read(len(HEADING) + 3) == f'{{"{HEADING}"'.encode()
    except OSError as error:
        raise BadInput([Fault("", reason(error))], str(path)) from None


def revision_in(path: Path) -> str:
    """The revision of the book in a file. Raises BadInput for one that this tool does not know."""
    with path.open("rb") as file:
        head = _parsed(file.readline(), path, 1)
    revision = head.get(HEADING) if isinstance(head, dict) else None
    if revision not in schema.REVISIONS:
        raise BadInput([Fault("line 1", f"revision {shown(revision)} is not known", schema.HEAD)], str(path))
    return str(revision)


def read(path: Path) -> Iterator[Row]:
    """The rows in a file. Raises BadInput for a line that is damaged, and for a file that is not whole."""
    known = names(revision_in(path))
    hashed = hashlib.sha256()
    count = 0
    with path.open("rb") as file:
        hashed.update(file.readline())
        for number, line in enumerate(file, start=2):
            said = _parsed(line, path, number)
            if isinstance(said, dict):
                if said != {"rows": count, "sha256": hashed.hexdigest()} or file.readline():
                    raise BadInput([Fault(f"line {number}", "what was copied and what is here differ")], str(path))
                return
            hashed.update(line)
            row = row_in(line, known)
            if row is None:
                raise BadInput([Fault(f"line {number}", "is no row of a book")], str(path))
            count += 1
            yield row
    raise BadInput([Fault("", "is not whole: its last line is missing")], str(path))


def row_in(line: bytes, tables: Iterable[str]) -> Row | None:
    """The row in a line, None where it is none of these tables."""
    try:
        said = json.loads(line)
    except (ValueError, RecursionError):
        return None
    is_one = isinstance(said, list) and len(said) == 2 and said[0] in tuple(tables) and isinstance(said[1], dict)
    return (said[0], said[1]) if is_one and not misfits(said[0], said[1]) else None


def misfits(table: str, row: Mapping[Any, Any]) -> list[str]:
    """What of a row no book can hold, by its columns, as far as can be said without the other rows."""
    columns = schema.metadata.tables[table].columns
    return [str(key) for key in row if key not in columns or not _fits(columns[key], row[key])]


def _fits(column: Column[Any], value: object) -> bool:
    if value is None:
        return bool(column.nullable)
    if isinstance(column.type, Integer):
        return type(value) is int and abs(value) < _LARGEST
    if isinstance(column.type, Float):
        return type(value) is float and math.isfinite(value)
    return isinstance(value, str) and not _NO_TEXT.search(value)


def _parsed(line: bytes, path: Path, number: int) -> Any:
    try:
        said = json.loads(line)
    except (ValueError, RecursionError):
        said = None
    if not isinstance(said, dict | list):
        raise BadInput([Fault(f"line {number}", "is damaged")], str(path))
    return said
