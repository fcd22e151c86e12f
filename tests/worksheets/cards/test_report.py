"""The report card: the outcome at one look, what came off, and the log in short."""

from __future__ import annotations

import re

import pytest
from card_texts import bigs, launch, lines, pictures, shown, signed, table

from truethrow.balance.log.records import Weighed
from truethrow.worksheets.prints import layout


def test_page_one_says_what_was_before_and_what_is_after(cards_of):
    rows = {row[0]: row for row in table(cards_of("ground")["report"], "before and after").rows}
    data = cards_of("ground")["report"].data
    before = {one["quantity"]: one["spread_g"] for one in data["first"]}
    assert shown(rows["piston spread"][1]) == f"{before['piston']:.1f} g"
    after = {one["quantity"]: one["spread_g"] for one in data["spreads"]}
    assert shown(rows["piston spread"][2]) == f"{after['piston']:.1f} g"
    assert before["piston"] != after["piston"]
    rows = {row[0]: row for row in table(cards_of("signed")["report"], "before and after").rows}
    spins = cards_of("signed")["report"].data["balancing"]["spins"]
    first, last = (one["planes"]["front"]["unbalance_gmm"] for one in (spins[0], spins[-1]))
    assert [one.value for one in rows["front plane on the station"][1:3]] == [first, last]


def test_a_signed_crank_is_in_balance_and_a_void_signature_says_so_large(tmp_path, cards_of):
    said, *planes = bigs(cards_of("signed")["report"])
    assert (said.label, shown(said.cell)) == ("in balance", "YES")
    assert said.below.startswith("signed by AB, ")
    assert [plane.label for plane in planes] == [
        "front plane in the engine, inside",
        "rear plane in the engine, inside",
    ]
    shop = signed(tmp_path)
    shop.log().append(Weighed(1, "piston", 530.0, "530"))
    shop.log().append(Weighed(1, "piston", 530.0, "530"))
    void = [shown(big.cell) for big in bigs(shop.cards()["report"])]
    assert void[:2] == ["SIGNATURE VOID", "NOT SIGNED"]
    assert "YES" not in void


def test_what_came_off_is_what_the_scale_says_and_not_what_was_asked_for(cards_of):
    """Of pistons that were asked for 3.2 g and 4.0 g or so, both read 535.2 g afterwards; two traded places."""
    card = cards_of("ground")["report"]
    readings = table(card, "readings")
    off = readings.heads.index("piston: came off")
    told = {row[0].value: row[off].value for row in readings.rows if row[off] != ""}
    # Piston 2, of 538.8 g, was moved to 1 and cut there.
    assert told == {1: pytest.approx(538.8 - 535.2), 3: pytest.approx(538.9 - 535.2)}
    assert not any(row[2] == "cut" for row in table(card, "history").rows)


def test_the_crank_is_drawn_with_its_holes_numbered(cards_of):
    card = cards_of("signed")["report"]
    drawn = next(one for one in pictures(card) if one.name == "end-view").svg
    assert card.data["holes"]
    for hole in card.data["holes"]:
        assert f'data-part="badge-{hole["number"]}"' in drawn
    assert "end-view" not in {one.name for one in pictures(cards_of("spun")["report"])}


@pytest.mark.parametrize("paper", layout.PAPERS.values(), ids=layout.PAPERS)
def test_what_the_cranks_drawing_says_is_readable_as_it_is_printed(cards_of, paper):
    """Nine points, the least of any type on a card."""
    sheet = layout.sheet(cards_of("signed")["report"], paper)
    (found,) = (
        node
        for block in sheet["blocks"]
        if block["type"] == "side"
        for column in block["columns"]
        for node in column
        if node.get("name") == "end-view"
    )
    wide = float(re.search(r'viewBox="0 0 ([0-9.]+)', found["svg"])[1])
    sizes = [float(one) for one in re.findall(r'font-size="([0-9.]+)"', found["svg"])]
    assert min(sizes) * found["width"] / wide >= 9 * 25.4 / 72


def test_strips_are_of_what_is_outside_alone(cards_of):
    card = cards_of("launch")["report"]
    outside = {one["quantity"] for one in card.data["spreads"] if one["verdict"] == "outside"}
    strips = {one.name for one in pictures(card) if one.name.startswith("strip-")}
    # Of a sum the strips of its parts tell it.
    weighed = outside - {"reciprocating", "rotating", "bobweight"}
    assert weighed < outside
    assert strips == {f"strip-{quantity.replace('_', '-')}" for quantity in weighed}
    assert 0 < len(strips) < len(card.data["spreads"])


def test_where_a_sum_alone_is_outside_it_has_its_strip(tmp_path):
    shop = launch(tmp_path)
    loose = {"piston": 1.0, "pin": 0.6, "big_end": 1.0, "small_end": 1.0, "reciprocating": 2.0}
    shop.edit(*((f"\n{kind} = {was}\n", f"\n{kind} = 50.0\n") for kind, was in loose.items()))
    strips = [one.name for one in pictures(shop.cards()["report"]) if one.name.startswith("strip-")]
    assert strips == ["strip-bobweight"]


def test_the_scales_own_figures_are_in_its_own_unit(tmp_path):
    shop = launch(tmp_path)
    shop.edit(("[scale]", "[bench]\nreference = 500.0\n\n[scale]"))
    cards = shop.cards("inch")
    assert "scale step 0.1 g." in lines(cards["bench"], "plain")
    scale = table(cards["bench"], "scale")
    assert ["500 g" in map(shown, row[:2]) for row in scale.rows][-1]
    assert scale.caption.endswith("0.2 g")
    assert "scale step 0.1 g." in lines(cards["bobweight"], "framed") + lines(cards["bobweight"], "plain")
    assert "scale step 0.1 g." in lines(cards["report"], "plain")


def test_the_report_has_the_log_in_short(cards_of):
    card = cards_of("ground")["report"]
    said = [row[-2:] for row in table(card, "history").rows]
    assert any(
        re.fullmatch(r"pin \S+( \(.*\))?: 140; canceled [-0-9: ]+: the wrong pin", what) for _, what in said
    )
    assert any(action == "trade" for action, _ in said)
    assert len(table(card, "readings").rows[0]) == len(table(card, "readings").heads)
