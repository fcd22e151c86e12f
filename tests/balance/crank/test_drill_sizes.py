"""A drill is known by what is written on it."""

import doctest

import pytest

from truethrow.balance.crank import drill_sizes
from truethrow.balance.crank.drill_sizes import named


def test_the_examples():
    assert doctest.testmod(drill_sizes).failed == 0


@pytest.mark.parametrize(
    ("typed", "inches"),
    [
        *(("A", 0.234), ("Z", 0.413), ("#1", 0.2280), ("#2", 0.2210), ("#3", 0.2130), ("#4", 0.2090)),
        *(("#7", 0.2010), ("#10", 0.1935), ("#21", 0.1590), ("#25", 0.1495), ("#60", 0.0400)),
    ],
)
def test_a_size_is_as_printed_tables_have_it(typed, inches):
    """Source: decimal equivalents of letter and number drills, of tool catalogs and of the encyclopedias' tables
    (ASME B94.11M); E is a quarter of an inch by the standard itself."""
    assert named(typed)[1] == pytest.approx(inches * 25.4, abs=1e-4)
    assert named("E")[1] == pytest.approx(6.35)


def test_the_sizes_run_on_from_the_numbers_to_the_letters():
    """No two alike, each larger than the one before it."""
    numbers = [named(f"#{number}")[1] for number in range(60, 0, -1)]
    letters = [named(letter)[1] for letter in "ABCDEFGHIJKLMNOPQRSTUVWXYZ"]
    every = numbers + letters
    assert every == sorted(set(every))


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        *(("f", "letter F"), ("letter f", "letter F"), (" F drill", "letter F")),
        *(("No. 7", "#7"), ("no 7", "#7"), ("number 7", "#7"), ("# 7", "#7")),
        *(("1/2", "1/2 in"), ("1 1/8", "1 1/8 in"), ("27/64", "27/64 in")),
    ],
)
def test_a_hand_may_write_it_in_several_ways(typed, name):
    assert named(typed)[0] == name


@pytest.mark.parametrize(
    "typed", [12.0, "12", "12 mm", "1/2 in", "#0", "#61", "FF", "", "1/0", "7", "0.5 in", None]
)
def test_what_is_told_by_a_length_is_none(typed):
    assert named(typed) is None
