"""Every number on a card comes out of its data."""

from __future__ import annotations

import dataclasses

import invented
import pytest
from card_texts import EACH_STORY, IN, OZ, TOKEN, Found, Shop, bigs, cells, flat, shown, texts

from truethrow.balance.engine.layout import generic_layout
from truethrow.worksheets.cards.card import KINDS, CardTable, Figure, Marked


def figures(card):
    for cell in cells(card):
        if isinstance(cell, Figure | Marked):
            yield cell.figure if isinstance(cell, Marked) else cell


# Numbers: each is in the data, as it was or in the unit that the card is shown in

METRIC = (1.0,)


LBF = 0.45359237 * 9.80665  # exact: ISO 80000-4


INCH = (1.0, OZ, IN, OZ * IN, OZ * IN**2, IN**3 / 1000, 0.3048 / 60, 0.3048, LBF, LBF * 0.3048)


def units_of(show):
    return INCH if show == "inch" else METRIC


@pytest.mark.parametrize("show", [None, "inch"])
@pytest.mark.parametrize("story", EACH_STORY)
def test_every_number_on_a_card_is_in_its_data(cards_of, story, show):
    for card in cards_of(story, show).values():
        found = Found(card, units_of(show))
        missing = {text: tokens for text in texts(card) if (tokens := found.missing(text))}
        assert not missing, card.kind


@pytest.mark.parametrize("show", [None, "inch"])
@pytest.mark.parametrize("story", EACH_STORY)
def test_a_figure_is_the_one_that_its_path_leads_to(cards_of, story, show):
    """And its text is that value, rounded, in one of the units."""
    for card in cards_of(story, show).values():
        for figure in figures(card):
            value = card.data
            for step in figure.path:
                value = value[step]
            assert value == figure.value
            assert not isinstance(value, bool)
            first = TOKEN.search(figure.text)[0]
            only = Found(dataclasses.replace(card, data={"value": value}), units_of(show))
            assert not only.missing(first), (card.kind, figure)


@pytest.mark.parametrize(("layout", "hang"), [("inline-1", "none"), ("radial-9", "mean"), ("v6-60-even", "own")])
def test_any_engine_has_its_cards(tmp_path, layout, hang):
    """One cylinder, nine on one pin, split pins; no limits, no top speed, nothing hung, and no [station]."""
    engine = dict(invented.V8, layout=layout, without=["locks"])
    del engine["top_speed"], engine["bore"]
    if layout != "v6-60-even":
        del engine["cylinder_spacing"]
    parts = invented.cylinders(len(generic_layout(layout).cylinders))
    for part in parts:
        del part["locks"]
    tables = {"engine": engine, "limits": None, "bobweight": {"share": 0.5, "hang": hang}}
    shop = Shop(tmp_path, invented.text(invented.document(parts, **tables)))
    for show in (None, "inch"):
        cards = shop.cards(show)
        assert set(cards) == set(KINDS)
        for card in cards.values():
            found = Found(card, units_of(show))
            assert not [text for text in texts(card) if found.missing(text)]
            assert all(block.rows for block in flat(card.blocks) if isinstance(block, CardTable))
    assert shown(bigs(shop.cards()["trim"])[0].cell) == "NOTHING"
    cells = [shown(big.cell) for big in bigs(shop.cards()["bobweight"])]
    assert ("NOTHING" in cells) == (hang == "none")


def test_a_number_from_nowhere_is_noticed(cards_of):
    """The checks above can fail."""
    card = cards_of("spun")["station"]
    found = Found(card, METRIC)
    assert found.missing("hang 1864.9 g on throw 1, drill 26.3 mm at 52.7°") == ["1864.9", "26.3", "52.7"]
    assert found.missing("hang 1864.8 g on throw 1, drill 16 mm at 52.0°") == []
