"""What is asked of a matched set, and how a throw is told."""

from __future__ import annotations

from truethrow.balance.base.parts import KINDS
from truethrow.worksheets.words import tally_words


def test_every_kind_of_a_bobweight_is_asked_for():
    assert set(tally_words.ASKED) == {kind.name for kind in KINDS if kind.motion != "check"}


def test_one_throw_and_several_are_told_as_one_says_it():
    assert tally_words.each_throw(1, 2) == "The throw carries 2 cylinders."
    assert tally_words.each_throw(4, 1) == "Each of the 4 throws carries one cylinder."


def test_an_option_is_written_with_dashes():
    assert tally_words.option("small_end") == "--small-end"
    assert tally_words.says("small_end") == "small end"
