"""The job asks for a matching, and the one at the grinder does not know.

What would have gone wrong: he grinds the parts as they sit, they trade places, and the cuts were the wrong ones: a
piston that is too light now, and more metal off the others to follow it down. Neither the grinder's screen, nor
the trim card on the wall, nor the builder's page leads him there before the match is settled; and what he ground
all the same is recorded, for metal that is off stays off."""

from __future__ import annotations

import pytest
from demo_shop import DemoShop

from truethrow.cli.floor.build import Build

ASKS = '\n[match]\naims = ["bobweight"]\nmove = ["pin"]\n'
FIRST = "nothing is ground before the parts are matched"


@pytest.fixture
def shop(tmp_path):
    found = DemoShop(tmp_path)
    found.file.write_text(found.file.read_text(encoding="utf-8") + ASKS, encoding="utf-8")
    return found


def on_the_page(shop):
    build = Build("launch", lambda: shop.file, lambda: None)
    build.shown()
    return build.made.state


def is_led_to_grind(shop):
    """Whether any of the three leads to the grinder; all or none of them do."""
    status, _ = shop("weigh", "--grind", stdin="")
    ways = {status != 2, "No trim card" not in shop.must("cards"), on_the_page(shop).trim is not None}
    assert len(ways) == 1
    return ways.pop()


def test_nothing_leads_to_the_grinder_before_the_match_is_accepted(shop):
    assert not is_led_to_grind(shop)
    assert f"{FIRST}, or [match] is taken out of the job" in (told := shop.refuses("weigh", "--grind"))
    assert told.endswith(f"match, before anything is ground: truethrow match {shop.file}")
    assert on_the_page(shop).stage == "match"
    shop.must("match")
    assert not is_led_to_grind(shop)
    assert shop.refuses("weigh", "--grind").endswith(f"truethrow accept {shop.file}")
    assert on_the_page(shop).stage == "accept"
    shop.must("accept")
    assert is_led_to_grind(shop)


def test_the_trim_says_so_above_its_first_cut_until_the_match_is_accepted(shop):
    told = shop.must("trim")
    assert told.index(FIRST) < told.index("take ")
    shop.must("match")
    assert FIRST in shop.must("trim")
    shop.must("accept")
    assert FIRST not in shop.must("trim")


def test_a_match_that_is_left_is_to_be_made_anew_and_a_job_that_asks_for_none_any_more_is_ground(shop):
    shop.must("match")
    (proposal,) = shop.ids("propose")
    shop.must("strike", proposal, "--why", "not wanted", "--by", "AB", "--yes")
    assert not is_led_to_grind(shop)
    shop.file.write_text(shop.file.read_text(encoding="utf-8").replace(ASKS, ""), encoding="utf-8")
    assert is_led_to_grind(shop)


def test_a_match_that_moves_nothing_settles_it(shop):
    """Else the grinder would be held for ever: there is nothing to accept."""
    no_pin_turns = ASKS.replace("bobweight", "rotating")
    shop.file.write_text(shop.file.read_text(encoding="utf-8").replace(ASKS, no_pin_turns), encoding="utf-8")
    assert not is_led_to_grind(shop)
    assert "Nothing to move" in shop.must("match")
    assert is_led_to_grind(shop)
    assert "the parts sit as well as they can be made to" in shop.must("history")
    count = len(shop.ids("propose"))
    shop.must("match")
    assert len(shop.ids("propose")) == count
    assert "no match is waiting" in shop.refuses("accept")


def test_what_was_ground_all_the_same_is_recorded_and_it_is_too_late_for_a_match_then(shop):
    shop.must("ground", "piston", "P28", "--by", "AB")
    assert "match" not in shop.must("next")
    assert on_the_page(shop).trim.done == 1
