"""A card as a page for the browser: what it shows on paper and on a phone, and what it must not do."""

from __future__ import annotations

import io
import re
import unicodedata
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import browser
import numpy as np
import pypdfium2
import pytest
import sample_card
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from truethrow.balance.base.amounts import Amount
from truethrow.worksheets.cards.card import CardTable, Figure, Marked, Word
from truethrow.worksheets.prints import html, layout, pdf

PAPERS = layout.PAPERS


A4 = PAPERS["a4"]


@pytest.fixture(scope="module")
def plain_card():
    return sample_card.card()


@pytest.fixture(scope="module")
def hostile_card():
    return sample_card.card(hostile=True, throws=14)


def pdf_of(card, paper=A4) -> bytes:
    return pdf.as_pdf(layout.sheet(card, paper))


def html_of(card, paper=A4) -> str:
    return html.as_html(layout.sheet(card, paper))


def test_a_page_and_a_drawing_by_itself_bring_along_the_type_that_they_were_drawn_for(tmp_path, plain_card):
    """What neither has, such as an arrow, comes from a font of the browser's."""
    page, alone = tmp_path / "card.html", tmp_path / "drawing.svg"
    page.write_text(html_of(plain_card), encoding="utf-8")
    svg = next(layout.pictures(plain_card.blocks)).svg
    alone.write_text(html.with_fonts(svg), encoding="utf-8")
    assert ("B612", True) in browser.types_of(page)
    assert browser.types_of(alone) == {("B612", True)}
    # Without them it is another's, or one that this machine happens to have.
    alone.write_text(svg, encoding="utf-8")
    assert ("B612", True) not in browser.types_of(alone)


def pages(raw: bytes, dots_per_mm: float = 2.0) -> list[Image.Image]:
    document = pypdfium2.PdfDocument(raw)
    return [page.render(scale=dots_per_mm * 25.4 / 72).to_pil().convert("L") for page in document]


def words(raw: bytes) -> list[str]:
    """Every word of a document, whatever its order and wherever it is broken: letters and digits, sorted."""
    document = pypdfium2.PdfDocument(raw)
    text = " ".join(page.get_textpage().get_text_range() for page in document)
    return sorted(re.findall(r"[\w.−-]+", unicodedata.normalize("NFKC", text)))


def letters(raw: bytes) -> str:
    """Every letter and digit without its marks, sorted: where texts are broken within words."""
    read = unicodedata.normalize("NFKD", "".join(words(raw)))
    return "".join(sorted(c for c in read if c.isalnum() and c not in MARKED))


# The letter under marks, and what it is read back as: readers of PDF disagree, and its glyph says nothing of it.
MARKED = "ZKL"


# Coarse ink: how dark each of 12 × 17 fields of a page is. The darkest field of text has about 0.35.
FIELDS = (12, 17)


MOST_APART, MEAN_APART = 0.15, 0.008


def ink(page: Image.Image) -> np.ndarray:
    wide, high = page.width // FIELDS[0] * FIELDS[0], page.height // FIELDS[1] * FIELDS[1]
    dark = 1 - np.asarray(page.resize((wide, high)), dtype=float) / 255
    return dark.reshape(FIELDS[1], high // FIELDS[1], FIELDS[0], wide // FIELDS[0]).mean(axis=(1, 3))


def looks_like(one: list[Image.Image], other: list[Image.Image]) -> bool:
    if len(one) != len(other):
        return False
    apart = [np.abs(ink(a) - ink(b)) for a, b in zip(one, other, strict=True)]
    return all(each.max() < MOST_APART and each.mean() < MEAN_APART for each in apart)


def in_browser(card, paper, tmp_path: Path) -> tuple[bytes, str]:
    (tmp_path / "card.html").write_text(html_of(card, paper), encoding="utf-8")
    return browser.to_pdf(tmp_path / "card.html")


def shot(page: Path, wide: int, high: int) -> Image.Image:
    return Image.open(io.BytesIO(browser.to_png(page, wide, high))).convert("L")


@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS)
def test_a_browser_prints_what_the_pdf_shows(plain_card, paper, tmp_path):
    (printed, _), typeset = in_browser(plain_card, paper, tmp_path), pdf_of(plain_card, paper)
    assert words(printed) == words(typeset)
    shown = pages(printed)
    assert looks_like(shown, pages(typeset))
    assert shown[0].size == pytest.approx((paper.width * 2, paper.height * 2), abs=2)
    # What the comparison must see, by its ink or by its words: any block that is not there.
    for at in range(len(plain_card.blocks)):
        without = pdf_of(replace(plain_card, blocks=plain_card.blocks[:at] + plain_card.blocks[at + 1 :]), paper)
        assert words(without) != words(typeset) or not looks_like(shown, pages(without)), at


