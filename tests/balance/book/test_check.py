"""Whatever a book does not say any more is told."""

from __future__ import annotations

import books
import pytest

from truethrow.balance.base.errors import BadInput
from truethrow.balance.book import schema
from truethrow.balance.book.backup import backup, restore
from truethrow.balance.book.check import verify


def changed(book, statement):
    """A book changed by somebody who does not care what it keeps him from."""
    with book.writing() as connection:
        for guard in schema.guards_off(connection.dialect.name):
            connection.exec_driver_sql(guard)
        connection.exec_driver_sql(statement)
        for guard in schema.guards_on(connection.dialect.name):
            connection.exec_driver_sql(guard)


def test_a_book_as_it_was_made_is_sound(full):
    found = verify(full)
    assert found.faults == ()
    assert found.rows == {
        "jobs": 3,
        "job_revisions": 4,
        "records": 27,
        "documents": 1,
        "contents": 1,
        "profiles": 1,
        "stock": 40,
        "stock_readings": 40,
        "stock_moves": 1,
    }


DAMAGES = [
    (
        "UPDATE records SET text = replace(text, '538.375', '593.0') WHERE job = 'launch-2' AND seq = 4",
        "job launch-2, record 4: damaged",
    ),
    ("UPDATE records SET text = 'x' WHERE job = 'launch-2' AND seq = 4", "job launch-2, record 4: damaged"),
    ("UPDATE records SET at = 'x' WHERE job = 'launch-2' AND seq = 4", "job launch-2, record 4: damaged"),
    ("DELETE FROM records WHERE job = 'launch-2' AND seq IN (4, 5)", "job launch-2: records 4 to 5 are lost"),
    ("DELETE FROM records WHERE job = 'launch-2' AND seq = 9", "job launch-2: records 9 to 9 are lost"),
    (
        "UPDATE jobs SET last_seq = 8 WHERE id = 'launch-2'",
        "job launch-2: its row does not know of records 9 to 9",
    ),
    ("UPDATE jobs SET title = 'x' WHERE id = 'launch-2'", "job launch-2: its title is damaged"),
    ("UPDATE jobs SET created_by = 'x' WHERE id = 'launch-2'", "job launch-2: by whom it was written, and when"),
    ("UPDATE jobs SET changed_at = 'x' WHERE id = 'launch-2'", "job launch-2: by whom it was written, and when"),
    ("DELETE FROM job_words WHERE job = 'launch-2'", "job launch-2: the words by which it is found are damaged"),
    ("UPDATE job_revisions SET text = text || '#' WHERE job = 'launch-2'", "revision 1: the text is damaged"),
    ("DELETE FROM job_revisions WHERE job = 'launch-2'", "job launch-2: its text of revision 1 is lost"),
    ("DELETE FROM job_revisions WHERE revision = 1 AND job = 'launch-1'", "a text before revision 2 is lost"),
    ("UPDATE documents SET digest = 'x'", "documents, launch-1, number 1: damaged"),
    ("UPDATE stock SET added_by = 'x' WHERE label = 'R01'", "stock, rod R01: damaged"),
    ("UPDATE stock_readings SET other_g = 1 WHERE label = 'R01'", "stock readings, rod R01, number 1: damaged"),
    ("UPDATE stock_moves SET cylinder = 2", "stock moves, rod R01, number 1: damaged"),
    ("DELETE FROM stock_readings WHERE label = 'R01'", "stock, rod R01: what it weighs is lost"),
]


@pytest.mark.parametrize(("statement", "told"), DAMAGES)
def test_whatever_a_row_does_not_say_any_more_is_told(full, statement, told):
    books.jobs_of(full)
    changed(full, statement)
    found = verify(full).faults
    assert told in found[0]
    assert len(found) == (2 if "title = 'x'" in statement else 1), "and the words of the title"


def test_a_damaged_book_is_whole_again_once_its_backup_is_put_back(full, tmp_path):
    backup(full, tmp_path / "b.bak")
    books.jobs_of(full)
    for statement, _ in DAMAGES:
        changed(full, statement)
    assert len(verify(full).faults) >= 8
    restore(full.address, tmp_path / "b.bak")
    books.jobs_of(full)
    assert verify(full).faults == ()


SERVED = {
    "DROP TRIGGER records_no_change ON records": "records_no_change",
    "ALTER TABLE documents DISABLE TRIGGER documents_no_truncate": "documents_no_truncate",
    "DROP TRIGGER stock_moves_no_change ON stock_moves; CREATE TRIGGER stock_moves_no_change BEFORE UPDATE"
    " OR DELETE ON stock_moves FOR EACH ROW WHEN (OLD.seq > 1000)"
    " EXECUTE FUNCTION only_added_to()": "stock_moves_no_change",
    "CREATE OR REPLACE FUNCTION only_added_to() RETURNS trigger LANGUAGE plpgsql AS"
    " 'BEGIN RETURN NEW; END'": "records_no_change",
    "DROP VIEW sign_offs": "sign_offs",
    f"DROP VIEW holes; CREATE VIEW holes AS {schema.view('holes', 'postgresql')} AND seq > 1": "holes",
}


@pytest.mark.parametrize("statement", SERVED)
def test_guards_and_views_of_a_server_that_are_not_as_made_are_told(tmp_path, statement):
    with books.fresh("postgresql", tmp_path) as address, books.opened(address) as book:
        assert verify(book).faults == ()
        books.on_server(statement, address)
        assert f"{SERVED[statement]}: is not what it should be" in verify(book).faults
        assert "truethrow book restore" in book.mending


def test_what_is_no_text_any_more_is_damage_wherever_it_is_read(tmp_path):
    with books.at(tmp_path / "book.db") as book:
        books.with_job(book, tmp_path)
        changed(book, "UPDATE jobs SET title = CAST(x'ff41' AS TEXT)")
        assert verify(book).faults == ("job launch-7: its row is damaged: title",)
        with pytest.raises(BadInput, match=r"the book is damaged; .*truethrow book salvage"):
            books.jobs_of(book)
