"""A book that is open: what is written at once or not at all, and what is said where it cannot be."""

import os

import books
import pytest
from sqlalchemy.exc import DBAPIError

from truethrow.balance.base.errors import BadInput, NotSaved
from truethrow.balance.book import schema
from truethrow.balance.book.address import address, of_file
from truethrow.balance.book.opened import Book, Damaged, free, is_owner, missing, revision_of

JOBS = "SELECT count(*) FROM jobs"


def test_a_transaction_that_is_broken_off_writes_nothing(book, tmp_path):
    books.with_job(book, tmp_path)
    with pytest.raises(RuntimeError), book.writing() as connection:
        connection.exec_driver_sql("UPDATE jobs SET title = 'another'")
        raise RuntimeError("somebody pulled the plug")
    with book.reading() as connection:
        assert connection.exec_driver_sql("SELECT title FROM jobs").scalar() == ""


def test_what_the_database_refuses_is_one_line_with_what_became_of_it(book, tmp_path):
    books.with_job(book, tmp_path)
    with pytest.raises(NotSaved) as caught, book.writing("the part was not moved") as connection:
        connection.exec_driver_sql("INSERT INTO nowhere VALUES (1)")
    said = str(caught.value)
    assert said.startswith(f"{book.address}: ")
    assert said.endswith("; the part was not moved")
    assert "\n" not in said
    with (
        pytest.raises(BadInput, match=r"the book does not take it|the server refuses it"),
        book.reading() as connection,
    ):
        connection.exec_driver_sql("SELECT * FROM nowhere")


def test_a_file_that_is_no_book_is_damaged_with_a_way_out(tmp_path):
    path = tmp_path / "book.db"
    path.write_bytes(b"no book at all, nor was it ever one" * 200)
    opened = Book(of_file(path))
    with pytest.raises(Damaged, match=r"truethrow book salvage FILE"), opened.reading() as connection:
        connection.exec_driver_sql(JOBS)
    opened.close()


def test_a_database_without_tables_is_an_empty_book_and_one_with_others_is_none(book_address):
    bare = Book(address(book_address))
    with bare.reading() as connection:
        assert revision_of(connection) == ""
    with bare.writing() as connection:
        connection.exec_driver_sql("CREATE TABLE alembic_version (version_num TEXT)")
    with bare.reading() as connection:
        assert revision_of(connection) is None
    bare.close()


def test_a_book_has_its_revision_and_its_owner(book):
    with book.reading() as connection:
        assert revision_of(connection) == schema.HEAD
        assert is_owner(connection)


def test_a_forked_child_leaves_its_parents_connections_alone(book, tmp_path):
    books.with_job(book, tmp_path)
    with book.reading() as connection:
        assert connection.exec_driver_sql(JOBS).scalar() == 1
        child = os.fork()
        if child == 0:  # pragma: no cover (another process)
            try:
                with book.reading() as own:
                    status = 0 if own.exec_driver_sql(JOBS).scalar() == 1 else 1
            except (DBAPIError, BadInput):
                status = 2
            finally:
                os._exit(status)
        assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0
        assert connection.exec_driver_sql(JOBS).scalar() == 1


def test_a_free_name_is_the_one_that_is_wanted_or_has_a_number_behind_it(tmp_path):
    wanted = tmp_path / "book.bak"
    assert free(wanted) == wanted
    wanted.symlink_to(tmp_path / "gone")  # a broken link has the name, too
    assert free(wanted) == tmp_path / "book-2.bak"
    (tmp_path / "book-2.bak").touch()
    assert free(wanted) == tmp_path / "book-3.bak"


def test_a_job_that_is_not_there_is_told_with_the_way_to_those_that_are():
    assert str(missing("launch-8", None)) == "job launch-8: is not in the book; run: truethrow book list"
