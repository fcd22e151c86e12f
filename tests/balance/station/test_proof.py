"""A known mass proves the station, or tells what is wrong with its profile."""

from __future__ import annotations

import pytest
from station_shop import SAID, Machine, mass, planned, polar, refused, struck

from truethrow.balance.station.pair import MASSES_G
from truethrow.balance.station.proof import Proof, wrong
from truethrow.balance.station.spin import Instrument
from truethrow.balance.station.testmass import Finding


def test_a_test_mass_agrees(run, job):
    machine = Machine(7, job)
    run("spin", *machine.spin(), status=1)
    assert run("test-mass", *mass(machine, "rear", 100))["agrees"]


def test_a_wrong_sense_is_caught_before_anything_is_drilled(run, job):
    """The station counts against the rotation, the profile says with it. The test mass tells; once the profile is
    mended, the crank is spun again, and the spin that was typed before stays as it was read."""
    machine = Machine(8, job, noise_gmm=3.0)
    machine.instrument = machine.instrument._replace(with_rotation=False)
    shop = job.with_name("station.toml")
    wrong = run("spin", *machine.spin(), status=1)["residual"]["front"]
    assert abs(polar(wrong["unbalance_gmm"], wrong["crank_angle_deg"]) - machine.hidden.front.conjugate()) < 60
    unsure = run("test-mass", *mass(machine, "front", 2), status=1)
    assert [found["kind"] for found in unsure["findings"]] == ["unsure"]
    assert unsure["findings"][0]["sentence"].endswith("put the mass at the crank's 90° and spin again")
    caught = run("test-mass", *mass(machine, "front", 60), status=1)
    assert [found["kind"] for found in caught["findings"]] == ["sense"]
    assert 'set sense = "against"' in caught["findings"][0]["sentence"]
    told = refused(run, "sign", "--by", "AB")
    assert "not signed: the last test mass does not agree with the profile: sense" in told
    assert "By the last test mass the angle is mirrored" in run("spins", status=1, as_json=False)
    shop.write_text(shop.read_text().replace('sense = "with"', 'sense = "against"'))
    void = run("spins", status=1)
    assert (void["residual"], void["plan"], void["edited_since_spin"]) == (None, None, 1)
    kept = void["spins"][0]["planes"]["front"]
    assert (kept["unbalance_gmm"], kept["crank_angle_deg"]) == (wrong["unbalance_gmm"], wrong["crank_angle_deg"])
    assert refused(run, "spin", *machine.spin())
    run("profile", "--wrong-since", 1, *SAID)
    right = run("spin", *machine.spin(), status=1)["residual"]["front"]
    assert abs(polar(right["unbalance_gmm"], right["crank_angle_deg"]) - machine.hidden.front) < 60
    assert run("test-mass", *mass(machine, "rear", 130))["agrees"]


def test_a_test_mass_that_fails_withholds_the_plan(run, job):
    machine = Machine(8, job, noise_gmm=3.0)
    assert planned(run, machine)
    machine.instrument = machine.instrument._replace(zero_deg=40.0)
    run("test-mass", *mass(machine, "front", 60), status=1)
    assert run("holes", status=1)["plan"] is None
    said = run("spins", status=1, as_json=False)
    assert "! Drill nothing and sign nothing by this station until then." in said
    assert "takes" not in said
    assert "the last test mass does not agree" in refused(run, "holes", "--done")[0]
    # Canceled, the one before it says nothing of the station since: a mass has to agree again.
    struck(job, "test")
    assert run("holes", status=1)["plan"] is None
    assert "since the last one was canceled" in refused(run, "holes", "--done")[0]
    machine.instrument = machine.instrument._replace(zero_deg=0.0)
    assert run("test-mass", *mass(machine, "front", 60))["agrees"]
    assert run("holes", status=1)["plan"]["operations"]


