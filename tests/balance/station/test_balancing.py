"""The loop at the balancing station: from the first spin to the sign-off, by its commands and as JSON."""

from __future__ import annotations

import random

import cranks
import invented
import kept
import pytest
from station_shop import STATION, Machine, added, first_radial, mass, polar, proved, refused, struck

from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput
from truethrow.balance.correction import changed_by
from truethrow.balance.job.job import load as load_job
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Struck
from truethrow.balance.result.unbalance import permissible_unbalance_gmm
from truethrow.balance.station import balancing, stationfile, stationlog

# The whole loop


@pytest.mark.simulation(whole=12, sample=6)
def test_from_the_first_spin_to_the_sign_off(run, job, seed):
    """A hidden unbalance of up to 2500 g·mm a plane, a station that reads 4 % too much and 2 degrees off, holes a
    quarter of a millimetre off: a test mass before the first hole, at most three spins, and what is signed is what
    is hidden, within what is told."""
    chance = random.Random(seed)
    machine = Machine(seed, job, gain=chance.uniform(0.96, 1.04), turn_deg=chance.uniform(-2, 2))
    limit = permissible_unbalance_gmm(24.3, 6.3, 5600) / 2
    for number in range(1, 4):
        state = run("spin", *machine.spin(), *machine.spin(), status=None)
        assert state["spins"][-1]["number"] == number
        if number == 1:
            assert state["plan"] is None
            assert not run("test-mass", *mass(machine, "front", 30), status=None)["findings"]
        if state["inside"]:
            break
        assert refused(run, "sign", "--by", "AB")
        for operation in run("holes", status=1)["plan"]["operations"]:
            machine.drill(operation)
        assert all(one["done"] for one in run("holes", "--done")["plan"]["operations"])
    assert state["inside"], state
    signed = run("sign", "--by", "AB")
    assert signed["signed"]["by"] == "AB"
    for plane, hidden in zip(("front", "rear"), machine.hidden, strict=True):
        told = signed["residual"][plane]
        assert abs(hidden * machine.factor - polar(told["unbalance_gmm"], told["crank_angle_deg"])) < 60
        assert abs(hidden) <= limit
        assert told["verdict"] == "inside"
    history = run("spins")
    ids = {r["record"] for r in history["spins"]}
    ids |= {hole["record"] for r in history["spins"] for hole in r["drilled_before"]}
    assert set(history["signed"]["names"]) == ids


def test_one_unit_is_as_good_as_another(run, job):
    """The same readings in oz·in: the same residual and the same plan."""
    shop = job.with_name("station.toml")
    inch = job.with_name("inch.toml")
    inch.write_text(shop.read_text().replace('unit = "g"', 'unit = "oz·in"').replace("radius = 100.0", ""))
    grams = proved(run, "12.4@37", "8.1@210", status=1)
    struck(job, "test")
    struck(job, "spin")

    def ounces(reading):
        amount, angle = reading.split("@")
        return f"{float(amount) * 100 / 720.077887375:.6f}@{angle}"

    run("spin", ounces("12.4@37"), ounces("8.1@210"), status=1, station=inch)
    texts = ounces(added("12.4@37", 50, 30)), ounces("8.1@210")
    on = ["--mass", 50, "--radius", 100, "--plane", "front", "--at", 30, *texts]
    assert run("test-mass", *on, station=inch)["agrees"]
    same = run("spins", status=1, station=inch)
    assert same["residual"]["front"]["unbalance_gmm"] == pytest.approx(1240, abs=0.01)
    assert [h["crank_angle_deg"] for h in same["plan"]["operations"]] == [
        h["crank_angle_deg"] for h in grams["plan"]["operations"]
    ]


# Spins


def test_two_planes_inside_need_nothing(run):
    state = proved(run, "0.3@37", "0.2@210", status=0)
    assert state["inside"]
    assert state["plan"] is None
    assert (
        state["residual"]["front"]["angle_uncertainty_deg"] is None
        or state["residual"]["front"]["unbalance_gmm"] == 30
    )


# Holes


def test_what_is_done_is_shown_as_it_is(run, job):
    """Shallower than planned: the list has the depth that it has, and what the station should read follows it."""
    plan = proved(run, "12.4@220", "8.1@40", status=1)["plan"]
    first = first_radial(plan)
    state = run("holes", "--done", f"{first['number']}={first['depth_mm'] - 3}")
    done = state["plan"]["operations"][first["number"] - 1]
    assert (done["depth_mm"], done["removes_gmm"]) == (
        state["drilled_since"][0]["depth_mm"],
        state["drilled_since"][0]["removes_gmm"],
    )
    assert state["plan"]["expect"] != plan["expect"]
    assert "is not as deep as planned" in run("holes", status=1, as_json=False)
    assert len(state["plan"]["operations"]) == len(plan["operations"])
    last = state["spins"][-1]["planes"]
    rest = [one for one in plan["operations"] if one is not first] + state["drilled_since"]
    holes = [cranks.hole_told(one) for one in rest]
    for plane, change in zip(("front", "rear"), changed_by(holes, cranks.PLANES_MM), strict=True):
        left = polar(last[plane]["unbalance_gmm"], last[plane]["crank_angle_deg"]) + change
        told = state["plan"]["expect"][plane]
        assert abs(left - polar(told["unbalance_gmm"], told["crank_angle_deg"])) < 0.1


