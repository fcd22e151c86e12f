"""A row put into a book: into an embedded one as it is; on a server through a function of the database, which
checks it (functions.py). Only there is anybody who may put something in and not anything."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import Connection, Table, insert, text


def is_served(connection: Connection) -> bool:
    """Whether the book is on a server."""
    return connection.dialect.name == "postgresql"


def put(connection: Connection, table: Table, rows: Sequence[Mapping[str, Any]]) -> None:
    """Put rows of one table in, each with its seal and the next number of its own."""
    if not rows:
        return
    if is_served(connection):
        said = [{"row": json.dumps(dict(row), allow_nan=False)} for row in rows]
        connection.execute(text(f"SELECT put_into_{table.name}(CAST(:row AS json))"), said)
    else:
        connection.execute(insert(table), [dict(row) for row in rows])


def ask(connection: Connection, function: str, **arguments: Any) -> Any:
    """What a function of the database on a server answers."""
    given = ", ".join(
        f"CAST(:{name} AS json)" if isinstance(value, list | dict) else f":{name}"
        for name, value in arguments.items()
    )
    said = {
        name: json.dumps(value, allow_nan=False) if isinstance(value, list | dict) else value
        for name, value in arguments.items()
    }
    return connection.execute(text(f"SELECT {function}({given})"), said).scalar()
