"""Two matches are proposed, and the builder wants neither the newest nor the one before: he leaves the newest.

What would have gone wrong: `next`, `accept` and the board bring up the older one in its place, and parts are
marked and moved by a match that nobody looked at today."""

from __future__ import annotations

import pytest
from demo_shop import DemoShop
from within import log_path

from truethrow.balance.book.state import state_of
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Proposed


@pytest.fixture
def shop(tmp_path):
    return DemoShop(tmp_path)


def matched(shop, *kinds):
    """The job is matched by those kinds alone; the id of what was proposed."""
    text = shop.file.read_text(encoding="utf-8").partition("\n[match]")[0]
    move = ", ".join(f'"{kind}"' for kind in kinds)
    shop.file.write_text(f'{text}\n[match]\naims = ["bobweight"]\nmove = [{move}]\n', encoding="utf-8")
    assert "Proposed:" in shop.must("match", "--by", "AB")
    return [one for one in records(shop) if isinstance(one, Proposed)][-1].id


def records(shop):
    return ReadingLog(log_path(shop.file)).records


def on_the_board(shop):
    return state_of("launch-7", shop.file.read_text(encoding="utf-8"), records(shop)).blocked


def test_once_the_newest_is_left_no_older_match_comes_up_in_its_place(shop):
    older, newest = matched(shop, "pin"), matched(shop, "rod")
    assert older != newest
    assert "accept the matching that was proposed" in shop.must("next")
    assert newest in on_the_board(shop)
    shop.must("strike", newest, "--why", "not wanted", "--by", "AB", "--yes")
    said = shop.must("next")
    assert "truethrow accept" not in said
    assert "match, before anything is ground" in said
    assert on_the_board(shop) == "[match] asks for a matching"
    told = shop.refuses("accept", "--by", "AB")
    assert "no match is waiting" in told
    assert older not in told
    # He looks for the older one after all: it is proposed anew, and taken.
    again = matched(shop, "pin")
    assert again not in (older, newest)
    assert again in on_the_board(shop)
    assert "Mark these before you move any" in shop.must("accept", "--by", "AB")


def test_a_match_that_was_accepted_and_is_taken_back_waits_again_whatever_was_left_meanwhile(shop):
    first = matched(shop, "pin")
    shop.must("accept", "--by", "AB")
    second = matched(shop, "rod")
    shop.must("strike", second, "--why", "not wanted", "--by", "AB", "--yes")
    assert "truethrow accept" not in shop.must("next")
    (trade,) = shop.ids("trade")
    assert f"the match waits again: truethrow accept {shop.file} (record {first})" in shop.must(
        "strike", trade, "--why", "not moved yet", "--by", "AB", "--yes"
    )
    assert first in on_the_board(shop)
    assert "Mark these before you move any" in shop.must("accept", "--by", "AB")
