"""What counts of a log: a strike takes back what it is of, and nothing else."""

from __future__ import annotations

import pytest

from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.replaying import counting, replay


@pytest.fixture
def path(tmp_path):
    return tmp_path / "launch.readings.jsonl"


def read(log, grams=538.4, cylinder=1, kind="piston", **more):
    return log.append("read", cylinder=cylinder, kind=kind, grams=grams, typed=str(grams), **more)


def test_current_is_what_is_not_struck_and_odd_strikes_are_harmless(path):
    log = ReadingLog(path)
    first, second, third = read(log, 538.4), read(log, 538.5), read(log, 41.0, 0, "rings")
    log.append("skip", cylinder=2, kind="piston", why="not here yet")
    assert counting(replay(log.records).placed) == {(1, "piston"): (first, second), (0, "rings"): (third,)}
    strike = log.append("strike", of=first.id, why="pin was in it")
    for of in (first.id, "nobody-7", strike.id):
        log.append("strike", of=of)
    assert counting(replay(log.records).placed) == {(1, "piston"): (second,), (0, "rings"): (third,)}
    log.append("strike", of=third.id)
    assert counting(replay(ReadingLog(path).records).placed) == {(1, "piston"): (second,)}
