"""A connection to a book: its settings, a transaction on it, and in plain words what went wrong.

SQLite begins a transaction that writes with its lock (BEGIN IMMEDIATE), so that it never finds out half-way that
another station was quicker; and a commit is on the disk. A file that is only read stays as it is: it becomes one
for several stations at once (WAL) with the first that is written. PostgreSQL is not waited for without end: not to
connect, not for a lock, not for an answer from a server that is gone.
"""

from __future__ import annotations

import contextlib
import os
import random
import re
import sqlite3
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.exc import DBAPIError, InterfaceError, OperationalError, SQLAlchemyError
from sqlalchemy.pool import QueuePool

from truethrow.balance.base import dry_run
from truethrow.balance.base.waiting import Wait
from truethrow.balance.book.address import Address

LONGEST_WAIT_S = 8.0  # of a lock; less than what a silent server is waited for (answering.py)
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
_REFUSED = "TT001"
_GONE = ("57P01", "57P02", "57P03", "57P05")
_IN_WORDS = {
    "55P03": f"locked by another station for {LONGEST_WAIT_S:g} s",
    "57014": "the server took too long and was stopped",
    "25P03": "the server took too long and was stopped",
    "53100": "the server's disk is full",
    "53200": "the server is out of memory",
    "42501": "not permitted",
    "25006": "the server takes no changes now",
    "40001": "another station was quicker",
    "40P01": "another station was quicker",
    "XX001": "the book is damaged",
    "XX002": "the book is damaged",
}
# Before there is a connection libpq gives no number, but the words of the server, or its own.
_NOT_CONNECTED = (
    (
        r"authentication failed|no password supplied|role .* does not exist|no pg_hba\.conf entry"
        r"|not permitted to log in|permission denied for database",
        "the server does not let this user in",
    ),
    (r"database .* does not exist|not currently accepting connections", "the server has no such database"),
    (r"too many (clients|connections)|remaining connection slots", "the server has no connection left"),
    (r"SSL was required|certificate verify failed", "the server and the address do not agree on SSL"),
    (
        r"invalid connection option|invalid .* value|unrecognized configuration parameter"
        r"|invalid value for parameter|definition of service",
        "the address has an option that is none",
    ),
)
_DAMAGED = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)
# Of the disk that the book is on.
OF_THE_DISK = ("the disk is full", "the disk fails")
# What SQLite says of a book beside which it cannot make the files that it needs, also to read.
SHUT = ("not permitted", "cannot be opened")
_SQLITE_IN_WORDS = {
    sqlite3.SQLITE_BUSY: f"locked by another station for {LONGEST_WAIT_S:g} s",
    sqlite3.SQLITE_LOCKED: f"locked by another station for {LONGEST_WAIT_S:g} s",
    sqlite3.SQLITE_FULL: OF_THE_DISK[0],
    sqlite3.SQLITE_READONLY: SHUT[0],
    sqlite3.SQLITE_PERM: SHUT[0],
    sqlite3.SQLITE_AUTH: SHUT[0],
    sqlite3.SQLITE_CANTOPEN: SHUT[1],
    sqlite3.SQLITE_IOERR: OF_THE_DISK[1],
    sqlite3.SQLITE_CORRUPT: "the book is damaged",
    sqlite3.SQLITE_NOTADB: "is no book, or damaged at its very start",
}


