"""Columns never leave the page."""

from __future__ import annotations

from dataclasses import replace

import sample_card
from hypothesis import given, settings
from hypothesis import strategies as st

from truethrow.balance.base.amounts import Amount
from truethrow.worksheets.cards.card import Blank, CardTable, Figure
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


def test_a_table_that_is_wider_than_the_paper_has_its_texts_below_its_figures():
    figure = Figure(Amount(538.4, 1), 538.4, ())
    rows = tuple((str(n), "LABELOF24LETTERSANDMORE", "x" * 24, *(figure,) * 9) for n in range(1, 9))
    wide = CardTable(
        "t", ("cylinder", "piston label", "rod label", *"abcdefghi"), (*rows, ("spread", "", "", *(figure,) * 9))
    )
    above, below = columns.parted(wide, A4.content_width)
    assert above.heads == ("cylinder", *"abcdefghi")
    assert below.heads == ("cylinder", "piston label", "rod label")
    assert len(above.rows) == 9
    assert below.rows == tuple(row[:3] for row in rows)
    assert columns.parted(above, A4.content_width) == [above]
