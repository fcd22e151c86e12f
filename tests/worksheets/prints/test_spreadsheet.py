"""A card as spreadsheet: numbers are numbers, texts are texts."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import datetime

import openpyxl
import pytest
import sample_card

from truethrow.worksheets.cards.card import Big, Bigs, CardTable, Figure
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
