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

from truethrow.balance.base import files
from truethrow.balance.base.errors import BadInput, NotSaved
from truethrow.worksheets.cards.card import Big, Bigs, Blank, CardTable, Figure, Lines, Marked, Picture, Tick, Word
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


def pdf_of(card, paper=A4) -> bytes:
    return pdf.as_pdf(layout.sheet(card, paper))


def html_of(card, paper=A4) -> str:
    return html.as_html(layout.sheet(card, paper))


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


def in_browser(card, paper, tmp_path: Path) -> bytes:
    (tmp_path / "card.html").write_text(html_of(card, paper), encoding="utf-8")
    return browser.to_pdf(tmp_path / "card.html", tmp_path / "card.pdf")


# The two renderings of one layout.


@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS)
def test_a_browser_prints_what_the_pdf_shows(plain_card, paper, tmp_path):
    printed, typeset = in_browser(plain_card, paper, tmp_path), pdf_of(plain_card, paper)
    assert words(printed) == words(typeset)
    shown = pages(printed)
    assert looks_like(shown, pages(typeset))
    assert shown[0].size == pytest.approx((paper.width * 2, paper.height * 2), abs=2)
    # What the comparison must see: any block that is not there.
    for at in range(len(plain_card.blocks)):
        blocks = plain_card.blocks[:at] + plain_card.blocks[at + 1 :]
        assert not looks_like(shown, pages(pdf_of(replace(plain_card, blocks=blocks), paper))), at


@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS)
def test_texts_that_mean_harm_neither_run_nor_leave_the_page(hostile_card, paper, tmp_path):
    made = html_of(hostile_card, paper)
    assert not re.search(r"<\s*(script|img|iframe|object|link|base)\b", made, re.I)
    assert re.findall(r"</style", made) == ["</style"]
    printed, typeset = in_browser(hostile_card, paper, tmp_path), pdf_of(hostile_card, paper)
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
    (tmp_path / "card.html").write_text(html_of(hostile_card, A4), encoding="utf-8")
    browser.to_png(tmp_path / "card.html", tmp_path / "card.png", 500, 3000)
    dark = np.asarray(Image.open(tmp_path / "card.png").convert("L")) < 128
    assert dark.any()
    assert not dark[:, -8:].any()


def test_a_phone_shows_a_table_to_its_last_column(plain_card, tmp_path):
    stop = Word("OUTSIDE", "inverse")
    marked = Marked(Figure("538.9", 538.9, ()), "▲")
    grid = CardTable("t", ("rod label", "piston", *"abcd", "rod total"), ((stop, *(marked,) * 5, stop),))
    narrow = replace(plain_card, blocks=(grid,), cautions=())
    (tmp_path / "card.html").write_text(html_of(narrow), encoding="utf-8")
    # No window of Chromium is as narrow as a phone.
    frame = '<body style="margin:0"><iframe src="card.html" style="border:0;width:420px;height:900px"></iframe>'
    (tmp_path / "frame.html").write_text(frame, encoding="utf-8")
    browser.to_png(tmp_path / "frame.html", tmp_path / "card.png", 600, 900)
    dark = np.asarray(Image.open(tmp_path / "card.png").convert("L"))[:, :420] < 64
    # Both words alike: rows in which two boxes stand, each as wide as the other.
    rows = {tuple(len(run) for run in re.findall("1{30,}", "".join(map(str, row.astype(int))))) for row in dark}
    pairs = {row for row in rows if len(row) == 2}
    assert pairs
    assert all(abs(one - other) <= 1 for one, other in pairs), rows


def test_the_pdf_is_the_same_for_the_same_card_and_says_what_it_is(plain_card):
    made = pdf_of(plain_card, A4)
    assert made == pdf_of(sample_card.card(), A4)
    document = pypdfium2.PdfDocument(made)
    told = document.get_metadata_dict()
    assert told["Title"] == "What to hang, launch-7"
    assert told["CreationDate"].startswith("D:20261125")
    assert document.is_tagged()


def test_a_pdf_that_cannot_be_made_is_refused_in_one_line(plain_card):
    broken = replace(plain_card, blocks=(Picture("broken", '<svg viewBox="0 0 9 9"><g>', "nothing"),))
    with pytest.raises(NotSaved) as caught:
        pdf_of(broken, A4)
    assert str(caught.value).startswith("bobweight.pdf: ")
    assert "\n" not in str(caught.value)


def test_a_font_that_is_gone_is_told_and_not_replaced(plain_card, tmp_path, monkeypatch):
    monkeypatch.setattr(pdf, "FONTS", tmp_path)
    with pytest.raises(NotSaved, match=r"^bobweight\.pdf: unknown font family: b612; nothing was written$"):
        pdf_of(plain_card, A4)


@pytest.mark.parametrize("hostile", [False, True])
def test_the_code_is_read_back_from_paper(hostile, plain_card, hostile_card):
    card = hostile_card if hostile else plain_card
    (found,) = zxingcpp.read_barcodes(pages(pdf_of(card, A4), 6.0)[0])
    assert found.text == card.code


