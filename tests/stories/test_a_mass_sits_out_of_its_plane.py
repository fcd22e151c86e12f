"""A known mass that is not in its plane reads too much on its own and shows on the other: no radius is advised by
it, and who edits one to fit it has proved nothing."""

from __future__ import annotations

import pytest
from balancing_shop import Station, polar

AHEAD = 40 / 336  # of the planes' distance
GRAMS, RADIUS_MM = 80.0, 100.0


@pytest.fixture
def shop(tmp_path):
    """It reads grams at 100 mm, and is right; 120 ± 20 of 130.5 g·mm is not to be signed."""
    made = Station(tmp_path, unit="g")
    made.per = 100.0
    made.edit(unit="g", more="radius = 100")
    made.crank = [polar(140, 40), polar(20, 250)]
    made.spin()
    return made


def hang(shop, ahead):
    """On the front plane, or so far ahead of it: the lever gives the rear plane the rest."""
    mass = polar(GRAMS * RADIUS_MM, 30)
    on = ("--mass", f"{GRAMS}g", "--radius", f"{RADIUS_MM}mm", "--plane", "front", "--at", 30)
    status, said = shop.run("test-mass", *on, *shop.shows(mass * (1 + ahead), -mass * ahead))
    return status, " ".join(said.split())


def test_no_radius_is_advised_and_an_edited_one_is_not_proved(shop):
    status, said = hang(shop, AHEAD)
    assert status == 1
    assert "11% of it shows in the other plane, so the mass is not in its plane" in said
    assert "set radius" not in said
    for says in (("--wrong-since", 1), ("--changed-today",)):
        radius = 100 / (1 + AHEAD) if says[0] == "--wrong-since" else 100 / (1 + AHEAD) + 0.01
        shop.edit(unit="g", more=f"radius = {radius:.3f}")
        shop.says(*says)
        shop.spin()
        status, said = hang(shop, AHEAD)
        assert (status, "so the mass is not in its plane" in said) == (1, True)
        shop.must_not_be_signed_or_drilled()


def test_hung_again_in_its_plane_it_proves_the_station_as_it_was(shop):
    hang(shop, AHEAD)
    shop.spin()
    status, said = hang(shop, 0.0)
    assert status == 0, said
    assert shop.state()["proved"]
