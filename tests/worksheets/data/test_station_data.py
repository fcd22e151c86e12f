"""The station as data: where the loop is, and nothing to go by that does not count any more."""

import json

import pytest
from station_shop import polar, proved

from truethrow.balance.correction import TwoPlanes
from truethrow.balance.station import balancing
from truethrow.balance.station.spin import Instrument
from truethrow.worksheets.data import station_data


def state(job):
    return balancing.load(job, job.with_name("station.toml"))


def test_the_residual_counts_until_something_is_done_to_the_crank(run, job):
    proved(run, "12.4@220", "8.1@40")
    data = station_data.as_data(state(job))
    assert json.loads(json.dumps(data)) == data
    front = data["residual"]["front"]
    assert front["unbalance_gmm"] == pytest.approx(1240)
    assert front["crank_angle_deg"] == pytest.approx(220)
    assert data["residual"] == data["spins"][-1]["planes"]
    first = data["plan"]["operations"][0]
    run("holes", "--done", first["number"])
    after = station_data.as_data(state(job))
    assert after["residual"] is None
    assert after["drilled_since"][0]["crank_angle_deg"] == first["crank_angle_deg"]
    assert after["plan"]["operations"][0]["done"] == after["drilled_since"][0]["record"]


def test_a_plan_that_is_withheld_is_not_in_the_data(run, job):
    run("spin", "12.4@220", "8.1@40", status=1)
    made = state(job)
    assert made.plan is not None
    data = station_data.as_data(made)
    assert data["plan"] is None
    assert data["withheld"]
    assert data["next"]


def test_a_spin_of_an_edited_profile_is_kept_and_does_not_count(run, job):
    proved(run, "1.1@20", "0.4@300")
    shop = job.with_name("station.toml")
    shop.write_text(shop.read_text().replace("zero = 0.0", "zero = 5.0"), encoding="utf-8")
    data = station_data.as_data(state(job))
    assert (data["edited_since_spin"], data["residual"], data["in_engine"]) == (1, None, None)
    assert [spin["counts"] for spin in data["spins"]] == [False]
    assert data["spins"][0]["planes"]["front"]["verdict"] is None


def test_two_planes_are_told_by_amount_and_angle():
    # Sense against, zero 30: it shows 213 for the crank's 177.
    against = Instrument("g·mm", None, False, 30.0)
    assert station_data.angles(177.0, against) == {"station_angle_deg": 213.0, "crank_angle_deg": 177.0}
    assert station_data.angles(177.0, None)["station_angle_deg"] is None
    assert station_data.two(TwoPlanes(polar(120, 30), polar(50, -90)), against) == {
        "front": {
            "unbalance_gmm": pytest.approx(120),
            "station_angle_deg": pytest.approx(0),
            "crank_angle_deg": pytest.approx(30),
        },
        "rear": {
            "unbalance_gmm": pytest.approx(50),
            "station_angle_deg": pytest.approx(120),
            "crank_angle_deg": pytest.approx(270),
        },
    }
