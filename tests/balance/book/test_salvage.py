"""What is left of a damaged book is saved."""

from __future__ import annotations

import os
import random

import books
import pytest

from truethrow.balance.base.errors import BadInput, NotSaved
from truethrow.balance.book import jobs
from truethrow.balance.book.address import of_file
from truethrow.balance.book.backup import restore
from truethrow.balance.book.check import verify
from truethrow.balance.book.open import open_book
from truethrow.balance.book.salvage import salvage


def records_of(rows):
    return {(row["job"], row["id"]) for table, row in rows if table == "records"}


def test_of_a_sound_book_everything_is_salvaged(alone, tmp_path):
    path, rows = alone
    done = salvage(path, tmp_path / "new.db")
    assert (done.jobs, done.records, done.lost, done.beside) == (6, 48, (), ())
    with books.at(tmp_path / "new.db") as book:
        assert verify(book).faults == ()
        kept = [row for row in books.ways(book) if row[0] != "jobs"]
        assert kept == [row for row in rows if row[0] != "jobs"]
        assert jobs.is_there(book, "launch-6")


def test_what_was_not_yet_moved_from_the_file_beside_is_salvaged_too(tmp_path):
    with books.at(tmp_path / "book.db") as book:
        books.fill(book, tmp_path)
        assert (tmp_path / "book.db-wal").stat().st_size > 0
        assert salvage(tmp_path / "book.db", tmp_path / "new.db").records == 24


def test_a_book_without_its_first_page_is_detected_and_salvaged(alone, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    path, rows = alone
    raw = bytearray(path.read_bytes())
    raw[:4096] = bytes(4096)
    path.write_bytes(raw)
    with pytest.raises(BadInput, match=r"book\.db: is no book, or damaged at its very start; .*salvage FILE"):
        open_book(of_file(path))
    done = salvage(path, tmp_path / "new.db")
    assert (done.jobs, done.records) == (6, 48)
    with pytest.raises(BadInput, match="nothing was put back"):
        restore(of_file(path), tmp_path / "new.db")
    assert path.read_bytes() == raw
    path.rename(tmp_path / "away.db")
    restore(of_file(path), tmp_path / "new.db")
    with books.at(path) as book:
        assert records_of(books.ways(book)) == records_of(rows)


@pytest.mark.parametrize("damage", [bytes, random.Random(3).randbytes])
def test_damage_anywhere_is_detected_and_what_is_elsewhere_is_saved(made_once, tmp_path, damage, as_many):
    whole, rows = made_once
    path = tmp_path / "book.db"
    numbers = range(1, len(whole) // 4096)
    for number in random.Random(7).sample(numbers, as_many(8, sample=4)):
        raw = bytearray(whole)
        raw[number * 4096 : (number + 1) * 4096] = damage(4096)
        path.write_bytes(raw)
        assert is_damaged(path)
        done = salvage(path, tmp_path / f"new-{number}.db")
        with books.at(tmp_path / f"new-{number}.db") as book:
            assert verify(book).faults == ()
            saved = books.ways(book)
        assert records_of(saved) <= records_of(rows)
        if len(saved) < len(rows):
            assert done.lost


def is_damaged(path):
    try:
        with books.at(path) as book:
            return bool(verify(book).faults)
    except BadInput as error:
        return "damaged" in str(error)


def test_a_page_whose_head_is_gone_loses_no_row_that_is_whole(alone, tmp_path):
    path, rows = alone
    raw = bytearray(path.read_bytes())
    for start in range(4096, len(raw), 4096):
        if raw[start] == 0x0D:
            raw[start : start + 8] = bytes(8)
    path.write_bytes(raw)
    assert is_damaged(path)
    done = salvage(path, tmp_path / "new.db")
    assert (done.jobs, done.records, done.others) == (6, 48, 84)
    with books.at(tmp_path / "new.db") as book:
        assert records_of(books.ways(book)) == records_of(rows)


@pytest.mark.parametrize(
    ("was", "wrong"),
    [(b"BEGIN SELECT RAISE", b"BEGI\xce SELECT RAISE"), (b"action = 'cut'", b"action = 'ctt'")],
)
def test_damage_of_what_a_table_or_a_view_is_is_detected(alone, was, wrong):
    path, _ = alone
    raw = path.read_bytes()
    assert was in raw
    path.write_bytes(raw.replace(was, wrong, 1))
    assert is_damaged(path)


def test_what_is_no_book_at_all_saves_nothing(tmp_path):
    for raw in (b"", b"nothing of a book", b"nothing of a book" * 500, b"SQLite format 3\0\x10\0"):
        (tmp_path / "text").write_bytes(raw)
        with pytest.raises(BadInput, match="no row of a book can be read in it"):
            salvage(tmp_path / "text", tmp_path / "new.db")
    with pytest.raises(BadInput, match="no such file"):
        salvage(tmp_path / "none", tmp_path / "new.db")
    (tmp_path / "new.db").write_text("mine")
    with pytest.raises(NotSaved, match="already exists"):
        salvage(tmp_path / "text", tmp_path / "new.db")


def test_a_book_that_goes_on_with_nothing_is_saved_and_nothing_is_told_as_lost(tmp_path):
    path = tmp_path / "book.db"
    with books.at(path) as book:
        books.with_job(book, tmp_path)
    os.truncate(path, 200_000_000)
    assert salvage(path, tmp_path / "saved.db").lost == ()
    with path.open("r+b") as file:  # nor where its head says nothing any more
        file.write(b"x" * 100)
    assert salvage(path, tmp_path / "again.db").jobs == 1
