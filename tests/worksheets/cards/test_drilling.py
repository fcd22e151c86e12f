"""Every hole on the station card, and what stops the drilling."""

from __future__ import annotations

import cmath

import invented
import pytest
from card_texts import HIDDEN, LIGHT, Shop, bigs, half_drilled, spun, table

from truethrow.balance.station import may_go, stationwork
from truethrow.balance.station.stationlog import KnownMass
from truethrow.worksheets.cards.card import Blank, Lines, Tick, Tiles, Word
from truethrow.worksheets.words import station_words as words


def test_the_station_card_tells_every_hole(told):
    shop = told("half_drilled")
    card, state = shop.cards()["station"], shop.state()
    tiles = next(block for block in card.blocks if isinstance(block, Tiles)).tiles
    assert sorted(tile.title for tile in tiles) == sorted({hole.member for hole in state.plan.operations})
    rows = table(card, "operations").rows
    assert [row[-1].done for row in rows] == [True] + [False] * (len(state.plan.operations) - 1)
    assert [(row[1], row[2].value, row[-2].value) for row in rows] == [
        (hole.member, hole.angle_deg, round(hole.depth_mm, 4)) for hole in state.plan.operations
    ]
    boxes = [cell for tile in tiles for _, row in tile.rows for cell in row if isinstance(cell, Blank)]
    assert len(boxes) == sum(hole.kind != "slug" for hole in state.plan.operations[1:])
    read = table(card, "station")
    following = [row[read.heads.index("next, about")].value for row in read.rows]
    assert following == pytest.approx([state.instrument.shows(vector)[0] for vector in state.expected], abs=1e-6)


def test_heavy_metal_is_a_stage_of_its_own(told, tmp_path):
    """The slug alone is to do, and what it leaves is told; no hole that is only foreseen is on the card."""
    shop = told("spun")
    card, state = shop.cards()["station"], shop.state()
    done = table(card, "operations")
    assert done.caption == "TO DO, stage 1 of 2: heavy metal alone, then spin"
    assert [row[done.heads.index("")].value for row in done.rows] == [1]
    assert {one["kind"] for one in card.data["operations"]} == {"slug"}
    assert state.plan.then
    said = " ".join(text for block in card.blocks if isinstance(block, Lines) for text in block.lines)
    front, rear = (f"{abs(one):.0f} g·mm" for one in state.expected)
    assert f"it leaves about {front} front and {rear} rear. Then spin again" in said
    assert card.data["balancing"]["plan"]["stage"]["foreseen"] == len(state.plan.then)
    boxes = [row for tile in tiles_of(card) for row in tile.rows]
    assert boxes == [("1. slug weighs", (Blank("g"),))]
    shop = spun(tmp_path)
    shop.drill()
    assert bigs(shop.cards()["station"])[0].label == "the heavy metal is in"


def test_a_hole_that_is_not_as_planned_stops_the_rest(tmp_path):
    shop = spun(tmp_path, LIGHT)
    planned = shop.state().plan.operations[1].depth_mm
    shop.drill({2: planned - 1.5})
    state, card = shop.state(), shop.cards()["station"]
    assert not state.halted
    assert bigs(card)[0].cell == Word("SPIN BEFORE THE REST", "inverse")
    did = table(card, "operations")
    first, second = did.rows[:2]
    assert [second[did.heads.index(head)].value for head in ("deep", "planned")] == [planned - 1.5, planned]
    assert (first[-1], second[-1]) == (Word("wait", "framed"), Tick(done=True))
    assert not any(isinstance(cell, Blank) for own in tiles(card) for cell in own)
    assert "next, about" not in table(card, "station").heads
    drawn = next(block for block in card.blocks if getattr(block, "name", "") == "side-view").svg
    assert ">2<" in drawn and ">1<" not in drawn.replace(">1</text>", "", 1)  # throw 1 alone has that number


def test_a_hole_along_the_crank_is_told_with_its_tip_or_that_it_goes_through(tmp_path):
    thin = [
        {"name": name, "at": at, "radius": 120.0, "thickness": 6.0}
        for name, at in (("damper", -60.0), ("flexplate", 400.0))
    ]
    shop = Shop(tmp_path, invented.text(invented.document(station={"limit": 130.0}, crank={"external": thin})))
    shop.spin()
    card = shop.cards()["station"]
    assert {one["kind"] for one in card.data["operations"]} == {"axial"}
    through = [one["through"] for one in card.data["operations"]]
    told = [row[table(card, "operations").heads.index("deep")].text for row in table(card, "operations").rows]
    assert any(through)
    assert [text.endswith("through") for text in told] == through
    assert "radius" in table(card, "operations").heads
    blind = shop.state().plan.operations[0]._replace(depth_mm=3.0, point_deg=118.0, diameter_mm=8.0)
    assert f"3 mm deep, {round(blind.tip_mm, 1):g} mm to the tip;" in words.hole(blind, shop.known().display())


