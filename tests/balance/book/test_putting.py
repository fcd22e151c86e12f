"""A row goes into a book of either kind, and comes out as it was; a server takes none that is wrong."""

from __future__ import annotations

import books
import pytest

from truethrow.balance.base.errors import NotSaved
from truethrow.balance.book import copies, schema
from truethrow.balance.book.putting import ask, is_served, put
from truethrow.balance.book.rows import sealed

AT = "2026-11-28T09:01:00.000Z"
PART = sealed(kind="rod", label="R\u00fc1 \U0001f529", added_at=AT, added_by="")
WEIGHT = {"kind": "rod", "label": PART["label"], "seq": 1, "at": AT, "by": "AB", "bank": "", "together": ""}


def rows_in(connection, table):
    return [row for _, row in copies.rows_of(connection, table.name)]


@pytest.mark.parametrize("grams", [450.25, 1e-9, 0.1 + 0.2, 1e16, 5e-324])
def test_a_row_is_put_in_to_the_last_bit(book, grams):
    weight = sealed(**WEIGHT, big_end_g=grams, other_g=171.0)
    with book.writing() as connection:
        put(connection, schema.stock, [PART])
        put(connection, schema.stock_readings, [weight])
        put(connection, schema.stock_readings, [])
    with book.reading() as connection:
        assert rows_in(connection, schema.stock) == [PART]
        assert rows_in(connection, schema.stock_readings) == [weight]


def test_a_server_takes_no_row_whose_seal_or_number_is_another(postgres):
    with books.opened(postgres) as book:
        with book.writing() as connection:
            assert is_served(connection)
            put(connection, schema.stock, [PART])
            assert ask(connection, "lock_stock") in (None, "")
        for wrong in (
            sealed(**WEIGHT, big_end_g=450.0, other_g=171.0) | {"seal": "0" * 16},
            sealed(**WEIGHT | {"seq": 2}, big_end_g=450.0, other_g=171.0),
            sealed(**WEIGHT | {"at": "yesterday"}, big_end_g=450.0, other_g=171.0),
            sealed(**WEIGHT, big_end_g=450.0, other_g=-1.0),
        ):
            with pytest.raises(NotSaved, match="the server does not take it"), book.writing() as connection:
                put(connection, schema.stock_readings, [wrong])