def test_a_mass_that_was_not_on_says_nothing_and_breaks_nothing(run, job):
    """The very readings of the spin, no change at all: it is told, and what another mass says stays in force."""
    machine = Machine(8, job, noise_gmm=0.0)
    spin = machine.spin()
    run("spin", *spin, status=1)
    off = ["--mass", 50, "--radius", 100, "--plane", "front", "--at", 60, *spin]
    assert [one["kind"] for one in run("test-mass", *off, status=1)["findings"]] == ["unseen"]
    run("spins", status=1)
    assert run("test-mass", *mass(machine, "front", 60))["agrees"]
    machine.instrument = machine.instrument._replace(zero_deg=40.0)
    run("test-mass", *mass(machine, "front", 30), status=1)
    kinds = [one["kind"] for one in run("test-mass", *off, status=1)["findings"]]
    assert kinds[0] == "unseen"
    assert len(kinds) == 2
    assert refused(run, "sign", "--by", "AB")


@pytest.mark.parametrize("said", ["--wrong-since=1", "--changed-today"])
def test_a_profile_that_was_made_to_fit_one_mass_is_not_proved_by_it(run, job, said):
    """The station is right as the job has it, the profile has its zero at 180. At 90 degrees that is a mirror, and
    with the sense turned round it fits there; only another angle tells. Also where the station is said to have
    been changed: then what was hung before is no evidence, and a single angle no proof."""
    machine = Machine(8, job, noise_gmm=0.0)
    shop = job.with_name("station.toml")
    right = shop.read_text()
    shop.write_text(right.replace("zero = 0.0", "zero = 180.0"))
    run("spin", *machine.spin(), status=1)
    found = run("test-mass", *mass(machine, "front", 90), status=1)["findings"]
    assert [one["kind"] for one in found] == ["sense"]
    assert found[0]["sentence"].endswith("would look the same, so put the mass at the crank's 180° too")
    shop.write_text(shop.read_text().replace('sense = "with"', 'sense = "against"'))
    run("profile", said, *SAID)
    run("spin", *machine.spin(), status=1)
    if said == "--changed-today":
        found = run("test-mass", *mass(machine, "front", 90), status=1)["findings"]
        assert [one["kind"] for one in found] == ["alone"]
    for at in (90, 270):
        found = run("test-mass", *mass(machine, "front", at), status=1)["findings"]
        assert [one["kind"] for one in found] == ["alone"]
        assert found[0]["at_deg"] == (at + 90) % 360
    found = run("test-mass", *mass(machine, "front", 180), status=1)["findings"]
    assert [(one["kind"], one["with_rotation"]) for one in found] == [("sense", True)]
    assert abs((found[0]["zero_deg"] + 180) % 360 - 180) < 1
    shop.write_text(right)
    run("profile", "--wrong-since", 1, *SAID)
    run("spin", *machine.spin(), status=1)
    assert run("spins", status=1)["test_mass"] is None
    assert run("test-mass", *mass(machine, "rear", 30))["agrees"]


def test_a_mass_whose_spin_is_struck_counts_no_more(run, job):
    machine = Machine(7, job)
    run("spin", *machine.spin(), status=1)
    run("test-mass", *mass(machine, "rear", 100))
    assert run("spins", status=1)["test_mass"]["agrees"]
    struck(job, "spin")
    assert run("spins", status=1)["test_mass"] is None


GRAMS = Instrument("g", 100.0, True, amount_part=0.02, angle_deg=2.0, floor_gmm=30.0)


@pytest.mark.parametrize("left_gmm", [0.0, 100.0, 1240.0, 8000.0])
def test_the_mass_to_hang_is_seen_whatever_the_crank_shows(left_gmm):
    """Common practice, no source: at least half as much again as what would just be seen; never more than the
    largest that the shop has. With more on the crank it is no lighter."""
    from types import SimpleNamespace

    none = Proof((), {}, {}, {})
    bare = none.next_mass(GRAMS, None, 46.0)
    mass = none.next_mass(GRAMS, SimpleNamespace(raw=(complex(left_gmm), 0j)), 46.0)
    assert mass.mass_g in MASSES_G
    assert mass.mass_g >= bare.mass_g
    assert (mass.plane, mass.radius_mm, mass.angle_deg) == ("front", 100.0, 30.0)
    assert none.next_mass(GRAMS._replace(unit="g·mm", radius_mm=None), None, 46.0).radius_mm == 90.0


def test_planes_that_are_not_separated_speak_against_no_profile_and_what_is_unsure_does():
    assert wrong([Finding("separation", 0.3)]) == []
    assert wrong([Finding("separation", 0.3), Finding("unsure", at_deg=90.0), Finding("zero", 12.0)]) == [
        *("unsure", "zero"),
    ]
