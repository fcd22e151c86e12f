"""Damaged lines of a log, told and settled by commands."""

import json
import shlex

import pytest
from damaged_lines import CUT, damaged


@pytest.fixture
def path(tmp_path):
    return damaged(tmp_path, CUT)[0]


def test_a_damaged_line_is_told_with_its_ways_out_until_it_is_settled_by_one(run, path):
    status, out, _ = run("damaged", path)
    assert status == 1
    assert "line 3: one bit is wrong; it said: cut, " in out
    (way,) = (line.strip() for line in out.splitlines() if "--never-happened" in line)
    status, _, err = run(*shlex.split(way)[1:])
    assert (status, err) == (2, "--why: '...' says nothing; allowed: a word of why\n")
    status, out, err = run(*shlex.split(way.replace("...", "the card says it was not done"))[1:], "--by", "AB")
    assert (status, err) == (0, "")
    assert out.splitlines()[0] == "Acknowledged: line 3, never happened."
    status, out, _ = run("damaged", path)
    assert status == 0
    assert "acknowledged: never happened, the card says it was not done (AB)" in out


def test_the_data_have_the_same_status(run, path):
    status, out, _ = run("damaged", path, "--json")
    (line,) = json.loads(out)["lines"]
    assert (status, line["number"], line["was_done"]) == (1, 3, True)


def test_a_whole_log_has_nothing_to_settle(run, path):
    run("acknowledge", path, 3, "--entered-again", "--why", "on the card")
    status, out, _ = run("damaged", path)
    assert status == 0
    assert "Nothing is damaged that was not acknowledged" in out


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--entered-again", "--never-happened", "--why", "x"), "--entered-again: can't be combined"),
        (("--entered-again", "--why", "x" * 301), "--why: "),
        (("--never-happened",), "--why: blank"),
        (("--why", "x"), "was a cut"),
    ],
)
def test_what_does_not_settle_it_is_refused(run, path, options, said):
    status, out, err = run("acknowledge", path, 3, *options)
    assert (status, out) == (2, "")
    assert said in err
    assert run("damaged", path)[0] == 1
