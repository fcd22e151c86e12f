"""What holds for every card: plain data, whole tables, cautions, texts that are no more than texts."""

from __future__ import annotations

import json

import cranks
import invented
import pytest
from card_texts import EACH_STORY, HIDDEN, Shop, flat, lines, pictures, texts

from truethrow.balance.station import stationwork
from truethrow.worksheets.cards import code
from truethrow.worksheets.cards.card import KINDS, Bigs, CardTable
from truethrow.worksheets.words import result_words
from truethrow.worksheets.words.cautions import (
    DRILL_CAUTION,
    INERTIA_CAUTION,
    MAKERS_FIRST,
    REPORT_CAUTION,
    SIGN_CAUTION,
    SLUG_CAUTION,
    SPIN_CAUTION,
    STACK_CAUTION,
    TRIM_CAUTIONS,
)


@pytest.mark.parametrize("story", EACH_STORY)
def test_a_cards_data_are_plain_json(cards_of, story):
    for card in cards_of(story).values():
        assert json.loads(json.dumps(card.data, allow_nan=False)) == card.data
        assert code.digest(json.loads(json.dumps(card.data))) == card.digest
        assert code.parse(card.code)[:4] == (card.job_id, card.kind, card.job_digest, card.digest)


@pytest.mark.parametrize("story", EACH_STORY)
def test_tables_have_a_cell_for_each_head(cards_of, story):
    for card in cards_of(story).values():
        for block in flat(card.blocks):
            if isinstance(block, CardTable):
                assert {len(row) for row in block.rows} <= {len(block.heads)}, (card.kind, block.name)
            elif isinstance(block, Bigs):
                assert len(block.bigs) >= 1


@pytest.mark.parametrize("story", EACH_STORY)
def test_no_caution_is_missing_where_the_work_can_hurt(cards_of, story):
    cards = cards_of(story)
    assert cards["bench"].cautions
    assert {*TRIM_CAUTIONS} <= {*cards["trim"].cautions}
    assert {SPIN_CAUTION, MAKERS_FIRST} <= {*cards["bobweight"].cautions}
    # The last word is the makers', said once.
    *_, makers = cards["station"].cautions
    assert makers in (MAKERS_FIRST, SIGN_CAUTION)
    assert SPIN_CAUTION in cards["station"].cautions
    assert {INERTIA_CAUTION, REPORT_CAUTION} <= {*cards["report"].cautions}
    assert STACK_CAUTION in cards["bobweight"].cautions


def test_no_caution_is_missing_where_a_crank_is_drilled(cards_of):
    assert {DRILL_CAUTION, SLUG_CAUTION} <= {*cards_of("spun")["station"].cautions}
    cards = cards_of("half_drilled")
    assert DRILL_CAUTION in cards["station"].cautions
    assert SLUG_CAUTION not in cards["station"].cautions
    assert result_words.AS_WEIGHED in lines(cards["bobweight"], "framed")


# Texts that nobody would write

HOSTILE = [
    "W" * 300,
    "<script>alert(1)</script>",
    '=cmd|"/c calc"!A0',
    "مكبس رقم ٧",
    "🔧🔩 piston 💥",
    "e" + "\u0301" * 200,
    "]]>&amp;<!--",
    "#set page(fill: red)",
]


def test_hostile_texts_are_data_and_no_more(tmp_path):
    """Labels, titles, notes, names of plates and counterweights: nothing raises, and the data have them whole."""
    parts = invented.cylinders(8, piston={3: [541.0, 541.0]})
    for part, text in zip(parts, HOSTILE, strict=True):
        part["labels"] = {"piston": text, "rod": text}
    weights = [one | {"name": text} for one, text in zip(cranks.v8_weights(), HOSTILE, strict=True)]
    data = invented.document(
        parts,
        job={"id": "<b>=1+1</b>", "title": HOSTILE[1] * 5},
        limits={"piston": 1.0, "big_end": 1.0},
        station={"limit": 130.0},
        crank={"counterweight": weights},
    )
    shop = Shop(tmp_path, invented.text(data))
    shop.edit(("plate 200", "<i>=200</i>"), ("plate 100", "🔩" * 40), of=shop.station)
    shop.spin()
    state = shop.state()
    typed = [f"{amount:.2f}@{degrees:.0f}" for amount, degrees in map(state.instrument.shows, HIDDEN)]
    stationwork.spin(shop.job, state, typed, note=HOSTILE[1] * 10)
    for show in (None, "inch"):
        cards = shop.cards(show)
        assert set(cards) == set(KINDS)
        for card in cards.values():
            assert list(texts(card))
            for picture in pictures(card):
                assert "<script" not in picture.svg
    cards = shop.cards()
    told = [cylinder["labels"]["piston"] for cylinder in cards["bench"].data["cylinders"]]
    assert told == HOSTILE
    assert [member["name"] for member in cards["station"].data["crank"]["members"]] == HOSTILE
    assert {spin["note"] for spin in cards["report"].data["balancing"]["spins"]} == {"", HOSTILE[1] * 10}
    assert code.parse(cards["bench"].code).job_id == "<b>=1+1</b>"
    assert any(HOSTILE[0] in text for text in texts(cards["bench"]))
