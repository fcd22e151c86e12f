"""The station card: what to hang and drill, whether it is signed, and why not."""

from __future__ import annotations

import re

import invented
import pytest
from card_texts import DATE, LIGHT, Shop, bigs, cells, flat, launch, lines, pictures, shown, spun, table

from truethrow.worksheets.cards import make
from truethrow.worksheets.cards.card import Bigs, Blank, CardTable, Lines, Tick, Tiles, Word
from truethrow.worksheets.cards.known import load
from truethrow.worksheets.words.cautions import SIGN_CAUTION


def test_before_any_spin_the_station_card_is_there_to_be_filled_in(cards_of):
    card = cards_of("launch")["station"]
    assert [big.label for big in bigs(card)] == ["on every throw"]
    assert [tuple(map(shown, row)) for row in table(card, "station").rows] == [
        ("front", "1.30", "130.5"),
        ("rear", "1.30", "130.5"),
    ]
    assert sum(isinstance(cell, Blank) for row in table(card, "to write").rows for cell in row) == 12
    assert not any(isinstance(block, Tiles) for block in card.blocks)


@pytest.mark.parametrize("story", ["spun", "half_drilled", "v16"])
def test_the_first_page_says_what_to_hang_and_where_to_drill(cards_of, story):
    """The operations in large print or the weights; the drawings after them, and what was read after those."""
    blocks = cards_of(story)["station"].blocks
    names = [getattr(block, "name", "") for block in blocks]
    before = blocks[: names.index("end-view")]
    large = [block for block in before if not isinstance(block, Lines)]  # what hangs is a line where one drills
    assert all(isinstance(block, Bigs) or (block.name == "operations" and block.large) for block in large)
    assert isinstance(blocks[0], Bigs)
    # The largest figures are the angles of what is still to be drilled, as the station shows them.
    data = cards_of(story)["station"].data
    left = [one["station_angle_deg"] for one in data["operations"] if not one["done"]]
    if left:
        assert [big.cell.value for big in blocks[0].bigs] == left
    assert ("operations" in names[: len(before)]) == (story != "v16")
    after = [block for block in blocks[len(before) :] if isinstance(block, Bigs) or getattr(block, "large", False)]
    assert not after  # nothing is as large as that


def test_a_signed_crank_says_so_and_asks_for_nothing(cards_of):
    cards = cards_of("signed")
    assert Word("SIGNED") in list(cells(cards["station"]))
    assert not any(block.name == "to write" for block in cards["station"].blocks if isinstance(block, CardTable))
    assert bigs(cards["report"])[0].cell == Word("YES")
    assert SIGN_CAUTION in cards["station"].cautions


def test_what_is_not_signed_says_why(cards_of):
    card = cards_of("half_drilled")["report"]
    assert bigs(card)[0].cell == Word("NOT SIGNED", "inverse")
    assert "1 hole done since the last spin: spin again." in lines(card, "plain")
    verdicts = [big.cell for big in bigs(card) if big.label in ("front plane is", "rear plane is")]
    assert verdicts == [Word("OUTSIDE", "inverse")] * 2
    assert "signed" not in card.title


def test_an_angle_has_its_sign_in_what_stands_against_signing(cards_of):
    said = lines(cards_of("spun")["report"], "plain")
    assert re.search(r"at \d+° of the crank, outside", said)


def test_only_the_present_stops_anybody(cards_of):
    """The verdicts of spins are in plain type; what is outside now is on the first page."""
    card = cards_of("signed")["report"]
    ruled = [row[-1] for row in table(card, "spins").rows]
    assert any(word.text == "OUTSIDE" for word in ruled)
    assert {word.weight for word in ruled} == {"plain"}
    now = cards_of("spun")["report"]
    assert table(now, "spins").rows[-1][-1] == Word("OUTSIDE")
    assert Word("OUTSIDE", "inverse") in [big.cell for big in bigs(now)]


def test_on_a_signed_crank_nothing_is_left_to_hang_or_to_drill(cards_of):
    card = cards_of("signed")["station"]
    names = {getattr(block, "name", "") for block in flat(card.blocks)}
    assert not names & {"throws", "side-view", "to write", "operations"}
    assert "end-view" in names


def test_a_station_without_a_crank_or_a_limit_still_tells_what_to_hang(cards_of, tmp_path):
    card = cards_of("pump")["station"]  # neither [crank] nor [station]
    assert bigs(card)[0].label == "on every throw"
    assert "has no tolerance" in lines(card, "framed")
    text = invented.text(invented.document(station={"limit": 130.0}))
    shop = Shop(tmp_path, text)
    shop.spin()
    assert "no [crank]" in lines(shop.cards()["station"], "framed")


def test_without_a_profile_there_is_no_station_card(tmp_path):
    shop = spun(tmp_path)
    known = load(shop.job)
    made, why = make.cards(known, known.display(), DATE)
    assert [card.kind for card in made] == ["bench", "trim", "bobweight", "report"]
    assert "--station" in why["station"]
    assert "cannot be told" in lines(made[-1], "framed")
    assert not any(":station" in card.code for card in made)


@pytest.mark.parametrize("kind", ["station", "report"])
def test_what_was_off_the_crank_is_in_the_sum_and_on_the_card(cards_of, kind):
    """Spun without its flexplate the crank reads thousands, and is true with it."""
    card = cards_of("external")[kind]
    rows = [tuple(map(shown, row)) for row in table(card, "in engine").rows]
    assert [row[1] for row in rows] == ["spin", "members off", "hanging", "sum"] * 2
    spin, off, _, whole = (float(row[2].replace(",", "")) for row in rows[:4])
    assert spin > 400
    assert off > 400
    assert whole < 30
    rows = [tuple(map(shown, row)) for row in table(card, "members").rows]
    assert [(row[0], row[1]) for row in rows] == [("damper", "on"), ("flexplate", "off")]


@pytest.mark.parametrize("show", [None, "inch"])
def test_a_drill_is_told_by_what_is_written_on_it(tmp_path, show):
    """In the list of what to do, and in the drawing of the counterweight, whatever unit the card is in."""
    shop = launch(tmp_path)
    was = "".join(re.findall(r"\[\[drill\]\]\n(?:.+\n)+\n?", shop.station.read_text(encoding="utf-8")))
    shop.edit((was, '[[drill]]\ndiameter = "X"\ndeepest = 30\n\n[[drill]]\ndiameter = "#1"\n\n'), of=shop.station)
    shop.hidden = list(LIGHT)
    shop.spin()
    card = shop.cards(show)["station"]
    told = [cell for row in table(card, "operations").rows for cell in row if not isinstance(cell, Tick)]
    called = set(map(shown, told))
    assert called & {"letter X", "#1"}
    drawn = "".join(picture.svg for picture in pictures(card))
    assert ("letter X" in drawn) == ("letter X" in called)
