"""The bobweight card: what to hang on which throw, out of which plates."""

from __future__ import annotations

import pytest
import ten_engines
from card_texts import bigs, launch, lines, shown, table, texts, v16

from truethrow.worksheets.cards.card import Tick, Word
from truethrow.worksheets.words.cautions import BARE_CAUTION, SPIN_CAUTION, STACK_CAUTION


def test_the_bobweight_card_tells_the_stack(cards_of):
    card = cards_of("launch")["bobweight"]
    assert [(big.label, shown(big.cell)) for big in bigs(card)] == [("on every throw", "1864.8 g")]
    assert "An empty half weighs 352.4 g; in all 48 pieces; share 0.5; scale step 0.1 g." in lines(card, "framed")
    assert ("a stack makes", "1864.80 g") in [tuple(map(shown, row)) for row in table(card, "setting").rows]
    stack = table(card, "stack")
    assert [tuple(map(shown, row[:4])) for row in stack.rows if row[0] == "plate 200"] == [
        ("plate 200", "200 g", "2", "4")
    ]
    on_clamp = sum(row[1].value * row[3].value for row in stack.rows if row[0].startswith(("plate", "shim")))
    assert on_clamp + 2 * 352.4 == pytest.approx(card.data["stacks"]["stacks"][0]["mass_g"])


def test_a_throw_of_its_own_has_a_figure_of_its_own(cards_of):
    card = cards_of("v16")["bobweight"]
    each = table(card, "throws")  # so many that large figures beside each other would not be large
    assert [row[0] for row in each.rows] == [str(n) for n in range(1, 9)]
    assert len({shown(row[2]) for row in each.rows}) > 1
    assert all(row[3] == Tick() for row in each.rows)
    stacks = table(card, "stacks")
    assert stacks.heads == ("piece", "weighs", *(str(n) for n in range(1, 9)))
    assert [shown(cell) for cell in stacks.rows[-1]][2:4] == ["0.20", "0.00"]


def test_a_few_throws_of_their_own_have_large_figures(tmp_path):
    shop = launch(tmp_path)
    shop.edit(("[bobweight]\n", '[bobweight]\nhang = "own"\n'))
    shop.station.write_text(shop.station.read_text(encoding="utf-8").partition("[stack]")[0], encoding="utf-8")
    assert [big.label for big in bigs(shop.cards()["bobweight"])] == [f"throw {n}" for n in range(1, 5)]


def test_beside_a_recipe_of_its_own_each_throw_stands_in_the_table_large(tmp_path):
    shop = launch(tmp_path)
    shop.edit(("[bobweight]\n", '[bobweight]\nhang = "own"\n'))
    card = shop.cards()["bobweight"]
    assert not bigs(card)
    assert all(row[3] == Tick() for row in table(card, "throws").rows)


def test_plates_that_are_lacking_are_told(cards_of, tmp_path):
    """At the front, and no smaller than a figure."""
    card = cards_of("v16")["bobweight"]
    assert bigs(card)[0].cell == Word("NOT ALL AT ONCE", "inverse")
    assert bigs(card)[0].below == "that takes 16 more of plate 200"
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
    assert "Share 0.5; scale step 0.1 g." in lines(cards["bobweight"], "framed")


def test_the_angle_of_a_throw_is_told_as_it_is(tmp_path):
    shop = v16(tmp_path)
    shop.edit(("180, 180", "180, 200.5"))
    cards = shop.cards()
    for kind in ("bobweight", "station", "report"):
        assert [shown(row[1]) for row in table(cards[kind], "throws").rows][3:6] == ["180°", "200.5°", "270°"]


@pytest.mark.parametrize(
    ("engine", "said", "on_both"), [("in-line six", "not needed", True), ("V10", "turns against it", False)]
)
def test_who_hangs_is_told_that_none_is_needed_and_the_customer_what_stays(tmp_path, engine, said, on_both):
    cards = ten_engines.shop(tmp_path, engine).cards()
    assert said in "\n".join(texts(cards["report"]))
    assert (said in "\n".join(texts(cards["bobweight"]))) == on_both
