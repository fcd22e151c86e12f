"""A station that nobody calibrated: trial masses tell what it reads, the run with both at once which way it
counts; and each way of being led wrong by it. Through the command line."""

from __future__ import annotations

import random

import pytest
from meter_shop import Meter, any_matrix, drilled, polar


def meter_of(folder, seed=1, **how):
    rng = random.Random(seed)
    made = Meter(folder, any_matrix(rng), seed=seed, **how)
    made.crank = [polar(rng.uniform(300, 1500), rng.uniform(0, 360)) for _ in "fr"]
    return made


def finished(meter):
    """Spin, try, drill, until it is inside or nothing more is told; whether it is signed."""
    meter.spin(*meter.shows())
    meter.as_told()
    for _ in range(5):
        state = meter.state()
        if state["inside"] or not state["plan"] or not state["plan"]["operations"]:
            break
        meter.crank = drilled(state, meter.crank)
        assert meter.run("holes", "--done")[0] in (0, 1)
        meter.spin(*[text for _ in range(3) for text in meter.shows()])
    return meter.run("sign", "--by", "AB")[0] == 0


def test_from_nothing_known_to_a_signed_crank(tmp_path):
    meter = meter_of(tmp_path)
    said = meter.spin(*meter.shows())
    assert "in divisions: what one is, trial masses tell" in said
    assert "a trial mass on the front plane alone tells" in said
    assert "bolt it through a tapped hole" in said
    assert "N at 500 r/min" in said
    meter.must_not_be_signed_or_drilled()
    assert finished(meter)
    assert max(map(abs, meter.crank)) <= 130.5


def test_what_it_told_is_kept_for_later_spins_at_the_same_speed_alone(tmp_path):
    meter = meter_of(tmp_path)
    meter.spin(*meter.shows())
    meter.as_told()
    meter.spin(*meter.shows(), "--speed", "510")
    assert meter.state()["proved"]
    meter.spin(*meter.shows(), "--speed", "700")
    state = meter.state()
    assert (state["proved"], state["plan"]) == (False, None)
    assert "at this speed with these bobweights" in meter.must_not_be_signed_or_drilled()


def test_a_mirrored_sense_is_caught_before_a_hole(tmp_path):
    meter = meter_of(tmp_path, mirrored=True)
    meter.spin(*meter.shows())
    meter.trial(front="80g@30")
    found = meter.trial(rear="80g@30")
    assert not found["proved"]
    said = meter.must_not_be_signed_or_drilled()
    assert "cannot tell which way the station counts its angles" in said
    assert (meter.state()["plan"], found["counts"]) == (None, None)
    found = meter.trial(front="80g@120", rear="80g@120")
    assert (found["fourth"]["ended"], found["counts"]) == ("mirrored", "against")
    for plane, true in zip(("front", "rear"), meter.crank, strict=True):
        assert found["unbalance"][plane]["amount"] == pytest.approx(abs(true), rel=0.05)


def test_a_mass_that_was_typed_for_the_other_plane_is_not_foretold(tmp_path):
    meter = meter_of(tmp_path)
    meter.spin(*meter.shows())
    meter.trial(front="80g@30")
    meter.trial(rear="80g@30")
    meter.trial(*meter.shows(polar(8000, 120), polar(8000, 150)), front="80g@120", rear="80g@120")
    assert "does not read as foretold" in meter.must_not_be_signed_or_drilled()


def test_a_trial_mass_that_moves_too_little_tells_nothing_and_a_heavier_one_is_told(tmp_path):
    meter = meter_of(tmp_path, sure=(0.0, 0.0, 2.0))
    meter.spin(*meter.shows())
    found = meter.trial(front="1g@30")
    assert found["trials"] == {}
    assert found["rough"]["front"] > 0.1
    assert "moved the reading too little" in meter.must_not_be_signed_or_drilled()
    assert "--front 1g@" not in found["next"][0]


def test_half_a_turn_is_no_fourth_run(tmp_path):
    meter = meter_of(tmp_path)
    meter.spin(*meter.shows())
    meter.trial(front="80g@30")
    meter.trial(rear="80g@30")
    said = meter.refuses("spin", "--front", "80g@210", "--rear", "80g@210", "--radius", "100mm", *meter.shows())
    assert "60 to 120 degrees, tell the sense of the angles" in said
    assert "--front 80g@120 --rear 80g@120" in said
    assert meter.refuses("holes", "--unproved", "--by", "AB", "--why", "no time")


def test_both_at_once_come_after_each_alone(tmp_path):
    meter = meter_of(tmp_path)
    meter.spin(*meter.shows())
    said = meter.refuses("spin", "--front", "80g@30", "--rear", "80g@30", "--radius", "100mm", *meter.shows())
    assert "a mass on the front plane alone comes first" in said


def test_sense_and_zero_are_not_the_profiles_to_say(tmp_path):
    meter = meter_of(tmp_path)
    text = meter.profile.read_text().replace("[spin]", '[spin]\nsense = "with"\nzero = 10')
    meter.profile.write_text(text)
    said = meter.refuses("spin", "1@0", "1@0")
    assert "spin, sense: can't be combined with divisions" in said
    assert "spin, zero" in said


# 100 stations nobody calibrated: both senses, any zero, gains of each plane, cross-talk, noise
@pytest.mark.simulation(whole=100, sample=6)
def test_no_crank_is_signed_beyond_its_limit_and_no_mirror_drills(tmp_path, seed):
    rng = random.Random(1000 + seed)
    matrix = any_matrix(rng)
    # What a reading scatters by is at most a twelfth of what the limit shows.
    noise = rng.uniform(0.005, 0.08) * 130.5 * min(abs(matrix[0][0]), abs(matrix[1][1]))
    sure = (1.0, 1.0, round(2 * noise, 5))
    meter = Meter(tmp_path, matrix, mirrored=seed % 2 == 1, noise=noise, seed=seed, sure=sure)
    meter.crank = [polar(rng.uniform(300, 1200), rng.uniform(0, 360)) for _ in "fr"]
    meter.spin(*meter.shows())
    for _ in range(6):
        state = meter.state()
        if state["divisions"]["fourth"]:
            break
        assert state["plan"] is None  # no hole before the fourth run
        meter.as_told()
    found = meter.state()["divisions"]
    if found["proved"]:
        assert found["counts"] == ("against" if meter.mirrored else "with")
    if finished(meter):
        assert max(map(abs, meter.crank)) <= 1.05 * 130.5
    else:
        assert meter.state()["not_signable"]
