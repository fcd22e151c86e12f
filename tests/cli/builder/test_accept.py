"""A matching accepted, by its command."""

from __future__ import annotations

import invented
import pytest
from commands import run
from told_apart import told_apart

from truethrow.balance.base.beside import log_path
from truethrow.balance.job.job import load
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.matching import proposing


@pytest.fixture
def path(tmp_path):
    return told_apart(tmp_path)


def test_accepting_is_told_and_every_command_shows_the_new_places(path, tmp_path):
    proposing.propose(path, load(path), {"rod": {1: 2, 2: 1}, "pin": {3: 5, 5: 3}}, "less unbalance")
    status, out, err = run("accept", path, "--by", "AB")
    assert (status, err) == (0, "")
    told = [" ".join(line.split()) for line in out.splitlines()]
    assert told[1:7] == [
        "Mark these before you move any",
        "take mark it it goes in",
        "pin weighed in 3 3>5 5",
        "pin weighed in 5 5>3 3",
        "rod R1 (weighed in 1) 1>2 2",
        "rod R2 (weighed in 2) 2>1 1",
    ]
    assert any(str(log_path(path)) in line for line in told)
    day = ReadingLog(log_path(path)).records[-1].at[:10]
    for command in ("work", "check", "hang"):
        _, out, err = run(command, path, *(("--out", tmp_path / "s.csv") if command == "work" else ()))
        assert (out.count(f"Parts have traded places, last on {day}: 4 are not"), err) == (1, "")
    status, out, err = run("accept", path)
    assert (status, out, err.count("\n")) == (2, "", 1)
    assert f"no match is waiting; run: truethrow match {path}" in err
    assert run("accept", "-")[0] == 2
    assert (
        "--by: 'xxxxxxxxxxxxx'; allowed: printable, at most 12 characters"
        in run("accept", path, "--by", "x" * 13)[2]
    )


def test_no_part_changes_places_by_what_looks_like_a_slip(tmp_path):
    """The match says not to go by it yet: fourteen parts were marked and traded all the same, and the piston that
    was typed wrong with them."""
    path = tmp_path / "slip.toml"
    parts = invented.cylinders(piston={3: 631.5, 5: 538.9, 6: 538.1})
    path.write_text(invented.text(invented.document(parts, match={"aims": ["bobweight"]})), encoding="utf-8")
    told = run("match", path, "--seconds", "20")[1]
    assert "Do not go by it yet" in told and "To accept" not in told
    before = load(path)
    status, out, err = run("accept", path, "--by", "AB")
    assert (status, out, load(path).traded) == (2, "", {})
    assert "piston 3: 631.5 g looks like a slip (outlier, " in err
    assert "so no part is to change places by it; weigh it once more: truethrow weigh" in err
    assert "rests on what looks like a slip; look again: truethrow check" in err
    confirm = f'truethrow confirm {before.name} piston 3 --why "..." --by INITIALS'
    assert confirm in err
    assert run("confirm", path, "piston", "3", "--why", "another maker", "--by", "AB")[0] == 0
    assert run("accept", path, "--by", "AB")[0] == 0
    assert load(path).traded["piston"]


def test_a_job_that_has_no_log_is_told_so(path):
    assert run("accept", path.with_name("nope.toml"))[2] == f"{path.with_name('nope.toml')}: no such file\n"
    assert "JOB: standard input has no log beside it; allowed: a file" in run("accept", "-")[2]
    for command in ("history", "ground", "weigh"):
        assert "no such file" in run(command, path.with_name("nope.toml"))[2]