def test_cautions_stand_on_no_page_alone(plain_card):
    rows = tuple((f"row {n}", Blank("g")) for n in range(6))
    for count in range(12, 40):
        filling = tuple(Lines((f"line {n}",)) for n in range(count))
        for last in (Lines(("the last",)), CardTable("t", ("the", "last"), rows), plain_card.blocks[-3]):
            document = pypdfium2.PdfDocument(pdf_of(replace(plain_card, blocks=(*filling, last)), A4))
            text = document[len(document) - 1].get_textpage().get_text_range()
            assert "Caution" in text
            assert re.search(r"\b(last|weighed)\b", text), (count, last)


# What is read at arm's length.


def laid_out(card, *blocks):
    return layout.sheet(replace(card, blocks=blocks, cautions=()), A4)["blocks"]


@pytest.mark.parametrize("heading", ["DRILL NOTHING", "NOT SIGNED", "NOT ALL AT ONCE", "SPIN BEFORE GOING ON"])
def test_no_figure_is_larger_than_what_stops_somebody(plain_card, heading):
    big = Big("on every throw", Figure("0.1 g", 0.1, ()))
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
    bigs = tuple(Big(f"throw {n}", Figure(f"{g:.1f} g", g, ())) for n, g in enumerate(grams, start=1))
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
    figure = Figure("538.1", 538.1, ())
    rows = (("1", Blank(), figure, Blank(), "P28", Tick()), ("2", Blank(), Blank(), Blank(), "P6", Tick()))
    (made,) = laid_out(plain_card, CardTable("t", ("cylinder", "pin", "piston", "locks", "label", ""), rows))
    assert made["right"] == [False, True, True, True, False, False]
    assert [head["right"] for head in made["heads"]] == made["right"]


# HTML alone.


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
    table = CardTable("t", ("label", "text", "grams", "weighed"), cells, wide=wide, large=large)
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
    table = CardTable("[a]:*?/\\" + "x" * 60, ("a",), (("1",),))
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
        (Figure("11.8@203", 11.8, ()), None),
    ],
)
def test_a_figure_in_a_spreadsheet_is_its_value_where_that_is_shown(figure, shown):
    assert spreadsheet.shown(figure) == shown


def test_an_angle_is_a_number_in_a_column_of_its_own(plain_card):
    read = Bigs((Big("spin 1, front", Figure("11.80@203", 11.8, ("a",))), Big("hang", Figure("0.2 g", 0.2, ()))))
    raw = spreadsheet.as_xlsx((replace(plain_card, blocks=(read,)),), A4)
    rows = [
        row
        for row in openpyxl.load_workbook(io.BytesIO(raw))["job"].iter_rows()
        if row[1].value in ("spin 1, front", "hang")
    ]
    assert [[cell.value for cell in row[2:4]] for row in rows] == [[11.8, 203], [0.2, None]]
    assert [cell.number_format for cell in rows[0][2:4]] == ["0.00", '0"°"']


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
        prints.must_be_ours(tmp_path, "launch-7")
    for start in ('{"mine": 1}', '{"truethrow": "cards"}', '{"truethrow": "cards", "job": {"id": ' + "[" * 3000):
        (tmp_path / "figures.json").write_text(start)
        with pytest.raises(BadInput, match="no card of ours"):
            prints.must_be_ours(tmp_path, "launch-7")
    with pytest.raises(BadInput, match="is no folder"):
        prints.must_be_ours(tmp_path / "station.csv", "launch-7")


@pytest.mark.parametrize("job_id", ["launch-7", 'a "quoted" \\ id', "\N{WRENCH}" * 64])
def test_another_jobs_folder_is_refused(tmp_path, plain_card, job_id):
    prints.must_be_ours(tmp_path, "any")
    prints.write(tmp_path, made_of(replace(plain_card, job_id=job_id)))
    prints.must_be_ours(tmp_path, job_id)
    with pytest.raises(BadInput, match="--into: holds the cards of another job"):
        prints.must_be_ours(tmp_path, "launch-8")


@pytest.mark.parametrize(
    "name",
    [".DS_Store", "drawings/.DS_Store", "Thumbs.db", "desktop.ini", ".~lock.figures.xlsx#", "~$figures.xlsx"],
)
def test_what_a_system_leaves_in_a_folder_is_not_in_the_way_and_stays(tmp_path, plain_card, name):
    made = made_of(plain_card)
    prints.write(tmp_path, made)
    (tmp_path / name).write_text("left")
    prints.must_be_ours(tmp_path, plain_card.job_id)
    assert prints.write(tmp_path, made_of(replace(plain_card, blocks=(Lines(("no drawing",)),)))) == sorted(
        each for each in made if each.startswith("drawings/")
    )
    assert (tmp_path / name).read_text() == "left"


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
