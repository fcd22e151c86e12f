"""A new job, and readings entered from a sheet."""

from __future__ import annotations

import pytest


def test_new_gives_a_job_with_its_blanks_as_faults_and_refuses_to_write_over_it(run, tmp_path):
    status, out, _ = run("new", "inline-3", "my.toml", "--sheet", "weigh.csv")
    assert (status, out) == (0, "Written: my.toml\nWritten: weigh.csv\n")
    status, _, err = run("work", "my.toml", "--sheet", "weigh.csv")
    assert status == 2
    assert (
        "weigh.csv: missing: piston, pin, locks, rings, both rod ends, bearings of cylinders 1-3; fill them in, "
        "or weigh them: truethrow weigh my.toml"
    ) in err
    before = (tmp_path / "my.toml").read_bytes()
    assert run("new", "inline-4", "my.toml")[0] == 2
    assert (tmp_path / "my.toml").read_bytes() == before


@pytest.mark.parametrize("args", [(), ("-",)])
def test_new_without_a_file_prints_the_job(run, tmp_path, args):
    status, out, _ = run("new", "inline-3", *args)
    assert status == 0
    assert out.startswith("# A job file")
    assert not list(tmp_path.iterdir())


def test_an_unknown_layout_is_refused_with_the_one_it_resembles(run):
    status, _, err = run("new", "v8-crossplane")
    assert status == 2
    assert "'v8-crossplane' is not known (did you mean v8-90-crossplane?); allowed: inline-1, " in err


def test_enter_fills_the_blanks_from_a_pasted_sheet_and_tells_how_many(run, sound, tmp_path):
    path = tmp_path / "my.toml"
    path.write_text(sound.read_text().replace("piston = 538.4", 'piston = ""').replace("piston = 1.0", ""))
    sheet = "cylinder\tpiston\n" + "".join(f"{n}\t538,40\n" for n in range(1, 9))
    assert run("enter", path, "-", stdin=sheet) == (0, f"8 new readings entered into {path}\n", "")
    assert path.read_text().count("piston = 538.40") == 8
    assert run("enter", path, "-", stdin=sheet)[1] == (
        f"0 new readings entered into {path}; all of the sheet's, 8, are in the job file already\n"
    )
    status, _, err = run("enter", path, "-", stdin=sheet.replace("538,40", "538,5"))
    assert status == 2
    assert len(err.splitlines()) == 8
    assert run("enter", tmp_path / "gone.toml", "-", stdin=sheet)[0] == 2


def test_new_writes_both_files_or_none(run, tmp_path):
    (tmp_path / "there.csv").write_text("mine", encoding="utf-8")
    status, _, _ = run("new", "inline-3", "fresh.toml", "--sheet", "there.csv")
    assert status == 2
    assert not (tmp_path / "fresh.toml").exists()
