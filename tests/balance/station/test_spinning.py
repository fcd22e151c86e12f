"""Spins out of the log: runs averaged, turned runs joined to the straight ones they belong to."""

from __future__ import annotations

import pytest
from station_shop import Machine, mass, polar, refused

from truethrow.balance.base.beside import log_path
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Struck


def test_the_fixture_is_taken_off_from_the_index_check_on(run, job):
    """The fixture's 900 g·mm stay out of this spin and of those after it, whether these are turned or not."""
    machine = Machine(1, job, noise_gmm=0.0, fixture=(polar(900, 120), polar(300, 10)))
    wrong = run("spin", *machine.spin(), status=1)["residual"]["front"]
    assert abs(polar(wrong["unbalance_gmm"], wrong["crank_angle_deg"]) - machine.hidden.front) > 800
    run("spin", *machine.spin(turned=True), "--turned", status=1)
    machine.fixture = [-one for one in machine.fixture]  # still turned
    assert run("test-mass", *mass(machine, "front", 30), "--turned")["agrees"]
    machine.fixture = [-one for one in machine.fixture]
    assert run("test-mass", *mass(machine, "front", 30))["agrees"]
    state = run("spins", status=1)
    assert len(state["spins"]) == 1
    for operation in state["plan"]["operations"]:
        machine.drill(operation)
    run("holes", "--done")
    after = run("spin", *machine.spin(), status=None)
    for spin, plane in ((state, 0), (after, 0), (after, 1)):
        fixture = spin["spins"][-1]["fixture"][("front", "rear")[plane]]
        assert abs(polar(fixture["unbalance_gmm"], fixture["crank_angle_deg"]) - machine.fixture[plane]) < 30
    for told, hidden in zip(after["residual"].values(), machine.hidden, strict=True):
        assert abs(polar(told["unbalance_gmm"], told["crank_angle_deg"]) - hidden) < 45


def test_repeated_runs_tell_how_sure_a_spin_is(run):
    steady = run("spin", "12.4@37", "8.1@210", "12.4@37", "8.1@210", status=1)
    loose = run("spin", "10.4@37", "8.1@210", "14.4@37", "8.1@210", status=1)
    assert loose["residual"]["front"]["unbalance_gmm"] == pytest.approx(1240)
    assert [one["read_anew"] for one in loose["spins"]] == [False, False]  # the profile is as it was
    gain = loose["residual"]["front"]["uncertainty_gmm"] - steady["residual"]["front"]["uncertainty_gmm"]
    assert gain > 50
    assert loose["residual"]["rear"]["uncertainty_gmm"] == steady["residual"]["rear"]["uncertainty_gmm"]


def test_turned_runs_whose_spin_is_struck_are_told(run, job):
    run("spin", "12@2", "3@4", status=1)
    run("spin", "12@2", "3@4", "--turned", status=1)
    log = ReadingLog(log_path(job))
    log.append(Struck(log.records[0].id))
    assert refused(run, "spins")[0].split("; ")[-1].startswith(f"cancel it: truethrow strike {job} ")


def test_turned_runs_stay_with_their_spin(run, job):
    """The spin that they belong to is struck: they are not joined to the one before. Nor once the job changed."""
    run("spin", "12@2", "3@4", status=1)
    run("spin", "11@2", "3@4", status=1)
    run("spin", "12@2", "3@4", "--turned", status=1)
    log = ReadingLog(log_path(job))
    second = [record.id for record in log.records if record.action == "spin"][1]
    log.append(Struck(second))
    assert refused(run, "spins")[0].split("; ")[-1].startswith(f"cancel it: truethrow strike {job} ")
    log.append(Struck(log.records[-2].id))
    job.write_text(job.read_text().replace("538.4", "538.5", 1))
    told = refused(run, "spin", "1@2", "3@4", "--turned")[0]
    assert told.startswith("--turned: turned, but the job is not as it was")
