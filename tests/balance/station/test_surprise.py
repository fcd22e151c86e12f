"""What was expected of a spin, and what a crank can hardly have."""

from __future__ import annotations

import pytest
from station_shop import added, proved

from truethrow.balance.correction import changed_by
from truethrow.balance.station import balancing
from truethrow.balance.station.surprise import IMPLAUSIBLE, is_implausible, looks, most_gmm


def state(job):
    return balancing.load(job, job.with_name("station.toml"))


def test_a_crank_is_held_against_a_quarter_of_a_bobweight_at_its_throw(run, job):
    """1866.5 g hang on each throw of the invented V8, at 46 mm."""
    run("spin", "1@10", "2@20", status=None)
    assert most_gmm(state(job)) == pytest.approx(IMPLAUSIBLE * 1866.5 * 46.0)


@pytest.mark.parametrize(("amount", "too_much"), [(210.0, False), (375.0, True)])
def test_more_than_that_is_implausible_until_a_known_mass_agrees(run, job, amount, too_much):
    """The station reads grams at 100 mm: 214.6 is the most."""
    run("spin", f"{amount}@77", "8@210", status=None)
    assert is_implausible(state(job)) == too_much
    on = ["--mass", 800, "--radius", 100, "--plane", "front", "--at", 30]
    assert run("test-mass", *on, added(f"{amount}@77", 800, 30), "8@210")["agrees"]
    assert not is_implausible(state(job)), "nothing explains it, and the station is proved: the crank is so"


def test_without_a_spin_nothing_is_surprising(job):
    assert looks(state(job)) == ()
    assert not is_implausible(state(job))


def test_what_was_drilled_changes_what_is_expected(run, job):
    """A spin that reads as the holes say is as expected; one that reads as before them is not."""
    proved(run, "9@170", "6@10")
    run("holes", "--done", status=None)
    now = state(job)
    after = now.last.raw.plus(changed_by([one.hole for one in now.since], now.planes_mm))
    run("spin", *("{:.3f}@{:.2f}".format(*now.instrument.shows(one)) for one in after), status=None)
    assert looks(state(job)) == ()


def test_holes_that_are_recorded_and_not_there_are_named(run, job):
    proved(run, "9@170", "6@10")
    run("holes", "--done", status=None)
    run("spin", "9@170", "6@10", status=None)
    assert "not drilled" in [one.kind for one in looks(state(job))]


def test_a_hole_that_was_drilled_and_not_recorded_is_named(run, job):
    proved(run, "9@170", "6@10")
    now = state(job)
    after = now.last.raw.plus(changed_by(now.plan.operations, now.planes_mm))
    run("spin", *("{:.3f}@{:.2f}".format(*now.instrument.shows(one)) for one in after), status=None)
    assert "not recorded" in [one.kind for one in looks(state(job))]
