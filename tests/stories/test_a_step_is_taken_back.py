"""A command is given by mistake, and what it recorded is taken back as a whole: nothing of it goes on counting,
and what counts again is what was before, not one thing less.

What a hand would have done wrong: cancel one cut of fifteen and grind by the other fourteen; drill by a spin whose
planes were typed the wrong way round, or believe the test mass that was held against it; sign again by a signature
that rests on nothing."""

from __future__ import annotations

import json
import re
import shlex

import pytest
from commands import on_a_terminal, run
from demo_shop import FIRST, MASS, SECOND, DemoShop


@pytest.fixture
def shop(tmp_path):
    return DemoShop(tmp_path)


def test_all_cuts_of_one_ground_are_one_step_and_every_reading_counts_again(shop):
    before = json.loads(shop.must("work", "--json"))
    shop.must("ground", "--by", "AB")
    cuts = shop.ids("cut")
    assert len(cuts) == 16
    assert shop("trim")[0] == 2
    said = shop.refuses("strike", "--last")
    assert "nothing is canceled yet" in said
    said = shop.must("strike", "--last", "--yes", "--why", "recorded before it was ground")
    assert "16 cuts, recorded" in said
    assert "piston P28 (sits in 1)" in said and "the job file's reading counts again" in said
    assert shop.ids("cut") == []
    after = json.loads(shop.must("work", "--json"))
    assert after["job"].pop("log") != before["job"].pop("log"), "the log has gone on"
    assert after == before
    shop.must("ground", "--by", "AB")  # this time it is so, and it can be recorded again
    assert len(shop.ids("cut")) == 16


def test_the_command_that_a_pipe_is_told_cancels_what_was_shown_whatever_comes_after(shop):
    shop.must("ground", "rod", "R4", "--by", "AB")
    told = shop.refuses("strike", "--last")
    shop.must("ground", "piston", "P28", "--by", "CD")
    command = shlex.split(re.search(r"truethrow (strike .*)", told)[1])
    status, said = shop.run(*command)
    assert status == 0, said
    assert [one for one in shop.ids("cut") if "-4-" in one] == []
    assert len(shop.ids("cut")) == 1


def test_on_a_terminal_it_asks_and_no_is_no(shop):
    shop.must("ground", "rod", "R4", "--by", "AB")
    asked = ["strike", shop.file, "--last"]
    status, said = on_a_terminal(asked, shop.file.parent, "n\n", COLUMNS="200")
    assert "2 cuts, recorded" in said
    assert "Cancel this?" in said
    assert "Nothing is canceled." in said
    assert status == 1
    assert len(shop.ids("cut")) == 2
    assert on_a_terminal(asked, shop.file.parent, "y\n", COLUMNS="200")[0] == 0
    assert shop.ids("cut") == []


def test_the_cuts_of_two_commands_are_two_steps(shop):
    shop.must("ground", "rod", "R4", "--by", "AB")
    shop.must("ground", "--by", "AB")
    shop.must("strike", "--last", "--yes")
    assert len(shop.ids("cut")) == 2
    shop.must("strike", "--last", "--yes")
    assert shop.ids("cut") == []


def test_holes_of_one_command_are_one_step_and_the_plan_asks_for_them_again(shop):
    shop.spun()
    plan = shop.state()["plan"]
    shop.at_station("holes", "--done")
    assert len(shop.ids("hole")) == len(plan["operations"]) > 1
    said = shop.must("strike", "--last", "--yes")
    assert "asks for these holes again: cancel them only if they are not in the crank" in said
    assert shop.ids("hole") == []
    assert shop.state()["plan"] == plan


def test_an_override_and_what_it_was_given_for_are_one_step(shop):
    shop.at_station("spin", *FIRST)
    shop.at_station("holes", "--done", "--unproved", "--by", "AB", "--why", "no tapped hole")
    assert "unproved" in [one["action"] for one in shop.records()]
    shop.must("strike", "--last", "--yes")
    assert shop.ids("hole") == shop.ids("unproved") == []


def test_a_spin_goes_with_its_turned_runs_and_the_spin_before_is_the_last_again(shop):
    shop.spun()
    shop.at_station("holes", "--done")
    shop.at_station("spin", *SECOND)
    shop.at_station("spin", "--turned", "0.5@20", "0.3@230")
    said = shop.must("strike", "--last", "--yes")
    assert "2 spins, recorded" in said and "spin 1 is the last again" in said
    state = shop.state()
    assert len(state["spins"]) == 1 and len(state["drilled_since"]) == 2


