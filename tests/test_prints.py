"""A card's renderings: the same figures and the same pages in each, and no text that does harm in any."""

from __future__ import annotations

import io
import json
import re
import unicodedata
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from xml.etree import ElementTree

import browser
import numpy as np
import openpyxl
import pypdfium2
import pytest
import sample_card
import zxingcpp
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageFont

from truethrow.balance import files
from truethrow.balance.errors import BadInput, NotSaved
from truethrow.worksheets.cards.card import Blank, Figure, Lines, Picture, Table
from truethrow.worksheets.prints import columns, html, layout, pdf, spreadsheet, texts
from truethrow.worksheets.prints import folder as prints

PAPERS = layout.PAPERS
A4 = PAPERS["a4"]
BREAKS = dict.fromkeys(map(ord, "\u200b\ufffe"))


@pytest.fixture(scope="module")
def plain_card():
    return sample_card.card()


@pytest.fixture(scope="module")
def hostile_card():
    return sample_card.card(hostile=True, throws=14)


def pages(raw: bytes, dots_per_mm: float = 2.0) -> list[Image.Image]:
    document = pypdfium2.PdfDocument(raw)
    return [page.render(scale=dots_per_mm * 25.4 / 72).to_pil().convert("L") for page in document]


def words(raw: bytes) -> list[str]:
    """Every word of a document, whatever its order and wherever it is broken: letters and digits, sorted."""
    document = pypdfium2.PdfDocument(raw)
    text = " ".join(page.get_textpage().get_text_range() for page in document).translate(BREAKS)
    return sorted(re.findall(r"[\w.−-]+", unicodedata.normalize("NFKC", text)))


def letters(raw: bytes) -> str:
    """Every letter and digit without its marks, sorted: where texts are broken within words."""
    read = unicodedata.normalize("NFKD", "".join(words(raw)))
    return "".join(sorted(c for c in read if c.isalnum() and c not in MARKED))


# The letter under marks, and what it is read back as: readers of PDF disagree.
MARKED = "ZK"

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


def in_browser(card, paper, tmp_path: Path) -> bytes:
    (tmp_path / "card.html").write_text(html.as_html(card, paper), encoding="utf-8")
    return browser.to_pdf(tmp_path / "card.html", tmp_path / "card.pdf")


# The two renderings of one layout.


@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS)
def test_a_browser_prints_what_the_pdf_shows(plain_card, paper, tmp_path):
    printed, typeset = in_browser(plain_card, paper, tmp_path), pdf.as_pdf(plain_card, paper)
    assert words(printed) == words(typeset)
    shown = pages(printed)
    assert looks_like(shown, pages(typeset))
    assert shown[0].size == pytest.approx((paper.width * 2, paper.height * 2), abs=2)
    # What the comparison must see: any block that is not there.
    for at in range(len(plain_card.blocks)):
        blocks = plain_card.blocks[:at] + plain_card.blocks[at + 1 :]
        assert not looks_like(shown, pages(pdf.as_pdf(replace(plain_card, blocks=blocks), paper))), at


@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS)
def test_texts_that_mean_harm_neither_run_nor_leave_the_page(hostile_card, paper, tmp_path):
    made = html.as_html(hostile_card, paper)
    assert not re.search(r"<\s*(script|img|iframe|object|link|base)\b", made, re.I)
    assert re.findall(r"</style", made) == ["</style"]
    printed, typeset = in_browser(hostile_card, paper, tmp_path), pdf.as_pdf(hostile_card, paper)
    became = browser.dom(tmp_path / "card.html")
    assert "<h1" in became
    assert "<script" not in became
    assert not re.search(r"""<html[^>]*owned|<title>owned""", became)
    assert letters(printed) == letters(typeset)
    for page in pages(printed) + pages(typeset):
        edge = np.asarray(page) < 250
        edge[10:-10, 10:-10] = False  # 5 mm
        assert not edge.any()


def test_a_phone_gets_one_column_and_no_text_beyond_it(hostile_card, tmp_path):
    (tmp_path / "card.html").write_text(html.as_html(hostile_card, A4), encoding="utf-8")
    browser.to_png(tmp_path / "card.html", tmp_path / "card.png", 500, 3000)
    dark = np.asarray(Image.open(tmp_path / "card.png").convert("L")) < 128
    assert dark.any()
    assert not dark[:, -8:].any()


def test_the_pdf_is_the_same_for_the_same_card_and_says_what_it_is(plain_card):
    made = pdf.as_pdf(plain_card, A4)
    assert made == pdf.as_pdf(sample_card.card(), A4)
    document = pypdfium2.PdfDocument(made)
    told = document.get_metadata_dict()
    assert told["Title"] == "What to hang, launch-7"
    assert told["CreationDate"].startswith("D:20261125")
    assert document.is_tagged()


def test_a_pdf_that_cannot_be_made_is_refused_in_one_line(plain_card):
    broken = replace(plain_card, blocks=(Picture("broken", '<svg viewBox="0 0 9 9"><g>', "nothing"),))
    with pytest.raises(NotSaved) as caught:
        pdf.as_pdf(broken, A4)
    assert str(caught.value).startswith("bobweight.pdf: ")
    assert "\n" not in str(caught.value)


