"""A quote, as a page for the customer."""

import paged
from paged import blocks
from planned import ESTIMATE, quoted

from truethrow.balance import demo
from truethrow.balance.job.job import build
from truethrow.balance.result.work import work
from truethrow.worksheets.cards.card import Bigs, CardTable, Lines, flat
from truethrow.worksheets.pages.quote_page import quote_page
from truethrow.worksheets.shown.display import Display

RESULT = work(build(demo.text("launch.toml") + ESTIMATE, estimated=True))


def made(**changes):
    return quote_page(RESULT, quoted(**changes), Display.of(RESULT.job), "2027-01-15")


def test_it_has_the_total_and_every_line():
    page = made()
    assert [big.cell.text for big in blocks(page, Bigs)[0].bigs] == ["$352 to 371"]
    rows = [[getattr(cell, "text", cell) for cell in row] for row in blocks(page, CardTable)[0].rows]
    assert rows == [
        ["holes drilled, or arcs ground", "2 to 5", "6.00", "12 to 30"],
        ["hours besides", "4", "85.00", "340.50"],
    ]
    assert page.code == ""


def test_every_number_of_its_table_is_in_its_data():
    page = made()
    assert len(paged.figures(page)) == 6
    assert paged.strangers(page) == []


def test_what_is_not_counted_is_told_beside_the_total():
    assert blocks(made(not_counted=("slug", "hole")), Bigs)[0].bigs[0].label == (
        "total, without slugs and holes still to come"
    )


def test_what_does_not_come_inside_stands_in_a_frame_and_what_is_done_changes_no_more():
    framed = [block for block in blocks(made(stays=True), Lines) if block.weight == "framed"]
    assert framed[-1].lines[0].startswith("OUTSIDE: ")
    every = list(flat(made(stays=True).blocks))
    total = next(at for at, block in enumerate(every) if isinstance(block, Bigs))
    assert every.index(framed[-1]) < total, "nobody reads the sum first"
    assert "What may change it" not in [block.heading for block in blocks(made(stage="done"), Lines)]


def test_it_is_the_same_on_any_day():
    assert paged.is_same_on_another_day(made())
