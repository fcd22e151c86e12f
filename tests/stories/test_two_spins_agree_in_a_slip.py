"""A slip that is still there at the next spin: two spins agree, and both are of a crank that is not as it was
said, or of a station that was moved since it was proved. A hand that does as it is told, and spins again, had
slugs and eight holes ordered on a good crank, or signed a bad one."""

from __future__ import annotations

import pytest
from balancing_shop import Station, bobweight, polar

GOOD = (polar(60, 170), polar(50, 10))


@pytest.fixture
def shop(tmp_path):
    """A station that is right, and proved, with a crank that was spun and is not inside."""
    made = Station(tmp_path, unit="g·mm")
    made.crank = [polar(1030, 170), polar(700, 10)]
    made.spin()
    assert made.hang_both()[0] == 0
    assert made.state()["withheld"] == []
    return made


def said(shop):
    return " ".join(shop.must_not_be_signed_or_drilled().split())


def test_both_known_masses_are_left_on_at_two_spins(shop):
    """Two slugs were ordered, and six operations after them."""
    before = list(shop.crank)
    shop.crank = [before[0] + polar(9000, 30), before[1] + polar(5400, 120)]
    shop.spin()
    shop.spin()
    told = said(shop)
    assert "reads otherwise than spin 1, which the known masses were held against" in told
    assert "looks like: both known masses are still on" in told
    assert "so it counts" not in told
    assert "if something is as it looks, put it right and spin again: truethrow spin" in told
    shop.crank = before
    shop.spin()
    assert shop.state()["withheld"] == []  # as when it was proved


@pytest.mark.parametrize(
    ("changed", "looks"),
    [
        (lambda crank: [one * polar(1, 40) for one in crank], "the index or the zero has moved by 40 degrees"),
        (lambda crank: crank[::-1], "the cables of the two planes are exchanged"),
        (lambda crank: [one.conjugate() for one in crank], "the angle counts the other way"),
    ],
)
def test_the_station_is_moved_after_the_proof(shop, changed, looks):
    """Holes were ordered 40 degrees off, in the other plane, and at the mirrored angle."""
    shop.crank = changed(shop.crank)
    shop.spin()
    shop.spin()
    told = said(shop)
    assert looks in told
    assert "truethrow test-mass" in told
    assert not shop.state()["proved"]
    assert shop.hang_both()[0] == 0  # a station whose crank really reads so is proved anew
    assert shop.state()["withheld"] == []


def test_the_station_is_set_to_another_unit_after_the_proof(shop):
    """1,030 g·mm read as 36, twice: it was signed."""
    shop.unit = "oz·in"
    shop.spin()
    shop.spin()
    assert "another unit, or another radius" in said(shop)
    assert shop.hang_both()[0] == 1
    said(shop)


def test_a_bobweight_is_missing_at_the_first_spin_at_the_proof_and_again(tmp_path):
    """Eight holes of 16 mm, 30 mm deep, were ordered."""
    shop = Station(tmp_path, unit="g·mm")
    whole = [polar(330, 40), polar(300, 250)]
    shop.crank = [one - its for one, its in zip(whole, bobweight(3), strict=True)]
    first = " ".join(shop.spin().split())
    assert "if it is missing, hang it and spin again: truethrow spin" in first
    assert "Next: truethrow test-mass" not in first  # 800 g on a crank that lacks a bobweight
    assert shop.hang()[0] == 0
    shop.spin()
    told = said(shop)
    assert "looks like: the bobweight of throw 3 is missing" in told
    assert "--built 3=MASS --hung" in told
    shop.crank = whole
    shop.spin()
    shop.spin()
    assert shop.state()["plan"] is None or "missing" not in shop.run("spins")[1]


def test_a_crank_that_only_looks_as_if_a_bobweight_were_missing_can_be_worked_on(tmp_path):
    """Whoever weighed the bobweight and says that it hung there is believed."""
    shop = Station(tmp_path, unit="g·mm")
    shop.crank = [one - its for one, its in zip(shop.crank, bobweight(3), strict=True)]
    shop.spin()
    assert shop.hang()[0] == 0
    shop.spin()
    assert "missing" in said(shop)
    assert shop.run("stack", "--built", "3=1866.5", "--hung")[0] != 2
    assert "missing" not in " ".join(shop.state()["withheld"])


def test_the_known_mass_is_left_on_after_the_holes_and_another_is_hung_beside_it(shop):
    """The test mass agreed, since the station was right; five slugs were ordered on a good crank."""
    assert shop.run("holes", "--done")[0] == 0
    shop.crank = [GOOD[0] + polar(9000, 30), GOOD[1]]
    shop.spin()
    told = said(shop)
    assert "the known mass is still on the front plane" in told
    assert "if something is as it looks, put it right and spin again: truethrow spin" in told
    shop.hang_both(front=150.0)
    assert "the known mass is still on the front plane" in said(shop)
    shop.crank = list(GOOD)
    shop.spin()
    shop.spin()
    assert "which the known masses were held against" in said(shop)  # with the one that had been left on
    assert shop.hang_both()[0] == 0
    assert shop.state()["withheld"] == []


def test_a_hole_that_is_recorded_and_not_drilled_can_be_taken_back(shop):
    """Neither of the two ways that were told was right for it."""
    assert shop.run("holes", "--done")[0] == 0
    shop.spin()
    assert "recorded and were not drilled, cancel them: truethrow strike" in said(shop)


def test_a_bobweight_that_was_weighed_is_then_said_to_have_hung(tmp_path):
    """The way that was told went round in circles, and the weighing before it counted at the next spin."""
    shop = Station(tmp_path, unit="g·mm")
    shop.crank = list(GOOD)
    shop.spin()
    assert shop.hang_both()[0] == 0
    assert shop.run("stack", "--built", "1=1896.5", "--sure")[0] != 2
    assert "if it hung at the last spin" in said(shop)
    assert shop.run("stack", "--built", "1=1896.5", "--hung")[0] != 2  # as it was told, nothing asked back
    assert "was weighed after spin" not in shop.run("spins")[1]
    assert shop.run("stack", "--built", "1=1866.5", "--hung")[0] != 2
    assert shop.state()["withheld"] == []
    shop.spin()
    assert "30.0 g over" not in shop.run("spins")[1]  # the last weighing counts