def test_a_font_that_is_gone_is_told_and_not_replaced(plain_card, tmp_path, monkeypatch):
    monkeypatch.setattr(pdf, "FONTS", tmp_path)
    with pytest.raises(NotSaved, match=r"^bobweight\.pdf: unknown font family: b612; nothing was written$"):
        pdf.as_pdf(plain_card, A4)


@pytest.mark.parametrize("hostile", [False, True])
def test_the_code_is_read_back_from_paper(hostile, plain_card, hostile_card):
    card = hostile_card if hostile else plain_card
    (found,) = zxingcpp.read_barcodes(pages(pdf.as_pdf(card, A4), 6.0)[0])
    assert found.text == card.code


def test_cautions_stand_on_no_page_alone(plain_card):
    rows = tuple((f"row {n}", Blank("g")) for n in range(6))
    for count in range(12, 40):
        filling = tuple(Lines((f"line {n}",)) for n in range(count))
        for last in (Lines(("the last",)), Table("t", ("the", "last"), rows), plain_card.blocks[-3]):
            document = pypdfium2.PdfDocument(pdf.as_pdf(replace(plain_card, blocks=(*filling, last)), A4))
            text = document[len(document) - 1].get_textpage().get_text_range()
            assert "Caution" in text
            assert re.search(r"\b(last|weighed)\b", text), (count, last)


# HTML alone.


def test_a_page_fetches_nothing_and_names_its_parts(plain_card):
    made = html.as_html(plain_card, A4)
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
    assert (told["inside"], told["too close to call"], told["OUTSIDE"]) == ("state", "word framed", "word inverse")
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


# Texts and columns.


@given(st.text())
def test_a_plain_text_has_nothing_that_upsets_a_page(text):
    made = texts.plain(text)
    assert not any(unicodedata.category(c)[0] == "C" for c in made)
    assert texts.plain(made) == made
    soft = texts.soft(made, 11, 20)
    assert soft.replace("\u200b", "") == made
    assert all(
        texts.width_mm(part, 11) <= 20 or len(part) <= 1 + texts.MOST_MARKS for part in re.split("[ \u200b]", soft)
    )


@given(st.text(max_size=400), st.floats(5, 200), st.integers(1, 9))
def test_a_cut_text_fits_its_lines(text, room_mm, lines):
    made = texts.cut(texts.plain(text), 11, room_mm, lines)
    assert made == texts.plain(text) or made.endswith("…")
    assert texts.width_mm(made, 11) <= max(room_mm * lines, texts.width_mm("…", 11))


def test_widths_are_those_of_the_type():
    for name in ("Regular", "Bold"):
        font = ImageFont.truetype(str(pdf.FONTS / f"B612-{name}.ttf"), 1000)
        known = texts._ADVANCE
        assert {c: font.getlength(c) / 1000 for c in known} == pytest.approx(known, abs=0.051)
        for text in ("1789.4 g", "too close to call", "−0.35 g·mm", "launch-7 R29"):
            assert texts.width_mm(text, 1000) == pytest.approx(font.getlength(text) * texts.MM_PER_PT, rel=0.03)


@given(
    st.lists(st.tuples(st.text(max_size=30), st.text(max_size=300), st.floats(-1e4, 1e4)), min_size=1, max_size=4),
    st.sampled_from([None, 0, 1, 2]),
    st.booleans(),
)
@settings(deadline=None)
def test_columns_never_leave_the_page_and_figures_are_never_broken(rows, wide, large):
    cells = tuple((label, text, Figure(f"{g:.1f} g", g, ()), Blank("g")) for label, text, g in rows)
    table = Table("t", ("label", "text", "grams", "weighed"), cells, wide=wide, large=large)
    (made,) = layout.sheet(replace(sample_card.card(), blocks=(table,), cautions=()), A4)["blocks"]
    assert sum(made["widths"]) <= A4.content_width + 1e-6
    assert made["pt"] >= columns.LEAST_PT
    for row in made["rows"]:
        assert texts.width_mm(row[2]["text"], made["pt"]) <= made["widths"][2] - 2 * made["pad"] + 1e-6
        assert " " not in row[2]["text"]


# The spreadsheet.


def test_numbers_are_numbers_and_texts_are_texts(hostile_card):
    raw = spreadsheet.as_xlsx((hostile_card,), A4)
    assert raw == spreadsheet.as_xlsx((sample_card.card(hostile=True, throws=14),), A4)
    book = openpyxl.load_workbook(io.BytesIO(raw))
    assert book.sheetnames[0] == "job"
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row if cell.value is not None]
    assert {cell.data_type for cell in cells} == {"s", "n"}
    told = [cell.value for cell in cells if cell.data_type == "s"]
    assert {sample_card.HOSTILE[name] for name in ("formula", "plus", "at", "css")} <= set(told)
    throws = book["bobweight throws"]
    shown = throws["B4"]
    assert (shown.value, shown.number_format) == (pytest.approx(1789.1), '0.0" g"')
    assert throws.page_setup.paperSize == 9
    assert throws.page_setup.fitToHeight == 0
    assert all(len(name) <= 31 for name in book.sheetnames)
    assert book.properties.created == datetime(2026, 11, 25)  # noqa: DTZ001 (as openpyxl reads it)


