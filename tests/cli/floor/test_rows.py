"""Where a job is, as the board has it: what next says."""

from __future__ import annotations

from commands import run
from floor_shop import blank_job, job_with_a_slip

from truethrow.balance import demo
from truethrow.balance.log.log import when
from truethrow.balance.log.place import open_log
from truethrow.balance.log.records import Closed, Weighed
from truethrow.cli.floor.rows import look_at


def test_a_row_says_what_next_says(tmp_path):
    path = blank_job(tmp_path, about={"due": "2031-05-06", "who": "AB"})
    row = look_at(path, "job", "CD").row
    assert row is not None
    assert run("next", path).out == f"Next: {row.step}\n"
    assert (row.blocked, row.due, row.who, row.bench, row.changed) == ("", "2031-05-06", "AB", "CD", "")
    record = open_log(path, "b").append(Weighed(1, "piston", 538.4, "538.4"))
    assert look_at(path, "job", "").row.changed == f"{when(record.at)} UTC"


def test_what_blocks_a_job_is_told_as_that(tmp_path):
    job, sheet = demo.copy_into(tmp_path)
    assert run("enter", job, sheet).status in (0, 1)
    row = look_at(job, "launch", "").row
    said = run("next", job)
    assert said.status == 1
    assert row.blocked
    assert f"Next: {row.blocked}" in said.out


def test_a_closed_job_is_on_no_board(tmp_path):
    path = blank_job(tmp_path)
    open_log(path, "b", "AB").append(Closed("closed", why="is over"))
    assert look_at(path, "job", "") == (None, "")


def test_a_job_that_cannot_be_read_says_why_in_one_line(tmp_path):
    path = blank_job(tmp_path)
    path.write_text("[job]\nid = 3\n", encoding="utf-8")
    found = look_at(path, "job", "")
    assert found.row is None
    assert found.fault.startswith(str(path))
    assert "\n" not in found.fault


def test_a_job_with_a_slip_is_on_the_board_blocked_by_what_next_says(tmp_path):
    path = job_with_a_slip(tmp_path)
    found = look_at(path, "job", "")
    assert found.fault == ""
    assert found.row is not None
    assert "looks wrong" in found.row.blocked
    assert found.row.step == ""
    assert found.row.blocked in run("next", path).err