def engine_of(address: Address) -> Engine:
    """The means to connect to a book. One connection is kept, more are made where they are needed."""
    file = address.file
    own: dict[str, Any] = (
        # A server that was started anew has dropped the connection that was kept.
        {"connect_args": _server_arguments(address), "pool_pre_ping": True}
        if file is None
        else {"creator": lambda: connect(file, "rwc")}
    )
    engine = create_engine(
        address.url, poolclass=QueuePool, pool_size=1, max_overflow=8, hide_parameters=True, **own
    )
    if file is not None:
        event.listen(engine, "connect", _set_up_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
    else:
        event.listen(engine, "do_connect", _connect_to_server)
    return engine


def _connect_to_server(_dialect: Any, _record: Any, arguments: Any, more: Any) -> Any:
    from truethrow.balance.book.answering import connect as call  # noqa: PLC0415 (psycopg, for a server)

    return call(*arguments, **more)


def _server_arguments(address: Address) -> dict[str, Any]:
    given = address.url.query
    own = {key: value for key, value in _TCP.items() if key not in given}
    settings = " ".join(f"-c {name}={value}" for name, value in _SERVER.items())
    options = str(given.get("options", ""))
    return own | {"options": f"{settings} {options}".strip()}


def connect(file: Path, mode: str) -> sqlite3.Connection:
    """A connection to the file of an embedded book. mode: SQLite's, ro or rwc."""
    how = "ro&immutable=1" if _never_changes(file) else mode
    # A connection of the pool goes from thread to thread, one at a time.
    return sqlite3.connect(
        f"{file.absolute().as_uri()}?mode={how}", uri=True, timeout=LONGEST_WAIT_S, check_same_thread=False
    )


def _never_changes(file: Path) -> bool:
    """Whether a book can be read without the files beside it that SQLite else makes and locks: it is on a medium
    that takes no changes from anybody, and nothing of it waits in the file beside."""
    if sys.platform == "win32":
        return False
    beside = file.with_name(file.name + "-wal")
    try:
        is_fixed = bool(os.statvfs(file).f_flag & os.ST_RDONLY)
        return is_fixed and not (beside.exists() and beside.stat().st_size)
    except OSError:
        return False


def _set_up_sqlite(connection: Any, _: Any) -> None:
    connection.isolation_level = None  # the transactions are ours: see _begin_sqlite
    # fullfsync, checkpoint_fullfsync: of macOS alone, see base/flushing.py.
    # secure_delete: what a restore replaces must not turn up again when a damaged book is salvaged.
    for setting in (
        "synchronous=FULL",
        "foreign_keys=ON",
        "secure_delete=ON",
        "fullfsync=ON",
        "checkpoint_fullfsync=ON",
    ):
        _patiently(connection, f"PRAGMA {setting}")


def _patiently(raw: Any, statement: str) -> None:
    """Execute a statement that may have to wait for others. SQLite's own waiting backs off, so that of fifty
    stations the one that has waited longest asks least often; and Ctrl-C does not come through it."""
    wait = Wait("another station to let go of the book", LONGEST_WAIT_S)
    raw.execute("PRAGMA busy_timeout=0")
    try:
        while True:
            try:
                raw.execute(statement)
                return
            except sqlite3.OperationalError as error:
                if _code(error) not in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED) or wait.is_over():
                    raise
            time.sleep(random.uniform(0.001, 0.005))
    finally:
        raw.execute(f"PRAGMA busy_timeout={round(LONGEST_WAIT_S * 1000)}")


def _begin_sqlite(connection: Connection) -> None:
    raw: Any = connection.connection.dbapi_connection
    try:
        if not connection.get_execution_options().get("writes", False):
            raw.execute("BEGIN")
            _patiently(raw, "SELECT 1 FROM sqlite_master LIMIT 1")  # from here on what is read waits for nobody
            return
        _patiently(raw, "PRAGMA journal_mode=WAL")
        _patiently(raw, "BEGIN IMMEDIATE")
    except sqlite3.Error as error:
        raise DBAPIError.instance("", None, error, sqlite3.Error) from None


