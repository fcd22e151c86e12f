"""No hole is ordered on noise, and none for next to nothing."""

from __future__ import annotations

import re

import cranks
import invented
import pytest
from balancing_shop import Station, polar

SLUGS = """
[[slug]]
diameter = 20.0
length = 20.0
"""


@pytest.fixture
def shop(tmp_path):
    """A station that reads as its profile says. The limit is 130.5 g·mm a plane, its floor 20."""
    return Station(tmp_path, unit="g·mm")


def proved(shop, front, rear, floor=20.0, runs=1, limit=None):
    """The crank is spun, and a known mass agrees; why nothing is to be drilled, and what is."""
    text = shop.profile.read_text().replace("floor = 20.0", f"floor = {floor}") + SLUGS
    shop.profile.write_text(text)
    if limit:
        shop.job.write_text(shop.job.read_text().replace("limit = 130.5", f"limit = {limit}"))
    shop.crank = [front, rear]
    shop.spin(*shop.shows() * runs)
    assert shop.hang()[0] == 0
    state = shop.state()
    return " ".join(state["withheld"]), state["plan"]


def test_a_reading_of_noise_orders_no_hole_and_no_slug(shop):
    """22 ± 30 against 51.7: it ordered eight operations and a slug of 2,325 g·mm. Averaged it is still no more
    than the station can tell."""
    why, plan = proved(shop, polar(22, 170), polar(10, 10), floor=30.0, limit=51.7)
    assert plan is None
    assert "make 3 runs in one go" in why
    shop.spin(*shop.shows() * 3)
    why = " ".join(shop.state()["withheld"])
    assert "less than the station can tell" in why
    assert "another limit agreed with the customer" in why
    assert shop.state()["plan"] is None


def test_a_station_whose_floor_is_above_the_tolerance_proves_nothing_and_drills_nothing(shop):
    """38 holes and 5.5 slugs a crank."""
    why, plan = proved(shop, polar(300, 170), polar(250, 10), floor=60.0, limit=51.7)
    assert plan is None
    assert "can't prove the tolerance of the front plane, 51.7 g·mm: it is sure to ± 60 g·mm at best" in why
    assert shop.run("holes", "--done")[0] == 2


def test_what_is_inside_all_the_same_may_be_signed_by_a_rough_station(shop):
    why, plan = proved(shop, polar(10, 170), polar(10, 10))
    assert (why, plan) == ("", None)
    assert shop.run("sign", "--by", "AB")[0] == 0


def test_what_is_outside_is_drilled_at_once(shop):
    why, plan = proved(shop, polar(600, 170), polar(500, 10))
    assert why == ""
    assert plan["operations"]


def test_what_is_too_close_is_averaged_first_and_then_drilled_without_heavy_metal(shop):
    why, plan = proved(shop, polar(125, 170), polar(20, 10))
    assert plan is None
    assert "make 3 runs in one go, so that they are averaged" in why
    shop.spin(*shop.shows() * 3)
    state = shop.state()
    assert state["withheld"] == []
    assert {one["kind"] for one in state["plan"]["operations"]} == {"radial"}


def test_what_takes_it_just_inside_could_not_be_told_so_most_of_it_comes_off(shop):
    """61 ± 31 against 90 cannot be signed; one hole would leave 18, less of a change than the station can tell,
    ± 43: it was a dead end. Nearly all of it off can be told, and is inside."""
    weights = cranks.v8_weights(throws=[(0.0, 0.0)])
    planes = {"front_plane": -60.0, "rear_plane": 60.0, "limit": 130.5}
    tables = {
        "engine": invented.V8 | {"layout": "vtwin-90"},
        "station": planes,
        "crank": {"counterweight": weights},
    }
    shop.job.write_text(invented.text(invented.document(invented.cylinders(2), **tables)))
    shop.profile.write_text(shop.profile.read_text().replace("diameter = 12.0", "diameter = 8.0"))
    proved(shop, polar(61, 167), polar(3, 174), floor=30.5, limit=90.0)
    shop.spin(*shop.shows() * 3)
    state = shop.state()
    assert state["withheld"] == []
    assert state["plan"]["expect"]["front"]["unbalance_gmm"] < 61 - 43
    assert {one["kind"] for one in state["plan"]["operations"]} == {"radial"}


def test_where_no_hole_helps_it_is_told_what_would(shop):
    """The heavy side has no counterweight, and there is no heavy metal: a plan of nothing, and not a word."""
    weights = [one | {"from": 0.0, "to": 20.0} for one in cranks.v8_weights()]
    shop.job.write_text(
        invented.text(invented.document(station={"limit": 130.5}, crank={"counterweight": weights}))
    )
    proved(shop, polar(300, 190), polar(300, 190))
    shop.profile.write_text(shop.profile.read_text().replace(SLUGS, ""))
    state = shop.state()
    assert (state["withheld"], state["plan"]["operations"]) == ([], [])
    (told,) = state["next"]
    assert re.fullmatch(r"what would help: .*metal.* or another limit agreed with the customer", told)
    assert f"Next: {told}" in " ".join(shop.run("spins")[1].split())


def test_runs_that_scatter_are_averaged_until_more_would_not_help(shop):
    proved(shop, polar(110, 170), polar(10, 10))
    shop.spin("80@170", "10@10", "140@170", "10@10", "110@170", "10@10")
    assert "make 12 runs in one go" in " ".join(shop.state()["withheld"])


def test_holes_that_leave_nearly_all_are_not_drilled(shop):
    """Drills that go no deeper than a millimetre: eight holes leave nearly all."""
    proved(shop, polar(1030, 40), polar(700, 250))
    shallow = shop.profile.read_text().replace(SLUGS, "").replace("[[drill]]", "[[drill]]\ndeepest = 1.0")
    shop.profile.write_text(shallow)
    state = shop.state()
    assert state["plan"] is None
    assert "holes would leave" in " ".join(state["withheld"])
    assert "what would help: " in " ".join(state["withheld"])
