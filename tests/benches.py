"""A bench at a job, without a screen."""

from __future__ import annotations

from truethrow.balance.base.beside import log_path
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.weighing.benchjob import load
from truethrow.balance.weighing.session import Session


def bench(path, name="bench-1"):
    return Session(load(path), ReadingLog(log_path(path), name))
