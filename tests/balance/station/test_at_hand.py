"""What a hand does next is what the next step's command does."""

import re

import pytest
from station_shop import added, proved

from truethrow.balance.station import balancing
from truethrow.balance.station.at_hand import at_hand
from truethrow.balance.station.next_steps import next_steps

COMMANDS = {
    "bobweights": "stack",
    "spin": "spin",
    "prove": "test-mass",
    "hole": "holes",
    "sign": "sign",
    "signed": "close",
}


def now(job):
    state = balancing.load(job, job.with_name("station.toml"))
    work = at_hand(state)
    first = re.findall(r"truethrow (\S+)", next_steps(state)[0])
    assert work == "look" or first[-1] == COMMANDS[work], next_steps(state)
    return work


def without_plates(job):
    profile = job.with_name("station.toml")
    profile.write_text(profile.read_text().partition("[stack]")[0] + "[[drill]]\ndiameter = 12.0\n")


def test_a_job_from_the_bobweights_to_the_signature(run, job):
    assert now(job) == "bobweights"
    masses = {one["throw"]: one["hang_g"] for one in run("stack", status=None)["built"]}
    run("stack", "--built", *(f"{name}={g}" for name, g in masses.items()))
    assert now(job) == "spin"
    run("spin", "6.1@203", "5.0@169", status=1)
    assert now(job) == "prove"
    on = ("--front", "150g@30", "--rear", "100g@120", "--radius", "100mm")
    run("test-mass", *on, added("6.1@203", 150, 30), added("5.0@169", 100, 120))
    assert now(job) == "hole"
    run("holes", "--done", "1")
    while now(job) == "hole":
        run("holes", "--done", str(1 + len(balancing.load(job, job.with_name("station.toml")).since)))
    assert now(job) == "spin"
    run("spin", "0.3@20", "0.3@230", status=None)
    assert now(job) == "sign"
    run("sign", "--by", "AB")
    assert now(job) == "signed"


def test_a_shop_without_plates_begins_with_the_spin(job):
    without_plates(job)
    assert now(job) == "spin"


@pytest.mark.parametrize(
    ("then", "work"),
    [
        (lambda job, run: run("spin", "60@37", "8.1@210", status=1), "prove"),
        (lambda job, run: run("spin", "9.4@37", "8.1@210", status=1), "spin"),
        (lambda job, run: job.write_text(job.read_text().replace("538.4", "538.5", 1)), "spin"),
        (lambda job, run: _mirrored(job), "look"),
    ],
    ids=["more than a crank has", "read otherwise, nothing done", "the job edited", "the profile edited"],
)
def test_after_what_stops_the_work(run, job, then, work):
    run("spin", "12.4@37", "8.1@210", status=1)
    then(job, run)
    assert now(job) in (work, "spin")


def _mirrored(job):
    profile = job.with_name("station.toml")
    profile.write_text(profile.read_text().replace('sense = "with"', 'sense = "against"'))


def test_masses_that_do_not_agree_are_hung_again(run, job):
    run("spin", "12.4@37", "8.1@210", status=1)
    on = ("--front", "150g@30", "--rear", "100g@120", "--radius", "100mm")
    run("test-mass", *on, added("12.4@37", -150, 30), added("8.1@210", -100, 120), status=1)
    assert now(job) == "prove"


def test_after_what_no_plan_asked_for_comes_a_spin(run, job):
    proved(run, "12.4@37", "8.1@210", status=None)
    run("holes", "--did", "1a, crank 150 deg, 8 mm drill, 4 mm deep", status=None)
    assert now(job) == "spin"
