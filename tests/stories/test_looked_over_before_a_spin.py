"""A crank is spun before anybody looked at its plugs: where the shop's profile asks for it, nothing is
recorded."""

from __future__ import annotations

import json

import pytest
from commands import on_a_terminal
from demo_shop import FIRST, DemoShop


@pytest.fixture
def shop(tmp_path):
    made = DemoShop(tmp_path)
    with made.station.open("a", encoding="utf-8") as file:
        file.write('\n[before_spin]\nasked = "once a day"\nlook_at = ["keyway plugged", "guard shut"]\n')
    return made


def test_a_spin_is_not_recorded_before_and_the_way_out_is_told(shop):
    said = shop.refused_at_station("spin", *FIRST)
    assert "keyway plugged; guard shut" in said
    assert "--looked-over" in said
    shop.at_station("spin", *FIRST, "--looked-over", "--by", "AB")
    shop.at_station("spin", *FIRST)  # the same day it is not asked for again
    assert [spin["looked_over"] for spin in shop.state()["spins"]] == [True, False]
    assert "looked over before" in shop.must("history")


def test_every_time_is_every_time(shop):
    shop.station.write_text(shop.station.read_text().replace("once a day", "every time"))
    shop.at_station("spin", *FIRST, "--looked-over")
    shop.refused_at_station("spin", *FIRST)


def test_at_a_terminal_each_is_asked_for_and_no_is_no(shop, tmp_path):
    words = ["spin", "launch.toml", "--station", "station.toml", *FIRST]
    status, shown = on_a_terminal(words, tmp_path, typed="\nn\n\x04")
    assert status == 2
    assert "keyway plugged" in shown
    assert "look at it first" in shown
    assert not shop.ids("spin")
    status, shown = on_a_terminal(words, tmp_path, typed="\n\n")
    assert status == 1, shown
    assert [one["looked_over"] for one in json.loads(json.dumps(shop.state()["spins"]))] == [True]


def test_a_profile_that_asks_for_nothing_minds_nobody(tmp_path):
    shop = DemoShop(tmp_path)
    assert "asks for nothing" in shop.refused_at_station("spin", *FIRST, "--looked-over")
    shop.at_station("spin", *FIRST)


def test_what_the_profile_asks_has_to_be_something(shop):
    shop.station.write_text(shop.station.read_text().replace("once a day", "sometimes"))
    assert "every time" in shop.refused_at_station("spins")
