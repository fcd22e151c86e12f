"""Candidates side by side, in sentences."""

import choosing
import pytest

from truethrow.balance.planning import candidates, comparing
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import candidates_words as words

METRIC = Display("g", "mm", 0.1)


def worked(text=choosing.SMALL, by="bobweight"):
    found = candidates.build(text)
    return comparing.ranked(comparing.candidates(found.pairs, None, found.prices), by)


def test_every_figure_has_its_words():
    assert words.SORTED.keys() == set(candidates.BY)
    assert words.APART.keys() == set(candidates.BY) - {"speed"}


def test_estimates_are_told_set_by_set_where_they_differ():
    text = choosing.SMALL.replace("piston = { about = 402, within = 4 }", "piston = { weighed = 402 }")
    order = worked(text + "[scale]\nresolution = 0.1\n")
    said = words.estimated([one.candidate for one in order])
    assert said.startswith("ESTIMATE: not weighed yet, ")
    assert "A: piston, pin" in said
    assert "B: pin, " in said


def test_what_was_weighed_needs_no_word():
    import re

    text = re.sub(r"\{ about = ([\d.]+), within = \d \}", r"{ weighed = \1 }", choosing.SMALL)
    order = worked(text + "[scale]\nresolution = 0.1\n")
    found = [one.candidate for one in order]
    assert words.estimated(found) == ""
    assert (
        "B: of the locks, rings, bearings, piston, pin, small end, big end one was weighed, and counts for all"
        in " ".join(words.one_for_all(found))
    )


@pytest.mark.parametrize(("values", "said"), [((2, 2, 2), "2"), ((1, 2, 4), "2 (1-4)"), ((4, 2, 2), "2 (2-4)")])
def test_a_range_is_told_where_there_is_one(values, said):
    assert words.in_range(values) == said


def test_a_tie_is_marked_and_told():
    text = choosing.SMALL + '\n[[crank]]\nname = "D"\ntarget = 700\n'
    order = worked(text)
    assert [words.number(at, order) for at in range(4)] == ["1", "2=", "3", "4="]
    assert words.first(order) == "First, and equal: A on C; A on D."
    assert words.first(worked()) == "First: A on C."


def test_what_is_not_known_ties_with_nothing_and_comes_last():
    """A set without a price is not as cheap as another without one."""
    none = worked(by="price")
    assert words.first(none) == "None comes first: what they were to be sorted by is not known of any."
    assert [words.number(at, none) for at in range(2)] == ["1", "2"]
    assert words.doubts(none, "price", METRIC) == []
    priced = choosing.SMALL.replace("target = 800", "target = 800\nprice = 5")
    for old in ("within = 0 }", "within = 3 }"):  # set A and what all have in common
        priced = priced.replace(old, f"{old[:-2]}, price = 1 }}")
    priced = priced.replace("150, within = 0, price = 1", "150, within = 0")  # a rod's goes with its big end
    one = worked(priced, "price")
    assert words.first(one) == "First: A on C."
    assert (
        words.doubts(one, "price", METRIC)[-1] == "Last, because what they are sorted by is not known of them: 2."
    )


def test_the_doubt_of_what_ties_with_the_same_parts_is_told_once():
    text = choosing.SMALL + '\n[[crank]]\nname = "D"\ntarget = 700\n'
    said = words.doubts(worked(text, "reciprocating"), "reciprocating", METRIC)
    assert len(said) == 1
    assert said[0].startswith("3 (B on C) could come before 1 (A on C): ")
    assert words.doubts(worked(text), "bobweight", METRIC) == [
        "What the masses may be off does not change this order."
    ]
    assert words.doubts(worked(text, "speed"), "speed", METRIC) == []
