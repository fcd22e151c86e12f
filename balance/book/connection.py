"""A connection to a book: its settings, a transaction on it, and in plain words what went wrong.

SQLite begins a transaction that writes with its lock (BEGIN IMMEDIATE), so that it never finds out half-way that
another station was quicker; and a commit is on the disk. PostgreSQL is not waited for without end: not to connect,
not for a lock, not for an answer from a server that is gone.
"""

from __future__ import annotations

import contextlib
import random
import sqlite3
import time
from collections.abc import Iterator
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.exc import DBAPIError, SQLAlchemyError
from sqlalchemy.pool import QueuePool

from truethrow.balance.book.address import Address

LONGEST_WAIT_S = 10.0
LONGEST_CONNECT_S = 5
_SERVER = {
    # Milliseconds. A station that froze in the middle of a transaction loses it, and the lock with it.
    "lock_timeout": round(LONGEST_WAIT_S * 1000),
    "statement_timeout": 60_000,
    "idle_in_transaction_session_timeout": 60_000,
    # Whatever the server's own default: what was acknowledged is on its disk.
    "synchronous_commit": "on",
}
_TCP = {
    "connect_timeout": LONGEST_CONNECT_S,
    "keepalives": 1,
    "keepalives_idle": 10,
    "keepalives_interval": 3,
    "keepalives_count": 3,
    "tcp_user_timeout": 15_000,
    "application_name": "truethrow",
}
_GONE = ("57P01", "57P02", "57P03", "57P05")
_IN_WORDS = {
    "55P03": f"locked by another station for {LONGEST_WAIT_S:g} s",
    "57014": "the server took too long and was stopped",
    "25P03": "the server took too long and was stopped",
    "53100": "the server's disk is full",
    "53200": "the server is out of memory",
    "53300": "the server has no connection left",
    "42501": "not permitted",
    "25006": "the server takes no changes now",
    "28000": "the server does not let this user in",
    "28P01": "the server does not let this user in",
    "3D000": "the server has no such database",
    "40001": "another station was quicker",
    "40P01": "another station was quicker",
    "XX001": "the book is damaged",
    "XX002": "the book is damaged",
}
_DAMAGED = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)
_SQLITE_IN_WORDS = {
    sqlite3.SQLITE_BUSY: f"locked by another station for {LONGEST_WAIT_S:g} s",
    sqlite3.SQLITE_LOCKED: f"locked by another station for {LONGEST_WAIT_S:g} s",
    sqlite3.SQLITE_FULL: "the disk is full",
    sqlite3.SQLITE_READONLY: "not permitted",
    sqlite3.SQLITE_PERM: "not permitted",
    sqlite3.SQLITE_AUTH: "not permitted",
    sqlite3.SQLITE_CANTOPEN: "cannot be opened",
    sqlite3.SQLITE_IOERR: "the disk fails",
    sqlite3.SQLITE_CORRUPT: "the book is damaged",
    sqlite3.SQLITE_NOTADB: "is no book, or damaged at its very start",
}


def engine_of(address: Address) -> Engine:
    """The means to connect to a book. One connection is kept, more are made where they are needed."""
    embedded = address.file is not None
    arguments: dict[str, Any] = {"timeout": LONGEST_WAIT_S} if embedded else _server_arguments(address)
    engine = create_engine(
        address.url,
        connect_args=arguments,
        poolclass=QueuePool,
        pool_size=1,
        max_overflow=8,
        pool_pre_ping=not embedded,  # a server that was started anew has dropped the connection that was kept
        hide_parameters=True,
    )
    if embedded:
        event.listen(engine, "connect", _set_up_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
    return engine


def _server_arguments(address: Address) -> dict[str, Any]:
    given = address.url.query
    own = {key: value for key, value in _TCP.items() if key not in given}
    settings = " ".join(f"-c {name}={value}" for name, value in _SERVER.items())
    options = str(given.get("options", ""))
    return own | {"options": f"{settings} {options}".strip()}


def _set_up_sqlite(connection: Any, _: Any) -> None:
    connection.isolation_level = None  # the transactions are ours: see _begin_sqlite
    until = time.monotonic() + LONGEST_WAIT_S
    while True:
        try:
            if connection.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
                connection.execute("PRAGMA journal_mode=WAL")
            break
        except sqlite3.OperationalError as error:
            # Two stations make one book: SQLite does not wait by itself here.
            code = (error.sqlite_errorcode or 0) & 0xFF
            if code not in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED) or time.monotonic() > until:
                raise
            time.sleep(0.01)
    # secure_delete: what a restore replaces must not turn up again when a damaged book is salvaged.
    for setting in ("synchronous=FULL", "foreign_keys=ON", "secure_delete=ON"):
        connection.execute(f"PRAGMA {setting}")


