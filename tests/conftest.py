"""Fixtures that several test files share."""

from __future__ import annotations

import books
import invented
import pytest


@pytest.fixture
def blank(tmp_path):
    """A V8 whose readings are all still to be weighed."""

    def make(**tables):
        data = {name: table for name, table in invented.document(**tables).items() if name != "cylinder"}
        path = tmp_path / "job.toml"
        path.write_text(invented.text(data), encoding="utf-8")
        return path

    return make


@pytest.fixture(params=books.KINDS)
def book_address(request, tmp_path):
    """The address of an empty database for a book: one embedded, and one on PostgreSQL."""
    with books.fresh(request.param, tmp_path) as address:
        yield address


@pytest.fixture
def book(book_address):
    """A new book, on either."""
    with books.opened(book_address) as opened:
        yield opened
