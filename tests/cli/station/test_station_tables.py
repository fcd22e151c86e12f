"""What the station's commands say on the screen."""

from __future__ import annotations

import cranks
import invented
from station_shop import STATION, Machine, mass, proved, unproved_plan


def test_what_was_learned_is_on_the_screen(run, job):
    machine = Machine(5, job, gain=1.1, noise_gmm=0.0, depth_mm=0.0)
    for operation in unproved_plan(run, machine):
        machine.drill(operation)
    assert "Learned" not in run("holes", "--done", as_json=False)
    assert "Learned from the holes so far: front reads 1." in run(
        "spin", *machine.spin(), status=None, as_json=False
    )


def test_every_command_says_what_it_found(run, job):
    machine = Machine(3, job, noise_gmm=3.0)
    said = run("spin", *machine.spin(), "--note", "bobweights as hung", "--by", "AB", status=1, as_json=False)
    assert "No test mass has agreed with the station's profile as it is now" in said
    assert "OUTSIDE" in said
    assert "The station should then read about" not in said
    assert "agree" in run("test-mass", *mass(machine, "front", 60), as_json=False)
    assert "The station should then read about" in run("holes", status=1, as_json=False)
    for operation in run("holes", status=1)["plan"]["operations"]:
        machine.drill(operation)
    assert "All of it is done: spin again." in run("holes", "--done", as_json=False)
    run("spin", *machine.spin(turned=False), as_json=False)
    assert "Signed by AB" in run("sign", "--by", "AB", as_json=False)
    told = run("spins", "--show", "inch", as_json=False)
    assert "oz·in" in told
    assert "note: bobweights as hung" in told
    assert "on each half" in run("stack", as_json=False)
    assert "Heavy metal" in run("target", "1500", status=None, as_json=False)


def test_a_spinning_crank_is_warned_of_wherever_one_spins_next(run, job):
    machine = Machine(3, job, noise_gmm=3.0)
    told = "A spinning crank throws what is loose on it"
    assert told in run("spins", status=1, as_json=False)
    assert told in run("spin", *machine.spin(), status=1, as_json=False)
    assert told in run("test-mass", *mass(machine, "front", 60), as_json=False)


def test_what_would_help_is_said_in_words(run, job):
    """A plane with no metal at the angle; a floor that no number of runs gets below."""
    data = invented.document(station=STATION, crank={"counterweight": cranks.v8_weights()[:1]})
    job.write_text(invented.text(data), encoding="utf-8")
    proved(run, "42.4@37", "38.1@210")
    said = run("spins", status=1, as_json=False)
    assert "what would help: " in said
    assert "('" not in said
    shop = job.with_name("station.toml")
    shop.write_text(shop.read_text().replace("floor = 30.0", "floor = 300.0"))
    said = run("spins", status=1, as_json=False)
    assert "its floor in the profile is above the tolerance" in said
    assert "spin more runs" not in said
