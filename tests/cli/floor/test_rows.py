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
    row = look_at(lambda: path, "job", "CD")
    assert row is not None
    said = run("next", path).out
    assert said == f"Next: {row.step.removesuffix(': touch here for its bench')}: truethrow weigh {path}\n"
    assert (row.blocked, row.due, row.who, row.bench, row.changed) == ("", "2031-05-06", "AB", "CD", "")
    record = open_log(path, "b").append(Weighed(1, "piston", 538.4, "538.4"))
    assert look_at(lambda: path, "job", "").changed == f"{when(record.at)} UTC"


def test_what_blocks_a_job_is_told_as_that(tmp_path):
    job, sheet = demo.copy_into(tmp_path)
    assert run("enter", job, sheet).status in (0, 1)
    row = look_at(lambda: job, "launch", "")
    said = run("next", job)
    assert said.status == 1
    told = row.blocked.partition(" (at the shop's computer: ")[0].partition(": touch here")[0]
    assert told
    assert f"Next: {told}" in said.out


def test_a_closed_job_is_on_no_board(tmp_path):
    path = blank_job(tmp_path)
    open_log(path, "b", "AB").append(Closed("closed", why="is over"))
    assert look_at(lambda: path, "job", "") is None


def test_a_job_that_cannot_be_read_has_a_row_that_says_why_in_one_line(tmp_path):
    path = blank_job(tmp_path)
    path.write_text("[job]\nid = 3\n", encoding="utf-8")
    row = look_at(lambda: path, "job", "AB")
    assert (row.job, row.name, row.step, row.bench) == ("job", "job", "", "AB")
    assert row.blocked.startswith(f"{path.name}: ")
    assert "\n" not in row.blocked
    path.unlink()
    assert "no such file" in look_at(lambda: path, "job", "").blocked


def test_a_job_with_a_slip_is_on_the_board_blocked_by_what_next_says(tmp_path):
    path = job_with_a_slip(tmp_path)
    row = look_at(lambda: path, "job", "")
    assert "looks wrong" in row.blocked
    assert row.step == ""
    told, _, command = row.blocked.partition(" (at the shop's computer: ")
    said = run("next", path).err
    assert told in said
    assert command.removesuffix(")") in said