def _begin_sqlite(connection: Connection) -> None:
    if not connection.get_execution_options().get("writes", False):
        connection.exec_driver_sql("BEGIN")
        return
    raw: Any = connection.connection.dbapi_connection
    # SQLite's own waiting backs off, so that of fifty stations the one that has waited longest asks least often.
    raw.execute("PRAGMA busy_timeout=0")
    until = time.monotonic() + LONGEST_WAIT_S
    try:
        while time.monotonic() < until:
            try:
                raw.execute("BEGIN IMMEDIATE")
                return
            except sqlite3.OperationalError as error:
                if _code(error) != sqlite3.SQLITE_BUSY:
                    break
            time.sleep(random.uniform(0.001, 0.005))
        connection.exec_driver_sql("BEGIN IMMEDIATE")  # and whatever is wrong with it is told in the usual way
    finally:
        raw.execute(f"PRAGMA busy_timeout={round(LONGEST_WAIT_S * 1000)}")


@contextlib.contextmanager
def transaction(engine: Engine, *, writes: bool) -> Iterator[Connection]:
    """One transaction, committed at its end. One that reads sees the book as it was at its start."""
    embedded = engine.dialect.name == "sqlite"
    level = {} if embedded or writes else {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
    try:
        with engine.connect().execution_options(writes=writes, **level) as connection, connection.begin():
            yield connection
    except UnicodeDecodeError:
        # What SQLite says of its own tables is no text any more, and so no error of the database's either.
        raise DBAPIError("", None, sqlite3.DatabaseError("could not decode")) from None


def in_words(error: SQLAlchemyError) -> str:
    """What went wrong, in a few plain words. The database's own text, which may hold a row, is not shown."""
    original = error.orig if isinstance(error, DBAPIError) else None
    if isinstance(original, sqlite3.Error):
        code = _code(original)
        return _SQLITE_IN_WORDS.get(code, "the book does not take it" if code else "the book fails")
    state = getattr(original, "sqlstate", None)
    if state in _IN_WORDS:
        return _IN_WORDS[state]
    if state in _GONE or is_lost(error):
        return "the server is gone or cannot be reached"
    return f"the server refuses it ({state})"


def _code(error: sqlite3.Error) -> int:
    """SQLite's number for what went wrong; for a text that is none, of which it knows nothing, that of damage."""
    if "decode" in str(error).lower():
        return sqlite3.SQLITE_CORRUPT
    return (getattr(error, "sqlite_errorcode", None) or 0) & 0xFF


def is_lost(error: SQLAlchemyError) -> bool:
    """Whether the server may have done what was asked, or not: nobody was told."""
    if not isinstance(error, DBAPIError) or isinstance(error.orig, sqlite3.Error):
        return False
    state = getattr(error.orig, "sqlstate", None)
    return error.connection_invalidated or state in _GONE or state is None or state.startswith("08")


def is_beaten(error: SQLAlchemyError) -> bool:
    """Whether another station came between, and the same thing done again may well go through."""
    return isinstance(error, DBAPIError) and getattr(error.orig, "sqlstate", None) in ("40001", "40P01")


def is_damage(error: SQLAlchemyError) -> bool:
    original = error.orig if isinstance(error, DBAPIError) else None
    if isinstance(original, sqlite3.Error):
        return _code(original) in _DAMAGED
    return getattr(original, "sqlstate", None) in ("XX001", "XX002")
