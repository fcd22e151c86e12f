"""The book's tables are what they say, and what is only ever added to stays as it is."""

from __future__ import annotations

import books
import pytest
from sqlalchemy import inspect
from sqlalchemy.exc import DBAPIError

from truethrow.balance.base.errors import NotSaved
from truethrow.balance.book import copies, schema
from truethrow.balance.book.connection import transaction
from truethrow.balance.book.rows import sealed


def test_what_the_scripts_make_is_what_the_tables_say(book):
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext

    with book.reading() as connection:
        assert compare_metadata(MigrationContext.configure(connection), schema.metadata) == []
        assert set(inspect(connection).get_view_names()) == set(schema.VIEWS)


@pytest.mark.parametrize("table", [name for names in schema.APPEND_ONLY.values() for name in names])
def test_what_is_only_ever_added_to_cannot_be_changed_by_anybody(book, tmp_path, table):
    job = books.with_job(book, tmp_path)
    rows = {
        "records": {"id": "a-1", "at": "", "action": "zero", "text": "{}", "job": job, "seq": 1},
        "documents": {
            "job": job,
            "seq": 1,
            "at": "",
            "by": "",
            "kind": "",
            "digest": "",
            "job_digest": "",
            "name": "",
        },
        "stock_readings": {"kind": "pin", "label": "P", "seq": 1, "at": "", "by": "", "other_g": 1.0, "bank": ""}
        | {"together": ""},
        "contents": {"digest": "d", "content": ""},
        "profiles": {"kind": "bench", "name": "b2", "revision": 1, "at": "", "by": "", "encoding": "", "text": ""},
        "stock_moves": {"kind": "pin", "label": "P", "seq": 1, "at": "", "by": ""},
    }
    with book.writing() as connection:
        part = sealed(kind="pin", label="P", added_at="", added_by="")
        copies.put_in(connection, [("stock", part)])
        if table in rows:
            copies.put_in(connection, [(table, sealed(**rows[table]))])
    changes = [f"UPDATE {table} SET seal = 'x'", f"DELETE FROM {table}"]
    changes += [f"TRUNCATE {table} CASCADE"] if book.address.file is None else replacing(table)
    before = books.ways(book)
    for change in changes:
        with (
            pytest.raises(DBAPIError, match=f"{table} is only ever added to"),
            transaction(book.engine, writes=True) as connection,
        ):
            connection.exec_driver_sql(change)
    assert books.ways(book) == before


def replacing(table):
    """The ways in which SQLite would put a row in the place of another one without changing or deleting any."""
    columns = [f'"{column.name}"' for column in schema.metadata.tables[table].columns]
    named = ", ".join(columns)
    behind = named.replace('"seq"', '"seq" + 5').replace('"revision"', '"revision" + 5')
    made = [
        f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}",
        f"INSERT OR REPLACE INTO {table} (rowid, {named}) SELECT rowid, {behind} FROM {table}",
    ]
    return [*made, f"REPLACE INTO {table} ({named}) SELECT {behind} FROM {table}"] if table == "records" else made


def test_a_record_cannot_be_of_a_job_that_is_not_there(book):
    with pytest.raises(NotSaved), book.writing() as connection:
        text = sealed(job="nobody's", revision=1, before=0, at="", by="", encoding="utf-8", text="")
        copies.put_in(connection, [("job_revisions", text)])
