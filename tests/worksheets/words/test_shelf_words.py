"""A shelf made into engines, in sentences."""

import pytest

from truethrow.balance.base.errors import Fault
from truethrow.balance.book.stock_shelf import LeftThere
from truethrow.balance.shelf.match_shelf import Costly, Match
from truethrow.balance.shelf.pool import Part
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import shelf_words as words

SHOW = Display("g", "mm", 0.1)
PISTON, OTHER = Part("piston", "P7", 0.0, 541.0), Part("piston", "P9", 0.0, 538.6)
DEAR = Costly(2, 5, PISTON, 2.4, None, 0.0)


def match(cost_g=12.0, bound_g=10.0, stopped="", leftovers=()):
    return Match((None,) * 4, {"piston": leftovers, "rod": ()}, cost_g, bound_g, "all", stopped, 30.0, 20.0, None)


@pytest.mark.parametrize(
    ("found", "begins", "ends"),
    [
        (match(10.0), "Proved best", "(the bound counts all)."),
        (match(), "Within 0.500 g an engine of the bound", "is not known."),
        (match(stopped="time"), "Within 0.500 g", "another run may differ."),
        (match(stopped="interrupted"), "Within 0.500 g", "this is the best so far."),
    ],
)
def test_it_is_said_whether_it_is_the_best_and_how_far_from_it_it_may_be(found, begins, ends):
    """2 g above the bound over four engines."""
    said = words.verdict(found, SHOW)
    assert said.startswith(begins)
    assert said.endswith(ends)


def test_the_dearest_part_is_named_with_what_would_do_better():
    alone = words.costly(match(), DEAR, SHOW)
    assert "piston P7 in its cylinder 5" in alone
    assert alone.endswith("would save 2.4 g")
    assert words.costly(match(leftovers=(OTHER,)), DEAR, SHOW).endswith(
        "none of those left over would save anything there"
    )
    better = DEAR._replace(leftover=OTHER, leftover_saves_g=1.9)
    assert words.costly(match(leftovers=(OTHER,)), better, SHOW).endswith(
        "; P9, left over, would save 1.9 g there"
    )


def test_what_stays_on_the_shelf_is_told_kind_by_kind():
    assert words.leftovers(match(leftovers=(PISTON, OTHER))) == ["pistons: P7, P9"]


def test_a_part_left_in_the_stock_and_an_engine_that_cannot_go():
    far = LeftThere(Part("rod", "R1", 301.2, 120.0), 452.0)
    assert words.left_there(far, SHOW) == "- rod R1: 301.2 / 120.0 g, the others have 452.0 g: of another engine?"
    alone = LeftThere(Part("pin", "N1", 0.0, 112.0, together="P3"), None)
    assert words.left_there(alone, SHOW) == "- pin N1: its piston, P3, is not there"
    fault = Fault("job seven, cylinder 1", "rod R3 is there")
    assert "rod R3 is there (and 2 more like it). Give a job" in words.cannot_go(fault, 3)
    assert words.goes_into(2, "seven") == "Once engine 2 is built, as job seven of the book:"
    assert words.without_job(1, 1).startswith("1 engine more without a job")
    assert words.without_job(2, 0).startswith("2 engines without a job")
