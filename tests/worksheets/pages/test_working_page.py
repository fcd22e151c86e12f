"""The working of a figure, as a page."""

from added_by_hand import FIGURE

from truethrow.balance import demo
from truethrow.balance.job.job import load
from truethrow.balance.result.work import work
from truethrow.worksheets.cards.card import CardTable
from truethrow.worksheets.pages.working_page import working_page
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words.working_words import working


def test_it_has_each_line_and_no_number_that_is_not_in_its_data(tmp_path):
    result = work(load(*demo.copy_into(tmp_path)))
    made = working(result, "bobweight 1", Display.of(result.job))
    page = working_page(result.job, made, "2027-01-15")
    table = next(block for block in page.blocks if isinstance(block, CardTable))
    assert len(table.rows) == len(made.lines)
    for row, line in zip(table.rows, page.data["working"]["lines"], strict=True):
        assert row[0] == line["what"]
        assert row[1] == line["by"]
        assert row[2].text == f"{line['shown']} {line['unit']}".strip()
        assert row[3] == line["from"]
    assert FIGURE.search(table.rows[-1][1])
    assert (page.kind, page.job_id, page.code) == ("working", "launch-7", "")