@contextlib.contextmanager
def transaction(engine: Engine, *, writes: bool) -> Iterator[Connection]:
    """One transaction, committed at its end; taken back in a dry run. One that reads sees the book as it was at
    its start; one that writes sees, once it has a lock, all that those before it wrote, whatever the server's own
    default."""
    level: dict[str, Any] = {}
    if engine.dialect.name != "sqlite":
        level = {"isolation_level": "READ COMMITTED" if writes else "REPEATABLE READ"}
        level |= {} if writes else {"postgresql_readonly": True}
    try:
        if dry_run.is_on() and (writes or _ahead(engine) in _AHEAD):
            yield _not_committed(engine, level)
            return
        with engine.connect().execution_options(writes=writes, **level) as connection, connection.begin():
            yield connection
    except UnicodeDecodeError:
        # What SQLite says of its own tables is no text any more, and so no error of the database's either.
        raise DBAPIError("", None, sqlite3.DatabaseError("could not decode")) from None


# Of a dry run: by the book's address the transaction that is never committed. All that it reads later it reads
# there, so that it sees what it would have written.
_AHEAD: dict[str, Connection] = {}


def _ahead(engine: Engine) -> str:
    return engine.url.render_as_string(hide_password=False)


def _not_committed(engine: Engine, level: dict[str, Any]) -> Connection:
    if (own := _ahead(engine)) not in _AHEAD:
        _AHEAD[own] = connection = engine.connect().execution_options(writes=True, **level)
        connection.begin()
        dry_run.at_the_end(lambda: _AHEAD.pop(own).close())
    return _AHEAD[own]


@contextlib.contextmanager
def bytes_for_no_text(connection: Connection) -> Iterator[None]:
    """While this lasts, what stands in an embedded book as text and is none comes as bytes, so that the row can be
    told, and those behind it read."""
    raw: Any = connection.connection.dbapi_connection
    if connection.dialect.name == "sqlite":
        raw.text_factory = _text_or_bytes
    try:
        yield
    finally:
        if connection.dialect.name == "sqlite":
            raw.text_factory = str


def _text_or_bytes(raw: bytes) -> str | bytes:
    try:
        return raw.decode()
    except UnicodeDecodeError:
        return raw


def in_words(error: SQLAlchemyError) -> str:
    """What went wrong, in a few plain words. The database's own text, which may hold a row, is not shown."""
    original = error.orig if isinstance(error, DBAPIError) else None
    if isinstance(original, sqlite3.Error):
        code = _code(original)
        return _SQLITE_IN_WORDS.get(code, "the book does not take it" if code else "the book fails")
    state = getattr(original, "sqlstate", None)
    if state in _IN_WORDS:
        return _IN_WORDS[state]
    if state == _REFUSED or is_silent(error):  # in our own words: of a function in the book, or of answering.py
        said: Any = original
        return f"the server does not take it: {said.diag.message_primary}" if state else str(said)
    if state in _GONE or is_lost(error):
        return "the server is gone or cannot be reached"
    if state is None:
        return _not_connected(error) or "the book does not take it"
    return f"the server refuses it ({state})"


def _not_connected(error: SQLAlchemyError) -> str:
    """Why a server that was reached gave no connection, empty where it is not known."""
    said = str(error.orig) if isinstance(error, DBAPIError) else ""
    return next((words for pattern, words in _NOT_CONNECTED if re.search(pattern, said)), "")


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
    if error.connection_invalidated or state in _GONE:
        return True
    if state is None:  # of the line, but also of what never went to the server at all
        return isinstance(error, OperationalError | InterfaceError) and not _not_connected(error)
    return bool(state.startswith("08"))


def is_silent(error: SQLAlchemyError) -> bool:
    """Whether a server that had answered does not any more: to ask again is to wait again."""
    return isinstance(error, DBAPIError) and type(error.orig).__name__ == "NoAnswer"  # without loading psycopg


def is_beaten(error: SQLAlchemyError) -> bool:
    """Whether another station came between, and the same thing done again may well go through."""
    return isinstance(error, DBAPIError) and getattr(error.orig, "sqlstate", None) in ("40001", "40P01")


def is_damage(error: SQLAlchemyError) -> bool:
    original = error.orig if isinstance(error, DBAPIError) else None
    if isinstance(original, sqlite3.Error):
        return _code(original) in _DAMAGED
    return getattr(original, "sqlstate", None) in ("XX001", "XX002")
