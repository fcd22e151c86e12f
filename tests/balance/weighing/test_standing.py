"""What the log has by now, as the bench sees it."""

from __future__ import annotations

import pytest
from commands import refused
from told_apart import told_apart

from truethrow.balance.base.beside import log_path
from truethrow.balance.job.job import load
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.weighing import benchjob
from truethrow.balance.weighing.session import Session


@pytest.fixture
def path(tmp_path):
    return told_apart(tmp_path)


def test_the_bench_asks_for_parts_where_they_sit_now(blank):
    path = blank()
    session = Session(benchjob.load(path), ReadingLog(log_path(path)))
    for n in range(1, 9):
        session.take(str(538 + n / 10))
    ReadingLog(log_path(path)).append("seat", typed="piston 1>8 8>1", of="p")
    session.refreshed()
    assert [s.mean_g for s in session.now.sisters("piston")][::7] == [538.8, 538.1]
    assert (session.last.cylinder, session.last.grams) == (1, 538.8)
    session.again()
    assert (session.step.cylinder, session.step.kind) == (1, "piston")


def test_the_bench_refuses_a_log_that_the_job_refuses(path):
    ReadingLog(log_path(path)).append("seat", typed="rod 1>9 9>1", of="p")
    ReadingLog(log_path(path)).append("cut", cylinder=9, kind="piston", grams=1.0)
    told = refused(Session, benchjob.load(path), ReadingLog(log_path(path)))
    assert set(told.splitlines()) < set(refused(load, path).splitlines())  # which misses readings, too
    assert told.count("not in this layout") == 2
