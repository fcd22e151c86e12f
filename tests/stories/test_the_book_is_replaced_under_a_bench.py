"""A part is on the scale while somebody at another station puts an old backup in the place of the book, or another
file: the bench says so in one line and ends. What it goes on to weigh would be lost without a word."""

import os
import subprocess
import sys

import books
import pytest

from truethrow.balance.base.errors import Replaced
from truethrow.balance.book.booked import BookedJob
from truethrow.balance.weighing.benchjob import load
from truethrow.balance.weighing.scaleline import ScaleProfile
from truethrow.balance.weighing.session import Session
from truethrow.cli.weighing.benchloop import REFRESH_S, BenchLoop

WEIGH = [sys.executable, "-m", "truethrow.cli.main", "weigh", "launch-7"]
CALL = [sys.executable, "-m", "truethrow.cli.main", "book"]
SAID = "another book was put in its place meanwhile; open the job anew"


def restored(folder, run):
    run("restore", folder / "b.bak", "--yes")


def moved(folder, run):
    run("backup", folder / "other.db")
    (folder / "other.db").replace(folder / "book.db")


@pytest.fixture
def shop(tmp_path):
    """A job in a book with a backup, and how a command is run on it."""
    url = f"sqlite:///{tmp_path / 'book.db'}"
    environment = {**os.environ, "TRUETHROW_BOOK": url, "XDG_DATA_HOME": str(tmp_path), "PYTHONUNBUFFERED": "1"}

    def run(*said):
        return subprocess.run(
            [*CALL, *map(str, said)], env=environment, check=True, capture_output=True, timeout=120
        )

    run("add", books.job_file(tmp_path))
    run("backup", tmp_path / "b.bak")
    return environment, run


@pytest.mark.parametrize("put_in", [restored, moved])
def test_a_bench_that_weighs_says_so_in_one_line_and_ends(shop, tmp_path, put_in):
    environment, run = shop
    with subprocess.Popen(
        WEIGH, env=environment, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as bench:
        bench.stdin.write("go 1 piston\n538.4\n")
        bench.stdin.flush()
        assert "Piston 1" in bench.stdout.readline()
        assert "538.4" in bench.stdout.readline()
        put_in(tmp_path, run)
        out, said = bench.communicate("go 2 piston\n538.6\n538.8\n", timeout=120)
    assert (bench.returncode, said.count("\n")) == (2, 1), said
    assert f"{SAID}; the reading is not saved" in said
    assert "538.8" not in out


@pytest.mark.parametrize("put_in", [restored, moved])
def test_a_bench_that_waits_notices_by_itself(shop, tmp_path, put_in):
    _, run = shop
    with books.at(tmp_path / "book.db") as book:
        placed, at_s = BookedJob(book, "launch-7"), [0.0]
        loop = BenchLoop(Session(load(placed), placed.open_log()), ScaleProfile(), now=lambda: at_s[0])
        put_in(tmp_path, run)
        assert loop.ended is None
        at_s[0] += 2 * REFRESH_S
        loop.poll()
    assert isinstance(loop.ended, Replaced)
    assert SAID in str(loop.ended)
