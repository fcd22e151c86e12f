"""A record in a few words."""

import kept
import pytest

from truethrow.balance.base.naming import Part
from truethrow.balance.job.history import PastRecord
from truethrow.balance.log.chain import Head
from truethrow.balance.log.records import (
    Acknowledged,
    Confirmed,
    Cut,
    Damaged,
    MassHung,
    Record,
    Skipped,
    Struck,
    Traded,
    Weighed,
    WentUnproved,
    ZeroRead,
)
from truethrow.worksheets.words import history_words
from truethrow.worksheets.words.history_words import WIDTH, below, row, told

PISTON = Part("piston", 3, 3, "P5", 3)


SIGNED = (
    "spins s-1; holes h-1; by profile 7baac9bd, proof m-1; "
    "front 20 ± 30 g·mm at crank 0.0, inside 100; rear 20 ± 30 g·mm at crank 0.0, inside 100"
)
HEAD = {"id": "a-7", "at": "2026-11-28T09:01:02.000Z", "bench": "bench-1"}


@pytest.mark.parametrize(
    ("made", "said"),
    [
        (Weighed(0, "rings", 41.0, "41,0 g"), "every cylinder, rings: 41,0 g"),
        (Weighed(3, "pin", 112.1), "cylinder 3, pin: 112.1 g"),
        (Confirmed(3, "pin", 112.1, "112.1"), "cylinder 3, pin: 112.1 g is right"),
        (Cut(3, "big_end", 2.4, "p1", 1), "cylinder 3: 2.4 g asked for at the big end"),
        (Cut(3, "big_end", 1.41747615625), "cylinder 3: 1.417 g taken off at the big end"),
        (Struck("a-2"), "cancels a-2"),
        (Skipped(4, "piston"), "cylinder 4, piston: left out"),
        (Traded({"piston": {1: 2, 2: 1}}, "m-1"), "piston 1>2 2>1"),
        (Acknowledged("d-1", "never happened", 9), "line 9: never happened"),
        (Damaged(9), "line 9, does not count"),
        (ZeroRead("start", 0.1, "0.1"), "start, 0.1, 0.1 g"),
        (kept.spun("t1", "12.40@37", "8.1@210", turned="s-1"), "turned, 12.40@37 8.1@210 in g"),
        (kept.hung("s-1", "1@2", "3@4"), "front, 50 g at 100 mm, crank 90 deg: 1@2 3@4 in g"),
        (
            MassHung(
                "front",
                60.0,
                90.0,
                30.0,
                kept.runs("1@2", "3@4"),
                kept.READ_BY,
                "s-1",
                *[""] * 2,
                550.0,
                40.0,
                90.0,
                120.0,
            ),
            "front, 60 g at 90 mm, crank 30 deg, and rear, 40 g at 90 mm, crank 120 deg: "
            "1@2 3@4 in g at 550 r/min",
        ),
        (kept.signed("s-1", holes=("h-1",)), SIGNED),
        (
            kept.drilled("s-1"),
            "radial, 1 front: at crank 90° radius 79 mm z 10 mm diameter 12.7 mm depth 20 mm point 118° arc 0° "
            "takes 500 g·mm mass 7 g",
        ),
        (WentUnproved("holes", "s-1", kept.READ_BY), "to drill without a known mass"),
        (
            kept.edited(kept.READ_BY._replace(zero_deg=40.0, revision="x"), wrong_since="s-1"),
            "had been wrong since spin s-1: zero 0 → 40",
        ),
        (kept.edited(kept.READ_BY._replace(unit="oz", revision="x")), "station changed: unit g → oz"),
    ],
    ids=lambda value: value.action if isinstance(value, Record) else "",
)
def test_every_kind_of_record_says_what_it_is_of(made, said):
    assert told(PastRecord(made, "")) == said


def test_a_part_is_called_by_its_mark():
    said = told(PastRecord(Weighed(3, "piston", 538.4, "538.4"), "", (PISTON,)))
    assert said == f"{PISTON.said}: 538.4"
    assert "P5" in said


def test_a_row_has_who_did_it_and_what_became_of_it():
    struck = PastRecord(Weighed(3, "pin", 112.1, "112.1", why="the wrong pin", **HEAD), "a-9")
    assert row(struck) == ["a-7", "2026-11-28 09:01:02", "bench-1", "read"]
    assert below(struck) == ["    cylinder 3, pin: 112.1", "    canceled by a-9", "    the wrong pin"]
    assert row(PastRecord(Struck("a-2", by="AB"), ""))[2] == "AB"


def test_what_is_long_is_told_in_lines_that_a_narrow_screen_takes_and_none_of_it_is_lost():
    moves = {"piston": {n: n % 8 + 1 for n in range(1, 9)}, "rod": {n: n % 8 + 1 for n in range(1, 9)}}
    long = PastRecord(Traded(moves, "a-1", why="w " * 100, **HEAD), "")
    lines = below(long)
    assert max(map(len, lines)) <= WIDTH
    assert " ".join(" ".join(lines).split()) == " ".join(f"{told(long)} {long.record.why}".split())


@pytest.mark.parametrize(
    ("since", "said"), [(0, "no record since"), (1, "1 record since"), (7, "7 records since")]
)
def test_a_head_that_is_held_tells_how_far_the_log_went_on(since, said):
    assert history_words.held(Head("9a3e71c4", 12), since).endswith(
        f"holds 9a3e-71c4-12 and goes on from it, {said}."
    )


def test_a_head_that_is_not_held_says_what_to_do_with_the_command():
    said = history_words.not_held(Head("9a3e71c4", 12), "my.readings.jsonl", "my.toml")
    assert said.startswith("NO: my.readings.jsonl does not hold 9a3e-71c4-12. Records were removed or changed")
    assert "truethrow history my.toml" in said
