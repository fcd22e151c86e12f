"""The bobweight card: what to hang on which throw, out of which plates."""

from __future__ import annotations

import pytest
from card_texts import bigs, launch, lines, shown, table, v16

from truethrow.worksheets.cards.card import Word
from truethrow.worksheets.words.cautions import BARE_CAUTION, SPIN_CAUTION, STACK_CAUTION


def test_the_bobweight_card_tells_the_stack(cards_of):
    card = cards_of("launch")["bobweight"]
    assert [(big.label, shown(big.cell)) for big in bigs(card)] == [("on every throw", "1864.8 g")]
    assert ("all bobweights", "7459.2 g") in [tuple(map(shown, row)) for row in table(card, "setting").rows]
    stack = table(card, "stack")
    assert [tuple(map(shown, row[:4])) for row in stack.rows if row[0] == "plate 200"] == [
        ("plate 200", "200 g", "2", "4")
    ]
    on_clamp = sum(row[1].value * row[3].value for row in stack.rows if row[0].startswith(("plate", "shim")))
    assert on_clamp + 2 * 352.4 == pytest.approx(card.data["stacks"]["stacks"][0]["mass_g"])


def test_a_throw_of_its_own_has_a_figure_of_its_own(cards_of):
    card = cards_of("v16")["bobweight"]
    each = bigs(card)[1:]  # the first says that the plates are too few
    assert [big.label for big in each] == [f"throw {n}" for n in range(1, 9)]
    stacks = table(card, "stacks")
    assert stacks.heads == ("piece", "weighs", *(f"throw {n}" for n in range(1, 9)))
    assert [shown(cell) for cell in stacks.rows[-2]][2:4] == ["0.2", "0"]
    assert len({shown(big.cell) for big in each}) > 1


def test_plates_that_are_lacking_are_told(cards_of, tmp_path):
    """At the front, and no smaller than a figure."""
    card = cards_of("v16")["bobweight"]
    assert bigs(card)[0].cell == Word("NOT ALL AT ONCE", "inverse")
    assert "That takes 16 more of plate 200." in lines(card, "plain")
    shop = launch(tmp_path)
    short = [(f"mass = {mass}\ncount = 16", f"mass = {mass}\ncount = 4") for mass in ("200.0", "100.0", "50.0")]
    shop.edit(*short, of=shop.station)
    card = shop.cards()["bobweight"]
    assert bigs(card)[0].cell == Word("NO STACK", "inverse")
    assert "throws 1, 2, 3, 4: cannot be met" in lines(card, "plain")


def test_who_hangs_nothing_is_told_nothing_of_bobweights(tmp_path):
    shop = launch(tmp_path)
    shop.edit(("[bobweight]\n", '[bobweight]\nhang = "none"\n'))
    cards = shop.cards()
    assert shown(bigs(cards["bobweight"])[0].cell) == "NOTHING"
    for kind in ("bobweight", "station"):
        assert BARE_CAUTION in cards[kind].cautions
        assert STACK_CAUTION not in cards[kind].cautions
        assert SPIN_CAUTION not in cards[kind].cautions
    assert "off by" not in table(cards["bobweight"], "throws").heads
    assert [row[0] for row in table(cards["bobweight"], "setting").rows] == [
        "share of the reciprocating",
        "scale step",
    ]


def test_the_angle_of_a_throw_is_told_as_it_is(tmp_path):
    shop = v16(tmp_path)
    shop.edit(("180, 180", "180, 200.5"))
    cards = shop.cards()
    for kind in ("bobweight", "station", "report"):
        assert [shown(row[1]) for row in table(cards[kind], "throws").rows][3:6] == ["180°", "200.5°", "270°"]
