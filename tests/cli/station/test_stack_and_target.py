"""Stacks and targets, by their commands."""

from __future__ import annotations

import cranks
import invented
import pytest
from engine_shop import FLEXPLATE, angle_of, in_planes, member
from station_shop import STATION, polar, refused


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


def test_a_target_tells_what_the_crank_shows_without_its_flexplate(run, job):
    """By hand: the reverse of 2,200 g·mm at 300 degrees, at 410 mm, by moments about the other plane."""
    crank = {"counterweight": cranks.v8_weights(), "external": [member(FLEXPLATE, 2200, 300)]}
    job.write_text(invented.text(invented.document(station=STATION, crank=crank)), encoding="utf-8")
    bobweight = run("stack")["stacks"][0]["hang_g"]
    found = run("target", bobweight)["without"]
    for plane, vector in zip(("front", "rear"), in_planes(polar(-2200, 300), 410.0), strict=True):
        assert found[plane]["unbalance_gmm"] == pytest.approx(abs(vector), abs=1e-2)
        assert found[plane]["crank_angle_deg"] == pytest.approx(angle_of(vector), abs=1e-2)
    said = run("target", bobweight, as_json=False)
    assert "Without damper, flexplate and so on the first spin should show" in said


def test_what_is_built_and_recorded_is_fine_though_no_plates_on_the_shelf_make_it(run, job):
    """Without --built the status is 1: the shop cannot build it. Built all the same, it is weighed."""
    profile = job.with_name("station.toml")
    text = profile.read_text(encoding="utf-8")
    profile.write_text(text.replace("step = 0.2", "step = 0.0001"), encoding="utf-8")
    hang_g = run("stack", status=1)["stacks"][0]["hang_g"]
    made = run("stack", "--built", f"1={hang_g + 0.1:.1f}", status=0)
    assert made["built"]
