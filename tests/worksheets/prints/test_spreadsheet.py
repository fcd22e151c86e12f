"""A card as spreadsheet: numbers are numbers, texts are texts."""

from __future__ import annotations

import io
import shutil
import subprocess
from dataclasses import replace
from datetime import datetime

import openpyxl
import pypdfium2
import pytest
import sample_card

from truethrow.balance.base.amounts import Amount
from truethrow.worksheets.cards.card import CardTable, Chart, ChartLine, Figure, Halves, Marked
from truethrow.worksheets.prints import layout, spreadsheet

PAPERS = layout.PAPERS


A4 = PAPERS["a4"]


@pytest.fixture(scope="module")
def plain_card():
    return sample_card.card()


@pytest.fixture(scope="module")
def hostile_card():
    return sample_card.card(hostile=True, throws=14)


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
    ("figure", "number", "form"),
    [
        (Figure(Amount(1789.43, 1, "g"), 1789.43, ()), 1789.43, '0.0" g"'),
        (Figure(Amount(-0.4, 1), -0.4, ()), -0.4, "0.0"),
        (Figure(Amount(63.12, 1, "oz"), 1789.43, ()), 63.12, '0.0" oz"'),
        (Figure(Amount(37.2, 0, "°"), 37.2, ()), 37.2, '0"°"'),
        (Figure(Amount(12, 0), 12, ()), 12, "0"),
        (Figure(Amount(448.7, 1), 448.7, (), behind=" ×3"), 448.7, '0.0" ×3"'),
        (Figure(Amount(30, 0, "°"), 30, (), before="over "), 30, '"over "0"°"'),
        (Marked(Figure(Amount(448.7, 1), 448.7, ()), "▲"), 448.7, '"▲ "0.0'),
    ],
)
def test_a_figure_is_a_number_in_full_in_the_unit_that_is_shown(plain_card, figure, number, form):
    table = CardTable("one", ("a",), ((figure,),))
    raw = spreadsheet.as_xlsx((replace(plain_card, blocks=(table,)),), A4)
    cell = openpyxl.load_workbook(io.BytesIO(raw))["bobweight one"]["A4"]
    assert (cell.value, cell.number_format) == (pytest.approx(number), form)


def test_two_halves_of_a_clamp_are_told_in_one_cell(plain_card):
    halves = Halves(Figure(Amount(2, 0), 2, ()), None)
    table = CardTable("one", ("a",), ((halves,),))
    raw = spreadsheet.as_xlsx((replace(plain_card, blocks=(table,)),), A4)
    assert openpyxl.load_workbook(io.BytesIO(raw))["bobweight one"]["A4"].value == "2 + –"


def test_where_a_part_goes_is_apart_from_a_name_of_another_direction(plain_card):
    """Else a spreadsheet turns the arrow round: 1<2."""
    table = CardTable("t", ("label",), (("مكبس 2 يسار 2>1",),))
    raw = spreadsheet.as_xlsx((replace(plain_card, blocks=(table,)),), A4)
    assert openpyxl.load_workbook(io.BytesIO(raw))["bobweight t"]["A4"].value == "\u2067مكبس 2 يسار\u2069 2>1"


def drawn_table():
    """A table of which a spreadsheet draws something."""

    def numbers(*found):
        return tuple(Figure(Amount(one, 1), one, ("spins",)) for one in found)

    lines = ChartLine("front", numbers(900.0, 120.0)), ChartLine("tolerance", numbers(130.5, 130.5), is_limit=True)
    chart = Chart("Spin by spin", ChartLine("spin", numbers(1, 2)), lines, "g·mm")
    return CardTable("spins", ("spin", "plane"), (("1", "front"), ("2", "front")), "All spins", chart=chart)


def test_a_chart_is_drawn_of_figures_that_stand_beside_it(plain_card):
    raw = spreadsheet.as_xlsx((replace(plain_card, blocks=(drawn_table(),)),), A4)
    sheet = openpyxl.load_workbook(io.BytesIO(raw)).worksheets[-1]
    (chart,) = sheet._charts
    ranges = [(one.cat.numRef.f, one.val.numRef.f) for one in chart.series]
    assert [[sheet.cell(row, column).value for column in (1, 2, 3)] for row in (9, 10, 11)] == [
        ["spin", "front", "tolerance"],
        [1, 900, 130.5],
        [2, 120, 130.5],
    ]
    name = f"'{sheet.title}'"
    assert ranges == [(f"{name}!$A$10:$A$11", f"{name}!${column}$10:${column}$11") for column in "BC"]


@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS)
def test_an_office_program_prints_it_on_its_paper_without_a_warning(plain_card, paper, tmp_path):
    """LibreOffice, where it is installed."""
    office = shutil.which("soffice")
    if office is None:
        pytest.skip("no LibreOffice found (soffice)")
    moves = "; ".join(f"piston Northside-P-{n:02}-2026-bx {n}>{n + 1}" for n in range(1, 9))
    long = CardTable("history", ("", ""), (("2026-12-01 02:11", moves), ("2026-12-01 02:12", "confirmed")))
    cards = (plain_card, replace(plain_card, blocks=(drawn_table(), long)))
    (tmp_path / "figures.xlsx").write_bytes(spreadsheet.as_xlsx(cards, paper))
    own = f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}"
    command = [office, own, "--headless", "--convert-to", "pdf", "--outdir", tmp_path, tmp_path / "figures.xlsx"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120, check=True)
    # That it finds no Java is of the machine, not of the file.
    assert not [line for line in done.stderr.splitlines() if "javaldx" not in line]
    document = pypdfium2.PdfDocument(tmp_path / "figures.pdf")
    assert len(document) >= 2
    told = " ".join(page.get_textpage().get_text_range() for page in document)
    assert all(f"Northside-P-{n:02}" in told for n in range(1, 9)), "a text of several lines is cut"
    for page in document:
        sides = sorted(points * 25.4 / 72 for points in page.get_size())  # a wide sheet is on its side
        assert sides == pytest.approx(sorted((paper.width, paper.height)), abs=0.5)
