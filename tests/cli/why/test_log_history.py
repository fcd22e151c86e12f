"""The history of a job by its commands: told in order, and struck out without being lost."""

import json

import invented
import pytest
from typer.testing import CliRunner

from truethrow.balance.job.job import load
from truethrow.balance.matching.proposing import accept, propose
from truethrow.cli.main import app


@pytest.fixture
def job_file(tmp_path):
    path = tmp_path / "launch.toml"
    path.write_text(invented.text(invented.document(invented.cylinders(piston={1: 538.6}))))
    return path


def run(*arguments):
    return CliRunner().invoke(app, [*map(str, arguments)], catch_exceptions=False)


def piston(path, cylinder):
    return load(path).parts[cylinder]["piston"].mean_g


def test_a_struck_trade_puts_the_parts_back_and_stays_in_the_history(job_file):
    propose(job_file, load(job_file), {"piston": {1: 2, 2: 1}}, "heavy one back")
    trade = accept(job_file, by="AB")
    assert piston(job_file, 2) == 538.6
    said = run("strike", job_file, trade.id, "--why", "wrong bank", "--by", "CD")
    told = [" ".join(line.split()) for line in said.stdout.splitlines()]
    assert told[0] == "Canceled: trade piston 1>2, 2>1"
    assert told[2:6] == [
        "Put these back",
        "take it sits in mark it it goes in",
        "piston weighed in 2 1 2>2 2",
        "piston weighed in 1 2 1>1 1",
    ]
    assert piston(job_file, 1) == 538.6
    told = run("history", job_file).stdout
    lines = told.splitlines()
    assert max(map(len, lines)) <= 80
    heads = [n for n, line in enumerate(lines) if n and not line.startswith(" ")]
    assert [lines[n].split()[4] for n in heads] == ["propose", "trade", "strike"]
    assert "canceled by" in "".join(lines[heads[1] : heads[2]])
    assert "wrong bank" in lines[-1]


def test_as_json_every_record_has_all_its_fields(job_file):
    propose(job_file, load(job_file), {"piston": {1: 2, 2: 1}}, "why")
    accept(job_file)
    data = json.loads(run("history", job_file, "--json").stdout)["records"]
    assert [record["action"] for record in data] == ["propose", "trade"]
    assert data[1]["proposal"] == data[0]["id"]
    assert data[0]["struck_by"] is None


def test_no_log_is_no_fault(job_file):
    assert run("history", job_file).stdout.startswith("No log yet: ")
    assert json.loads(run("history", job_file, "--json").stdout)["records"] == []