def test_what_a_slug_brings_is_not_told_as_taken(cards_of):
    card = cards_of("signed")["report"]
    done = table(card, "holes")
    slugs = [row for row in done.rows if "slug" in row]
    assert slugs
    assert "brings [g·mm]" in done.heads
    for row in slugs:
        assert row[-2] == ""
        assert row[-1].value < 0
        assert row[-1].text == row[-1].text.lstrip("-")


def test_a_plan_that_is_withheld_is_not_on_the_card(tmp_path):
    """A test mass that contradicts the profile: no hole, and in white on black that nothing is to be drilled."""
    shop = spun(tmp_path)
    front, rear = (shop.state().instrument.shows(v) for v in (HIDDEN[0] + cmath.rect(5000.0, -1.0), HIDDEN[1]))
    typed = [f"{amount:.2f}@{degrees:.0f}" for amount, degrees in (front, rear)]
    stationwork.known_mass(shop.job, shop.state(), [KnownMass("front", 50.0, 100.0, 57.0)], typed)
    assert may_go.withheld(shop.state())
    card = shop.cards()["station"]
    assert bigs(card)[0].cell == Word("DRILL NOTHING", "inverse")
    assert not any(isinstance(block, Tiles) for block in card.blocks)
    assert card.data["operations"] == []
    assert "next" not in card.data["reads"]


def test_a_plan_that_is_halted_shows_what_is_done_and_no_more(tmp_path):
    shop = half_drilled(tmp_path)
    shop.edit(("diameter = 16.0\ndeepest = 30.0", "diameter = 11.0\ndeepest = 12.0"), of=shop.station)
    state, card = shop.state(), shop.cards()["station"]
    assert state.halted
    assert bigs(card)[0].cell == Word("SPIN BEFORE GOING ON", "inverse")
    assert all(one["done"] for one in card.data["operations"])
    assert not any(isinstance(cell, Tick) and not cell.done for block in tiles(card) for cell in block)


def tiles_of(card):
    return [tile for block in card.blocks if isinstance(block, Tiles) for tile in block.tiles]


def tiles(card):
    """The cells of each tile."""
    return [[cell for _, row in tile.rows for cell in row] for tile in tiles_of(card)]


def with_spin(shop, more):
    """The station's profile with more in its [spin]."""
    text = shop.station.read_text("utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("up = ")]
    at = lines.index("[spin]")
    shop.station.write_text("\n".join([*lines[: at + 1], *more, *lines[at + 1 :]]), encoding="utf-8")


@pytest.mark.parametrize(("sense", "sign"), [("with", 1), ("against", -1)])
def test_a_place_is_up_where_the_display_shows_what_the_card_says(tmp_path, sense, sign):
    """By a simulated display: a pointer beside the crank, 35 degrees from the top, reads off it a scale that
    counts with the rotation or against it. Turned until it shows the card's angle, each hole is up."""
    shop = spun(tmp_path)
    pointer_deg, zero_deg = 35.0, 12.0

    def display(turned_deg):
        """What it shows of a crank that is turned by so much from throw 1 up."""
        return (zero_deg + sign * (pointer_deg - turned_deg)) % 360

    text = shop.station.read_text("utf-8").replace('sense = "with"', f'sense = "{sense}"')
    shop.station.write_text(text, encoding="utf-8")
    with_spin(shop, [f"up = {display(0.0)}"])
    profile = shop.known().profile
    for angle_deg in (0.0, 40.0, 90.0, 217.5, 300.0):
        # A place is up once the crank is turned back by its angle.
        assert profile.shows_with_up(angle_deg) == pytest.approx(display(-angle_deg))


def test_the_card_says_how_the_crank_is_turned_or_that_the_profile_does_not_tell(tmp_path):
    shop = spun(tmp_path)
    with_spin(shop, ["up = 40.0"])
    card = shop.cards()["station"]
    did = table(card, "operations")
    at = did.heads.index("up where it shows")
    for row, one in zip(did.rows, card.data["operations"], strict=True):
        assert row[at].value == pytest.approx((one["crank_angle_deg"] + 40.0) % 360)
    drawn = next(block for block in card.blocks if getattr(block, "name", "") == "end-view")
    assert "First see that it counts so: throw 1 up, 40°, throw 2 up, 130°" in drawn.caption
    with_spin(shop, [])
    card = shop.cards()["station"]
    assert "up where it shows" not in table(card, "operations").heads
    drawn = next(block for block in card.blocks if getattr(block, "name", "") == "end-view")
    assert "does not tell what its display shows with throw 1 up" in drawn.caption
