"""Whatever is in the place of a file, and whoever holds it: one line, within ten seconds, and never for ever."""

from __future__ import annotations

import contextlib
import fcntl
import os
import signal
import socket
import sqlite3
import tempfile
import time
from pathlib import Path

import loaded
import pytest
from commands import run

STATION = ("--station", "station.toml")
LONGEST_S = 30.0  # of a command; one that hangs would go on
BOOK = "sqlite:///shop.book"
PIPE = [
    ("work", "PIPE"),
    ("check", "launch.toml", "--sheet", "PIPE"),
    ("enter", "launch.toml", "PIPE"),
    ("enter", "PIPE", "launch-weigh.csv"),
    ("weigh", "PIPE"),
    ("weigh", "launch.toml", "--bench", "PIPE"),
    ("spins", "launch.toml", "--station", "PIPE"),
    ("spin", "PIPE", *STATION, "1@2", "3@4"),
    ("compare", "PIPE", "launch.toml", "--sheet", "launch-weigh.csv"),
    ("send", "launch.toml", "--out", "PIPE", "--sheet", "launch-weigh.csv"),
    ("shelf", "launch.toml", "PIPE"),
    ("cards", "PIPE"),
    ("strike", "PIPE", "nonesuch"),
    ("ground", "PIPE"),
    ("match", "PIPE"),
    ("accept", "PIPE"),
    ("stack", "launch.toml", "--station", "PIPE"),
    ("book", "add", "PIPE", "--book", BOOK),
    ("book", "restore", "PIPE", "--book", BOOK),
    ("book", "salvage", "out.book", "--book", "sqlite:///PIPE"),
    ("book", "list", "--book", "sqlite:///PIPE"),
]


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    folder = tmp_path_factory.mktemp("hangs")
    assert run("demo", "--into", folder / "demo").status == 0
    return folder / "demo"


@pytest.fixture
def shop(demo, tmp_path, monkeypatch):
    """A folder with the demo's files, and a pipe into which nobody writes."""
    for path in demo.iterdir():
        (tmp_path / path.name).write_bytes(path.read_bytes())
    os.mkfifo(tmp_path / "PIPE.toml")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def ended(*words: str, **given: str) -> tuple[int, str]:
    """How a command ended, and what it said; it is killed, and the test fails, where it does not end."""
    with tempfile.TemporaryFile("w+") as said, tempfile.TemporaryFile("w+") as stdin:
        process = loaded.Process(
            "truethrow", *words, environment=dict(os.environ) | given, files=(stdin, said, said)
        )
        until = time.monotonic() + LONGEST_S
        while (
            Path(f"/proc/{process.pid}").exists()
            and Path(f"/proc/{process.pid}/stat").read_text().split()[2] != "Z"
        ):
            if time.monotonic() > until:
                process.kill()
                process.wait()
                pytest.fail(f"{' '.join(words)} hangs")
            time.sleep(0.01)
        status = process.wait()
        said.seek(0)
        return status, said.read()


@pytest.mark.parametrize("words", PIPE, ids=" ".join)
def test_a_pipe_in_the_place_of_a_file_is_told(shop, words):
    status, said = ended(
        *(
            word.replace("PIPE", str(shop / "PIPE.toml")).replace("shop.book", str(shop / "shop.book"))
            for word in words
        )
    )
    assert status in (1, 2), said
    assert "Traceback" not in said
    assert "PIPE.toml" in said
    # Beside the fault only which profile was found by itself.
    assert len([line for line in said.splitlines() if not line.startswith("Station: ")]) == 1, said


def test_a_pipe_in_the_place_of_a_log_is_told(shop):
    os.mkfifo("launch.readings.jsonl")
    status, said = ended("check", "launch.toml")
    assert (status, said.splitlines()) == (2, ["launch.readings.jsonl: is no file"])


def test_a_job_that_another_program_holds_is_not_waited_for_all_day(shop):
    """An editor that keeps its file locked over lunch."""
    before = Path("launch.toml").read_bytes()
    with Path("launch.toml").open("rb") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        status, said = ended("enter", "launch.toml", "launch-weigh.csv")
    assert status in (1, 2)
    assert said.splitlines() == [
        "waiting for another program to let go of launch.toml, 8 s at most (Ctrl-C ends it)",
        "launch.toml: held by another program for 8 s; nothing was written",
    ]
    assert Path("launch.toml").read_bytes() == before


@contextlib.contextmanager
def held(kind):
    """Something that somebody else holds: a job's file, its log, the book."""
    if kind == "book":
        with contextlib.closing(sqlite3.connect("shop.book", isolation_level=None)) as book:
            book.execute("PRAGMA locking_mode=EXCLUSIVE")
            book.execute("BEGIN EXCLUSIVE")
            yield
        return
    with Path({"job": "launch.toml", "log": "pump.readings.jsonl"}[kind]).open("ab") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        yield


