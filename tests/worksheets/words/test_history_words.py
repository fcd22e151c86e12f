"""A record in a few words."""

import pytest

from truethrow.balance.base.naming import Part
from truethrow.balance.job.history import PastRecord
from truethrow.balance.log.records import Record
from truethrow.worksheets.words.history_words import row, told

PISTON = Part("piston", 3, 3, "P5", 3)


def record(action, cylinder=None, kind="", grams=None, typed="", of="", why=""):
    return Record("a-7", "2026-11-28T09:01:02.000Z", "bench-1", "", action, cylinder, kind, grams, typed, of, why)


@pytest.mark.parametrize(
    ("made", "said"),
    [
        (record("read", 0, "rings", 41.0, "41,0 g"), "every cylinder, rings: 41,0 g"),
        (record("read", 3, "pin", 112.1), "cylinder 3, pin: 112.1 g"),
        (record("confirm", 3, "pin", 112.1, "112.1"), "cylinder 3, pin: 112.1 g is right"),
        (record("cut", 3, "big_end", 2.4), "cylinder 3: 2.4 g asked for at the big end"),
        (record("strike", of="a-2"), "strikes a-2"),
        (record("skip", 4, "piston"), "cylinder 4, piston: left out"),
        (record("seat", typed="piston 1>2 2>1"), "piston 1>2 2>1"),
        (record("acknowledge", kind="never happened", typed="9"), "line 9: never happened"),
        (record("damaged", of="9"), "line 9, does not count"),
        (record("zero", kind="start", grams=0.1, typed="0.1"), "start, 0.1, 0.1 g"),
    ],
    ids=lambda value: value.action if isinstance(value, Record) else "",
)
def test_every_kind_of_record_says_what_it_is_of(made, said):
    assert told(PastRecord(made, "")) == said


def test_a_part_is_called_by_its_mark():
    said = told(PastRecord(record("read", 3, "piston", 538.4, "538.4"), "", (PISTON,)))
    assert said == f"{PISTON.said}: 538.4"
    assert "P5" in said


def test_a_row_has_who_did_it_and_what_became_of_it():
    struck = PastRecord(record("read", 3, "pin", 112.1, "112.1", why="the wrong pin"), "a-9")
    assert row(struck) == [
        *("a-7", "2026-11-28 09:01:02", "bench-1", "read", "cylinder 3, pin: 112.1"),
        "struck by a-9; the wrong pin",
    ]
    assert row(PastRecord(record("strike", of="a-2")._replace(by="AB"), ""))[2] == "AB"
