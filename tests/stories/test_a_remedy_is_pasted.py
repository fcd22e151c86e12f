"""A command that a refusal tells is pasted as it stands: a job whose name has a space, in a file and in the book.

A hand that has to put the name in itself puts in another job's.
"""

from __future__ import annotations

import json
import re
import shlex

import invented
import pytest
from typer.testing import CliRunner
from within import BadInput, NotSaved, app

PISTONS = {1: 541.0, 2: 538.4, 3: 538.0, 4: 538.2, 5: 538.3, 6: 538.1, 7: 538.5, 8: 538.6}


def give(command, stdin=""):
    done = CliRunner().invoke(app, shlex.split(command), input=stdin)
    if isinstance(done.exception, BadInput | NotSaved):
        return 2, "\n".join(done.exception.lines())
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    return done.exit_code, done.output


def pasted(said, verb, stdin=""):
    """The one command of that name that was told, given as it stands."""
    (command,) = set(re.findall(rf"truethrow ({verb} (?:'[^']+'|[^\s;,]+))", said))
    return give(command, stdin)


@pytest.fixture(params=["file", "book"])
def job(request, tmp_path, monkeypatch):
    """How the job is told to a command, quoted."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TRUETHROW_BOOK", f"sqlite:///{tmp_path}/book.db")
    tables = {"job": {"id": "tug boat 3"}, "limits": {"piston": 1.0}, "trim": {"piston": 9.0, "pin": 0.0}}
    text = invented.text(invented.document(invented.cylinders(piston=PISTONS), **tables))
    (tmp_path / "tug boat.toml").write_text(text, encoding="utf-8")
    if request.param == "file":
        return "'tug boat.toml'"
    assert give("book add 'tug boat.toml'")[0] == 0
    return "'tug boat 3'"


def test_the_plan_its_record_and_the_weighing_after_it(job):
    assert give(f"confirm {job} piston 1 --why 'another maker' --by AB")[0] == 0
    status, said = pasted(give(f"trim {job}")[1], "ground")
    assert (status, "recorded: piston 1" in said) == (0, True)
    status, said = give(f"check {job}")
    assert (status, "cut since; weigh it again" in said) == (2, True)
    assert pasted(said, "weigh", "go 1 piston\n538.6\n")[0] == 0
    assert give(f"check {job}")[0] == 0


def test_a_matching_and_its_acceptance(job):
    assert give(f"confirm {job} piston 1 --why 'another maker' --by AB")[0] == 0
    status, said = give(f"accept {job}")
    assert (status, "no match is waiting" in said) == (2, True)
    proposed = pasted(said, "match")[1]
    status, said = pasted(proposed, "accept")
    assert (status, "Accepted and kept" in said) == (0, True)


def test_what_is_to_be_struck_is_looked_up(job):
    status, said = give(f"strike {job} x-1 --why 'a slip'")
    assert (status, "is not in the log" in said) == (2, True)
    assert pasted(said, "history")[0] == 0


def test_an_old_sheet_tells_whose_reading_to_strike(job, tmp_path):
    assert give(f"weigh {job}", "go 2 piston\n538.3\n")[0] == 0
    (tmp_path / "old.csv").write_text("cylinder,piston\n2,539.9\n", encoding="utf-8")
    status, said = give(f"check {job} --sheet old.csv")
    assert status == 2, said
    (record,) = [
        one["id"] for one in json.loads(give(f"history {job} --json")[1])["records"] if one["action"] == "read"
    ]
    command = re.search(r"truethrow (strike .*?) RECORD", said)[1]
    assert give(f"{command} {record} --why 'the sheet is right'")[0] == 0
