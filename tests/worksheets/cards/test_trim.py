"""The trim card: each cut, and what was cut already."""

from __future__ import annotations

import re

from card_texts import Found, bigs, launch, lines, shown, texts

from truethrow.balance.log.records import Weighed
from truethrow.balance.result import plans
from truethrow.worksheets.cards.card import Bigs, Blank, Figure, Tick, Tiles

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
        assert sum(isinstance(cell, Tick) for cell in own) == len(part.cuts)
        assert sum(isinstance(cell, Blank) for cell in own) == len(part.expected_g)
        taken = [cell.value for cell in own if isinstance(cell, Figure)]
        assert taken == [*(cut.grams for cut in part.cuts), *part.expected_g.values()]
    assert [shown(big.cell) for big in bigs(card)] == [card.data["trim"]["plan"], "32.1 g", "13"]
    assert "piston P33 (sits in 5) holds the set back" in lines(card, "framed")


def test_a_plan_that_was_begun_stands_with_its_done_cuts_ticked(tmp_path):
    """The card printed before the first cut and the one after it are the same, but for the ticks."""
    shop = launch(tmp_path)
    before = shop.cards()["trim"]
    plans.record(shop.job, [("rod", 6), ("piston", 2)])
    known, card = shop.known(), shop.cards()["trim"]
    assert known.result is None
    assert card.code == before.code
    assert card.data == before.data
    found = {tile.title: tile for block in card.blocks if isinstance(block, Tiles) for tile in block.tiles}
    ticks = {
        name: [c.done for _, row in tile.rows for c in row if isinstance(c, Tick)] for name, tile in found.items()
    }
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
    first, second = shop.cards()["trim"].blocks[:2]
    assert isinstance(first, Bigs)
    assert (second.heading, second.weight) == ("Ask the maker first", "framed")


def test_nothing_to_cut_is_said_in_big_letters(cards_of):
    assert shown(bigs(cards_of("pump")["trim"])[0].cell) == "NOTHING"


def tiles(card):
    """The cells of each tile."""
    found = (tile for block in card.blocks if isinstance(block, Tiles) for tile in block.tiles)
    return [[cell for _, row in tile.rows for cell in row] for tile in found]
