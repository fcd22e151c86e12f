"""The documents that the book keeps."""

from __future__ import annotations

import hashlib

import books
import pytest
from commands import refused
from sqlalchemy import text

from truethrow.balance.book.booked import BookedJob
from truethrow.balance.book.check import verify
from truethrow.balance.book.documents import issued, unpacked, written
from truethrow.balance.log import place


def issue(book, job, raw, by="", name="launch-7-station.csv", digest="t0"):
    with place.issuing(BookedJob(book, job), [place.Outgoing("station", raw, digest, name)], by):
        pass


def test_a_document_is_kept_once_with_whose_it_is_and_a_file_keeps_none(book, tmp_path):
    books.with_job(book, tmp_path)
    for raw in (b"sheet", b"sheet", b"other sheet", b"sheet"):
        issue(book, "launch-7", raw, "AB", digest="t58829fdf932eb35")
    found = issued(book, "launch-7")
    assert len(found) == 3
    assert [one.digest for one in found[:2]] == [
        hashlib.sha256(raw).hexdigest() for raw in (b"sheet", b"other sheet")
    ]
    assert {(one.by, one.job_digest, one.name) for one in found} == {
        ("AB", "t58829fdf932eb35", "launch-7-station.csv")
    }
    issue(book, "launch-7", b"another", name="any")
    with place.issuing(tmp_path / "any.toml", [place.Outgoing("station", b"sheet", "t0", "any")]):
        pass
    assert [one.name for one in issued(book, "launch-7")[3:]] == ["any"]


def test_what_was_issued_is_written_again_to_the_byte(book, tmp_path):
    """Also the one before, and one of which the bytes are no text; twice the same is kept once."""
    books.with_job(book, tmp_path)
    every = [b"sheet of march", bytes(range(256)) * 40, b"", b"sheet of march"]
    for number, raw in enumerate(every):
        issue(book, "launch-7", raw, name=f"{number}.csv")
    for number, raw in enumerate(every, start=1):
        one, found = written(book, "launch-7", number)
        assert (one.name, found) == (f"{number - 1}.csv", raw)
    with book.reading() as connection:
        assert connection.scalar(text("SELECT count(*) FROM contents")) == 3
    assert verify(book).rows["contents"] == 3
    assert verify(book).faults == ()


@pytest.mark.parametrize(("number", "said"), [(0, "is not there"), (2, "is not there; allowed: 1 to 1")])
def test_a_document_that_is_not_there_is_told(book, tmp_path, number, said):
    books.with_job(book, tmp_path)
    issue(book, "launch-7", b"sheet")
    assert said in refused(written, book, "launch-7", number)


def test_a_document_that_was_changed_by_hand_is_found(tmp_path):
    with books.at(tmp_path / "book.db") as sqlite_book:
        changed_by_hand(sqlite_book, tmp_path)


def changed_by_hand(sqlite_book, tmp_path):
    books.with_job(sqlite_book, tmp_path)
    issue(sqlite_book, "launch-7", b"sheet")
    with sqlite_book.writing() as connection:
        connection.execute(text("DROP TRIGGER contents_no_update"))
        connection.execute(text("UPDATE contents SET content = 'b3RoZXI='"))
    assert "is damaged" in refused(written, sqlite_book, "launch-7", 1)
    assert any("document" in fault and "damaged" in fault for fault in verify(sqlite_book).faults)


def test_what_is_no_content_is_told():
    for content in ("%%%", "AAA"):
        with pytest.raises(ValueError):
            unpacked(content)
