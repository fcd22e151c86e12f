"""What the log has by now, as the bench sees it."""

from __future__ import annotations

import pytest
from commands import refused
from told_apart import told_apart

from truethrow.balance.base.beside import log_path
from truethrow.balance.job.job import load
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Confirmed, Cut, Traded, Weighed
from truethrow.balance.weighing import benchjob
from truethrow.balance.weighing.benchjob import WeighStep
from truethrow.balance.weighing.session import Session
from truethrow.balance.weighing.standing import Standing


@pytest.fixture
def path(tmp_path):
    return told_apart(tmp_path)


def test_the_bench_asks_for_parts_where_they_sit_now(blank):
    path = blank()
    session = Session(benchjob.load(path), ReadingLog(log_path(path)))
    for n in range(1, 9):
        session.take(str(538 + n / 10))
    ReadingLog(log_path(path)).append(Traded({"piston": {1: 8, 8: 1}}, "p"))
    session.refreshed()
    assert [s.mean_g for s in session.now.sisters("piston")][::7] == [538.8, 538.1]
    assert (session.last.cylinder, session.last.grams) == (1, 538.8)
    session.again()
    assert (session.step.cylinder, session.step.kind) == (1, "piston")


def test_the_bench_refuses_a_log_that_the_job_refuses(path):
    ReadingLog(log_path(path)).append(Traded({"rod": {1: 9, 9: 1}}, "p"))
    ReadingLog(log_path(path)).append(Cut(9, "piston", 1.0))
    told = refused(Session, benchjob.load(path), ReadingLog(log_path(path)))
    assert set(told.splitlines()) < set(refused(load, path).splitlines())  # which misses readings, too
    assert told.count("not in this layout") == 2


def standing(path):
    log = ReadingLog(log_path(path))
    return Standing(benchjob.load(path), log.records, log.name)


def test_what_the_bench_has_comes_before_what_the_job_file_has(path):
    """The pistons of the file are 538.5 … 539.2; the bench weighed the third anew."""
    ReadingLog(log_path(path)).append(Weighed(3, "piston", 540.0, "540.0"))
    now = standing(path)
    pistons = now.sisters("piston")
    assert [s.mean_g for s in pistons] == [538.5, 538.6, 540.0, 538.8, 538.9, 539.0, 539.1, 539.2]
    assert [s.cylinder for s in pistons if not s.in_file] == [3]
    assert sorted(now.others(WeighStep(1, "piston"))) == [538.6, 538.8, 538.9, 539.0, 539.1, 539.2, 540.0]
    assert 540.0 not in now.others(WeighStep(3, "piston"))


def test_a_part_that_moved_takes_what_the_file_has_of_it_along(path):
    ReadingLog(log_path(path)).append(Traded({"piston": {1: 8, 8: 1}}, "m"))
    now = standing(path)
    assert now.part_at(WeighStep(8, "piston")) == 1
    assert now.older(WeighStep(8, "piston")).mean_g == 538.5
    assert now.part_at(WeighStep(8, "pin")) == 8


def test_what_the_job_file_has_is_weighed(path):
    now = standing(path)
    assert all(now.has(step) for step in now.steps())
    session = Session(benchjob.load(path), ReadingLog(log_path(path)))
    assert (session.done, session.step) == (56, None)


def test_once_metal_came_off_some_only_those_are_weighed_again(path):
    ReadingLog(log_path(path)).append(Cut(3, "piston", 1.0, "p"))
    now = standing(path)
    assert not now.has(WeighStep(3, "piston"))
    assert now.has(WeighStep(4, "piston"))
    assert [step for step in now.steps() if not now.has(step)] == [WeighStep(3, "piston")]


def test_a_confirmed_figure_is_known_as_one(path):
    ReadingLog(log_path(path)).append(Confirmed(3, "piston", 538.7, "538.7", why="ok"))
    now = standing(path)
    assert now.is_confirmed(WeighStep(3, "piston"), 538.7)
    assert not now.is_confirmed(WeighStep(3, "piston"), 541.0)
    assert not now.is_confirmed(WeighStep(4, "piston"), 538.8)
