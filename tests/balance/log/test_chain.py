"""The chain of a log: whatever is taken out, put elsewhere or changed is found, and what is right stays so."""

from __future__ import annotations

import json

import by_hand
import pytest

from truethrow.balance.log import damage
from truethrow.balance.log.chain import Chain, Head, since
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Begun, Damaged, Weighed


def begun(path, job="launch-7"):
    log = ReadingLog(path, "bench", "AB")
    log.job_id = lambda: job
    return log


def written(path, job="launch-7"):
    """A log of seven lines, as by_hand has it."""
    by_hand.fill(begun(path, job))
    return path.read_bytes().splitlines()


@pytest.fixture
def path(tmp_path):
    return tmp_path / "launch.readings.jsonl"


@pytest.fixture
def both(tmp_path, path):
    """The lines of a log, and of another job's."""
    return written(path), written(tmp_path / "pump.readings.jsonl", "pump-2")


def opened(path, lines):
    path.write_bytes(b"".join(line + b"\n" for line in lines))
    return ReadingLog(path)


@pytest.mark.parametrize("edit", by_hand.FOUND_BY_THE_LOG.values(), ids=by_hand.FOUND_BY_THE_LOG)
def test_what_somebody_does_to_a_log_is_told_and_holds_the_work(path, both, edit):
    log = opened(path, edit(*both))
    assert damage.unsettled(log.records)
    assert log.notes


def test_nothing_that_was_changed_or_put_in_counts(path, both):
    """The cut by hand is no cut, wherever it comes from; what it stood for is to be told by who knows."""
    own, other = both
    for name in (
        "one changed and sealed again",
        "one of another job put in",
        "another job's whole log put behind",
    ):
        lines = by_hand.FOUND_BY_THE_LOG[name](own, other)
        counts = [r.raw for r in opened(path, lines).records if not isinstance(r, Damaged)]
        assert set(counts) <= set(own), name


@pytest.mark.parametrize("edit", by_hand.FOUND_FROM_OUTSIDE.values(), ids=by_hand.FOUND_FROM_OUTSIDE)
def test_what_holds_together_in_itself_has_another_head(path, both, edit):
    own, other = both
    head = opened(path, own).head
    log = opened(path, edit(own, other))
    assert damage.unsettled(log.records) == []
    assert log.head != head


def test_a_head_is_the_beginning_of_the_last_seal_and_how_many_were_written(path):
    own = written(path)
    log = ReadingLog(path)
    assert log.head == Head(json.loads(own[-1])["seal"], 6)
    short = json.loads(own[-1])["seal"][:8]
    assert str(log.head) == f"{short[:4]}-{short[4:]}-6"
    assert str(Head()) == str(Chain().head) == ""


def test_missing_records_are_settled_like_a_line_that_nobody_can_read(path, both):
    log = opened(path, by_hand.FOUND_BY_THE_LOG["two removed in the middle"](*both))
    (line,) = damage.unsettled(log.records)
    assert (line.harm, line.number, damage.said(line)) == ("missing", 3, None)
    assert log.records.index(line) == 1, "it stands where they stood"
    assert str(log.notes[0]) == "line 3 comes behind records that are missing"


def test_of_a_changed_record_the_one_before_and_the_one_behind_count(path, both):
    own, _ = both
    log = opened(path, by_hand.FOUND_BY_THE_LOG["one changed and sealed again"](*both))
    harms = [record.harm if isinstance(record, Damaged) else record.action for record in log.records]
    assert harms == ["read", "cut", "changed", "strike", "read", "read"]
    (line,) = damage.unsettled(log.records)
    assert (line.number, damage.said(line).grams) == (4, 0.5)
    assert [record.raw for record in log.written if not isinstance(record, Damaged)] == [*own[:3], *own[4:]]


def test_a_line_copied_counts_once_and_is_told(path, both):
    own, _ = both
    log = opened(path, [*own[:4], own[3], *own[4:]])
    assert len(log.records) == 6
    assert [note.what for note in log.notes] == ["repeats"]


