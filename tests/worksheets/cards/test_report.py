"""The report card: spreads and log in short."""

from __future__ import annotations

import re

from card_texts import bigs, launch, lines, shown, table


def test_the_spreads_name_each_of_several_that_weigh_the_same(cards_of):
    card = cards_of("launch")["report"]
    heaviest = {row[0]: (shown(row[3]), row[4]) for row in table(card, "spreads").rows}
    assert heaviest["small end"] == ("171.2", "2, 4, 5")
    assert heaviest["piston"] == ("538.9", "3")


def test_the_scales_own_figures_are_in_its_own_unit(tmp_path):
    shop = launch(tmp_path)
    shop.edit(("[scale]", "[bench]\nreference = 500.0\n\n[scale]"))
    cards = shop.cards("inch")
    assert shown(bigs(cards["bench"])[-1].cell) == "0.1 g"
    scale = table(cards["bench"], "scale")
    assert ["500 g" in map(shown, row[:2]) for row in scale.rows][-1]
    assert scale.caption.endswith("0.2 g")
    assert ("scale step", "0.1 g") in [tuple(map(shown, row)) for row in table(cards["bobweight"], "setting").rows]
    assert "scale step 0.1 g." in lines(cards["report"], "plain")


def test_the_report_has_the_log_in_short(cards_of):
    card = cards_of("ground")["report"]
    said = [(row[2], row[3]) for row in table(card, "history").rows]
    assert any(
        re.fullmatch(r"pin \S+( \(.*\))?: 140; canceled [-0-9: ]+: the wrong pin", what) for _, what in said
    )
    assert any(action == "trade" for action, _ in said)
    assert getattr(card.blocks[-1], "name", "") != "history"  # which would part the cautions from the rest
    assert sum(action == "cut" for action, _ in said) == 2
    assert len(table(card, "readings").rows[0]) == len(table(card, "readings").heads)