def test_a_spin_typed_front_for_rear_takes_its_test_mass_along_but_no_hole_out_of_the_crank(shop):
    shop.at_station("spin", "5.0@169", "6.1@203", "5.1@169", "6.0@204")
    spin = shop.ids("spin")[0]
    shop.at_station("test-mass", *MASS)
    said = shop.refuses("strike", spin)
    assert "rests on it: test front, 50 g at 100 mm" in said
    command = re.search(r"with all of them: truethrow (.*)", said)[1]
    said = shop.run(*shlex.split(command), "--yes", "--why", "front typed for rear")[1]
    assert "no spin is left" in said
    assert shop.ids("spin") == shop.ids("test") == []
    # The same crank, typed right: nothing of the canceled test mass is believed.
    shop.at_station("spin", *FIRST)
    assert "No test mass has agreed" in shop.at_station("spins")
    shop.at_station("test-mass", *MASS)
    assert shop.state()["plan"]["operations"]


def test_holes_drilled_by_a_canceled_spin_stay_in_the_crank(shop):
    shop.spun()
    shop.at_station("holes", "--done")
    spin = shop.ids("spin")[0]
    said = shop.must("strike", spin, "--with-later", "--yes")
    assert "Stays: in the crank all the same" in said
    assert len(shop.ids("hole")) == 2
    shop.at_station("spin", *SECOND)
    assert [len(one["drilled_before"]) for one in shop.state()["spins"]] == [2]


def test_a_signature_is_a_step(shop):
    shop.signed()
    assert shop.state()["signed"]
    said = shop.must("strike", "--last", "--yes")
    assert "not signed off any more" in said
    assert shop.state()["signed"] is None
    shop.at_station("sign", "--by", "AB")


def test_a_canceled_spin_gains_no_signature(shop):
    """A spin outside was canceled, and the one before it was signed without another; an older signature counted
    again."""
    shop.signed()
    shop.at_station("spin", "9.0@40", "8.0@250")
    shop.must("strike", "--last", "--yes")
    assert shop.state()["signed"] is None
    said = shop.refuses("sign", "--station", shop.station, "--by", "AB")
    assert "a spin was canceled since spin 2: spin again before signing" in said
    shop.at_station("spin", *SECOND)
    shop.at_station("sign", "--by", "AB")
    assert shop.state()["signed"]


@pytest.mark.parametrize("canceled", ["test", "hole"])
def test_what_a_spin_was_believed_by_is_canceled(shop, canceled):
    shop.signed()
    shop.must("strike", shop.ids(canceled)[-1], "--with-later", "--yes")
    called = {"test": "a test mass", "hole": "a hole"}[canceled]
    assert f"{called} was canceled since spin" in shop.refuses("sign", "--station", shop.station, "--by", "AB")


def test_a_hole_that_a_signature_names_is_not_canceled_without_it(shop):
    shop.signed()
    hole = shop.ids("hole")[0]
    assert "rests on it: sign" in shop.refuses("strike", hole)
    shop.must("strike", hole, "--with-later", "--yes")
    assert shop.ids("sign") == []


def test_an_accepted_match_goes_back_and_waits_again(shop):
    shop.must("match")
    shop.must("accept")
    said = shop.must("strike", "--last", "--yes")
    assert "Put these back" in said and "the match waits again: truethrow accept" in said
    shop.must("accept")
    proposal = shop.ids("propose")[0]
    assert "is accepted; put the parts back: truethrow strike" in shop.refuses("strike", proposal)


def test_an_acknowledgement_typed_wrong_has_a_way_back(shop):
    shop.spun()
    shop.at_station("holes", "--done", 1)
    number = shop.damage("hole")
    assert "damaged" in shop.refuses("strike", "--last")
    shop.must("acknowledge", number, "--never-happened", "--why", "looked at the wrong crank")
    assert shop.state()["spins"]
    acknowledged = shop.ids("acknowledge")[0]
    said = shop.must("strike", acknowledged, "--why", "the hole is there")
    assert f"line {number} is damaged, and asks again what became of it: truethrow damaged" in said
    assert shop("damaged")[0] == 1
    assert shop("spins", "--station", shop.station)[0] == 2
    shop.must("acknowledge", number, "--entered-again", "--why", "it is in the crank")
    assert len(shop.ids("hole")) == 1
    # And once more the other way: what was written again for the line goes with what was said of it.
    shop.must("strike", "--last", "--yes")
    assert shop.ids("hole") == []
    shop.must("acknowledge", number, "--entered-again", "--why", "it is in the crank after all")
    assert len(shop.ids("hole")) == 1
    assert shop("damaged")[0] == 0


def test_a_cancelation_is_answered_in_plain_words(shop):
    shop.spun()
    shop.at_station("holes", "--done")
    shop.must("strike", "--last", "--yes")
    strike = shop.ids("strike")[0]
    said = shop.refuses("strike", strike)
    assert "is a cancelation, and a cancelation can't be canceled" in said
    assert "truethrow holes" in said
    assert "which one" in shop.refuses("strike")


def test_an_empty_log_has_nothing_to_cancel(tmp_path):
    run("new", "inline-3", tmp_path / "my.toml")
    done = run("strike", tmp_path / "my.toml", "--last")
    assert done.status == 2 and "there is nothing to cancel" in done.err
