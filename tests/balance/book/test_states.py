"""What a user knows of where jobs stand is his own, and counts for nothing but what it was worked out from."""

from __future__ import annotations

import stat

import books
import pytest

from truethrow.balance.book import listing, states
from truethrow.balance.book.states import State


@pytest.fixture(autouse=True)
def own_data(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


def test_what_is_kept_is_found_again_book_by_book_until_it_is_forgotten():
    states.keep(
        "one", {"a": ("3 9a", State("station", "not spun yet", "t0")), "b": ("1", State("closed", "by AB"))}
    )
    states.keep("two", {"a": ("4", State("signed", ""))})
    assert states.known("one", ["a", "c"]) == {"a": ("3 9a", State("station", "not spun yet", "t0"))}
    assert states.blocked_by("one", "SPUN") == {"a"}
    assert states.blocked_by("two", "spun") == set()
    states.keep("one", {"a": ("5", State("signed", ""))})
    assert states.known("one", ["a"])["a"][0] == "5"
    states.forget("one")
    assert states.known("one", ["a", "b"]) == {}
    assert states.known("two", ["a"]) == {"a": ("4", State("signed", ""))}


def test_it_is_nobody_elses_to_read():
    states.keep("one", {"a": ("1", State("signed", ""))})
    assert stat.S_IMODE(states.file().stat().st_mode) == 0o600
    assert stat.S_IMODE(states.file().parent.stat().st_mode) == 0o700


@pytest.mark.parametrize("raw", [b"", b"no database" * 400])
def test_a_file_that_is_none_costs_nothing_but_the_time(book, tmp_path, raw):
    books.with_job(book, tmp_path)
    states.file().write_bytes(raw)
    assert listing.job_of(book, "launch-7").state == "station"
    assert listing.job_of(book, "launch-7").state == "station"
    assert states.known(book.generation, ["launch-7"])["launch-7"][1].state == "station"


def test_a_folder_that_takes_nothing_costs_nothing_but_the_time(book, tmp_path):
    (tmp_path / "data").write_text("a file in the way")
    books.with_job(book, tmp_path)
    assert listing.job_of(book, "launch-7").state == "station"
