"""A book is opened: made where it is new, brought up to date where it is older, refused where it is another's."""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import sqlite3
import subprocess
import sys
import time
import uuid
from pathlib import Path

import books
import pytest
from sqlalchemy import inspect
from sqlalchemy.exc import DBAPIError

from truethrow.balance.base import settings
from truethrow.balance.base.errors import BadInput, NotSaved
from truethrow.balance.book import address, connection, copies, jobs, schema
from truethrow.balance.book import open as opening
from truethrow.balance.book.address import Address, of_file
from truethrow.balance.book.booked import find
from truethrow.balance.book.check import verify
from truethrow.balance.book.open import migrate, open_book
from truethrow.balance.book.opened import Book, revision_of
from truethrow.balance.book.rows import sealed
from truethrow.balance.book.stock import Loose, add, find_parts
from truethrow.balance.demo import copy_into
from truethrow.balance.job.job import load


def test_the_embedded_book_needs_no_set_up(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data" / "of the user"))
    monkeypatch.delenv(address.VARIABLE, raising=False)
    opened = open_book()
    assert opened.address.file == settings.own_book()
    books.with_job(opened, tmp_path)
    opened.close()
    placed = find("launch-7")
    assert load(placed).digest == load(tmp_path / "files" / "launch-7.toml").digest
    placed.book.close()


def test_looking_for_a_job_makes_no_book(tmp_path, monkeypatch):
    monkeypatch.setenv(address.VARIABLE, f"sqlite:///{tmp_path}/none/book.db")
    with pytest.raises(BadInput, match=r"^job launch-8: no such file.*there is no book yet"):
        find("launch-8")
    assert list(tmp_path.iterdir()) == []


def test_a_job_that_is_not_there_is_one_line_with_the_book_and_how_to_list(book, book_address, monkeypatch):
    monkeypatch.setenv(address.VARIABLE, book_address)
    with pytest.raises(BadInput) as refused:
        find("launch-8")
    (line,) = refused.value.lines()
    assert line.startswith(f"{book.address}: job launch-8: ")
    assert "truethrow book list" in line


def test_a_book_that_is_up_to_date_is_opened_without_alembic(book_address):
    open_book(book_address).close()
    script = (
        "import sys; from truethrow.balance.book.open import open_book; open_book(sys.argv[1]).close();"
        "print(any(name.startswith('alembic') for name in sys.modules))"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, book_address], capture_output=True, text=True, check=True, timeout=300
    )
    assert done.stdout == "False\n"


def test_a_job_that_is_a_file_needs_no_database(tmp_path):
    job, sheet = copy_into(tmp_path)
    script = (
        "import sys; from truethrow.cli.main import app\n"
        "try: app()\n"
        "finally: sys.stderr.write(str([n for n in sys.modules if n.split('.')[0] in"
        " ('sqlalchemy', 'alembic', 'psycopg')]))"
    )
    for command in ("hang", "work", "send"):
        done = subprocess.run(
            [sys.executable, "-c", script, command, job, "--sheet", sheet],
            capture_output=True,
            text=True,
            check=False,
            timeout=300,
        )
        assert done.stderr == "[]"
        assert "digest" in done.stdout or "Written" in done.stdout


def older(book_address: str) -> Book:
    """A book of the first revision, with a job in it."""
    made = Book(address.address(book_address))
    with made.writing() as connection:
        migrate(connection, "0011")
        once = {"one": 1, "generation": "first", "made_at": "2026-01-01T00:00:00.000Z"}
        once |= {"revisions_after": 0}
        job = dict.fromkeys((c.name for c in schema.jobs.columns), "") | {
            "id": "launch-7",
            "revision": 1,
            "last_seq": 0,
            "head_count": 0,
        }
        said = {"encoding": "utf-8", "text": 'job.id="launch-7"\r\n'}
        text = sealed(job="launch-7", revision=1, before=0, at="", by="AB", **said)
        copies.put_in(connection, [("book", once), ("jobs", job), ("job_revisions", text)])
    return made


