"""Trial masses through spin, as they are typed."""

import json

import pytest
from balancing_shop import Station
from engine_shop import DAMPER, angle_of
from meter_shop import Meter, polar

from truethrow.balance.base.errors import BadInput
from truethrow.cli.station import trials


def test_masses_are_typed_with_their_units():
    masses, typed = trials.typed("2oz@30", "", "4in")
    (one,) = masses
    assert (one.plane, one.angle_deg) == ("front", 30.0)
    assert one.mass_g == pytest.approx(56.69904625)
    assert one.radius_mm == pytest.approx(101.6)
    assert typed == "2oz at 4in"


@pytest.mark.parametrize(
    ("front", "radius", "wrong"),
    [
        ("60@30", "90mm", "--front"),
        ("60g@30", "90", "--radius"),
        ("60g", "90mm", "no angle"),
        ("60x@3", "9mm", "not a unit"),
    ],
)
def test_what_is_typed_wrong_is_refused(front, radius, wrong):
    with pytest.raises(BadInput, match=wrong):
        trials.typed(front, "", radius)


def test_a_calibrated_station_has_no_trials(tmp_path):
    station = Station(tmp_path)
    station.spin()
    said = station.refuses("spin", "--front", "60g@30", "--radius", "90mm", "1@0", "1@0")
    assert "known masses prove its profile" in said
    assert "truethrow test-mass" in said


def test_half_of_it_is_refused_and_test_mass_tells_the_same(tmp_path):
    meter = Meter(tmp_path, [[0.02, 0], [0, 0.03j]])
    meter.crank = [polar(900, 40), polar(700, 200)]
    meter.spin(*meter.shows())
    assert "not all of it is said" in meter.refuses("spin", "--front", "60g@30", "1@0", "1@0")
    readings = meter.shows(polar(6000, 30))
    status, said = meter.run("test-mass", "--mass", 60, "--radius", 100, "--plane", "front", "--at", 30, *readings)
    assert status == 1
    assert "Trial masses: what 1000 g·mm move" in said


@pytest.mark.parametrize("mirrored", [False, True])
def test_a_damper_on_an_arbor_of_a_station_that_reads_divisions(tmp_path, mirrored):
    """One plane, by a trial mass: 1000 g·mm at 30 degrees from its keyway, the arbor 200 at 0, counted from the
    arbor; on a station of any zero and gain, whichever way it counts."""
    meter = Meter(tmp_path, [[1, 0], [0, 1]], crank={"external": [DAMPER]})
    gain, own, arbor = polar(0.02, 77), polar(1000, 30), 200

    def reads(vector):
        shown = gain * vector
        shown = shown.conjugate() if mirrored else shown
        return f"{abs(shown):.4f}@{angle_of(shown):.3f}"

    runs = ("--straight", reads(arbor + own), "--turned", reads(arbor - own), "--counted", "arbor")
    on = [polar(20 * 90, at) for at in (30, 120)]
    trial = [f"20g@{at}={reads(arbor + own + mass)}" for at, mass in zip((30, 120), on, strict=True)]
    said = ("--trial", trial[0], "--trial", trial[1], "--radius", "90mm")
    status, out = meter.run("member", "damper", *runs, *said, "--json")
    assert status == 0, out
    found = json.loads(out)
    assert found["own"]["unbalance_gmm"] == pytest.approx(1000, abs=1)
    assert found["own"]["angle_deg"] == pytest.approx(30, abs=0.1)
    assert found["arbor"]["unbalance_gmm"] == pytest.approx(200, abs=1)
    assert "a trial mass tells what they are" in meter.refuses("member", "damper", *runs)
