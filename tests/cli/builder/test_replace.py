"""replace on the command line; its stories are in tests/stories/test_a_part_is_dropped.py."""

import json

import invented
import pytest
from commands import COLOUR

PARTS = invented.cylinders(piston={2: 538.7, 5: 538.1})


@pytest.fixture
def job(tmp_path):
    path = tmp_path / "pump.toml"
    tables = {"limits": {"piston": 1.0, "bobweight": 2.0}, "trim": {"piston": 5.0}}
    path.write_text(invented.text(invented.document(PARTS, **tables)))
    return path


def test_the_window_and_what_holds_it_in_the_shops_units(run, job):
    status, out, err = run("replace", job, "piston", "3")
    assert (status, err) == (0, "")
    assert "Another piston in the place of piston 3, weighed once" in out
    assert "piston  537.9  538.9  piston 1.0: piston 2  piston 1.0: piston 5" in out
    assert "truethrow weigh" in out
    assert not COLOUR.search(out)
    assert run("replace", job, "piston", "3", "--show", "inch")[1] == out  # as the scale shows it


def test_the_part_may_be_one_word_or_several_and_a_rods_end_is_the_rod(run, job):
    assert run("replace", job, "piston 3").out == run("replace", job, "piston", "3").out
    assert "in the place of rod 3" in run("replace", job, "big end", "3").out


def test_the_demo_with_its_sheet_is_held_by_its_slips(run, launch):
    job, sheet = launch
    status, out, _ = run("replace", job, "piston", "P22", "--sheet", sheet)
    assert status == 1
    assert "rod R35" in out
    assert "truethrow enter" in out
    assert json.loads(run("replace", job, "piston", "P22", "--sheet", sheet, "--json").out)["look_again"]


def test_faults_end_with_status_2(run, job):
    assert run("replace", "-", "piston", "3").err.startswith("JOB: standard input has no log")
    assert "is not known" in run("replace", job, "piston", "3", "--show", "stone").err
    assert "no such file" in run("replace", job, "piston", "3", "none.csv").err


def test_it_takes_no_longer_than_a_plan(run, job, tmp_path):
    """A shelf of a thousand: those that fit are listed, of the others a few are worked out."""
    rows = "\n".join(f"X{n};{530 + n * 0.01:.1f}" for n in range(1000))
    (tmp_path / "many.csv").write_text(f"label;piston\n{rows}\n")
    data = json.loads(run("replace", job, "piston", "3", "many.csv", "--json").out)
    ways = [one["way"] for one in data["loose"]]
    assert ways == sorted(ways, key=["as it is", "metal off it", "metal off others", "not inside"].index)
    assert len(ways) + data["farther_off"] == 1000
