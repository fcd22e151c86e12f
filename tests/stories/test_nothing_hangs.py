"""Whatever is in the place of a file, and whoever holds it: one line, within ten seconds, and never for ever."""

from __future__ import annotations

import fcntl
import os
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
    assert len(said.splitlines()) == 1, said


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
    assert said.splitlines() == ["launch.toml: held by another program for 10 s; nothing was written"]
    assert Path("launch.toml").read_bytes() == before


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


def test_a_sheet_that_goes_on_and_on_is_told_in_one_line(shop):
    Path("weigh.csv").write_text("cylinder,part,reading\n" + "1,pistn,538.4\n" * 240_000)
    status, said = ended("check", "launch.toml", "--sheet", "weigh.csv")
    assert (status, said) == (2, "weigh.csv: row 15842: goes on; allowed: a weigh sheet of at most 15840 rows\n")
