"""A command reads its job file and the log beside it once, so that all that it tells is of one moment."""

from __future__ import annotations

import shutil
from collections import Counter
from pathlib import Path

import loaded
import pytest
from commands import run

STATION = ("--station", "station.toml")
# What only looks: each file once.
LOOKS = [
    ("work",),
    ("hang",),
    ("check",),
    ("trim",),
    ("send", "--out", "sheet.csv"),
    ("sure",),
    ("share",),
    ("shake",),
    ("stack", *STATION),
    ("history",),
    ("replace", "piston", "P22"),
    ("damaged",),
    ("spins", *STATION),
    ("spins", *STATION, "--picture"),
    ("holes", *STATION),
    ("cards", *STATION, "--into", "made"),
]
# What writes opens the log once more, to write to it under its lock.
WRITES = [
    ("match",),
    ("ground",),
    ("spin", *STATION, "12@40", "9@200"),
    ("confirm", "piston", "3", "--why", "looked at it", "--by", "AB"),
    ("accept",),
]
WATCHED = """
import os, sys

def watch(event, given):
    if event == "open" and str(given[0]).endswith((".toml", ".jsonl")):
        print(os.path.basename(given[0]), file=told)

told = open("opened.txt", "w")
sys.addaudithook(watch)
from truethrow.cli.main import main
try:
    main()
finally:
    told.close()
"""


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """The demo's folder: its job as it came, and one that was carried on until it was signed."""
    folder = tmp_path_factory.mktemp("one-look")
    assert run("demo", "--cards", "--into", folder / "demo").status == 0
    return folder / "demo"


@pytest.fixture(params=["as it came", "half weighed", "carried on"])
def shop(request, demo, tmp_path):
    """A copy of the demo's folder, in which the job is launch.toml."""
    folder = tmp_path / "shop"
    shutil.copytree(demo / "carried-on" if request.param == "carried on" else demo, folder)
    if request.param == "half weighed":
        blank = [line for line in (folder / "launch.toml").read_text().split("\n") if not line.startswith("rings")]
        (folder / "launch.toml").write_text("\n".join(blank))
        assert run("weigh", "launch.toml", stdin="go piston 3\n712.3\n", folder=folder).status in (0, 1)
    return folder


def opened(folder: Path, command: str, *words: str) -> Counter[str]:
    """How often a command opened each file of a job, by its name."""
    with (folder / "out.txt").open("w+") as out, (folder / "in.txt").open("w+") as given:
        process = loaded.Process(
            "-c", WATCHED, command, "launch.toml", *words, folder=folder, files=(given, out, out)
        )
        status = process.wait()
        out.seek(0)
        assert status in (0, 1, 2) and "Traceback" not in out.read()
    return Counter((folder / "opened.txt").read_text().split())


def test_what_is_opened_is_counted(shop):
    has_log = (shop / "launch.readings.jsonl").exists()
    made = opened(shop, "check")
    assert {name: count for name, count in made.items() if name.startswith("launch.")} == (
        {"launch.toml": 1} | ({"launch.readings.jsonl": 1} if has_log else {})
    )


@pytest.mark.parametrize("words", LOOKS, ids=" ".join)
def test_what_looks_at_a_job_opens_each_of_its_files_once(shop, words):
    made = opened(shop, *words)
    assert set(made.values()) <= {1}, made


@pytest.mark.parametrize("words", WRITES, ids=" ".join)
def test_what_writes_opens_the_log_once_more(shop, words):
    made = opened(shop, *words)
    assert made["launch.toml"] <= 1, made
    assert made["launch.readings.jsonl"] <= 2, made
