"""What trial masses told of a station that reads divisions, and of which spins that says something."""

import pytest
from meter_shop import Meter, polar

from truethrow.balance.station import balancing, divisions
from truethrow.balance.station.stationlog import KnownMass

MATRIX = [[0.02 + 0j, 0.004j], [0.003 + 0j, 0.03 + 0j]]


@pytest.fixture
def meter(tmp_path):
    made = Meter(tmp_path, MATRIX)
    made.crank = [polar(900, 40), polar(700, 200)]
    made.spin(*made.shows())
    return made


def found(meter):
    return balancing.load(meter.job, meter.profile).calibration


def test_one_trial_after_the_other_until_both_at_once_prove_them(meter):
    assert found(meter).missing == ("front", "rear")
    meter.trial(front="60g@30")
    assert found(meter).missing == ("rear",)
    meter.trial(rear="60g@30")
    now = found(meter)
    assert (now.missing, now.is_proved, now.fourth) == ((), False, None)
    (row, other) = now.coefficients.matrix
    assert [*row, *other] == pytest.approx([*MATRIX[0], *MATRIX[1]], abs=1e-4)
    meter.trial(front="60g@120", rear="60g@120")
    assert (found(meter).fourth.ended, found(meter).is_proved) == ("agrees", True)
    # A new trial on a plane has to be proved anew.
    meter.spin(*meter.shows())
    meter.trial(rear="80g@30")
    assert not found(meter).is_proved


def test_coefficients_are_of_one_speed_and_one_set_of_bobweights(meter):
    meter.as_told()
    assert found(meter).is_proved
    meter.spin(*meter.shows(), "--speed", "505")
    assert found(meter).is_proved
    meter.spin(*meter.shows(), "--speed", "600")
    assert found(meter).missing == ("front", "rear")
    text = meter.job.read_text("utf-8").replace("oil = 4.0", "oil = 80.0")
    meter.job.write_text(text, "utf-8")
    meter.spin(*meter.shows())
    assert found(meter).missing == ("front", "rear")


@pytest.mark.parametrize(
    ("front", "rear", "fits"), [(120, 120, True), (90, 92, True), (210, 210, False), (120, 20, False)]
)
def test_both_are_moved_by_the_same_60_to_120_degrees(meter, front, rear, fits):
    meter.trial(front="60g@30")
    meter.trial(rear="60g@30")
    masses = [KnownMass("front", 60.0, 100.0, front), KnownMass("rear", 60.0, 100.0, rear)]
    assert (divisions.unfit(masses, found(meter)) == []) is fits


def test_what_is_told_next(meter):
    sizes = (10, 20, 40, 80, 160)
    (first,) = divisions.next_masses(divisions.NOTHING, 130.0, 100.0, sizes)
    assert (first.plane, first.mass_g) == ("front", 20)  # 15 times the tolerance, rounded up
    meter.trial(front="40g@30")
    (second,) = divisions.next_masses(found(meter), 130.0, 100.0, sizes)
    assert (second.plane, second.mass_g) == ("rear", 40)
    meter.trial(rear="40g@30")
    both = divisions.next_masses(found(meter), 130.0, 100.0, sizes)
    assert [(one.plane, one.mass_g, one.angle_deg) for one in both] == [("front", 40, 120), ("rear", 40, 120)]


def test_where_no_scatter_is_known_a_trial_moves_a_third_or_turns_by_30_degrees(tmp_path):
    """The rule of thumb: common practice, no source."""
    meter = Meter(tmp_path, MATRIX, sure=(0.0, 0.0, 0.0))
    meter.spin("10@0", "10@0")
    meter.trial("11@0", "10@0", front="60g@30")
    assert found(meter).missing == ("front", "rear")
    meter.trial("14@0", "10@0", front="60g@30")
    assert found(meter).missing == ("rear",)
    meter.trial("10@0", "10@40", rear="60g@30")
    assert found(meter).missing == ()


def test_a_station_that_was_changed_needs_new_trials(meter):
    """Its pickups were moved, and nothing in the profile says so: somebody does."""
    meter.as_told()
    assert found(meter).is_proved
    assert meter.run("profile", "--changed-today", "--by", "AB", "--why", "pickups moved")[0] in (0, 1)
    meter.spin(*meter.shows())
    assert found(meter).missing == ("front", "rear")
    meter.as_told()
    assert found(meter).is_proved
