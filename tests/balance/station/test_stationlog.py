"""The station's records as text, and back."""

from __future__ import annotations

import pytest
from station_shop import proved, refused, struck

from truethrow.balance.base.beside import log_path
from truethrow.balance.crank.holes import Hole
from truethrow.balance.job.job import load as load_job
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.station import stationlog


def test_what_was_typed_is_shown_as_it_was_typed(run, job):
    """What was in force with it is in the log, for the tool alone."""
    state = proved(run, "12.4@220", "8.1@40", status=1)
    assert state["spins"][0]["typed"] == "12.4@220 8.1@40 in g at 100 mm"
    assert "basis" not in run("spins", status=1, as_json=False)
    kept = "; sense with, zero 0, sure to 2 % 2 deg 30 g·mm, planes 0 336 mm, basis "
    assert kept in ReadingLog(log_path(job)).records[0].typed


def test_a_hole_comes_back_from_the_log():
    hole = Hole("1 front: rim", "slug", 137.25, 79.0, -22.5, 16.0, 16.0, -2325.123457, -29.431, 180.0, 0.0)
    text = stationlog.hole_text(hole)
    assert stationlog.parse_hole("slug", text) == hole
    figures = "at 137.25 radius 79 z -22.5 diameter 16 depth 16 point 180 arc 0 takes -2325.123457 mass -29.431"
    assert text == f"1 front: rim: {figures}"
    with pytest.raises(ValueError, match="no hole"):
        stationlog.parse_hole("drilled", text)


def test_the_readings_are_not_disturbed(run, job):
    before = load_job(job)
    proved(run, "12@2", "0.1@4", status=1)
    run("holes", "--done")
    run("spin", "0.2@2", "0.1@4")
    run("sign", "--by", "AB")
    after = load_job(job)
    assert (after.digest, after.parts, after.traded, after.notes) == (
        before.digest,
        before.parts,
        before.traded,
        (),
    )


def test_what_another_hand_wrote_is_told(run, job):
    log = ReadingLog(log_path(job))
    record = log.append("spin", typed="12 and 13", of="t1")
    log.append("hole", kind="radial", typed="somewhere", of="s")
    found = refused(run, "spins")
    assert len(found) == 2
    assert found[0].startswith(f"spin, record {record.id}: '12 and 13' are no runs; cancel it")
    struck(job, "spin")
    struck(job, "hole")
    assert run("spins", status=1)["spins"] == []


def test_a_station_record_needs_what_was_done(job):
    for action in ("spin", "hole", "test", "sign"):
        with pytest.raises(ValueError, match="needs what was done"):
            ReadingLog(log_path(job)).append(action, typed="x")
