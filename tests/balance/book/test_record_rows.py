"""The readings of several benches merge in the book, or are refused by name."""

from __future__ import annotations

import json
from dataclasses import replace

import books
import kept
import pytest

from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput, NotSaved
from truethrow.balance.book import jobs, outside
from truethrow.balance.book.booked import BookedJob
from truethrow.balance.log import damage
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Cut, Skipped, Weighed, ZeroRead
from truethrow.balance.station import lost_lines


def added(book, path, by="", revision=None):
    return jobs.add(book, jobs.from_file(path), by, revision)


def with_log(path, records):
    log_path(path).write_bytes(kept.written(*records))
    return path


def test_a_zero_below_zero_stays_one(book, tmp_path):
    path = books.job_file(tmp_path)
    ReadingLog(log_path(path)).append(ZeroRead("start", -0.0, "-0.0 g"))
    added(book, path)
    (record,) = BookedJob(book, "launch-7").open_log().records
    assert str(record.grams) == "-0.0"
    assert outside.export(book, "launch-7", tmp_path / "out")[1].read_bytes() == log_path(path).read_bytes()


def test_readings_of_two_benches_merge(book, tmp_path):
    path = books.job_file(tmp_path)
    here, there = ReadingLog(log_path(path), "here"), ReadingLog(tmp_path / "there" / "x.jsonl", "there")
    here.append(Weighed(1, "piston", 538.0))
    added(book, path)
    other = books.job_file(tmp_path / "there")
    there = ReadingLog(log_path(other), "there")
    there.append(Weighed(2, "piston", 539.0))
    assert added(book, other).fresh == 1
    here.append(Weighed(3, "piston", 540.0))
    done = added(book, path)
    assert (done.fresh, done.records, done.has_new_text) == (1, 2, False)
    assert [record.grams for record in BookedJob(book, "launch-7").open_log().records] == [538.0, 539.0, 540.0]


def test_another_reading_under_the_same_id_is_refused_and_the_same_again_is_none(book, tmp_path):
    record = Weighed(1, "piston", 538.0, "538", id="a-1", at="2026-01-01T00:00:00.000Z", bench="b")
    path = with_log(books.job_file(tmp_path), [record])
    added(book, path)
    with_log(path, [replace(record, at="2026-01-02T00:00:00.000Z", by="AB")])
    assert added(book, path).fresh == 0
    before = books.ways(book)
    with_log(path, [replace(record, grams=583.0), replace(record, id="a-2")])
    with pytest.raises(NotSaved, match=r"record a-1 is another one in the book; nothing was added$"):
        added(book, path)
    assert books.ways(book) == before


def test_a_record_that_would_come_to_stand_behind_later_ones_is_refused(book, tmp_path):
    """A cut that is added behind the weighing after it would make that one history."""
    path = books.job_file(tmp_path)
    log = ReadingLog(log_path(path))
    log.append(Weighed(1, "piston", 538.0))
    cut = log.append(Cut(1, "piston", 1.0, "p0"))
    after = log.append(Weighed(1, "piston", 537.0))
    with_log(path, [log.records[0], after])
    added(book, path)
    before = books.ways(book)
    with_log(path, log.records)
    with pytest.raises(NotSaved) as refused:
        added(book, path)
    told = f"record {cut.id} is new, and would come before {after.id}, which the book has already: "
    assert told in str(refused.value)
    assert str(refused.value).count("\n") == 0
    assert books.ways(book) == before


@pytest.mark.parametrize("ours", [True, False])
def test_two_ways_of_a_log_are_joined_only_where_their_order_does_not_matter(book, tmp_path, ours):
    path = books.job_file(tmp_path)
    log = ReadingLog(log_path(path))
    common = log.append(Weighed(1, "piston", 538.0))
    reading = log.append(Weighed(2, "piston", 537.0))
    other = log.append(Weighed(3, "piston", 537.5))
    cut = log.append(Cut(1, "piston", 1.0, "p0"))
    late = log.append(Skipped(4, "pin"))
    with_log(path, [common, reading])
    added(book, path)
    with_log(path, [common, other])
    assert added(book, path).fresh == 1
    if ours:
        BookedJob(book, "launch-7").open_log().append(Cut(1, "piston", 1.0, "p0"))
    with_log(path, [common, reading, other, late] if ours else [common, reading, cut])
    before = books.ways(book)
    with pytest.raises(NotSaved, match=r"which came first is not known, and it matters; nothing was added$"):
        added(book, path)
    assert books.ways(book) == before


def test_a_damaged_line_of_a_log_goes_in_as_it_is_once_it_is_acknowledged(book, tmp_path):
    path = books.job_file(tmp_path)
    log = ReadingLog(log_path(path))
    for grams in (538.0, 539.0, 540.0):
        log.append(Weighed(1, "piston", grams))
    log_path(path).write_bytes(log_path(path).read_bytes().replace(b"539.0", b"593.0") + b'{"id":"torn')
    with pytest.raises(BadInput, match="line 3 is damaged and does not count; say what became of it"):
        added(book, path)
    lost_lines.acknowledge(path, 3, damage.NEVER, "two digits changed places", by="AB")
    done = added(book, path)
    assert [(note.number, note.what) for note in done.notes] == [(3, "damaged"), (5, "torn")]
    records = BookedJob(book, "launch-7").open_log().records
    assert [record.action for record in records] == ["read", "damaged", "read", "acknowledge"]
    assert records[1].raw == log_path(path).read_bytes().splitlines()[2]
    assert damage.unsettled(records) == []
    assert added(book, path).fresh == 0


@pytest.mark.parametrize("wrong", ["\\u0000", "\\ud800"])
def test_a_record_that_no_book_can_keep_is_refused_by_name(book, tmp_path, wrong):
    path = books.job_file(tmp_path)
    record = ZeroRead("start", 0.0, json.loads(f'"{wrong}"'), id="a-1")
    with_log(path, [record])
    with pytest.raises(BadInput, match=r"readings\.jsonl: record a-1: holds "):
        added(book, path)