def test_an_older_book_is_brought_up_to_date_and_a_copy_kept(book_address, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    older(book_address).close()
    with books.opened(book_address) as book:
        assert jobs.document(book, "launch-7").as_bytes() == b'job.id="launch-7"\r\n'
        copy_into(tmp_path)
        add(book, [tmp_path / "shelf-rods.csv"])
        assert isinstance(find_parts(book, "rod")[0], Loose)
        assert book.generation == "first"
    open_book(book_address).close()
    kept = [*tmp_path.glob("book-0011-*.db"), *(tmp_path / "data").glob("truethrow/copies/*-0011-*.jsonl")]
    assert len(kept) == 1
    from truethrow.balance.book.backup import source

    with source(kept[0]) as copy:  # which brings its own copy up to date
        assert jobs.document(copy, "launch-7").as_bytes() == b'job.id="launch-7"\r\n'


def test_an_update_that_fails_leaves_the_book_as_it_was(book_address, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    made = older(book_address)
    monkeypatch.setattr(schema, "views", lambda _: [])
    monkeypatch.setattr(
        schema, "guards", lambda *_: ["CREATE TABLE stock (one INTEGER)"]
    )  # which is there by then
    with pytest.raises(NotSaved, match="the book is as it was"):
        open_book(book_address)
    monkeypatch.undo()
    with made.reading() as connection:
        assert set(inspect(connection).get_table_names()) == {
            "alembic_version",
            "book",
            "jobs",
            "job_words",
            "job_revisions",
            "records",
        }
    made.close()
    assert copies_in(tmp_path) == []


def copies_in(folder):
    """The copies of older books in a test's folder, and in the data folder inside it."""
    return [*folder.glob("book-*.db"), *(folder / "data").glob("truethrow/copies/*")]


def test_who_may_not_bring_an_older_book_up_to_date_leaves_no_copy_each_time(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    reader = f"truethrow_test_{uuid.uuid4().hex[:8]}"
    with books.fresh("postgresql", tmp_path) as given:
        made = older(given)
        books.on_server(f"CREATE ROLE {reader} LOGIN")
        try:
            with made.writing() as writing:
                writing.exec_driver_sql(f"GRANT SELECT ON ALL TABLES IN SCHEMA public TO {reader}")
            with pytest.raises(
                NotSaved, match=r"older truethrow \(revision 0011\); its owner has to open it once"
            ):
                open_book(Address(made.address.url.set(username=reader), None))
            assert copies_in(tmp_path) == []
        finally:
            made.close()
            books.on_server(f"DROP OWNED BY {reader}; DROP ROLE {reader}", given)


def test_a_large_book_on_a_server_has_the_time_it_takes(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    for name in ("statement_timeout", "idle_in_transaction_session_timeout"):
        monkeypatch.setitem(connection._SERVER, name, 2000)  # ms; many times what any other statement takes
    as_it_is = opening.keep_a_copy

    def slow(*arguments):
        time.sleep(3)
        return as_it_is(*arguments)

    monkeypatch.setattr(opening, "keep_a_copy", slow)
    with books.fresh("postgresql", tmp_path) as given:
        older(given).close()
        with books.opened(given) as book:
            assert verify(book).rows["jobs"] == 1


def test_the_copy_of_a_database_has_a_name_that_a_file_may_have(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    name = f"x/{uuid.uuid4().hex[:8]} %c"
    books.on_server(f'CREATE DATABASE "{name}"')
    try:
        given = Address(address.address(books.server()).url.set(database=name), None)
        with books.opened(given) as book:
            kept = opening.keep_a_copy(book, opening._place_of_copy(book, schema.HEAD))
            assert kept.parent == tmp_path / "data" / "truethrow" / "copies"
            assert kept.name.startswith("x_")
    finally:
        books.on_server(f'DROP DATABASE "{name}" WITH (FORCE)')


def test_a_database_of_others_who_use_alembic_is_none_of_ours(book_address):
    made = Book(address.address(book_address))
    with made.writing() as writing:
        writing.exec_driver_sql("CREATE TABLE alembic_version (version_num VARCHAR(32))")
        writing.exec_driver_sql("INSERT INTO alembic_version VALUES ('ab12cd')")
    made.close()
    with pytest.raises(BadInput, match=r"holds another's tables or views; it is no book of jobs$"):
        open_book(book_address)


def test_what_was_last_written_into_a_book_is_not_swallowed_by_a_new_one(tmp_path):
    (tmp_path / "b.db-wal").write_bytes(b"what was last written")
    with pytest.raises(
        BadInput, match=r"b\.db: there is no book, but b\.db-wal, .*; allowed: that file beside its"
    ):
        open_book(of_file(tmp_path / "b.db"))
    assert [path.name for path in tmp_path.iterdir()] == ["b.db-wal"]


def test_a_newer_book_and_another_database_are_refused_in_one_line(book_address):
    made = open_book(book_address)
    with made.writing() as connection:
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '0099'")
    with pytest.raises(BadInput) as refused:
        open_book(book_address)
    assert refused.value.lines() == [
        f"{made.address}: the book is of a newer truethrow (revision 0099); allowed: revision {schema.HEAD}, "
        "or a newer truethrow"
    ]
    with made.writing() as connection:
        connection.exec_driver_sql("DROP TABLE alembic_version")
    with pytest.raises(BadInput, match=r"holds another's tables or views; it is no book of jobs$"):
        open_book(book_address)
    made.close()


def test_stations_that_make_one_book_at_the_same_time_make_one(book_address):
    script = (
        "import sys; from truethrow.balance.book.open import open_book; sys.stdin.readline();"
        "made = open_book(sys.argv[1]); print(made.generation); made.close()"
    )
    started = [books.process(script, book_address) for _ in range(4)]
    for one in started:
        one.stdin.write("\n")
        one.stdin.flush()
    found = {one.communicate()[0].strip() for one in started}
    assert [one.returncode for one in started] == [0] * 4
    with books.opened(book_address) as book:
        assert found == {book.generation}


def test_where_a_copy_finds_no_room_its_folder_is_named_and_the_book_is_as_it_was(book_address, monkeypatch):
    made = older(book_address)

    def full(*_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(opening, "keep_a_copy", full)
    with pytest.raises(NotSaved) as refused:
        open_book(book_address)
    folder = made.address.file.parent if made.address.file else settings.data_folder() / "copies"
    assert str(refused.value) == (
        f"{folder}: no space left on device, and a copy of the book goes there first; the book is as it was"
    )
    with made.reading() as connection:
        assert revision_of(connection) == "0011"
    made.close()


def test_a_disk_that_is_full_is_named(tmp_path):
    with books.at(tmp_path / "book.db") as book:
        full = sqlite3.OperationalError("full")
        full.sqlite_errorcode = sqlite3.SQLITE_FULL
        assert book.said(DBAPIError("", None, full)) == f"the disk is full: {tmp_path}"


def test_a_database_of_nothing_but_views_is_not_empty(book_address):
    made = Book(address.address(book_address))
    with made.writing() as connection:
        connection.exec_driver_sql("CREATE VIEW theirs AS SELECT 1 AS one")
    made.close()
    with pytest.raises(BadInput, match=r"another's tables or views; it is no book of jobs$"):
        open_book(book_address)


def test_another_programs_database_is_not_touched(tmp_path):
    with contextlib.closing(sqlite3.connect(tmp_path / "x.db")) as other:
        other.execute("CREATE TABLE theirs (one INTEGER)")
    raw = (tmp_path / "x.db").read_bytes()
    with pytest.raises(BadInput, match="another's tables"):
        open_book(of_file(tmp_path / "x.db"))
    assert (tmp_path / "x.db").read_bytes() == raw


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root becomes somebody else")
def test_a_book_in_a_folder_that_one_may_only_read_says_how_it_can_be_read(tmp_path):
    folder = Path(f"/tmp/truethrow-{uuid.uuid4().hex}")
    folder.mkdir(mode=0o755)
    try:
        with books.at(folder / "b.db") as book:
            books.with_job(book, tmp_path)
        forked = os.fork()
        if forked == 0:
            try:
                os.setgid(65534)
                os.setuid(65534)
                open_book(of_file(folder / "b.db"))
            except BadInput as error:
                told = str(error)
                is_told = told.endswith("; copy it, and the files beside it, to a folder that can be written")
                os._exit(0 if is_told else 1)
            except BaseException:
                os._exit(2)
            os._exit(3)
        assert os.waitpid(forked, 0)[1] == 0
    finally:
        shutil.rmtree(folder)


def test_a_folder_that_takes_no_book_is_told_in_plain_words(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(NotSaved, match=r"no book was made$"):
        open_book(f"sqlite:///{tmp_path}/file/book.db")
    (tmp_path / "folder.db").mkdir()
    with pytest.raises(BadInput, match=r"folder\.db: cannot be opened$"):
        open_book(f"sqlite:///{tmp_path}/folder.db")
    (tmp_path / "text.db").write_text("a job file, say, and no book at all" * 100)
    with pytest.raises(
        BadInput, match=r"is no book, or damaged at its very start; see what is damaged: truethrow book verify"
    ):
        open_book(f"sqlite:///{tmp_path}/text.db")
