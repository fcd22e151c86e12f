"""Figures and lines of a working, as they are written."""

from decimal import Decimal

import pytest

from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words.worked_lines import Figure, InUnits, Line, as_number, judged, taken


def test_a_figure_with_more_digits_is_cut_and_says_so():
    assert Figure(Decimal(2) / 3, 3).digits == "0.666…"
    assert Figure(Decimal(-2) / 3, 3).digits == "−0.666…"
    assert Figure(Decimal("52.9") / 3 * 3, 3).digits == "52.9"
    assert Figure(Decimal("46"), 4, "g", 1).digits == "46.0"
    assert Figure(Decimal("-0.0"), 3).digits == "0"


def test_a_line_says_what_how_and_from_where():
    assert str(Line("mean", "(1 + 2) / 2", Figure(Decimal("1.5"), 3, "g"))) == "mean = (1 + 2) / 2 = 1.5 g"
    assert str(Line("oil", "", Figure(Decimal(4), 1, "g", 1), "job file")) == "oil = 4.0 g   [job file]"


@pytest.mark.parametrize(
    ("verdict", "limit", "said"),
    [
        ("inside", 2.0, "most that it may be = 1 + 0.5 = 1.5   [inside: 1.5 is no more than 2]"),
        ("outside", 0.3, "least that it may be = 1 − 0.5 = 0.5   [outside: 0.5 is more than 0.3]"),
        (
            "too close to call",
            1.2,
            "most that it may be = 1 + 0.5 = 1.5   [too close to call: 1.5 is more than 1.2]",
        ),
        (
            "too close to call",
            2.0,
            "most that it may be = 1 + 0.5 = 1.5   [too close to call: part of the ± is only assumed]",
        ),
    ],
)
def test_a_verdict_is_told_by_the_end_that_tells_it(verdict, limit, said):
    found = Figure(Decimal(1), 3)
    assert str(judged(found, as_number(0.5), as_number(limit), verdict)) == said


def test_lines_are_taken_with_what_they_come_to():
    def made():
        yield Line("oil", "", as_number(4.0))
        return "whole"

    lines = []
    assert taken(made(), lines) == "whole"
    assert [line.what for line in lines] == ["oil"]


def test_what_is_kept_in_grams_and_millimeters_is_written_in_the_units_that_are_shown():
    shown = InUnits(Display("oz", "in", 0.005))
    assert (str(shown.grams_of(28.349523125)), str(shown.length_of(25.4))) == ("1.000 oz", "1 in")
    assert str(shown.unbalance_of(720.077887375)) == "1 oz·in"
