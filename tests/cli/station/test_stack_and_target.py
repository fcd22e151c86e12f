"""Stacks and targets, by their commands."""

from __future__ import annotations

import cranks
import invented
import pytest
from station_shop import STATION, refused


def test_stacks_of_a_job(run):
    found = run("stack")
    assert (found["met"], found["proved"]) == (True, True)
    made = found["stacks"][0]
    assert made["throws"] == ["1", "2", "3", "4"]
    assert made["halves"][0] == made["halves"][1]
    assert abs(made["off_g"]) <= 0.2


def test_a_target_that_is_this_engine_s_needs_nothing(run):
    bobweight = run("stack")["stacks"][0]["hang_g"]
    found = run("target", bobweight)
    assert found["plan"]["operations"] == []
    assert not found["heavy_metal"]
    lighter = run("target", bobweight - 60, status=None)
    assert lighter["throws"][0]["over_g"] == pytest.approx(60)
    assert refused(run, "target", 1, 2, "x")[0].startswith("MASS: 'x' is not a number")


def test_a_target_is_held_against_what_is_hung(run, job):
    """The mean hangs at the station, and the first spin shows that, not each throw's own."""
    hung = [one["hang_g"] for one in run("stack")["stacks"] for _ in one["throws"]]
    assert [one["over_g"] for one in run("target", 1850, status=None)["throws"]] == pytest.approx(
        [g - 1850 for g in hung]
    )
    data = invented.document(station=STATION, crank={"counterweight": cranks.v8_weights()})
    data["bobweight"] = {**data.get("bobweight", {}), "hang": "none"}
    job.write_text(invented.text(data), encoding="utf-8")
    assert {one["over_g"] for one in run("target", 0)["throws"]} == {0.0}
