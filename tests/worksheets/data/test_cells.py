"""Cells that no spreadsheet takes for a formula, and that are read back as they were."""

import csv
import io
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from truethrow.worksheets.data import cells

STARTS = "=+-@'＝＋－＠"


def as_decimal_comma_spreadsheets_read(line):
    """The cells of one line, cut at semicolons: quotes hold together only what they start."""
    return [cell.replace('"', "").strip() for cell in re.split("[;,\t\r\n]", line)]


@pytest.mark.parametrize("start", STARTS)
@pytest.mark.parametrize(
    "made",
    ["{}1+1", "a;{}1+1", "a; {}1+1", 'a;"{}1+1"', 'say "a";"" {}1+1', "a;b;{}1", "a,{}1", "a\n{}1", "a\t{}1"],
)
def test_no_piece_of_a_text_starts_a_formula(made, start):
    text = made.format(start)
    line = cells.to_csv([[cells.guarded(text), "x"]])
    assert not [
        cell for cell in as_decimal_comma_spreadsheets_read(line) if cell.startswith(tuple("=+-@＝＋－＠"))
    ]
    assert next(csv.reader(io.StringIO(line, newline=""))) == [cells.guarded(text), "x"]


@pytest.mark.parametrize("text", ["Launch, second", "rod 3; piston P5", "0-2-0", "x = y", "launch-7", ""])
def test_an_honest_text_stays_as_it_is(text):
    assert cells.guarded(text) == text


@given(st.text(alphabet=STARTS + ' ;,|"\t\r\nax1'))
def test_what_was_guarded_is_read_back(text):
    assert cells.unguarded(cells.guarded(text)) == text


def test_every_cell_is_in_quotes_and_every_line_ends_as_in_rfc_4180():
    assert cells.to_csv([["a", 1], ['say "b"', -2.5]]) == '"a","1"\r\n"say ""b""","-2.5"\r\n'