def test_the_rest_is_not_drilled_into_a_hole_that_is_deeper(run, job, monkeypatch):
    """Once the real holes leave no wall to the rest, nothing more of the plan is shown or recorded."""
    plan = proved(run, "12.4@220", "8.1@40", status=1)["plan"]
    assert len(plan["operations"]) > 1
    number = first_radial(plan)["number"]
    run("holes", "--done", number)
    monkeypatch.setattr(balancing, "still_fits", lambda crank, rest: (False,) * len(rest))
    state = run("spins", status=1)
    assert [one["number"] for one in state["plan"]["operations"]] == [number]
    told = "what was really drilled leaves too thin a wall to the rest"
    assert state["plan"]["halted"] == told
    assert f"Spin before going on: {told}." in run("spins", status=1, as_json=False)
    [fault] = refused(run, "holes", "--done")
    assert fault.startswith(f"{told}; spin before going on: truethrow spin {job} --station ")


def test_a_test_mass_or_a_name_changes_no_plan(run, job):
    """Runs of a test mass scatter, and the plan is the one that the spin told all the same."""
    machine = Machine(7, job)
    run("spin", *machine.spin(), *machine.spin(), status=1)
    assert run("test-mass", *mass(machine, "front", 30))["agrees"]
    told = run("spins", status=1)["plan"]["name"]
    loose = mass(machine, "rear", 100)
    run("test-mass", *loose, *mass(machine, "rear", 100)[-2:], status=None)
    assert run("holes", status=1)["plan"]["name"] == told
    assert f"plan {told}" in run("holes", status=1, as_json=False)
    run("holes", "--done")


def test_a_struck_spin_before_is_a_change(run, job):
    proved(run, "12.4@220", "8.1@40")
    run("holes", "--done")
    run("spin", "4.4@100", "3.1@300", status=None)
    log = ReadingLog(log_path(job))
    log.append(Struck(next(record.id for record in log.records if record.action == "hole")))
    assert balancing.load(job, job.with_name("station.toml")).has_changed


def test_holes_of_a_counterweight_that_is_gone_are_told(run, job):
    """Renamed, its holes would be forgotten, and the next ones drilled into them."""
    plan = proved(run, "12.4@220", "8.1@40", status=1)["plan"]
    run("holes", "--done")
    name = plan["operations"][0]["member"]
    job.write_text(job.read_text().replace(f'"{name}"', '"other"'))
    assert refused(run, "spins")[0].startswith(f"crank: the [crank] has no '{name}', which has ")


# The log


def test_following_needs_no_file(job):
    """From records alone, as a machine would."""
    profile = stationfile.load(job.with_name("station.toml"))
    made = load_job(job)
    basis = stationlog.Basis(profile.instrument, cranks.PLANES_MM, "00000000")
    record = kept.spun(made.digest, "12@2", "3@4", read_by=basis.read_by, id="a")
    state = balancing.follow(made, profile, (100.0, 100.0), [record])
    assert state.last.front.amount_gmm == pytest.approx(1200)
    assert state.answers.response == (1, 1)


# What it needs


def test_a_job_without_a_tolerance(job):
    job.write_text(invented.text(invented.document()))
    with pytest.raises(BadInput, match="has no tolerance"):
        balancing.load(job, job.with_name("station.toml"))


def test_a_job_without_a_crank_can_be_spun(run, job):
    job.write_text(invented.text(invented.document(station=STATION)))
    assert run("spin", "12@2", "3@4", status=1)["plan"] is None
    assert "no [crank]" in run("spins", status=1, as_json=False)
    assert refused(run, "holes") == ["crank: missing; allowed: a table [crank] with what may be drilled"]


def test_a_crank_is_checked_with_the_job(job):
    broken = invented.document(crank={"counterweight": [{"name": "a"}], "walls": 3}, scale={"resolution": -1})
    job.write_text(invented.text(broken))
    with pytest.raises(BadInput) as caught:
        load_job(job)
    wheres = {fault.where for fault in caught.value.faults}
    assert {"crank", "crank, counterweight, entry 1, at", "scale, resolution"} <= wheres


def test_a_fault_of_the_crank_is_no_missing_reading(run, job):
    data = invented.document(station=STATION, crank={"counterweight": [{"name": "a"}]})
    job.write_text(invented.text(data), encoding="utf-8")
    told = refused(run, "spins")
    assert any("missing" in line for line in told)
    assert not any("readings are missing" in line for line in told)


def test_a_shop_without_drills_is_told(run, job):
    bare = job.with_name("bare.toml")
    bare.write_text(job.with_name("station.toml").read_text().split("[[drill]]")[0])
    assert run("spin", "12@2", "3@4", status=1, station=bare)["plan"] is None
    assert "no [[drill]]" in run("spins", status=1, station=bare, as_json=False)
    assert refused(run, "holes", station=bare) == ["drill: missing; allowed: tables [[drill]], or [grind]"]
