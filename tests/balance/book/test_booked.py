"""A job of the book as the commands see it: its text, its log, its documents."""

import books
import pytest
from commands import refused

from truethrow.balance.base.errors import NotSaved
from truethrow.balance.book.address import VARIABLE
from truethrow.balance.book.booked import BookedJob, find
from truethrow.balance.log.place import Outgoing
from truethrow.balance.log.records import ZeroRead


@pytest.fixture
def placed(book, tmp_path):
    return BookedJob(book, books.with_job(book, tmp_path))


def test_a_text_is_put_in_the_place_of_the_one_that_was_read_and_of_no_other(placed):
    before = placed.text()
    placed.write_text(before + "# mine\n", before, "AB")
    assert placed.text() == before + "# mine\n"
    with pytest.raises(NotSaved, match="mine"):
        placed.write_text(before + "# yours\n", before, "CD")
    assert placed.text() == before + "# mine\n"


def test_its_log_is_that_of_the_book_for_whoever_opens_it(placed):
    made = placed.open_log("bench-1", "AB").append(ZeroRead("start", 0.1))
    assert placed.open_log().records == [made]
    assert (made.bench, made.by) == ("bench-1", "AB")


def test_a_document_is_issued_only_where_its_file_was_written(placed):
    from truethrow.balance.book import documents

    sheet = Outgoing("station", b"sheet", "t0", "launch-7-station.csv")
    with pytest.raises(RuntimeError), placed.issuing([sheet], "AB"):
        raise RuntimeError("the disk is full")
    assert documents.issued(placed.book, placed.id) == []
    with placed.issuing([sheet], "AB"):
        pass
    (one,) = documents.issued(placed.book, placed.id)
    assert (one.kind, one.by, one.name) == ("station", "AB", "launch-7-station.csv")


def test_a_job_is_found_by_its_id_in_the_book_that_is_named(tmp_path, monkeypatch):
    monkeypatch.setenv(VARIABLE, f"sqlite:///{tmp_path / 'book.db'}")
    assert "no such file, and " in refused(find, "launch-7")
    with books.at(tmp_path / "book.db") as book:
        books.with_job(book, tmp_path)
    assert find("launch-7").id == "launch-7"
    assert "job launch-8: no such file, and not in the book; see what is: truethrow book list" in refused(
        find, "launch-8"
    )
