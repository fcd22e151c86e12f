"""The builder's commands: figures, and the exit status."""

from __future__ import annotations

import json

import invented
import pytest

from truethrow.balance.job import job
from truethrow.balance.result.work import work


@pytest.mark.parametrize("command", ["work", "hang", "check", "trim", "send"])
def test_the_status_tells_inside_from_outside(run, command, sound, launch):
    assert run(command, sound)[0] == 0
    job_path, sheet = launch
    assert run(command, job_path, "--sheet", sheet)[0] == 1


def test_json_holds_the_figures_of_the_library_to_the_last_digit(run, launch):
    job_path, sheet = launch
    status, out, err = run("work", job_path, "--sheet", sheet, "--json")
    data = json.loads(out)
    result = work(job.load(job_path, sheet))
    assert (status, err) == (1, "")
    assert [t["bobweight_g"] for t in data["bobweights"]["throws"]] == [
        throw.bobweight.value_g for throw in result.bobweights.throws
    ]
    assert data["bobweights"]["hang_g"] == result.bobweights.hung_g
    assert data["job"]["digest"] == result.job.digest
    assert data["outside"] is True
    assert data["station_sheet"] == str(job_path.with_name("launch-station.csv"))


def test_json_and_text_hang_the_same(run, launch):
    job_path, sheet = launch
    hung = json.loads(run("hang", job_path, "--sheet", sheet, "--json")[1])["bobweights"]["hang_g"]
    assert f"Hang {hung:.1f} g on every throw" in run("hang", job_path, "--sheet", sheet)[1]


def test_inch_shows_inches_and_leaves_masses_to_the_scale_and_changes_no_file(run, sound):
    metric, inch = run("work", sound), run("work", sound, "--show", "inch")
    sheet = sound.with_name("sound-station.csv").read_bytes()
    assert "Bobweights [g]" in metric[1]
    assert "Bobweights [g]" in inch[1]
    assert "Hang 1866.5 g (65.839 oz) on every throw" in inch[1]
    assert "stroke 3.622 in" in inch[1]
    assert "oz·in" in inch[1]
    run("work", sound)
    assert sound.with_name("sound-station.csv").read_bytes() == sheet


def test_only_send_writes_its_sheet_to_standard_output(run, sound, tmp_path):
    status, _, err = run("work", sound, "--out", "-")
    assert status == 2
    assert err.startswith("--out: ")
    assert list(tmp_path.iterdir()) == [sound]


def test_a_slip_alone_is_status_one(run, tmp_path):
    data = invented.document(invented.cylinders(pin={3: 1.1}))
    (tmp_path / "slip.toml").write_text(invented.text(data), encoding="utf-8")
    status, out, _ = run("check", "slip.toml")
    assert status == 1
    assert "pin 3: 1.1 g" in out
