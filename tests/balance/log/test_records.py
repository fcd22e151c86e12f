"""What a record is struck by, and what was written again for one."""

from __future__ import annotations

import kept
import pytest

from truethrow.balance.log.records import (
    KINDS,
    Confirmed,
    Cut,
    Damaged,
    Struck,
    Weighed,
    again_id,
    struck_ids,
)


@pytest.fixture
def path(tmp_path):
    return tmp_path / "launch.readings.jsonl"


def read(log, grams=538.4, cylinder=1, kind="piston", why="", **more):
    return log.append(Weighed(cylinder, kind, grams, str(grams), why=why), **more)


def test_records_are_equal_by_what_they_say_and_by_their_kind():
    assert Weighed(1, "pin", 112.0, id="a") == Weighed(1, "pin", 112.0, id="a")
    assert Weighed(1, "pin", 112.0) != Confirmed(1, "pin", 112.0)
    assert Weighed(1, "pin", 112.0) != Weighed(1, "pin", 112.0, why="dry")


def test_what_is_struck_is_what_a_strike_is_of_and_nothing_else():
    records = [Cut(1, "pin", 1.0, "p1", id="a-1"), Struck("a-1", id="a-2"), kept.signed("a-9")]
    assert struck_ids(records) == {"a-1"}


def test_what_was_written_again_has_an_id_by_which_its_line_is_found():
    lines = [Damaged(n, b"", id=f"damaged-{n}") for n in (1, 11)]
    assert len({again_id(line) for line in lines}) == 2
    assert all(again_id(line).startswith(line.id) and again_id(line) != line.id for line in lines)


def test_no_bench_writes_that_a_line_is_damaged():
    """That is found when a log is read; were it an action, a line could claim it of another."""
    assert Damaged.action not in KINDS
