"""A spin that is not what the work since the last one explains: nothing is drilled and nothing is signed, and what
may have happened is named."""

from __future__ import annotations

import cmath
import math

import pytest
from balancing_shop import THROWS, Station, bobweight, polar


@pytest.fixture
def shop(tmp_path):
    """A station that is right, and proved, with a crank that was spun and is not inside."""
    made = Station(tmp_path, unit="g·mm")
    made.crank = [polar(1030, 170), polar(700, 10)]
    made.spin()
    assert made.hang()[0] == 0
    assert made.state()["withheld"] == []
    return made


def surprised(shop, looks):
    """What is said after the spin: nothing may be done, and this is named."""
    said = shop.spin()
    told = shop.must_not_be_signed_or_drilled()
    for text in (said, told):
        assert looks in " ".join(text.split()), text
    return said


@pytest.mark.parametrize("throw", THROWS)
def test_a_bobweight_is_forgotten_after_a_good_spin(shop, throw):
    before = list(shop.crank)
    shop.crank = [one - its for one, its in zip(before, bobweight(throw), strict=True)]
    surprised(shop, f"looks like: the bobweight of throw {throw} is missing")
    shop.crank = before  # hung again
    shop.spin()
    assert shop.state()["withheld"] == []


def test_the_first_spin_is_made_without_a_bobweight(tmp_path):
    shop = Station(tmp_path, unit="g·mm")
    shop.crank = [one - its for one, its in zip(shop.crank, bobweight(3), strict=True)]
    said = surprised(shop, "reads more than a crank can have (looks like: the bobweight of throw 3 is missing")
    assert "if it is missing, hang it and spin again: truethrow spin" in " ".join(said.split())
    assert shop.hang()[0] == 0
    assert "throw 3 is missing" in " ".join(shop.must_not_be_signed_or_drilled().split())


def test_all_bobweights_are_forgotten(shop):
    for throw in THROWS:
        shop.crank = [one - its for one, its in zip(shop.crank, bobweight(throw), strict=True)]
    surprised(shop, "all bobweights are missing")


def test_the_index_is_moved_overnight(shop):
    """40 degrees gave five new holes."""
    turned = cmath.rect(1, math.radians(40))
    shop.crank = [one * turned for one in shop.crank]
    surprised(shop, "the index or the zero has moved by 40 degrees")


def test_the_cables_are_exchanged(shop):
    shop.crank.reverse()
    surprised(shop, "the cables of the two planes are exchanged")


def test_amount_and_angle_are_typed_the_wrong_way_round(shop):
    """It gave eleven operations."""
    shop.crank = [polar(230, 40), polar(300, 250)]
    right = Station.shows(shop)
    shop.spin(*right)
    shop.spin(*right)
    assert shop.hang()[0] == 0
    assert shop.state()["withheld"] == []
    front, rear = (f"{float(angle):g}@{float(amount):g}" for amount, angle in (one.split("@") for one in right))
    said = shop.spin(front, rear)
    assert "amount and angle of both planes were typed the wrong way round" in " ".join(said.split())
    shop.must_not_be_signed_or_drilled()


def test_the_known_mass_is_left_on(shop):
    shop.crank[0] += polar(400.0 * 100.0, 30.0)
    surprised(shop, "the known mass is still on the front plane")


def test_the_station_is_set_to_another_unit(shop):
    shop.unit = "g·in"
    surprised(shop, "every amount is 0.0394 times what it was: another unit, or another radius")


def test_a_crank_reads_ten_thousand_and_then_next_to_nothing(tmp_path):
    """10,297 g·mm, nothing drilled, then 36: it was signed."""
    shop = Station(tmp_path, unit="g·mm")
    shop.crank = [polar(10_297, 40), polar(9_000, 250)]
    shop.spin()
    assert shop.hang()[0] == 0
    shop.crank = [polar(36, 40), polar(30, 250)]
    shop.spin()
    assert "reads otherwise than spin 1" in shop.must_not_be_signed_or_drilled()
    shop.spin()
    assert "another unit" in shop.must_not_be_signed_or_drilled()  # that is what was proved before, not since
    assert shop.hang()[0] == 0
    assert shop.state()["withheld"] == []


def test_the_holes_are_recorded_and_not_drilled(shop):
    planned = shop.state()["plan"]["operations"]
    assert shop.run("holes", "--done")[0] == 0
    shop.spin()
    told = " ".join(shop.must_not_be_signed_or_drilled().split())
    assert "doesn't match the holes drilled" in told
    assert f"{len(planned)} holes are recorded but not drilled" in told


def test_a_crank_that_really_is_far_off_can_be_worked_on(tmp_path):
    """Another engine's: a known mass has proved the station, and a second spin reads the same."""
    shop = Station(tmp_path, unit="g·mm")
    shop.crank = [polar(26_000, 140), polar(12_000, 350)]
    said = shop.spin()
    assert "reads more than a crank can have" in said
    assert shop.hang()[0] == 0
    shop.spin()
    assert shop.state()["withheld"] == []