def test_a_damaged_line_leaves_those_behind_it_sound_and_the_next_goes_on(path, both):
    own, _ = both
    for hit in range(len(own)):
        lines = [*own[:hit], own[hit][:40] + b"~" + own[hit][41:], *own[hit + 1 :]]
        log = opened(path, lines)
        (line,) = damage.unsettled(log.records)
        assert (line.harm, line.number) == ("damaged", hit + 1)
        log.append(Weighed(4, "piston", 538.0))
        again = ReadingLog(path)
        assert damage.unsettled(again.records) == [line]
        numbers = [json.loads(record.raw)["n"] for record in again.written if not isinstance(record, Damaged)]
        begins = [record for record in again.written if isinstance(record, Begun)]
        if begins and begins[-1].joins:  # of a log whose first line is gone nobody knows where it goes on
            assert hit == 0
        else:
            assert numbers == [n for n in range(8) if n != hit], "no number is given twice"


def test_damage_does_not_hide_that_another_record_was_taken_out(path, both):
    own, _ = both
    lines = [*own[:2], b"~" + own[2][1:], *own[4:]]
    log = opened(path, lines)
    assert [line.harm for line in damage.unsettled(log.records)] == ["damaged", "missing"]


def test_two_logs_of_one_job_that_were_put_together_stay_sound_and_the_next_record_joins_them(tmp_path, path):
    other = tmp_path / "other.readings.jsonl"
    left, right = written(path), written(other)
    woven = [line for pair in zip(left, right, strict=True) for line in pair]
    log = opened(path, woven)
    assert (log.notes, len(log.records), log.head.records) == ([], 12, 12)
    log.append(Weighed(4, "piston", 538.0))
    again = ReadingLog(path)
    first, last = again.written[-2:]
    assert isinstance(first, Begun)
    assert set(first.joins) == {json.loads(lines[-1])["seal"] for lines in (left, right)}
    assert (again.records[-1], again.head.records, again.notes) == (last, 13, [])
    for gone in (left[-1], right[-1], left[3]):
        cut = [line for line in path.read_bytes().splitlines() if line != gone]
        assert damage.unsettled(opened(tmp_path / "cut.readings.jsonl", cut).records), "what is joined is held"


def test_a_log_goes_on_only_where_it_was_begun(path):
    own = written(path)
    log = ReadingLog(path)
    log.kept = "another place"
    log.append(Weighed(4, "piston", 538.0))
    first, _ = log.written[-2:]
    assert (first.kept, first.joins, first.job) == ("another place", (json.loads(own[-1])["seal"],), "launch-7")
    ReadingLog(path).append(Weighed(5, "piston", 538.0))
    assert [record.kept for record in ReadingLog(path).written if isinstance(record, Begun)] == [
        "file",
        "another place",
        "file",
    ]


def test_a_job_that_is_called_otherwise_by_now_has_the_same_log(path, tmp_path):
    written(path)
    moved = path.rename(tmp_path / "pump.readings.jsonl")
    log = begun(moved, "pump-2")
    log.kept = "a book"
    log.append(Weighed(4, "piston", 538.0))
    again = ReadingLog(moved)
    assert (again.notes, len(again.records)) == ([], 7)
    assert {record.job for record in again.written if isinstance(record, Begun)} == {"launch-7"}


def test_a_record_is_sealed_behind_what_another_bench_wrote_meanwhile(path):
    left, right = begun(path), begun(path)
    for n in range(3):
        left.append(Weighed(1, "piston", 538.0 + n))
        right.append(Weighed(2, "piston", 538.0 + n))
    log = ReadingLog(path)
    assert (log.notes, [json.loads(record.raw)["n"] for record in log.records]) == ([], [1, 2, 3, 4, 5, 6])


@pytest.mark.parametrize("typed", ["9a3e-71c4-128", "9A3E 71C4 128", " 9a3e71c4/128\n", "9a3e.71c4.128"])
def test_a_head_is_read_as_a_hand_copies_it(typed):
    assert Head.parse(typed) == Head("9a3e71c4", 128)
    assert str(Head.parse(typed)) == "9a3e-71c4-128"


@pytest.mark.parametrize("typed", ["9a3e-71c4", "9a3e71c4128", "9a3-71c4-128", "9a3g-71c4-128", ""])
def test_any_other_text_is_no_head(typed):
    assert Head.parse(typed) is None


def test_a_log_holds_each_of_its_heads_also_behind_a_damaged_line(path, both):
    own, _ = both
    heads = [opened(path, own[:count]).head for count in range(2, 8)]
    assert [since(opened(path, own).written, head) for head in heads] == [5, 4, 3, 2, 1, 0]
    hurt = opened(path, [*own[:3], b"~" + own[3][1:], *own[4:]]).written
    assert [since(hurt, head) for head in heads] == [5, 4, None, 2, 1, 0]
