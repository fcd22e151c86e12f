"""The order to the crank's maker, as a page."""

import math

import paged
import pytest
from invented import PARTS, document
from planned import ESTIMATE

from truethrow.balance import demo
from truethrow.balance.correction.ordering import DrillingRange
from truethrow.balance.job.job import build
from truethrow.balance.result.work import work
from truethrow.balance.running.forecast import forecast
from truethrow.worksheets.cards.card import Bigs, CardTable, Lines
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
    tables = {block.name: block for block in paged.blocks(page, CardTable)}
    assert [row[1].value for row in tables["throws"].rows] == [0, 90, 270, 180]
    assert [row[1].value for row in tables["crank"].rows[1:]] == [92.0, 155.0, 811.3, 790.0]
    assert page.code == ""


def test_every_number_on_it_is_in_its_data():
    page = made()[1]
    assert len(paged.figures(page)) == 12
    assert paged.strangers(page) == []


def test_a_crank_without_a_name_is_told_by_its_throws_and_one_that_feels_no_bobweight_says_so():
    """A flat twelve on three-throw halves: the maker is told how many throws, never a word of the program's."""
    engine = {
        "throw_angles": [0, 120, 240, 240, 120, 0],
        "throw_positions": [0.0, 110.0, 220.0, 330.0, 440.0, 550.0],
        "banks": {"left": -90, "right": 90},
        "stroke": 78.0,
        "rod_length": 132.0,
        "cylinders": {str(n): {"throw": (n + 1) // 2, "bank": "left" if n % 2 else "right"} for n in range(1, 13)},
    }
    box = {kind: {"about": grams, "within": 1} for kind, grams in PARTS.items()}
    result = work(build(document([], engine=engine, estimate=box), estimated=True))
    target = forecast(result).target
    taken = DrillingRange(math.inf, math.inf, 0, 0)
    show = Display.of(result.job)
    page = order_page(result, target, target.value_g, taken, (31.4, 31.4), show, "2027-01-15")
    crank = next(block for block in paged.blocks(page, CardTable) if block.name == "crank")
    assert crank.rows[0] == ("layout", "6 throws as told here, 12 cylinders")
    assert any(line.startswith("This crank does not feel what all throws carry") for line in paged.lines(page))


def test_it_says_what_is_estimated_and_what_may_need_heavy_metal():
    page = made()[1]
    assert page.blocks[0].heading == "ESTIMATE"
    lines = [block for block in page.blocks if isinstance(block, Lines)]
    assert lines[-1].lines == ("Wherever in their range the parts weigh in, drilling alone will do.",)
    short = [block for block in made(heavier=1.0)[1].blocks if isinstance(block, Lines)][-1]
    assert (short.weight, short.lines[0][:8]) == ("framed", "OUTSIDE:")


def test_it_is_the_same_on_any_day():
    assert paged.is_same_on_another_day(made()[1])
