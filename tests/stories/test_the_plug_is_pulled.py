"""The plug is pulled at any moment, and what the system had in its memory alone is gone: whatever a command
acknowledged is on the disk, whole, and the work goes on."""

from __future__ import annotations

import contextlib
import itertools
import os
import random
import shutil
import sqlite3
import sys
from collections import Counter
from pathlib import Path

import pytest
from commands import run
from pulled_plug import DONE, State, acknowledged, needs_strace, states, traced

pytestmark = [needs_strace, pytest.mark.xdist_group("plug")]
LOG, JOB, BOOK = "launch.readings.jsonl", "launch.toml", "shop.book"
STATION = ["--station", "station.toml"]


@pytest.fixture
def shop(tmp_path, monkeypatch):
    """A folder with the demo's files, and room beside it for what is left of it."""
    assert run("demo", "--into", tmp_path / "shop").status == 0
    monkeypatch.setenv("TRUETHROW_BOOK", f"sqlite:///{BOOK}")
    for name in ("pump.toml", "shelf-pins.csv", "shelf-pistons.csv", "shelf-rods.csv", "launch-station.csv"):
        (tmp_path / "shop" / name).unlink(missing_ok=True)
    return tmp_path / "shop"


def work_on(job: str) -> list[list[str]]:
    return [
        ["enter", job, "launch-weigh.csv"],
        ["confirm", job, "piston", "P33", "--why", "weighed twice", "--by", "AB"],
        ["confirm", job, "rod", "R35", "--why", "weighed twice", "--by", "AB"],
        ["spin", job, *STATION, "6.1@203", "5.0@169", "--by", "AB"],
        ["spin", job, *STATION, "6.0@203", "5.1@169", "--by", "AB"],
    ]


def test_a_job_in_a_folder(shop, tmp_path, as_many):
    """The job file is the old one or the new one, whole; the log holds what was acknowledged, to the byte; and
    the work goes on."""
    steps = traced(shop, work_on(JOB), dict(os.environ))
    whole = acknowledged(steps)
    assert len({state.files.get(LOG) for state in whole}) == len(whole) - 1  # entering goes into the job file
    found = list(states(steps, random.Random(7), as_many(1.0, sample=0.5)))
    for number, state in enumerate(found):
        at_least = whole[state.told.count(DONE)]
        assert state.files[JOB] in {at_least.files[JOB], whole[1].files[JOB]}, state.told
        assert state.files.get(LOG, b"").startswith(at_least.files.get(LOG, b"")), state.told
        if number % as_many(10, sample=25) == 0:
            goes_on(state.put_into(tmp_path / f"left-{number}"), work_on(JOB))
    say(found)


def test_a_job_in_a_book(shop, tmp_path, as_many):
    """The book is sound, and holds every text and record that was acknowledged; and the work goes on."""
    commands = [["book", "add", JOB, "--by", "AB"], *work_on("launch-7")]
    steps = traced(shop, commands, dict(os.environ))
    whole = [rows_in(state.put_into(tmp_path / f"whole-{n}")) for n, state in enumerate(acknowledged(steps))]
    assert all(before < after for before, after in itertools.pairwise(whole))  # each command keeps something
    found = list(states(steps, random.Random(7), as_many(0.4, sample=0.008)))
    for number, state in enumerate(found):
        done, folder = state.told.count(DONE), state.put_into(tmp_path / f"left-{number}")
        assert rows_in(folder) >= whole[done], state.told
        if number % as_many(20, sample=20) == 0:
            goes_on(folder, commands if done == 0 else commands[1:])
            assert run("book", "verify", folder=folder).status == 0
        shutil.rmtree(folder)
    say(found)


def goes_on(folder: Path, commands: list[list[str]]) -> None:
    """Whoever comes back does all of it again that may not have been done."""
    for words in commands:
        said = run(*words, folder=folder)
        assert said.status in (0, 1), said.err
    assert "6.1" in run("history", commands[-1][1], folder=folder).out


def rows_in(folder: Path) -> set[tuple[object, ...]]:
    """The texts and records of a book, as SQLite itself finds them; none where it is not there yet."""
    if not (folder / BOOK).exists():
        return set()
    with contextlib.closing(sqlite3.connect(folder / BOOK)) as book:
        assert book.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        tables = {name for (name,) in book.execute("SELECT name FROM sqlite_master")}
        if "job_revisions" not in tables:
            return set()
        return {
            *book.execute("SELECT job, revision, text FROM job_revisions"),
            *book.execute("SELECT job, seq, text FROM records"),
        }


def say(found: list[State]) -> None:
    told = Counter(state.told.count(DONE) for state in found)
    sys.stdout.write(f"\n{len(found)} states of the disk; by commands acknowledged: {dict(told)}\n")
