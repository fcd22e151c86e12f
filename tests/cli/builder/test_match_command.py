"""The command match: proposed, accepted, told, broken off."""

import json
import sys

import interrupting
import invented
import pytest
from scattered_jobs import scattered
from typer.testing import CliRunner

from truethrow.balance.base.errors import BadInput
from truethrow.balance.job.job import load
from truethrow.cli.main import app

TIME_ENOUGH = ("--seconds", "3600")  # for a proof that takes a second, whatever else the machine does


@pytest.fixture
def job_file(tmp_path):
    path = tmp_path / "launch.toml"
    path.write_text(invented.text(invented.document(scattered(labelled=True), limits={"bobweight": 2.0})))
    return path


def run(*arguments):
    return CliRunner().invoke(app, [*map(str, arguments)], catch_exceptions=False)


def test_propose_accept_and_match_again(job_file):
    before = load(job_file)
    data = json.loads(run("match", job_file, *TIME_ENOUGH, "--json", "--by", "AB").stdout)
    assert data["proposal"]
    assert json.loads(run("match", job_file, *TIME_ENOUGH, "--json").stdout)["proposal"] == data["proposal"]
    assert load(job_file).parts == before.parts
    said = run("accept", job_file)
    assert said.exit_code == 0
    after = load(job_file)
    for trade in data["cylinders"]:
        for unit, label in (("rod", "R"), ("piston", "P")):
            assert after.labels[trade["cylinder"]][unit] == trade[unit]["label"]
            assert trade[unit]["goes_in"] == trade["cylinder"]
            assert trade[unit]["label"] == f"{label}{trade[unit]['cylinder']}"
    again = json.loads(run("match", job_file, *TIME_ENOUGH, "--json").stdout)
    assert (again["moves"], again["proposal"]) == ({}, None)
    assert [aim["value"] for aim in again["aims"]] == [aim["value"] for aim in data["aims"]]


def test_the_screen_tells_trades_aims_and_the_gain(job_file):
    said = run("match", job_file, *TIME_ENOUGH).stdout
    for words in (
        "Who sits where",
        "proved best",
        "as they sit",
        "heaviest with lightest",
        "metal to trim in all [g]",
    ):
        assert words in said
    assert f"To accept: truethrow accept {job_file}" in said


def test_matching_with_a_sheet_is_accepted_once_the_sheet_is_entered(tmp_path):
    path, sheet = tmp_path / "launch.toml", tmp_path / "weigh.csv"
    parts = scattered()
    path.write_text(invented.text({k: v for k, v in invented.document([]).items() if k != "cylinder"}))
    kinds = list(invented.PARTS)
    rows = [["cylinder", *(kind.replace("_", " ") for kind in kinds)]]
    rows += [[str(p["number"]), *(str(p[kind]) for kind in kinds)] for p in parts]
    sheet.write_text("\n".join(";".join(row) for row in rows))
    assert run("match", path, "--sheet", sheet, *TIME_ENOUGH).exit_code == 0
    with pytest.raises(BadInput, match="enter"):
        run("accept", path)
    run("enter", path, sheet)
    assert run("accept", path).exit_code == 0


@pytest.mark.parametrize("seconds", ["0", "-1", "nan", "1e9"])
def test_seconds_out_of_reach(job_file, seconds):
    with pytest.raises(BadInput, match="--seconds"):
        run("match", job_file, "--seconds", seconds)


def test_ctrl_c_gives_the_best_so_far(tmp_path):
    """A V12 whose proof takes long; the interrupt comes from outside, as from a terminal."""
    path = tmp_path / "twelve.toml"
    engine = invented.V8 | {"layout": "v12-60"}
    match_table = {"aims": ["bobweight", "reciprocating", "rotating"]}
    document = invented.document(scattered(2, 12, rings=0.3, locks=0.1), engine=engine, match=match_table)
    path.write_text(invented.text(document))
    program = [sys.executable, "-c", "from truethrow.cli.main import main; main()"]
    command = [*program, "match", str(path), "--seconds", "3600", "--json"]
    ended = interrupting.once_it_shows(command, tmp_path, r"bobweight: 0\.|reciprocating: |rotating: ")
    data = json.loads(ended.out)
    assert data["broken_off"] is True
    assert all(aim["bound"] <= aim["value"] for aim in data["aims"])
    assert data["aims"][0]["value"] < 1.0
