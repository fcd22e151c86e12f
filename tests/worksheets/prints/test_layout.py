"""What stands where on a page, and how large."""

from __future__ import annotations

import re
from dataclasses import replace

import pypdfium2
import pytest
import sample_card
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.base.amounts import Amount
from truethrow.worksheets.cards.card import Big, Bigs, Blank, CardTable, Figure, Lines, Tick, Word
from truethrow.worksheets.prints import layout, pdf, texts

PAPERS = layout.PAPERS


A4 = PAPERS["a4"]


@pytest.fixture(scope="module")
def plain_card():
    return sample_card.card()


def pdf_of(card, paper=A4) -> bytes:
    return pdf.as_pdf(layout.sheet(card, paper))


def test_cautions_stand_on_no_page_alone(plain_card):
    rows = tuple((f"row {n}", Blank("g")) for n in range(6))
    for count in range(12, 40):
        filling = tuple(Lines((f"line {n}",)) for n in range(count))
        for last in (Lines(("the last",)), CardTable("t", ("the", "last"), rows), plain_card.blocks[-3]):
            document = pypdfium2.PdfDocument(pdf_of(replace(plain_card, blocks=(*filling, last)), A4))
            (text,) = (t for page in document if "Caution" in (t := page.get_textpage().get_text_range()))
            assert re.search(r"\b(line|last|weighed)\b", text), (count, last)


def laid_out(card, *blocks):
    return layout.sheet(replace(card, blocks=blocks, cautions=()), A4)["blocks"]


@pytest.mark.parametrize("heading", ["DRILL NOTHING", "NOT SIGNED", "NOT ALL AT ONCE", "SPIN BEFORE GOING ON"])
def test_no_figure_is_larger_than_what_stops_somebody(plain_card, heading):
    big = Big("on every throw", Figure(Amount(0.1, 1, "g"), 0.1, ()))
    said, word, largest = laid_out(
        plain_card,
        Lines(("Spin it again.",), heading, "inverse"),
        Bigs((Big("state", Word(heading, "inverse")),)),
        Bigs((big,)),
    )
    assert said["heading_pt"] == word["pt"] == largest["pt"]
    page = pypdfium2.PdfDocument(
        pdf_of(replace(plain_card, blocks=(Lines((), heading, "inverse"),), cautions=()))
    )[0]
    text = page.get_textpage()
    searched = text.search(heading)
    at, count = searched.get_next()
    tops = [text.get_charbox(n) for n in range(at, at + count)]
    high_pt = max(top for *_, top in tops) - min(low for _, low, *_ in tops)
    assert 0.65 * layout.STOP_PT < high_pt < layout.STOP_PT  # capitals of one line


@given(st.lists(st.floats(0.1, 99999), min_size=1, max_size=16))
def test_big_figures_of_a_kind_are_of_one_size_in_even_rows(grams):
    bigs = tuple(Big(f"throw {n}", Figure(Amount(g, 1, "g"), g, ())) for n, g in enumerate(grams, start=1))
    (made,) = laid_out(sample_card.card(), Bigs(bigs))
    rows = -(-len(bigs) // made["columns"])
    assert made["columns"] <= 4
    assert rows == -(-len(bigs) // 4)
    assert (made["columns"] - 1) * rows < len(bigs)
    assert made["columns"] * made["wide"] + (made["columns"] - 1) * layout.GAP_MM == pytest.approx(
        A4.content_width
    )
    assert all(texts.width_mm(big["cell"]["text"], made["pt"]) <= made["wide"] for big in made["bigs"])


def test_boxes_stand_as_figures_do_and_their_heads_with_them(plain_card):
    figure = Figure(Amount(538.1, 1), 538.1, ())
    rows = (("1", Blank(), figure, Blank(), "P28", Tick()), ("2", Blank(), Blank(), Blank(), "P6", Tick()))
    (made,) = laid_out(plain_card, CardTable("t", ("cylinder", "pin", "piston", "locks", "label", ""), rows))
    assert made["right"] == [False, True, True, True, False, False]
    assert [head["right"] for head in made["heads"]] == made["right"]


def test_no_head_of_a_column_is_cut(plain_card):
    """A cut one said "then reads:…nd, piston": of which end, nobody could tell."""
    heads = ("part", "take off: big end, piston", "", "then reads: big end, piston", "then reads: small end")
    rows = tuple((f"rod of a long name {n} (sits in {n})", "0.8 g first", Tick(), "1", "2") for n in range(3))
    card = laid_out(plain_card, CardTable("cuts", heads, rows, wide=0))
    told = [head["text"] for node in card if node["type"] == "table" for head in node["heads"]]
    assert [text.replace("\u200b", "").replace("\u00a0", " ") for text in told] == list(heads)
    narrow = [layout._fitted(heads[3], layout.HEAD_PT, 13.0, lines) for lines in (3, layout.HEAD_LINES)]
    assert ["…" in one for one in narrow] == [True, False]


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("piston P3 (sits in 3)", "(sits in 3)"),
        ("piston 1 → 10 · pin 1 → 10", "1 → 10"),
        ("heavy at crank 57° of it", "crank 57°"),
        ("906 ± 47 g·mm", "± 47 g·mm"),
    ],
)
def test_what_belongs_to_a_figure_is_not_parted_from_it_at_a_lines_end(text, kept):
    assert kept.replace(" ", "\u00a0") in layout._fitted(text, layout.TEXT_PT, 170.0, 3)