WAITS = {
    "job": ("enter", "launch.toml", "launch-weigh.csv"),
    "log": ("ground", "pump.toml", "piston", "1", "--took", "1", "--by", "AB"),
    "book": ("book", "list", "--book", BOOK),
}


@pytest.mark.parametrize("kind", WAITS)
def test_what_is_waited_for_is_told_after_a_second_and_ctrl_c_ends_it(shop, kind):
    assert run("book", "add", "launch.toml", "--book", BOOK).status == 0
    with held(kind), tempfile.TemporaryFile("w+") as said, tempfile.TemporaryFile("w+") as stdin:
        process = loaded.Process("truethrow", *WAITS[kind], files=(stdin, said, said))
        told_within(said, LONGEST_S)
        os.kill(process.pid, signal.SIGINT)
        assert process.wait() != 0
        said.seek(0)
        told = said.read()
    assert told.startswith("waiting for another "), told
    assert "8 s at most" in told
    assert " for 8 s" not in told and "Traceback" not in told, "it went on to the end"


def told_within(said, longest_s: float) -> None:
    """Wait until a command tells that it waits."""
    until = time.monotonic() + longest_s
    while "Ctrl-C" not in os.pread(said.fileno(), 1000, 0).decode():
        assert time.monotonic() < until, "nothing is told"
        time.sleep(0.05)


def test_a_standard_input_that_does_not_end_is_told(shop):
    end, other = os.pipe()
    with os.fdopen(end) as stdin, os.fdopen(other, "w"), tempfile.TemporaryFile("w+") as said:
        process = loaded.Process("truethrow", "check", "-", files=(stdin, said, said))
        told_within(said, LONGEST_S)
        os.kill(process.pid, signal.SIGINT)
        assert process.wait() != 0
        said.seek(0)
        assert said.read().startswith("waiting for standard input to end (Ctrl-C ends it)")


def test_a_server_that_says_nothing_is_told_while_it_is_waited_for(shop):
    """One that froze: the system takes the call, and nobody answers."""
    with socket.create_server(("127.0.0.1", 0)) as silent:
        book = f"postgresql://nobody@127.0.0.1:{silent.getsockname()[1]}/none"
        begun = time.monotonic()
        status, said = ended("book", "list", "--book", book)
        took_s = time.monotonic() - begun
    first, last = said.splitlines()
    assert status == 2
    assert first == "waiting for the book's server to answer, 9 s at most (Ctrl-C ends it)"
    assert "the server is gone or cannot be reached" in last
    assert took_s < LONGEST_S


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a" + ".a" * 50_000 + " = 1\n", "line 1: 50000 points in one line; allowed: at most 200"),
        ("# " + "a" * 400_000, "400002 characters is no job file; allowed: 300000 characters"),
        ("x = " + "[" * 40_000, "nested too deep"),
    ],
    ids=["dots", "long", "deep"],
)
def test_a_file_that_takes_long_to_read_is_no_job(shop, text, said):
    Path("launch.toml").write_text(text)
    status, told = ended("check", "launch.toml")
    assert status == 2
    assert said in told


@pytest.mark.parametrize(
    "text",
    [
        "cylinder," + ",".join(f"xq{number}" for number in range(400_000)),
        "part  " + "  ".join(str(number % 8 + 1) for number in range(900_000)),
        "cylinder,piston\n1," + "538.4 " * 600_000,
    ],
    ids=["headings", "cylinders", "readings"],
)
def test_a_sheet_of_three_megabytes_in_one_row_is_told_in_one_line(shop, text):
    """Its headings alone took more than a minute."""
    Path("weigh.csv").write_text(text)
    for words in (("check", "launch.toml", "--sheet", "weigh.csv"), ("shelf", "launch.toml", "weigh.csv")):
        status, said = ended(*words)
        assert (status, len(said.splitlines())) == (2, 1), said
        assert " characters in one row; allowed: at most 200000" in said


def test_a_sheet_of_too_many_columns_is_told_in_one_line(shop):
    Path("weigh.csv").write_text("cylinder," + ",".join(f"xq{number}" for number in range(20_000)))
    status, said = ended("check", "launch.toml", "--sheet", "weigh.csv")
    assert (status, said) == (2, "weigh.csv: row 1: 20001 columns; allowed: at most 1000\n")


def test_a_sheet_that_goes_on_and_on_is_told_in_one_line(shop):
    Path("weigh.csv").write_text("cylinder,part,reading\n" + "1,pistn,538.4\n" * 240_000)
    status, said = ended("check", "launch.toml", "--sheet", "weigh.csv")
    assert (status, said) == (2, "weigh.csv: row 15842: goes on; allowed: a weigh sheet of at most 15840 rows\n")
