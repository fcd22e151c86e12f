"""The trim card: each cut, and what was cut already."""

from __future__ import annotations

import re

from card_texts import Found, bigs, launch, lines, shown, table, texts

from truethrow.balance.log.records import Weighed
from truethrow.balance.result import plans
from truethrow.worksheets.cards.card import Blank, Figure, Tick, Tiles

# Numbers: each is in the data, as it was or in the unit that the card is shown in

METRIC = (1.0,)


def test_the_trim_card_tells_each_cut_and_leaves_room_for_what_was_left(told):
    shop = told("launch")
    card, plan = shop.cards()["trim"], shop.known().result.trim
    tiles = next(block for block in card.blocks if isinstance(block, Tiles)).tiles
    assert [tile.title for tile in tiles][:3] == [
        "piston P28 (sits in 1)",
        "piston P22 (sits in 2)",
        "piston P6 (sits in 3)",
    ]
    part_by_part = sorted(plan.parts, key=lambda part: part.part)
    for tile, part in zip(tiles, part_by_part, strict=True):
        own = [cell for _, row in tile.rows for cell in row]
        assert sum(isinstance(cell, Blank) for cell in own) == len(part.expected_g)
        assert [cell.value for cell in own if isinstance(cell, Figure)] == [*part.expected_g.values()]
    assert "piston P33 (sits in 5) holds the set back" in lines(card, "framed")


def test_the_first_page_is_the_grinders_each_part_with_its_cuts_and_what_it_should_read(told):
    """Before anything is turned over: mark, place, grams, the reading to come, a box for each cut."""
    shop = told("launch")
    card, plan = shop.cards()["trim"], shop.known().result.trim
    cuts = table(card, "cuts")
    assert cuts.caption == f"32.1 g off 13 parts, plan {card.data['trim']['plan']}"
    assert cuts.heads == (
        *("part", "take off: piston, big end", "", "take off: small end", ""),
        *("then reads: piston, big end", "then reads: small end"),
    )
    part_by_part = sorted(plan.parts, key=lambda part: part.part)
    assert len(cuts.rows) == len(part_by_part) == 13
    for row, part in zip(cuts.rows, part_by_part, strict=True):
        assert sum(isinstance(cell, Tick) for cell in row) == len(part.cuts)
        taken = [cell.value for cell in row[1:5] if isinstance(cell, Figure)]
        assert sorted(taken) == sorted(cut.grams for cut in part.cuts)
        assert [cell.value for cell in row[5:] if isinstance(cell, Figure)] == [*part.expected_g.values()]
    small_end = {cell.value for row in cuts.rows if isinstance(cell := row[3], Figure)}
    assert small_end == {cut.grams for part in plan.parts for cut in part.cuts if cut.pad.kind == "small_end"}


def test_a_plan_that_was_begun_stands_with_its_done_cuts_ticked(tmp_path):
    """The card printed before the first cut and the one after it are the same, but for the ticks."""
    shop = launch(tmp_path)
    before = shop.cards()["trim"]
    plans.record(shop.job, [("rod", 6), ("piston", 2)])
    known, card = shop.known(), shop.cards()["trim"]
    assert known.result is None
    assert card.code == before.code
    assert card.data == before.data
    ticks = {row[0].text: [c.done for c in row if isinstance(c, Tick)] for row in table(card, "cuts").rows}
    assert {name for name, own in ticks.items() if all(own)} == {"rod R35 (sits in 6)", "piston P22 (sits in 2)"}
    assert not any(
        done
        for name, own in ticks.items()
        if name not in ("rod R35 (sits in 6)", "piston P22 (sits in 2)")
        for done in own
    )
    assert "To be weighed again: piston P22 (sits in 2), rod R35 (sits in 6)." in lines(card, "framed")
    assert "holds the set back" not in lines(card, "framed")  # too late to swap it
    assert not [text for text in texts(card) if Found(card, METRIC).missing(text)]
    shop.log().append(Weighed(2, "piston", 534.9, "534.9"))
    assert shop.cards()["trim"].digest == before.digest  # the rod still waits
    for kind, grams in (("big_end", 451.0), ("small_end", 171.1)):
        shop.log().append(Weighed(6, kind, grams, str(grams)))
    assert shop.known().standing is None
    assert shop.cards()["trim"].data["trim"]["plan"] != before.data["trim"]["plan"]


def test_a_plan_all_of_which_is_recorded_says_so(tmp_path):
    shop = launch(tmp_path)
    plans.record(shop.job)
    assert "Every cut of it is recorded" in lines(shop.cards()["trim"], "framed")


def test_that_the_pads_limits_are_assumed_stands_before_the_cuts(tmp_path):
    shop = launch(tmp_path)
    text = shop.job.read_text(encoding="utf-8")
    shop.job.write_text(re.sub(r"(?s)\[trim\].*?\n(?=\[)", "", text), encoding="utf-8")
    first = shop.cards()["trim"].blocks[0]
    assert (first.heading, first.weight) == ("Ask the maker first", "framed")


def test_nothing_to_cut_is_said_in_big_letters(cards_of):
    assert shown(bigs(cards_of("pump")["trim"])[0].cell) == "NOTHING"