def test_sheets_of_one_name_or_none_that_is_legal_are_told_apart(plain_card):
    table = Table("[a]:*?/\\" + "x" * 60, ("a",), (("1",),))
    names = openpyxl.load_workbook(
        io.BytesIO(
            spreadsheet.as_xlsx((replace(plain_card, blocks=(table, table, replace(table, name="''"))),), A4)
        )
    ).sheetnames
    assert len({name.casefold() for name in names}) == 4
    assert names[2].endswith(" 2")


@pytest.mark.parametrize(
    ("figure", "shown"),
    [
        (Figure("1789.4 g", 1789.43, ()), (1789.43, 1, " g")),
        (Figure("−0.4 g", -0.4, ()), (-0.4, 1, " g")),
        (Figure("63.1 oz", 1789.43, ()), (63.1, 1, " oz")),
        (Figure("37°", 37.2, ()), (37.2, 0, "°")),
        (Figure("12", 12, ()), (12, 0, "")),
        (Figure("448.7 ×3", 448.7, ()), (448.7, 1, " ×3")),
        (Figure("1.2 to 1.4 g", 1.2, ()), None),
        (Figure("−", 0.0, ()), None),
    ],
)
def test_a_figure_in_a_spreadsheet_is_its_value_where_that_is_shown(figure, shown):
    assert spreadsheet.shown(figure) == shown


# The folder.


def made_of(*cards):
    return prints.contents(cards, {"station": "no profile"}, A4, None)


def names_in(folder: Path) -> set[str]:
    return {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}


def test_a_folder_holds_every_rendering_and_what_went_is_gone(tmp_path, plain_card):
    folder = tmp_path / "new" / "cards"
    prints.write(folder, made_of(plain_card, replace(plain_card, kind="trim")))
    assert {"bobweight.html", "trim.pdf", "figures.xlsx", "figures.json"} < names_in(folder)
    assert "drawings/bobweight-throw-1.svg" in names_in(folder)
    data = json.loads((folder / "figures.json").read_text())
    assert data["cards"]["trim"]["data"] == plain_card.data
    assert data["cards"]["bobweight"]["code"] == plain_card.code
    only = made_of(replace(plain_card, blocks=(Lines(("no drawing",)),)))
    prints.write(folder, only)
    assert names_in(folder) == set(only)
    assert not (folder / "drawings").exists()
    assert [path.name for path in folder.parent.iterdir()] == ["cards"]


@pytest.mark.parametrize("name", ["notes.txt", "drawings/sketch.svg", "drawings/trim-x.png", ".hidden"])
def test_a_folder_with_anything_else_in_it_is_refused_and_left(tmp_path, plain_card, name):
    made = made_of(plain_card)
    prints.write(tmp_path / "cards", made)
    (tmp_path / "cards" / name).write_text("mine")
    before = {n: (tmp_path / "cards" / n).read_bytes() for n in names_in(tmp_path / "cards")}
    with pytest.raises(BadInput, match="no card of ours"):
        prints.write(tmp_path / "cards", dict.fromkeys(made, b"new"))
    assert {n: (tmp_path / "cards" / n).read_bytes() for n in names_in(tmp_path / "cards")} == before


def test_files_of_our_names_without_our_mark_are_not_ours(tmp_path):
    (tmp_path / "station.csv").write_text("mine")
    with pytest.raises(BadInput, match="no card of ours"):
        prints.must_be_ours(tmp_path)
    (tmp_path / "figures.json").write_text('{"mine": 1}')
    with pytest.raises(BadInput, match="no card of ours"):
        prints.must_be_ours(tmp_path)
    with pytest.raises(BadInput, match="is no folder"):
        prints.must_be_ours(tmp_path / "station.csv")


def test_a_full_disk_leaves_the_folder_as_it_was(tmp_path, plain_card, monkeypatch):
    folder = tmp_path / "cards"
    prints.write(folder, made_of(plain_card))
    before = {name: (folder / name).read_bytes() for name in names_in(folder)}
    later = made_of(replace(plain_card, date="2026-12-01"))
    real, left = files.os.fsync, iter(range(9))

    def fsync(handle):
        if next(left, None) is None:
            raise OSError(28, "No space left on device")
        real(handle)

    monkeypatch.setattr(files.os, "fsync", fsync)
    with pytest.raises(NotSaved, match="no space left on device; nothing was written") as caught:
        prints.write(folder, later)
    monkeypatch.undo()
    assert str(folder) in str(caught.value)
    assert {name: (folder / name).read_bytes() for name in names_in(folder)} == before
    assert [path.name for path in tmp_path.iterdir()] == ["cards"]
    prints.write(folder, later)
    assert json.loads((folder / "figures.json").read_text())["date"] == "2026-12-01"
