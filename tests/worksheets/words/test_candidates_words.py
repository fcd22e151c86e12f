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
        "B: one piston was weighed, and counts for all cylinders; what the others weigh is not in the ±."
        in words.one_for_all(found)
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


def test_the_doubt_of_what_ties_with_the_same_parts_is_told_once():
    text = choosing.SMALL + '\n[[crank]]\nname = "D"\ntarget = 700\n'
    said = words.doubts(worked(text, "reciprocating"), "reciprocating", METRIC)
    assert len(said) == 1
    assert said[0].startswith("3 (B on C) could come before 1 (A on C): ")
    assert words.doubts(worked(text), "bobweight", METRIC) == [
        "What the masses may be off does not change this order."
    ]
    assert words.doubts(worked(text, "speed"), "speed", METRIC) == []
