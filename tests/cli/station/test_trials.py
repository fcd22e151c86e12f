"""Trial masses through spin, as they are typed."""

import pytest
from balancing_shop import Station
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
