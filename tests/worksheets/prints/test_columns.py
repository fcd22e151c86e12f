"""Columns never leave the page."""

from __future__ import annotations

from dataclasses import replace

import sample_card
from hypothesis import given, settings
from hypothesis import strategies as st

from truethrow.balance.base.amounts import Amount
from truethrow.worksheets.cards.card import Blank, CardTable, Figure, Stack
from truethrow.worksheets.prints import columns, layout, texts

PAPERS = layout.PAPERS


A4 = PAPERS["a4"]


@given(
    st.lists(st.tuples(st.text(max_size=30), st.text(max_size=300), st.floats(-1e4, 1e4)), min_size=1, max_size=4),
    st.sampled_from([None, 0, 1, 2]),
    st.booleans(),
)
@settings(deadline=None)
def test_columns_never_leave_the_page_and_figures_are_never_broken(rows, wide, large):
    cells = tuple((label, text, Figure(Amount(g, 1, "g"), g, ()), Blank("g")) for label, text, g in rows)
    table = CardTable("t", ("label", "text", "grams", "weighed"), cells, wide=wide, large=large)
    (made,) = layout.sheet(replace(sample_card.card(), blocks=(table,), cautions=()), A4)["blocks"]
    assert sum(made["widths"]) <= A4.content_width + 1e-6
    assert made["pt"] >= columns.LEAST_PT
    for row in made["rows"]:
        assert texts.width_mm(row[2]["text"], made["pt"]) <= made["widths"][2] - 2 * made["pad"] + 1e-6
        assert " " not in row[2]["text"]


FIGURE = Figure(Amount(538.4, 1), 538.4, ())
LABELS = ("LABELOF24LETTERSANDMORE", "Northside-P-01-2026-b 8>1")


def test_a_table_that_is_wider_than_the_paper_has_the_names_of_its_parts_below_its_figures():
    rows = tuple((str(n), *LABELS, *(FIGURE,) * 9) for n in range(1, 9))
    heads = ("cylinder", "piston label", "rod label", *"abcdefghi")
    wide = CardTable("t", heads, (*rows, ("spread", "", "", *(FIGURE,) * 9)), names=(1, 2))
    above, below = columns.arranged(wide, A4.content_width)
    assert above.heads == ("cylinder", *"abcdefghi")
    assert below.heads == ("cylinder", "piston label", "rod label")
    assert len(above.rows) == 9
    assert below.rows == tuple(tuple(Stack((text,)) for text in row[:3]) for row in rows)
    assert columns.arranged(above, A4.content_width) == [above]


def test_beside_boxes_they_are_below_each_other_in_one_column():
    rows = tuple((str(n), *LABELS, *(Blank(wide=3),) * 6) for n in range(1, 9))
    heads = ("cylinder", "piston label", "rod label", *"abcdef")
    (found,) = columns.arranged(CardTable("t", heads, rows, names=(1, 2)), A4.content_width)
    assert found.heads == ("cylinder", "piston, rod label", *"abcdef")
    assert found.rows == tuple((row[0], Stack(LABELS), *row[3:]) for row in rows)


def test_a_name_is_never_broken_where_smaller_type_has_it_on_one_line():
    """In type as large as its longest word allows, each of these labels would take two lines."""
    rows = tuple((str(n), "مكبس يسار 12>11", "P12 12>11", *(FIGURE,) * 7) for n in range(1, 9))
    heads = ("cylinder", "piston label", "rod label", *"abcdefg")
    (table,) = columns.arranged(CardTable("t", heads, rows, names=(1, 2)), A4.content_width)
    made = columns.fit(table, A4.content_width)
    for at in (1, 2):
        assert texts.width_mm(rows[0][at], made.size_pt) <= made.widths_mm[at] - 2 * made.pad_mm
