"""A list of jobs looks again only at what has changed, and tells nothing that it did not look at."""

from __future__ import annotations

import re

import books
import invented
from sqlalchemy import event

from truethrow.balance.book import jobs, listing, state, states
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
    stale = books.jobs_of(book)
    assert [job.is_fresh for job in stale] == [False, True, True]


def test_jobs_are_found_by_state_and_by_words(book, tmp_path):
    """By how a word of id or title begins, in no matter which letters; by any part of what blocks them."""
    books.with_job(book, tmp_path, "launch-7")
    books.with_job(book, tmp_path, "pump-2", parts=invented.cylinders(piston={3: ""}))
    assert [job.id for job in books.jobs_of(book, state="weighing")] == ["pump-2"]
    assert [job.id for job in books.jobs_of(book, words=["PUMP", "piston"])] == ["pump-2"]
    assert [job.id for job in books.jobs_of(book, words=["spun"])] == ["launch-7"]
    assert [job.id for job in books.jobs_of(book, words=["laun"])] == ["launch-7"]
    assert [job.id for job in books.jobs_of(book, words=["launch-7"])] == ["launch-7"]
    assert books.jobs_of(book, words=["pump", "spun"]) == []
    assert books.jobs_of(book, words=["unch"]) == books.jobs_of(book, words=["%"]) == []


def test_the_latest_come_first_and_it_is_told_that_there_are_more(book, tmp_path):
    for name in ("a", "b", "c"):
        books.with_job(book, tmp_path, name)
    BookedJob(book, "a").open_log().append(ZeroRead("start", 0.0))
    found = listing.latest(book, most=2)
    assert ([job.id for job in found.jobs], found.has_more) == (["a", "c"], True)
    every = listing.latest(book, most=3)
    assert ([job.id for job in every.jobs], every.has_more) == (["a", "c", "b"], False)


def test_the_latest_and_what_a_word_finds_come_by_an_index(book, tmp_path):
    """As the database itself tells how it goes about it; a handful of jobs it would go through in any case."""
    books.with_job(book, tmp_path)
    asked = []
    event.listen(book.engine, "before_cursor_execute", lambda *said: asked.append((said[2], said[3])))
    listing.latest(book, ["launch"])
    statement, values = next(one for one in asked if "job_words" in one[0])
    with book.reading() as connection:
        if connection.dialect.name == "sqlite":
            plan = str(connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", values).all())
        else:
            connection.exec_driver_sql("SET LOCAL enable_seqscan = off")
            plan = str(connection.exec_driver_sql(f"EXPLAIN {statement}", values).all())
    assert re.search(r"job_words_pkey|job_words USING (COVERING INDEX|PRIMARY KEY)", plan), plan
    assert "SCAN job_words" not in plan


def test_a_state_worked_out_while_the_job_changed_is_not_taken_for_the_jobs(book, tmp_path, monkeypatch):
    books.with_job(book, tmp_path)
    log = BookedJob(book, "launch-7").open_log()
    log.append(ZeroRead("start", 0.0))

    def meanwhile(job, *rest):
        log.append(Cut(2, "piston", 1.0, "p0"))
        monkeypatch.setattr(state, "state_of", state_of)
        return state_of(job, *rest)

    monkeypatch.setattr(state, "state_of", meanwhile)
    listing.job_of(book, "launch-7")
    assert listing.job_of(book, "launch-7").state == "weighing"


def test_a_state_worked_out_of_a_book_that_was_replaced_is_not_the_other_ones(book, tmp_path, monkeypatch):
    """The restored book has another text under the same numbers."""
    with books.at(tmp_path / "other.db") as other:
        books.with_job(other, tmp_path, parts=invented.cylinders(piston={3: ""}))
        backup(other, tmp_path / "b.bak")
    books.with_job(book, tmp_path)
    states.forget(book.generation)

    def meanwhile(job, *rest):
        restore(book.address, tmp_path / "b.bak")
        monkeypatch.setattr(state, "state_of", state_of)
        return state_of(job, *rest)

    monkeypatch.setattr(state, "state_of", meanwhile)
    listing.job_of(book, "launch-7")
    assert listing.job_of(book, "launch-7").state == "weighing"


def test_a_list_writes_nothing_into_the_book_and_waits_for_nobody(book_address, book, tmp_path):
    books.with_job(book, tmp_path)
    BookedJob(book, "launch-7").open_log().append(Cut(2, "piston", 1.0, "p0"))
    before = books.ways(book)
    with books.opened(book_address) as other, other.writing() as held:
        jobs.locked(held, "launch-7")
        (found,) = books.jobs_of(book, state="weighing")
        assert listing.job_of(book, "launch-7") == found
    assert (found.is_fresh, found.blocked) == (True, "to be weighed again: piston 2")
    assert books.ways(book) == before


def test_what_was_not_looked_at_is_never_told_as_it_was(book, tmp_path, monkeypatch):
    books.with_job(book, tmp_path)
    BookedJob(book, "launch-7").open_log().append(Cut(2, "piston", 1.0, "p0"))
    monkeypatch.setattr(listing, "LONGEST_S", 0)
    (stale,) = listing.every_job(book)
    assert (stale.is_fresh, stale.state, stale.blocked, stale.digest) == (False, "", "", "")
    assert books.jobs_of(book, state="station") == []
    assert books.jobs_of(book, words=["launch"]) == [stale]
    assert "State: not looked at yet" in words.job_lines(stale)
