"""What the crank taught: a crank that does not answer to its holes stops the drilling."""

from __future__ import annotations

from station_shop import SAID, Machine, mass, planned, polar, refused, unproved_plan

from truethrow.balance.correction import TwoPlanes


def test_the_plan_learns_how_the_crank_answers(run, job):
    """A station that reads a tenth too much says so in the second plan."""
    machine = Machine(5, job, gain=1.1, noise_gmm=0.0, depth_mm=0.0)
    for operation in unproved_plan(run, machine):
        machine.drill(operation)
    run("holes", "--done")
    state = run("spin", *machine.spin(), status=None)
    assert 1.02 < state["response"]["front"]["factor"] < 1.12


def no_answer(run, job):
    """A station that counts the other way than the profile says, and nobody hung a test mass: the holes make it
    worse."""
    shop = job.with_name("station.toml")
    shop.write_text(shop.read_text().partition("[[slug]]")[0])  # a slug near throw 1 looks alike in the mirror
    machine = Machine(8, job, noise_gmm=0.0)
    machine.hidden = TwoPlanes(polar(1500, 60), polar(1200, 130))
    machine.instrument = machine.instrument._replace(with_rotation=False)
    for operation in unproved_plan(run, machine):
        machine.drill(operation)
    run("holes", "--done")
    return machine, run("spin", *machine.spin(), status=1)


def test_a_crank_that_does_not_answer_stops_the_drilling(run, job):
    machine, state = no_answer(run, job)
    told = (
        "spin 2 doesn't match the holes drilled: don't drill; was a hole drilled that is not recorded, or another "
        "than recorded? If not, check with a known mass first"
    )
    assert (state["plan"], state["withheld"]) == (None, [told])
    assert state["response"]["front"] == {"factor": 1.0, "turn_deg": 0.0}
    said = run("holes", status=1, as_json=False)
    assert f"! S{told[1:]}." in said
    assert "takes" not in said
    forgotten, canceled, refusal = refused(run, "holes", "--done")
    assert f"if one is recorded that was not drilled, cancel it: truethrow strike {job} " in canceled
    assert f"if a hole was drilled that is not recorded: truethrow holes {job} --station " in forgotten
    assert f"if all of it is recorded: truethrow test-mass {job} --station " in refusal
    assert f"not signed: {told}" in refused(run, "sign", "--by", "AB")
    run("test-mass", *mass(machine, "front", 30), status=1)
    assert run("spins", status=1)["plan"] is None
    shop = job.with_name("station.toml")
    shop.write_text(shop.read_text().replace('sense = "with"', 'sense = "against"'))
    told = refused(run, "test-mass", *mass(machine, "front", 120))[0]
    assert told.startswith("the station's profile was edited since spin 2 (sense with → against)")
    run("profile", "--wrong-since", 1, *SAID)
    run("spin", *machine.spin(), status=1)
    assert run("test-mass", *mass(machine, "front", 120))["agrees"]
    state = run("holes", status=1)
    assert state["withheld"] == []
    assert state["plan"]["operations"]


def test_a_test_mass_that_agrees_lets_it_go_on(run, job):
    """Somebody drilled elsewhere: the station is right, and what it says now is what is left."""
    machine = Machine(8, job, noise_gmm=0.0)
    planned(run, machine)
    run("holes", "--done")
    machine.hidden = TwoPlanes(polar(1500, 60), polar(1200, 130))
    assert run("spin", *machine.spin(), status=1)["withheld"]
    assert run("test-mass", *mass(machine, "front", 30))["agrees"]
    state = run("holes", status=1)
    assert state["plan"]["operations"]
    assert state["response"]["front"]["factor"] == 1.0
    run("holes", "--done")
