"""Runs with the fixture turned: angles counted from the fixture instead of throw 1 exchange the crank's part and
the fixture's, and the same slip made again says the same. Only a known mass tells."""

from __future__ import annotations

import json
import shlex

import pytest
from balancing_shop import Station, polar
from typer.testing import CliRunner
from within import app

GOOD, GROSS = [polar(50, 40), polar(40, 250)], [polar(600, 203), polar(500, 169)]


@pytest.fixture
def shop(tmp_path):
    return Station(tmp_path, unit="g·mm")


def turned(shop):
    """Proved as it stands, then spun with the fixture turned; what is said."""
    shop.spin()
    assert shop.hang_as_told(shop.must_not_be_signed_or_drilled())[0] == 0
    shop.is_turned = True
    return " ".join(shop.spin(*shop.shows(), "--turned").split())


@pytest.mark.parametrize(("crank", "fixture"), [(GROSS, GOOD), (GOOD, GROSS)])
def test_angles_counted_from_the_fixture_sign_no_bad_crank_and_drill_no_good_one(shop, crank, fixture):
    """The crank has what is told as the fixture's."""
    shop.crank, shop.fixture, shop.counts_from_fixture = crank, fixture, True
    said = turned(shop)
    found = shop.state()["spins"][-1]["fixture"]["front"]["unbalance_gmm"]
    assert found == pytest.approx(abs(crank[0]), abs=2), "as is told for the crank in truth"
    assert "counted from the fixture instead of throw 1" in said
    told = shop.must_not_be_signed_or_drilled()
    again = " ".join(shop.spin(*shop.shows(), "--turned").split())  # the same slip once more says the same
    assert "no known mass has agreed with it turned" in again
    told = shop.must_not_be_signed_or_drilled()
    status, said = shop.hang_as_told(told)
    assert status == 1
    assert "the turned runs do not read as they must" in " ".join(said.split())
    told = shop.must_not_be_signed_or_drilled()
    assert told.count("truethrow strike") == 2
    for line in [one.split("cancel them: ")[1] for one in told.splitlines() if "truethrow strike" in one]:
        words = [*shlex.split(line.rstrip("; ."))[1:], "--yes"]
        done = CliRunner().invoke(app, words)
        assert done.exit_code == 0, done.output
    shop.is_turned = False
    state = shop.state()
    assert (state["spins"][-1]["fixture"], state["withheld"]) == (None, [])


def test_a_later_spin_does_not_inherit_what_nobody_proved(shop):
    shop.crank, shop.fixture, shop.counts_from_fixture = GROSS, GOOD, True
    turned(shop)
    shop.is_turned = False
    shop.spin()
    told = shop.must_not_be_signed_or_drilled()
    assert "FRONT REAR --turned" in told


def test_angles_from_throw_1_are_proved_by_the_masses_that_are_told(shop):
    """And a further turned run, after them, is not proved by them."""
    shop.crank, shop.fixture = GOOD, GROSS
    turned(shop)
    status, said = shop.hang_as_told(shop.must_not_be_signed_or_drilled())
    assert status == 0, said
    state = shop.state()
    assert (state["inside"], state["withheld"]) == (True, [])
    assert "turned, front" in "\n".join(shop.run_alone("history"))
    shop.is_turned = False
    shop.spin()
    assert shop.state()["inside"], "the fixture's part is known from here on"
    shop.is_turned = True
    shop.spin(*shop.shows(), "--turned")
    shop.must_not_be_signed_or_drilled()


def test_masses_with_the_fixture_turned_prove_nothing_of_it_as_it_stands(shop):
    shop.spin()
    told = shop.refuses(
        "test-mass", "--front", "60g@30", "--rear", "40g@120", "--radius", "90mm", "1@1", "1@1", "--turned"
    )
    assert "--turned" in told
    shop.is_turned = True
    shop.spin(*shop.shows(), "--turned")
    shop.run(
        *shlex.split("test-mass --front 100g@30 --rear 60g@120 --radius 90mm --turned"),
        *shop.shows(polar(9000, 30), polar(5400, 120)),
    )
    assert "no test mass has agreed" in shop.must_not_be_signed_or_drilled()


STILL = "the fixture was still turned, and the spin was typed without --turned"


def proved_both_ways(shop, crank, fixture):
    """As it stands and turned; nobody turns it back."""
    shop.crank, shop.fixture = crank, fixture
    turned(shop)
    assert shop.hang_as_told(shop.must_not_be_signed_or_drilled())[0] == 0


@pytest.mark.parametrize(("crank", "fixture"), [(GROSS, GOOD), (GOOD, GROSS)])
def test_a_spin_as_it_stands_with_the_fixture_still_turned_is_told(shop, crank, fixture):
    """As often as it is spun so; known masses, too, read right with it."""
    proved_both_ways(shop, crank, fixture)
    for _ in range(3):
        assert STILL in " ".join(shop.spin().split())
        assert STILL in " ".join(shop.must_not_be_signed_or_drilled().split())
    shop.hang_both()
    assert STILL in " ".join(shop.must_not_be_signed_or_drilled().split())
    shop.is_turned = False
    shop.spin()
    assert shop.state()["withheld"] == [], "turned back, it reads as before"


def test_a_bad_crank_is_not_signed_by_a_fixture_that_hides_it(shop):
    """Its part twice over is the crank's, so that spun twice it read 0 and was signed."""
    proved_both_ways(shop, [polar(600, 20), polar(600, 140)], [polar(300, 20), polar(300, 140)])
    shop.spin()
    shop.spin()
    planes = shop.state()["spins"][-1]["planes"]
    assert all(one["unbalance_gmm"] < 20 for one in planes.values())
    shop.must_not_be_signed_or_drilled()
    assert shop.refuses("sign", "--by", "AB", "--unproved", "--why", "late").count(STILL) == 1


def test_runs_both_ways_are_right_whichever_way_it_was(shop):
    """What was typed as it stands was turned, and the other way round: the crank's part is the same."""
    proved_both_ways(shop, GOOD, GROSS)
    shop.spin()
    shop.is_turned = False
    shop.spin()
    shop.is_turned = True
    shop.spin()
    shop.must_not_be_signed_or_drilled()
    shop.is_turned = False
    shop.spin(*shop.shows(), "--turned")
    assert shop.hang_as_told(shop.must_not_be_signed_or_drilled())[0] == 0
    state = shop.state()
    assert (state["withheld"], state["inside"]) == ([], True)


def test_masses_that_disagreed_turned_and_were_canceled_give_those_before_them_no_say(shop):
    """The cables were exchanged after masses had agreed with the fixture turned; those that showed it are canceled
    as a slip: by those of before, what was taken off as the fixture's counted again."""
    proved_both_ways(shop, GOOD, GROSS)
    assert shop.state()["withheld"] == []
    on = shlex.split("test-mass --front 100g@30 --rear 60g@120 --radius 90mm --turned")
    shows = shop.shows(polar(9000, 30), polar(5400, 120))
    assert shop.run(*on, *reversed(shows))[0] == 1
    test = [line for line in shop.lines() if '"test"' in line][-1]
    shop.run_alone("strike", json.loads(test)["id"], "--why", "typed wrong")
    shop.is_turned = False
    shop.spin()
    told = shop.must_not_be_signed_or_drilled()
    assert "no known mass has agreed with it turned since the last one was canceled" in " ".join(told.split())
    shop.is_turned = True
    shop.spin(*shop.shows(), "--turned")
    assert shop.hang_as_told(shop.must_not_be_signed_or_drilled())[0] == 0
    assert shop.run("sign", "--by", "AB")[0] == 0
