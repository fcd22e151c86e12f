"""In a folder with one job, what only reads finds it; what records never does, and of two jobs both are named."""

import commands
import pytest
from within import demo


@pytest.fixture
def run(tmp_path):
    return commands.in_folder(tmp_path)


@pytest.fixture
def folder(tmp_path):
    demo.copy_into(tmp_path)
    (tmp_path / "pump.toml").unlink()
    return tmp_path


@pytest.mark.parametrize("command", ["hang", "check", "trim", "next"])
def test_one_job_is_found_and_told(run, folder, command):
    told = run(command, "--sheet", "launch-weigh.csv")
    named = run(command, "launch.toml", "--sheet", "launch-weigh.csv")
    assert told.err == "Job: launch.toml, the only one in this folder.\n" + named.err
    assert told[:2] == named[:2]


@pytest.mark.parametrize(
    "words",
    [("sure",), ("shake",), ("order",), ("forecast",), ("clearance",), ("turn", "--to", "88")],
    ids=lambda words: words[0],
)
def test_an_outlook_finds_it_too(run, folder, words):
    run("enter", "launch.toml", "launch-weigh.csv")
    told, named = run(*words), run(words[0], "launch.toml", *words[1:])
    assert told.err == "Job: launch.toml, the only one in this folder.\n" + named.err
    assert told[:2] == named[:2]


@pytest.mark.parametrize("command", ["history", "damaged", "spins"])
def test_what_was_recorded_finds_it_too(run, folder, command):
    run("enter", "launch.toml", "launch-weigh.csv")
    run("spin", "launch.toml", "6.1@203", "5.0@169")
    told, named = run(command), run(command, "launch.toml")
    assert told.err == "Job: launch.toml, the only one in this folder.\n" + named.err
    assert told[:2] == named[:2]
    assert told.out


@pytest.mark.parametrize("command", ["hang", "check", "trim", "next", "history", "damaged", "spins"])
def test_of_two_both_are_named(run, folder, command):
    (folder / "other.toml").write_text('[job]\nid = "other"\n', encoding="utf-8")
    told = run(command)
    assert (told.status, told.out) == (2, "")
    assert told.err.startswith("JOB: which one is it? in this folder lie launch.toml and other.toml; allowed: ")


def test_where_there_is_none_it_is_asked_for(run, tmp_path):
    told = run("hang")
    assert (told.status, told.out) == (2, "") and told.err.startswith("JOB: missing, and no job file lies")


@pytest.mark.parametrize(
    "command",
    ["weigh", "ground", "enter", "confirm", "accept", "match", "strike", "close", "spin", "holes", "sign", "work"],
)
def test_what_records_or_writes_never_guesses(run, folder, command):
    before = {path: path.read_bytes() for path in folder.iterdir()}
    told = run(command)
    assert told.status == 2 and "Missing argument" in told.err
    assert {path: path.read_bytes() for path in folder.iterdir()} == before
