"""Books for the tests: an empty one of either kind, each test its own.

The PostgreSQL server is named by TRUETHROW_TEST_POSTGRES (`.ci/postgres start FOLDER` starts one and prints it):
an address of a database from which others may be made. Without it the tests on PostgreSQL are skipped; once it is
set, a server that is not there is a failure. Set to `required` it has to be named, or they fail.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import uuid
from pathlib import Path

import invented
import loaded
import pytest

from truethrow.balance.book import jobs, listing, profiles, schema, stock
from truethrow.balance.book.address import Address, of_file
from truethrow.balance.book.booked import BookedJob
from truethrow.balance.book.open import open_book
from truethrow.balance.demo import copy_into
from truethrow.balance.log.place import Outgoing
from truethrow.balance.log.records import Weighed

VARIABLE = "TRUETHROW_TEST_POSTGRES"
KINDS = ("sqlite", "postgresql")


def server() -> str:
    """The address of the server's own database. Skips the test where none is named."""
    named = os.environ.get(VARIABLE, "")
    if not named:
        pytest.skip(f"no PostgreSQL server: {VARIABLE} is not set (.ci/postgres starts one)")
    if named == "required":
        pytest.fail(f"{VARIABLE} has to be the address of a PostgreSQL server")
    return named


def on_server(statement: str, address: str | None = None):
    """Run a statement in the server's own database, or another; its rows, where it has some."""
    import psycopg

    with psycopg.connect(address or server(), autocommit=True, connect_timeout=60) as connection:
        done = connection.execute(statement)
        return done.fetchall() if done.description else None


@contextlib.contextmanager
def fresh(kind: str, folder: Path, like: str = "template1"):
    """The address of an empty database of a kind, or of a copy of another on the server, which is gone
    afterwards."""
    if kind == "sqlite":
        yield f"sqlite:///{folder / 'book.db'}"
        return
    name = f"truethrow_{uuid.uuid4().hex[:12]}"
    on_server(f"CREATE DATABASE {name} TEMPLATE {like}")
    try:
        yield f"{server().rpartition('/')[0]}/{name}"
    finally:
        on_server(f"DROP DATABASE {name} WITH (FORCE)")


@contextlib.contextmanager
def copied(address: str, folder: Path):
    """The address of a copy of a book that nobody has open, which is gone afterwards."""
    if address.startswith("sqlite"):
        shutil.copy(address.removeprefix("sqlite:///"), folder / "copied.db")
        yield f"sqlite:///{folder / 'copied.db'}"
        return
    with fresh("postgresql", folder, like=address.rpartition("/")[2]) as made:
        yield made


@contextlib.contextmanager
def opened(address: str):
    book = open_book(address)
    try:
        yield book
    finally:
        book.close()


@contextlib.contextmanager
def at(path: Path):
    """The embedded book in a file."""
    book = open_book(of_file(path))
    try:
        yield book
    finally:
        book.close()


def job_file(folder: Path, name: str = "launch-7", **tables) -> Path:
    """A V8's job file, in a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{name}.toml"
    path.write_text(invented.text(invented.document(job={"id": name}, **tables)), encoding="utf-8")
    return path


def with_job(book, folder: Path, name: str = "launch-7", **tables) -> str:
    """The id of a V8 that is in a book now."""
    return jobs.add(book, jobs.from_file(job_file(folder / "files", name, **tables))).id


def ways(book):
    """What tells two books apart but for where they are: all rows, the generation aside."""
    from truethrow.balance.book import copies

    with book.reading() as connection:
        return [row for row in copies.rows(connection, schema.HEAD) if row[0] != "book"]


@contextlib.contextmanager
def members(book):
    """A function that opens a book on a server as a new member of a role; they are gone afterwards."""
    made, names = [], []

    def as_(role):
        name = f"truethrow_test_{uuid.uuid4().hex[:8]}"
        on_server(f"CREATE ROLE {name} LOGIN IN ROLE {role}")
        names.append(name)
        made.append(open_book(Address(book.address.url.set(username=name), None)))
        return made[-1]

    try:
        yield as_
    finally:
        for one in made:
            one.close()
        for name in names:
            on_server(f"DROP ROLE {name}")


def process(script: str, *arguments: object) -> loaded.Process:
    """Another station: a script in a process of its own. It prints, and reads lines."""
    return loaded.Process("-c", script, *arguments)


def jobs_of(opened, *, state=None, words=()):
    """The jobs as the commands list them, by id."""
    listed = listing.every_job(opened)
    if words:
        listed = sorted(listing.latest(opened, words).jobs)
    return [job for job in listed if state is None or (job.is_fresh and job.state == state)]


def spoil(address: str, statement: str) -> None:
    """Change rows of a book as somebody would who does not care what it keeps him from."""
    with opened(address) as book, book.writing() as connection:
        for guard in schema.guards_off(connection.dialect.name):
            connection.exec_driver_sql(guard)
        connection.exec_driver_sql(statement)
        for guard in schema.guards_on(connection.dialect.name):
            connection.exec_driver_sql(guard)


def fill(book, folder, count=3):
    """Something in every table."""
    for number in range(1, count + 1):
        with_job(book, folder, f"launch-{number}")
        log = BookedJob(book, f"launch-{number}").open_log(by="AB")
        for cylinder in range(1, 9):
            log.append(Weighed(cylinder, "piston", 538.0 + cylinder / 8, why="x" * 40 * number))
    placed = BookedJob(book, "launch-1")
    placed.write_text(placed.text() + "# " + "long " * 3000 + "\n", placed.text())  # more than a page
    with placed.issuing([Outgoing("station", b"sheet", "t0", "launch-1-station.csv")]):
        pass
    copy_into(folder)
    profiles.keep(book, "station", "floor-1", folder / "station.toml", "AB")
    stock.add(book, [folder / "shelf-rods.csv"], "AB")
    stock.move(book, "rod", "R01", "launch-1", 1)
