"""The station's commands: their options."""

from __future__ import annotations

import pytest
from station_shop import first_radial, proved, refused, struck
from typer.testing import CliRunner

from truethrow.balance.base.beside import log_path
from truethrow.cli.main import app


def test_a_depth_has_the_unit_that_is_shown_or_its_own(run, job):
    number = first_radial(proved(run, "12.4@220", "8.1@40", status=1)["plan"])["number"]
    done = run("holes", "--done", f"{number}=0.5", "--show", "inch")
    assert done["drilled_since"][0]["depth_mm"] == pytest.approx(12.7)
    struck(job, "hole")
    assert "0.5 in deep" in run("holes", "--done", f"{number}=12.7mm", "--show", "inch", as_json=False)


def test_an_option_that_does_not_do_is_told_before_anything_is_written(run, job):
    proved(run, "0.2@2", "0.1@4", status=0)
    before = log_path(job).read_bytes()
    options = ("--mass", 50, "--radius", 100, "--plane", "front", "--at", 90)
    for said in (
        ["sign", "--by", "AB"],
        ["spin", "12@220", "8@40"],
        ["test-mass", *options, "1@2", "3@4"],
        ["holes", "--done"],
    ):
        assert refused(run, *said, "--show", "cubits", as_json=False)[0].startswith(
            "--show: 'cubits' is not known"
        )
    assert log_path(job).read_bytes() == before


@pytest.mark.parametrize("command", ["stack", "spin", "test-mass", "holes", "sign", "spins", "target"])
def test_help_has_an_example(command):
    done = CliRunner().invoke(app, [command, "--help"])
    assert f"truethrow {command} my.toml --station station.toml" in done.stdout
