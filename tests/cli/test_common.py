"""What commands have in common: which job is meant, and in which units it is shown."""

from __future__ import annotations

import pytest

from truethrow.balance.base import files


def test_a_job_without_readings_and_one_that_vanished_are_bad_input(run, launch, tmp_path):
    job_path, _ = launch
    assert run("hang", job_path)[0] == 2
    status, out, err = run("hang", tmp_path / "none.toml")
    assert (status, out, err) == (2, "", f"{tmp_path / 'none.toml'}: no such file\n")


def test_an_unknown_way_to_show_is_refused_with_those_there_are(run, sound):
    status, _, err = run("hang", sound, "--show", "inches")
    assert (status, err) == (2, "--show: 'inches' is not known; allowed: metric, inch\n")


def test_a_job_and_a_sheet_may_come_from_standard_input_but_not_both(run, launch, sound, tmp_path):
    job_path, sheet = launch
    wanted = run("hang", job_path, "--sheet", sheet)
    told = wanted[1]
    for command in ("check", "weigh"):
        told = told.replace(f"truethrow {command} {job_path}", f"truethrow {command} JOB")
    piped = (wanted[0], told, wanted[2])
    assert run("hang", "-", "--sheet", sheet, stdin=job_path.read_bytes()) == piped
    assert run("hang", job_path, "--sheet", "-", stdin=sheet.read_bytes()) == wanted
    status, _, err = run("hang", "-", "--sheet", "-", stdin=job_path.read_bytes())
    assert (status, err) == (2, "--sheet: standard input is the job already; allowed: a file\n")
    run("send", "-", stdin=sound.read_bytes())
    assert (tmp_path / "station.csv").exists()


@pytest.mark.parametrize("stdin", [b"", b"\xff\xfe\x00", b"#" * (files.LARGEST_BYTES + 1)])
def test_junk_on_standard_input_is_bad_input(run, stdin):
    status, out, err = run("hang", "-", stdin=stdin)
    assert (status, out) == (2, "")
    assert err.startswith("-: ")
