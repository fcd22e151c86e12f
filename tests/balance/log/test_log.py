"""What every log keeps out, and what it promises of each record, wherever it is kept."""

from __future__ import annotations

import re
from dataclasses import replace

import kept
import pytest

from truethrow.balance.log.log import Note, check_same, now, unsaved, when
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import (
    Acknowledged,
    Confirmed,
    Cut,
    Damaged,
    Proposed,
    Run,
    Spun,
    Struck,
    Traded,
    Weighed,
    WentUnproved,
    ZeroRead,
)


@pytest.fixture
def path(tmp_path):
    return tmp_path / "launch.readings.jsonl"


def read(log, grams=538.4, cylinder=1, kind="piston", why="", **more):
    return log.append(Weighed(cylinder, kind, grams, str(grams), why=why), **more)


@pytest.mark.parametrize(
    "record",
    [
        Damaged(1, b"{}"),
        Struck(""),
        ZeroRead("start", float("nan")),
        Weighed(1, "pin", float("inf")),
        Weighed(True, "pin", 1.0),
        Weighed(1, "", 1.0),
        Confirmed(1, "", 1.0),
        Cut(1, "rings", 1.0),
        Cut(0, "piston", 1.0),
        Cut(1, "piston", 0.0),
        Traded({"rod": {1: 2}}, "x-1"),
        Traded({"rod": {1: 2, 2: 1}}, ""),
        Proposed({"rod": {1: 2}}, "t1"),
        Proposed({}, ""),
        Acknowledged("", "noted", 1),
        Spun("t1", (), kept.READ_BY),
        Spun("t1", (Run("twelve", "0", "1", "1"),), kept.READ_BY),
        Spun("t1", [["1", "2", "3", "4"]], kept.READ_BY),
        kept.drilled("s-1", kind=""),
        kept.drilled("s-1", depth_mm=float("nan")),
        kept.hung("s-1"),
        WentUnproved("ground", "s-1", kept.READ_BY),
        kept.signed(),
    ],
    ids=repr,
)
def test_a_record_that_replay_could_not_give_back_is_not_written(path, record):
    with pytest.raises(ValueError, match=r"no |needs|empty|nothing|Out of range|None"):
        ReadingLog(path).append(record)
    assert not path.exists()


def test_a_record_needs_an_id(path):
    with pytest.raises(ValueError, match="needs an id"):
        read(ReadingLog(path), id="")


def test_what_must_hold_is_looked_at_under_the_lock_with_all_that_others_wrote(tmp_path):
    path = tmp_path / "job.readings.jsonl"
    log, other = ReadingLog(path), ReadingLog(path)
    other.append(Weighed(1, "piston", 538.4))
    seen = []

    def refuse():
        seen.append(len(log.records))
        raise ValueError("not now")

    key = log.next_id()
    with pytest.raises(ValueError, match="not now"):
        log.append(Weighed(2, "piston", 538.5), id=key, unless=refuse)
    assert seen == [1]
    assert len(ReadingLog(path).records) == 1
    made = log.append(Weighed(2, "piston", 538.5), id=key)
    assert log.append(Weighed(2, "piston", 538.5), id=key, unless=refuse) == made
    assert seen == [1]
    assert [record.cylinder for record in other.refresh()] == [2]


def test_an_id_belongs_to_one_record_and_the_same_one_made_again_is_it():
    """Later, by somebody else: it is the same record. Another weight is another one."""
    made = Weighed(3, "piston", 538.4, "538.4", id="a-1", at="2026-11-28T09:01:00.000Z", bench="b", by="AB")
    check_same(made, None)
    check_same(replace(made, at="2026-11-28T10:00:00.000Z", by="CD", typed="538,4"), made)
    with pytest.raises(ValueError, match="a-1 belongs to another record"):
        check_same(replace(made, grams=538.5), made)


@pytest.mark.parametrize(
    ("record", "said"),
    [
        (Weighed(1, "pin", 112.0), "reading"),
        (ZeroRead("start", 0.0), "reading"),
        (Cut(1, "pin", 1.0), "cut"),
        (kept.hung("s-1", "1@2", "3@4"), "test mass"),
        (kept.signed("s-1"), "sign-off"),
    ],
    ids=repr,
)
def test_what_is_not_saved_is_told_by_what_it_is(record, said):
    assert str(unsaved("launch: the disk is full", record)) == f"launch: the disk is full; the {said} is not saved"


@pytest.mark.parametrize(
    ("note", "said"),
    [
        (Note(3, "torn"), "line 3 is torn: its writing was broken off; it does not count"),
        (Note(3, "whole"), "line 3 is torn at its end; its record is whole and counts"),
        (Note(3, "repeats", ("a-1",)), "line 3 repeats the id a-1; the first of them counts"),
        (Note(3, "damaged", ("a-1",)), "line 3 is damaged; what is whole in it, a-1, counts"),
        (Note(3, "damaged", unit="record"), "record 3 is damaged; what it said is lost"),
    ],
    ids=lambda value: value.what if isinstance(value, Note) else "",
)
def test_a_note_says_what_counts_of_a_line(note, said):
    assert str(note) == said


def test_times_are_kept_to_the_millisecond_and_told_to_the_minute():
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z", now())
    assert when("2026-11-28T09:01:59.999Z") == "2026-11-28 09:01"
