"""A station counts its angles against the rotation, from 30 where throw 1 is: it shows 213 for the crank's 177.
Who drills by the one angle what was told in the other drills a good crank: every angle says whose it is."""

from __future__ import annotations

import re

import pytest
from demo_shop import DemoShop

AGAINST = (('sense = "with" ', 'sense = "against" '), ("zero = 0.0", "zero = 30.0"), ("up = 0.0", "up = 30.0"))
BOTH = re.compile(r"at station (\d+\.\d)°, crank (\d+\.\d)°")


def mirrored(degrees):
    """The crank's angle for one of the station's, and the other way round."""
    return (30.0 - degrees) % 360


@pytest.fixture
def shop(tmp_path):
    """The demo's crank as this station reads it, proved."""
    made = DemoShop(tmp_path)
    text = made.station.read_text("utf-8")
    for old, new in AGAINST:
        assert old in text
        text = text.replace(old, new)
    made.station.write_text(text, encoding="utf-8")
    made.at_station("spin", "6.1@187", "5.0@221", "6.0@186", "5.1@221")
    masses = ("--front", "150g@30", "--rear", "100g@120", "--radius", "100mm")
    made.at_station("test-mass", *masses, "144.0@359.7", "103.4@267.9")
    return made


def test_what_is_to_be_drilled_is_told_at_the_stations_own_angle_and_the_cranks(shop, tmp_path):
    said = shop.at_station("holes")
    state = shop.state()
    planned = state["plan"]["operations"]
    told = [tuple(map(float, pair)) for pair in BOTH.findall(said)]
    assert told == [(one["station_angle_deg"], one["crank_angle_deg"]) for one in planned]
    assert all(own == pytest.approx(mirrored(crank)) for own, crank in told)
    assert "heavy at (station)  (crank)" in said
    front = state["residual"]["front"]
    assert (round(front["station_angle_deg"]), round(front["crank_angle_deg"])) == (187, 203)
    shop.at_station("cards", "--only", "station", "--into", tmp_path / "cards")
    card = (tmp_path / "cards" / "station.html").read_text("utf-8")
    for own, crank in told:
        assert f"{own:.1f}°" in card
        assert f"crank {crank:.1f}°" in card


def test_a_hand_that_types_the_others_angle_is_asked_whose_it_is(shop):
    one = shop.state()["plan"]["operations"][0]
    own, crank = one["station_angle_deg"], one["crank_angle_deg"]
    hole = f"{one['diameter_mm']} mm drill, {one['depth_mm']} mm deep"
    # What the display showed, typed as it was read.
    said = shop.refused_at_station("holes", "--did", f"{one['member']}, {own} deg, {hole}")
    assert f"{own:g} deg can be the station's angle as well as the crank's" in said
    said = shop.at_station("holes", "--did", f"{one['member']}, {own} deg station, {hole}")
    assert f"at station {own:.1f}°, crank {crank:.1f}°" in said
    assert "not in the plan" not in said, "it is the plan's own, by whichever angle it is told"
