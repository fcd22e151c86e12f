"""The spins on the station card."""

from __future__ import annotations

from card_texts import bigs, launch, shown, spun, table

from truethrow.balance.station import stationwork
from truethrow.worksheets.cards.card import Tiles, Word


def test_the_stations_readings_have_the_digits_that_were_typed_and_angles_of_their_own(tmp_path):
    """And no angle where there is none to speak of."""
    shop = launch(tmp_path)
    stationwork.spin(shop.job, shop.state(), ["25@23", "0.2@99"], by="AB")
    read = table(shop.cards()["station"], "station")
    assert read.heads[:3] == ("plane", "spin 1", "station's angle")
    assert [tuple(map(shown, row[:3])) for row in read.rows] == [("front", "25.0", "23°"), ("rear", "0.2", "")]
    stationwork.spin(shop.job, shop.state(), ["25@23", "20@99"], by="AB")
    assert [shown(row[1]) for row in table(shop.cards()["station"], "station").rows] == ["25", "20"]
    stationwork.spin(shop.job, shop.state(), ["25@23", "20@99", "26@23", "20@99"], by="AB")
    assert [shown(row[1]) for row in table(shop.cards()["station"], "station").rows] == ["25.5", "20.0"]


def test_a_spin_of_other_bobweights_is_no_reason_to_drill(tmp_path):
    shop = spun(tmp_path)
    assert table(shop.cards()["station"], "operations").rows
    text = shop.job.read_text(encoding="utf-8")
    shop.job.write_text(text.replace("[bobweight]", "[bobweight]\nhang = 1900.0", 1), encoding="utf-8")
    card = shop.cards()["station"]
    assert bigs(card)[0].cell == Word("SPIN AGAIN", "inverse")
    assert card.data["operations"] == [] and "next" not in card.data["reads"]
    assert not any(getattr(block, "name", "") == "operations" for block in card.blocks)
    assert not tiles(card)


def test_the_tolerance_is_told_everywhere_alike_and_never_upwards(cards_of, told):
    cards = cards_of("spun")
    assert all(limit > 130.5 for limit in told("spun").state().limits_gmm)
    limits = {shown(row[-2]) for row in table(cards["station"], "in engine").rows if row[-2] != ""}
    assert limits == {"130.5"}
    before_and_after = table(cards["report"], "before and after").rows
    assert {shown(row[-2]) for row in before_and_after if "plane" in row[0]} == {"130.5 g·mm"}
    assert [big.below.split("; ")[1:] for big in bigs(cards["report"])[1:5:2]] == [["tolerance 130.5 g·mm"]] * 2


def tiles(card):
    """The cells of each tile."""
    found = (tile for block in card.blocks if isinstance(block, Tiles) for tile in block.tiles)
    return [[cell for _, row in tile.rows for cell in row] for tile in found]
