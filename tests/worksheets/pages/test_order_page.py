"""The order to the crank's maker, as a page."""

import dataclasses

import pytest
from planned import ESTIMATE

from truethrow.balance import demo
from truethrow.balance.correction.ordering import DrillingRange
from truethrow.balance.job.job import build
from truethrow.balance.result.work import work
from truethrow.balance.running.forecast import forecast
from truethrow.worksheets.cards.card import Bigs, CardTable, Figure, Lines, flat
from truethrow.worksheets.pages.order_page import order_page
from truethrow.worksheets.shown.display import Display


def made(lighter=100.0, heavier=100.0):
    result = work(build(demo.text("launch.toml") + ESTIMATE, estimated=True))
    target = forecast(result).target
    taken = DrillingRange(lighter, heavier, 3, 2)
    show = Display.of(result.job)
    return target, order_page(result, target, target.value_g, taken, (811.3, 790.0), show, "2027-01-15")


def test_it_has_the_target_the_throws_and_the_tolerance():
    target, page = made()
    big = next(block for block in page.blocks if isinstance(block, Bigs)).bigs[0]
    assert big.cell.value == pytest.approx(target.value_g, abs=1e-4)
    tables = {block.name: block for block in flat(page.blocks) if isinstance(block, CardTable)}
    assert [row[1].value for row in tables["throws"].rows] == [0, 90, 270, 180]
    assert [row[1].value for row in tables["crank"].rows[1:]] == [92.0, 155.0, 811.3, 790.0]
    assert page.code == ""


def test_every_number_on_it_is_in_its_data():
    page = made()[1]
    cells = [c for b in flat(page.blocks) if isinstance(b, CardTable) for row in b.rows for c in row]
    figures = [cell for cell in cells if isinstance(cell, Figure)]
    assert len(figures) == 12
    for figure in figures:
        value = page.data
        for step in figure.path:
            value = value[step]
        assert value == figure.value


def test_it_says_what_is_estimated_and_what_may_need_heavy_metal():
    page = made()[1]
    assert page.blocks[0].heading == "ESTIMATE"
    lines = [block for block in page.blocks if isinstance(block, Lines)]
    assert lines[-1].lines == ("Wherever in their range the parts weigh in, drilling alone will do.",)
    short = [block for block in made(heavier=1.0)[1].blocks if isinstance(block, Lines)][-1]
    assert (short.weight, short.lines[0][:8]) == ("framed", "OUTSIDE:")


def test_it_is_the_same_on_any_day():
    page = made()[1]
    assert dataclasses.replace(page, date="2027-02-01").digest == page.digest
