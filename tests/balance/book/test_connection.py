"""A connection to a book: every commit is on the disk, and one that fails says what is known of it."""

from __future__ import annotations

import contextlib
import os
import subprocess

import books
import pytest
from bookstation import small_disk
from sqlalchemy import select
from sqlalchemy.exc import DBAPIError

from truethrow.balance.base.errors import BadInput, NotSaved
from truethrow.balance.book import address, connection, jobs, schema
from truethrow.balance.book.address import Address
from truethrow.balance.book.backup import backup
from truethrow.balance.book.booked import BookedJob
from truethrow.balance.book.check import verify
from truethrow.balance.book.connection import transaction
from truethrow.balance.book.open import open_book
from truethrow.balance.book.opened import NobodyKnows
from truethrow.balance.log.records import ZeroRead


def test_the_embedded_book_flushes_every_commit(tmp_path):
    with books.at(tmp_path / "b.db") as book, book.reading() as connection:
        settings = ("journal_mode", "synchronous", "foreign_keys", "busy_timeout", "secure_delete")
        found = [connection.exec_driver_sql(f"PRAGMA {name}").scalar() for name in settings]
        assert found == ["wal", 2, 1, 8_000, 1]


def test_a_server_that_cannot_be_reached_is_told_in_plain_words_and_soon():
    with pytest.raises(BadInput) as refused:
        open_book("postgresql://anna@127.0.0.1:1/shop")
    assert refused.value.lines() == ["postgresql://127.0.0.1:1/shop: the server is gone or cannot be reached"]


@pytest.mark.parametrize(
    ("other", "told"),
    [
        ({"username": "nobody_at_all"}, "the server does not let this user in"),
        ({"database": "none_at_all"}, "the server has no such database"),
        ({"query": {"colour": "red"}}, "the address has an option that is none"),
        ({"query": {"sslmode": "red"}}, "the address has an option that is none"),
        ({"query": {"options": "-c colour=red"}}, "the address has an option that is none"),
        ({"query": {"sslmode": "require"}}, "the server and the address do not agree on SSL"),
    ],
)
def test_a_server_that_gives_no_connection_is_not_told_to_be_gone(other, told):
    given = Address(address.address(books.server()).url.set(**other), None)
    with pytest.raises(BadInput, match=rf": {told}$"):
        open_book(given)


def test_what_never_went_to_the_server_is_not_lost_on_the_way(tmp_path):
    with books.fresh("postgresql", tmp_path) as given, books.opened(given) as book:
        with pytest.raises(DBAPIError) as refused, transaction(book.engine, writes=True) as writing:
            writing.exec_driver_sql("SELECT %s", ("a\0b",))
        assert not connection.is_lost(refused.value)
        assert connection.in_words(refused.value) == "the book does not take it"


def test_of_a_server_lost_at_the_commit_nobody_knows_what_it_did(tmp_path):
    with books.fresh("postgresql", tmp_path) as given, books.opened(given) as book:

        def cut():
            books.on_server(
                "SELECT pg_terminate_backend(pid, 5000) FROM pg_stat_activity"
                f" WHERE datname = '{book.address.url.database}'"
            )

        with pytest.raises(NobodyKnows, match=r"; whether it was written nobody knows"), book.writing() as writing:
            writing.execute(select(schema.book))
            cut()
        with pytest.raises(NotSaved, match=r"; as it was$") as refused, book.writing("as it was") as writing:
            cut()
            writing.execute(select(schema.book))
        assert not isinstance(refused.value, NobodyKnows)


def test_a_writer_sees_what_was_written_before_it_whatever_the_servers_default(tmp_path):
    with books.fresh("postgresql", tmp_path) as given, books.opened(given) as book:
        name = book.address.url.database
        books.on_server(f"ALTER DATABASE {name} SET default_transaction_isolation TO serializable")
        book.close()  # and connects anew
        job = books.with_job(book, tmp_path)
        with transaction(book.engine, writes=True) as first:
            first.execute(select(schema.jobs.c.title)).all()
            find_log = BookedJob(book, job).open_log()
            find_log.append(ZeroRead("start", 0.0))
            assert first.scalar(select(schema.jobs.c.last_seq).with_for_update()) == 2


def test_reading_a_backup_leaves_it_as_it_is_and_writing_makes_it_a_book(tmp_path):
    file, copy = tmp_path / "b.db", tmp_path / "copy.db"
    with books.at(file) as book:
        books.with_job(book, tmp_path)
        backup(book, copy)
    raw = copy.read_bytes()
    with books.at(copy) as book:
        assert jobs.is_there(book, "launch-7")
        assert verify(book).faults == ()
        assert [path.name for path in tmp_path.glob("copy*")] == ["copy.db"]
        assert copy.read_bytes() == raw
        BookedJob(book, "launch-7").open_log().append(ZeroRead("start", 0.0))
        with book.reading() as reading:
            assert reading.exec_driver_sql("PRAGMA journal_mode").scalar() == "wal"


def test_a_book_on_a_medium_that_takes_no_changes_is_read_and_backed_up(tmp_path):
    with contextlib.ExitStack() as stack:
        try:
            disk = stack.enter_context(small_disk(4, tmp_path / "disk"))
        except PermissionError:
            pytest.skip("nobody may mount a disk here")
        with books.at(disk / "b.db") as book:
            books.with_job(book, tmp_path)
        assert [path.name for path in disk.iterdir()] == ["b.db"]
        subprocess.run(["mount", "-o", "remount,ro", disk], check=True, timeout=60)
        with books.at(disk / "b.db") as book:
            assert jobs.is_there(book, "launch-7")
            backup(book, tmp_path / "copy.db")
            with pytest.raises(NotSaved, match="not permitted"):
                BookedJob(book, "launch-7").open_log().append(ZeroRead("start", 0.0))


def test_a_forked_child_leaves_its_parents_connections_alone(book, tmp_path):
    books.with_job(book, tmp_path)
    child = os.fork()
    if child == 0:
        with book.reading() as connection:
            os._exit(0 if connection.scalar(select(schema.jobs.c.id)) == "launch-7" else 1)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0
    with book.reading() as connection:
        assert connection.scalar(select(schema.jobs.c.id)) == "launch-7"