@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS)
def test_texts_that_mean_harm_neither_run_nor_leave_the_page(hostile_card, paper, tmp_path, monkeypatch):
    monkeypatch.setattr(pdf, "not_shown", lambda *_: "")  # what the PDF alone says of its fonts
    made = html_of(hostile_card, paper)
    assert not re.search(r"<\s*(script|img|iframe|object|link|base)\b", made, re.I)
    assert re.findall(r"</style", made) == ["</style"]
    (printed, became), typeset = in_browser(hostile_card, paper, tmp_path), pdf_of(hostile_card, paper)
    assert "<h1" in became
    assert "<script" not in became
    assert not re.search(r"""<html[^>]*owned|<title>owned""", became)
    assert letters(printed) == letters(typeset)
    for page in pages(printed) + pages(typeset):
        edge = np.asarray(page) < 250
        edge[10:-10, 10:-10] = False  # 5 mm
        assert not edge.any()


def test_a_phone_gets_one_column_and_no_text_beyond_it(hostile_card, tmp_path):
    (tmp_path / "card.html").write_text(html_of(hostile_card, A4), encoding="utf-8")
    dark = np.asarray(shot(tmp_path / "card.html", 500, 3000)) < 128
    assert dark.any()
    assert not dark[:, -8:].any()


def test_a_phone_shows_a_table_to_its_last_column(plain_card, tmp_path):
    stop = Word("OUTSIDE", "inverse")
    marked = Marked(Figure(Amount(538.9, 1), 538.9, ()), "▲")
    grid = CardTable("t", ("rod label", "piston", *"abcd", "rod total"), ((stop, *(marked,) * 5, stop),))
    narrow = replace(plain_card, blocks=(grid,), cautions=())
    (tmp_path / "card.html").write_text(html_of(narrow), encoding="utf-8")
    # No window of Chromium is as narrow as a phone.
    frame = '<body style="margin:0"><iframe src="card.html" style="border:0;width:420px;height:900px"></iframe>'
    (tmp_path / "frame.html").write_text(frame, encoding="utf-8")
    dark = np.asarray(shot(tmp_path / "frame.html", 600, 900))[:, :420] < 64
    # Both words alike: rows in which two boxes stand, each as wide as the other.
    rows = {tuple(len(run) for run in re.findall("1{30,}", "".join(map(str, row.astype(int))))) for row in dark}
    pairs = {row for row in rows if len(row) == 2}
    assert pairs
    assert all(abs(one - other) <= 1 for one, other in pairs), rows


def test_a_page_fetches_nothing_and_names_its_parts(plain_card):
    made = html_of(plain_card, A4)
    outside = set(re.findall(r"https?://[^\s\"'<)]+", made)) - {"http://www.w3.org/2000/svg"}
    assert not outside
    assert "default-src 'none'" in made
    assert "size: 210mm 297mm" in made
    page = ElementTree.fromstring(re.sub(r"<meta[^>]*>|<col [^>]*>|<!DOCTYPE html>", "", made))
    drawings = [e for e in page.iter("{http://www.w3.org/2000/svg}svg") if e.get("viewBox") == "0 0 120 60"]
    assert len(drawings) == 5
    assert all(e.get("role") == "img" and e.get("aria-label") for e in drawings)
    assert {e.get("scope") for e in page.iter("th")} == {"col", "row"}
    told = {"".join(e.itertext()): e.get("class") for e in page.iter("span") if "bdi" in {c.tag for c in e}}
    assert (told["inside"], told["too close to call"], told["OUTSIDE"]) == (
        "state strong",
        "word framed",
        "word inverse",
    )
    ids = [e.get("id") for e in page.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    assert len(re.findall(r"url\(#p\d+-hatch\)", made)) == len(re.findall(r'id="p\d+-hatch"', made)) == 6


@pytest.mark.parametrize(
    "inside", ["<script>1</script>", '<g onload="1"/>', "<foreignObject/>", '<use href="https://example.org/x"/>']
)
def test_a_drawing_that_could_run_or_fetch_something_is_refused(inside):
    with pytest.raises(ValueError, match="a drawing with"):
        html.inline(f'<svg xmlns="http://www.w3.org/2000/svg">{inside}</svg>', "p", "")


@given(st.text())
def test_no_text_ends_a_string_of_a_style_sheet(text):
    made = html.css_string(text)
    assert re.fullmatch(r'"([0-9A-Za-z]|\\[0-9a-f]{6})*"', made)


def test_a_drill_by_its_own_name_is_as_bold_as_one_by_its_size():
    sized = Figure(Amount.as_it_is(12.7, "mm"), 12.7, ())
    rows = ((Word("5/16 in"), sized), (Word("wait", "framed"), sized))
    table = CardTable("t", ("a", "b"), rows, large=True)
    page = html.as_html(layout.sheet(replace(sample_card.card(), blocks=(table,)), A4))
    assert re.search(r'class="state strong"><bdi>5/16', page)
    assert len(re.findall(r'class="figure strong"', page)) == 2
