"""What a job takes from its log."""

from __future__ import annotations

import kept
import pytest
from commands import refused
from told_apart import told_apart

from truethrow.balance.base.beside import log_path
from truethrow.balance.job.job import load
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Struck, Traded
from truethrow.balance.weighing import benchjob
from truethrow.balance.weighing.session import Session


@pytest.fixture
def path(tmp_path):
    return told_apart(tmp_path)


def test_a_trade_that_makes_no_sense_is_a_fault_that_names_it_until_it_is_struck(path):
    log = ReadingLog(log_path(path))
    wrong = Traded({"rod": {1: 2}}, "p", id="x-1")
    with log.path.open("wb") as file:
        file.write(kept.written(wrong))
    told = "trade, record x-1: rod: a place would be left empty or taken twice"
    assert refused(load, path) == f"{log.path}: {told}"
    assert refused(Session, benchjob.load(path), ReadingLog(log.path)) == f"{log.path}: {told}"
    ReadingLog(log.path).append(Struck("x-1", why="by hand"))
    assert load(path).traded == {}


def test_a_trade_outside_the_layout_is_a_fault_that_names_it(path):
    made = ReadingLog(log_path(path)).append(Traded({"rod": {1: 9, 9: 1}}, "p"))
    told = refused(load, path)
    assert f"trade, record {made.id}, moves, cylinder 9: not in this layout; allowed: 1, 2, 3" in told
