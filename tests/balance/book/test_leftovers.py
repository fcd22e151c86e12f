"""Copies of a book that a killed command leaves are its owner's alone, and gone after the next command."""

from __future__ import annotations

import os
import random
import signal
import stat
import tempfile
import time

import books
import pytest
from book_faults import say

from truethrow.balance.book import leftovers
from truethrow.balance.book.address import of_file
from truethrow.balance.book.backup import backup, restore
from truethrow.balance.book.booked import BookedJob
from truethrow.balance.book.check import verify
from truethrow.balance.book.open import open_book
from truethrow.balance.book.salvage import salvage
from truethrow.balance.log.records import ZeroRead


@pytest.fixture(autouse=True)
def own_data(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    (tmp_path / "tmp").mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "tmp"))


def notes(folder):
    return list((folder / "data" / "truethrow" / "unfinished").glob("*"))


def test_what_a_block_came_to_the_end_of_is_not_left_over(tmp_path):
    kept = tmp_path / "kept"
    with leftovers.noted(kept):
        kept.write_text("whole")
        leftovers.clean()
        assert kept.exists(), "its command lives"
        (note,) = notes(tmp_path)
        assert stat.S_IMODE(note.stat().st_mode) == 0o600
    leftovers.clean()
    assert kept.exists()
    assert notes(tmp_path) == []


def killed(work, after_s=0.0, until=None):
    """Do some work in another process, which is killed in the middle of it."""
    child = os.fork()
    if child == 0:
        try:
            work()
        finally:
            os._exit(0)
    while until is not None and not until():
        time.sleep(0.002)
    time.sleep(after_s)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)


def test_what_a_killed_command_left_is_gone_after_the_next(tmp_path):
    file, folder = tmp_path / ".x.part", tmp_path / "tmp" / "truethrow-x"

    def work():
        with leftovers.noted(file), leftovers.noted(folder):
            file.write_text("half")
            file.with_name(".x.part-journal").write_text("of it")
            folder.mkdir()
            (folder / "book.db").write_text("all")
            time.sleep(60)

    killed(work, until=(folder / "book.db").exists)
    leftovers.clean()
    assert [one for one in tmp_path.rglob("*") if one.is_file()] == []
    assert not folder.exists()


def test_the_copy_of_a_book_is_left_over_only_as_long_as_that_book_stands(tmp_path):
    kept = tmp_path / "book-0013.db"

    def work():
        with leftovers.noted(kept, "the book", "one"):
            kept.write_text("all")
            time.sleep(60)

    for stands, is_gone in (("two", False), ("one", True)):
        killed(work, until=kept.exists)
        leftovers.clean("another", "one")
        assert kept.exists()
        leftovers.clean("the book", stands)
        assert kept.exists() != is_gone
        assert notes(tmp_path) == []
        kept.unlink(missing_ok=True)


def test_a_note_that_says_nothing_is_taken_away(tmp_path):
    with leftovers.noted(tmp_path / "x"):
        pass
    (tmp_path / "data" / "truethrow" / "unfinished" / "a").write_text("{")
    leftovers.clean()
    assert notes(tmp_path) == []


@pytest.mark.kills
@pytest.mark.xdist_group("kills")
def test_kills_of_backup_restore_and_salvage_lose_nothing_and_leave_nothing(tmp_path, as_many):
    """Each is killed at a moment by chance; after the next command the book is sound, one of the two that it can
    be; no copy is left but the one that a restore which came through has kept; none was ever others' to read."""
    chance, file = random.Random(19), tmp_path / "book.db"
    with books.at(file) as book:
        books.fill(book, tmp_path)
        backup(book, tmp_path / "b.bak")
        older = books.ways(book)
    with books.at(file) as book:
        BookedJob(book, "launch-1").open_log(by="AB").append(ZeroRead("start", 0.0))
        newer = books.ways(book)
        backup(book, tmp_path / "newer.bak")
    count, done = as_many(300, 12), {"backup": 0, "restore": 0, "salvage": 0}
    for number in range(count):
        what = ("backup", "restore", "salvage")[number % 3]
        made = tmp_path / f"made-{number}"
        work = {
            "backup": lambda made=made: backup(open_book(of_file(file)), made),
            "restore": lambda: restore(of_file(file), tmp_path / "b.bak"),
            "salvage": lambda made=made: salvage(file, made),
        }[what]
        killed(work, chance.uniform(0.0, 0.5))
        others = [one for one in (tmp_path / "tmp").rglob("*") if not _is_private(one)]
        others += [one for one in tmp_path.glob(".*.part*") if not _is_private(one)]
        assert others == []
        with books.at(file) as book:  # the next command
            found = without_numbers(books.ways(book))
            assert found in (without_numbers(older), without_numbers(newer))
            assert verify(book).faults == ()
        assert list((tmp_path / "tmp").iterdir()) == [], what
        assert list(tmp_path.glob(".*")) == [], what
        assert notes(tmp_path) == [], what
        copies = list(tmp_path.glob("book-*.db"))
        came_through = what == "restore" and found == without_numbers(older)
        assert len(copies) == came_through, what
        done[what] += came_through or made.exists()
        for one in copies:
            one.unlink()
        made.unlink(missing_ok=True)
        if came_through:
            restore(of_file(file), tmp_path / "newer.bak")
            for one in tmp_path.glob("book-*.db"):
                one.unlink()
    say(f"{count} kills: 0 lost, 0 left; came through all the same: {done}")


def without_numbers(rows):
    return [row for row in rows if row[0] not in ("book",)]


def _is_private(path):
    try:
        return stat.S_IMODE(path.stat().st_mode) & 0o077 == 0
    except FileNotFoundError:
        return True
