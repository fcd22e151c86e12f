"""A list of jobs looks again only at what has changed, and tells nothing that it did not look at."""

from __future__ import annotations

import re

import books
import invented
from sqlalchemy import event

from truethrow.balance.book import jobs, listing, state
from truethrow.balance.book.backup import backup, restore
from truethrow.balance.book.booked import BookedJob
from truethrow.balance.book.state import state_of
from truethrow.balance.log.records import Cut, ZeroRead
from truethrow.worksheets.words import book_words as words


def test_a_list_looks_again_only_at_what_has_changed(book, tmp_path, monkeypatch):
    for name in ("a", "b", "c"):
        books.with_job(book, tmp_path, name)
    looked = []
    monkeypatch.setattr(state, "state_of", lambda job, *rest: looked.append(job) or state_of(job, *rest))
    assert [job.id for job in books.jobs_of(book)] == ["a", "b", "c"]
    assert looked == []
    BookedJob(book, "b").open_log().append(Cut(2, "piston", 1.0, "p0"))
    placed = BookedJob(book, "c")
    placed.write_text(placed.text().replace("piston = 538.4", "piston = 540.0", 1), placed.text())
    found = {job.id: job for job in books.jobs_of(book)}
    assert sorted(looked) == ["b", "c"]
    assert found["b"].blocked == "to be weighed again: piston 2"
    assert all(job.is_fresh for job in found.values())
    books.jobs_of(book)
    assert len(looked) == 2
    monkeypatch.setattr(listing, "LONGEST_S", 0)
    BookedJob(book, "a").open_log().append(ZeroRead("start", 0.0))
    stale = books.jobs_of(book, longest_s=0)
    assert [job.is_fresh for job in stale] == [False, True, True]


def test_jobs_are_found_by_state_and_by_words(book, tmp_path):
    books.with_job(book, tmp_path, "launch-7")
    books.with_job(book, tmp_path, "pump-2", parts=invented.cylinders(piston={3: ""}))
    assert [job.id for job in books.jobs_of(book, state="weighing")] == ["pump-2"]
    assert [job.id for job in books.jobs_of(book, words=["PUMP", "piston"])] == ["pump-2"]
    assert [job.id for job in books.jobs_of(book, words=["spun"])] == ["launch-7"]
    assert books.jobs_of(book, words=["pump", "spun"]) == []


def test_a_state_kept_while_the_job_changed_is_not_taken_for_the_jobs(book, tmp_path, monkeypatch):
    books.with_job(book, tmp_path)
    log = BookedJob(book, "launch-7").open_log()
    log.append(ZeroRead("start", 0.0))

    def meanwhile(job, *rest):
        log.append(Cut(2, "piston", 1.0, "p0"))
        monkeypatch.setattr(state, "state_of", state_of)
        return state_of(job, *rest)

    monkeypatch.setattr(state, "state_of", meanwhile)
    listing.refresh(book)
    with book.reading() as connection:
        row = jobs.row_of(connection, "launch-7", book)
    assert (row["state_seq"], row["last_seq"]) == (0, 3)
    assert listing.job_of(book, "launch-7").state == "weighing"


def test_a_state_worked_out_of_a_book_that_was_replaced_is_not_kept(book, tmp_path, monkeypatch):
    """The restored book has another text under the same numbers."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    with books.at(tmp_path / "other.db") as other:
        books.with_job(other, tmp_path, parts=invented.cylinders(piston={3: ""}))
        with other.writing() as connection:
            connection.exec_driver_sql("UPDATE jobs SET state_rules = 0")
        backup(other, tmp_path / "b.bak")
    books.with_job(book, tmp_path)
    with book.writing() as connection:
        connection.exec_driver_sql("UPDATE jobs SET state_rules = 0")

    def meanwhile(job, *rest):
        restore(book.address, tmp_path / "b.bak")
        monkeypatch.setattr(state, "state_of", state_of)
        return state_of(job, *rest)

    monkeypatch.setattr(state, "state_of", meanwhile)
    listing.refresh(book)
    assert listing.job_of(book, "launch-7").state == "weighing"


def waits_asked_of(book):
    """From here on the waits for a lock [ms] that a book's transactions ask for by a statement."""
    waits = []

    def heard(connection, cursor, statement, *rest):
        if found := re.search(r"(?:lock|busy)_timeout ?= ?(\d+)", statement):
            waits.append(int(found[1]))

    event.listen(book.engine, "before_cursor_execute", heard)
    return waits


def test_who_cannot_keep_a_state_sees_it_all_the_same_and_does_not_wait(book_address, book, tmp_path):
    books.with_job(book, tmp_path)
    BookedJob(book, "launch-7").open_log().append(Cut(2, "piston", 1.0, "p0"))
    with books.opened(book_address) as other, other.writing() as held:
        jobs.locked(held, "launch-7")
        waits = waits_asked_of(book)
        (found,) = books.jobs_of(book, state="weighing")
        assert listing.job_of(book, "launch-7") == found
        # The lock is asked for twice, each time with next to no patience; an embedded book then has its own again.
        assert waits[:: len(waits) // 2] == [listing.LONGEST_WAIT_MS] * 2
    assert (found.is_fresh, found.blocked) == (True, "to be weighed again: piston 2")
    with book.reading() as connection:
        assert jobs.row_of(connection, "launch-7", book)["state"] == "station"
    # And the next transaction waits as long as ever.
    with book.reading() as connection:
        if connection.dialect.name == "sqlite":
            assert connection.exec_driver_sql("PRAGMA busy_timeout").scalar() == 8_000
        else:
            assert connection.exec_driver_sql("SHOW lock_timeout").scalar() == "8s"


def test_what_was_not_looked_at_is_never_told_as_it_was(book, tmp_path):
    books.with_job(book, tmp_path)
    BookedJob(book, "launch-7").open_log().append(Cut(2, "piston", 1.0, "p0"))
    (stale,) = every = listing.every_job(book, longest_s=0)
    assert (stale.is_fresh, stale.state) == (False, "station")
    assert listing.chosen(every, state="station") == listing.chosen(every, words=["spun"]) == []
    assert listing.chosen(every, words=["launch"]) == every
    assert "State: not looked at yet" in words.job_lines(stale)
