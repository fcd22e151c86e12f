"""A new job, and readings entered from a sheet."""

from __future__ import annotations

import tomllib

import pytest
from commands import on_a_terminal

# Ends the questions, should there be more of them than answers.
ENOUGH = "\x04" * 3


def test_new_gives_a_job_with_its_blanks_as_faults_and_refuses_to_write_over_it(run, tmp_path):
    status, out, _ = run("new", "inline-3", "my.toml", "--sheet", "weigh.csv")
    assert (status, out.splitlines()) == (
        0,
        [
            "Written: my.toml",
            "Written: weigh.csv",
            "Next: weigh what is missing of cylinders 1-3: truethrow weigh my.toml",
            "Next: or type the readings into weigh.csv, and enter it: truethrow enter my.toml weigh.csv",
        ],
    )
    status, _, err = run("work", "my.toml", "--sheet", "weigh.csv")
    assert status == 2
    assert (
        "weigh.csv: missing: piston, pin, locks, rings, both rod ends, bearings of cylinders 1-3; fill them in, "
        "or weigh them: truethrow weigh my.toml"
    ) in err
    before = (tmp_path / "my.toml").read_bytes()
    assert run("new", "inline-4", "my.toml")[0] == 2
    assert (tmp_path / "my.toml").read_bytes() == before


@pytest.mark.parametrize(("step", "too_fine"), [("0.1", 0), ("1", 0), ("2", 4), ("5", 5), ("0.05 oz", 4)])
def test_a_job_for_a_coarse_scale_leaves_out_the_limits_that_it_cannot_tell(run, tmp_path, step, too_fine):
    """1 g was refused on a scale of 2 g, before anybody had asked for it: no job could be made at all."""
    status, _, err = run("new", "vtwin-90", "my.toml", "--step", step)
    assert (status, err) == (0, "")
    text = (tmp_path / "my.toml").read_text(encoding="utf-8")
    assert text.count("# finer than the scale's step: weigh on a finer one") == too_fine
    assert len(tomllib.loads(text)["limits"]) == 5 - too_fine
    assert all(len(line) <= 115 for line in text.splitlines())
    assert run("check", "my.toml")[2].startswith("my.toml: missing: all parts")


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
    status, out, err = run("enter", path, "-", stdin=sheet)
    assert (status, out.splitlines()[0], err) == (0, f"8 new readings entered into {path}", "")
    assert path.read_text().count("piston = 538.40") == 8
    assert run("enter", path, "-", stdin=sheet)[1].splitlines()[0] == (
        f"0 new readings entered into {path}; all of the sheet's, 8, are in the job file already"
    )
    said = run("enter", path, "-", stdin=f"{sheet}mean\t538,40\n")[1].splitlines()
    assert said[0].endswith("of the weigh sheet, mean, is no cylinder: left out")
    status, _, err = run("enter", path, "-", stdin=sheet.replace("538,40", "538,5"))
    assert status == 2
    assert len(err.splitlines()) == 1
    assert err.count("; cylinder ") == 7
    assert run("enter", tmp_path / "gone.toml", "-", stdin=sheet)[0] == 2


def test_new_writes_both_files_or_none(run, tmp_path):
    (tmp_path / "there.csv").write_text("mine", encoding="utf-8")
    status, _, _ = run("new", "inline-3", "fresh.toml", "--sheet", "there.csv")
    assert status == 2
    assert not (tmp_path / "fresh.toml").exists()


def test_two_new_jobs_of_one_layout_are_two_jobs(run, tmp_path):
    """A second engine of a layout must not be taken for the first one, whoever puts both in the book."""
    ids = set()
    for name in ("one.toml", "two.toml"):
        assert run("new", "v8-90-crossplane", name).status == 0
        ids.add(tomllib.loads((tmp_path / name).read_text())["job"]["id"])
    assert len(ids) == 2
    assert "v8-90-crossplane" not in ids
    book = {"TRUETHROW_BOOK": f"sqlite:///{tmp_path / 'book.db'}", "XDG_DATA_HOME": str(tmp_path)}
    for name in ("one.toml", "two.toml"):
        assert run("book", "add", name, **book).status == 0
    assert {line.split("  ")[0] for line in run("book", "list", **book).out.splitlines()} >= ids


def test_new_takes_all_of_it_as_options(run, tmp_path):
    given = (
        "--id",
        "2217",
        "--title",
        "pump",
        "--stroke",
        "3 3/4 in",
        "--spacing",
        "4.4 in",
        "--rod-length",
        "6.385 in",
    )
    status, _, err = run("new", "v8-90-crossplane", "my.toml", *given, "--unit", "oz", "--step", "0.5 g")
    assert (status, err) == (0, "")
    text = (tmp_path / "my.toml").read_text()
    said = tomllib.loads(text)
    assert (said["job"]["id"], said["job"]["title"], said["engine"]["stroke"]) == ("2217", "pump", "3 3/4 in")
    assert len(text.splitlines()) < 40


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (
            ("--stroke", "6,385"),
            "--stroke: '6,385' has a comma; write it with a decimal point and its unit, such as",
        ),
        (("--step", "0"), "--step: 0 is out of reach"),
        (("--unit", "mm"), "--unit: 'mm' is no unit of mass"),
        (("--id", " "), "--id: blank"),
    ],
)
def test_an_option_that_a_job_cannot_say_is_refused_in_one_line_and_nothing_is_written(run, tmp_path, given, said):
    status, out, err = run("new", "v8-90-crossplane", "my.toml", *given)
    assert (status, out, err.count("\n")) == (2, "", 1)
    assert err.startswith(said)
    assert not list(tmp_path.iterdir())


def test_new_asks_at_a_terminal(tmp_path):
    typed = "\n".join(
        ["inline-4", "0.5 g", "oz", "", "3 3/4 in", "", "6,385", "6.385 in", "", "2217", "", "\x04" * 3]
    )
    status, out = on_a_terminal(["new"], tmp_path, typed)
    assert status == 0, out
    assert "has a comma; write it with a decimal point" in out
    said = tomllib.loads((tmp_path / "my.toml").read_text())
    assert said["job"]["id"] == "2217"
    assert said["engine"] == {
        "layout": "inline-4",
        "stroke": "3 3/4 in",
        "cylinder_spacing": "",
        "rod_length": "6.385 in",
    }
    assert said["scale"]["resolution"] == "0.5 g"
