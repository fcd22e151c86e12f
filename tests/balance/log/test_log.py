"""What every log keeps out, and what it promises of each record, wherever it is kept."""

from __future__ import annotations

import re

import pytest

from truethrow.balance.log.log import Note, check_same, now, unsaved, when
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Record


@pytest.fixture
def path(tmp_path):
    return tmp_path / "launch.readings.jsonl"


def read(log, grams=538.4, cylinder=1, kind="piston", **more):
    return log.append("read", cylinder=cylinder, kind=kind, grams=grams, typed=str(grams), **more)


@pytest.mark.parametrize(
    ("action", "said"),
    [
        ("weigh", {}),
        ("strike", {}),
        ("zero", {"grams": float("nan")}),
        ("zero", {"id": ""}),
        ("read", {"cylinder": 1, "kind": "pin"}),
        ("read", {"cylinder": True, "kind": "pin", "grams": 1.0}),
        ("read", {"cylinder": 1, "grams": 1.0}),
        ("cut", {"cylinder": 1, "kind": "rings", "grams": 1.0}),
        ("cut", {"cylinder": 0, "kind": "piston", "grams": 1.0}),
        ("cut", {"cylinder": 1, "kind": "piston", "grams": 0.0}),
        ("seat", {"typed": "rod 1>2", "of": "x-1"}),
        ("seat", {"typed": "rod 1>2 2>1"}),
    ],
)
def test_a_record_that_replay_could_not_give_back_is_not_written(path, action, said):
    with pytest.raises(ValueError, match=r"no |needs|empty"):
        ReadingLog(path).append(action, **said)
    assert not path.exists()


def test_what_must_hold_is_looked_at_under_the_lock_with_all_that_others_wrote(tmp_path):
    path = tmp_path / "job.readings.jsonl"
    log, other = ReadingLog(path), ReadingLog(path)
    other.append("read", cylinder=1, kind="piston", grams=538.4)
    seen = []

    def refuse():
        seen.append(len(log.records))
        raise ValueError("not now")

    key = log.next_id()
    with pytest.raises(ValueError, match="not now"):
        log.append("read", cylinder=2, kind="piston", grams=538.5, id=key, unless=refuse)
    assert seen == [1]
    assert len(ReadingLog(path).records) == 1
    made = log.append("read", cylinder=2, kind="piston", grams=538.5, id=key)
    assert log.append("read", cylinder=2, kind="piston", grams=538.5, id=key, unless=refuse) == made
    assert seen == [1]
    assert [record.cylinder for record in other.refresh()] == [2]


def test_an_id_belongs_to_one_record_and_the_same_one_made_again_is_it():
    """Later, by somebody else: it is the same record. Another weight is another one."""
    made = Record("a-1", "2026-11-28T09:01:00.000Z", "b", "AB", "read", 3, "piston", 538.4, "538.4", "", "")
    check_same(made, None)
    check_same(made._replace(at="2026-11-28T10:00:00.000Z", by="CD", typed="538,4"), made)
    with pytest.raises(ValueError, match="a-1 belongs to another record"):
        check_same(made._replace(grams=538.5), made)


@pytest.mark.parametrize(
    ("action", "said"), [("read", "reading"), ("cut", "cut"), ("test", "test mass"), ("sign", "sign-off")]
)
def test_what_is_not_saved_is_told_by_what_it_is(action, said):
    record = Record("a-1", "", "", "", action, None, "", None, "", "", "")
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
