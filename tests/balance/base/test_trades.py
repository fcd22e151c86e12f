"""Moves as text, and back."""

from __future__ import annotations

import pytest
from hypothesis import given
from told_apart import moves

from truethrow.balance.base import trades


@given(moves(99))
def test_moves_come_back_from_their_text_and_undo_each_other(made):
    assert trades.parse(trades.text(made)) == made
    assert trades.inverse(trades.inverse(made)) == made
    assert trades.after(trades.after({}, made), trades.inverse(made)) == {}


def test_the_text_is_always_the_same():
    assert trades.text({"rod": {2: 1, 1: 2}, "piston": {5: 3, 3: 5}}) == "piston 3>5 5>3; rod 1>2 2>1"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "'' is no move"),
        ("rod", "'rod' is no move"),
        ("rod 1>2", "left empty or taken twice"),
        ("rod 1>2 2>2", "left empty or taken twice"),
        ("rod 1>2 1>3 2>1", "left empty or taken twice"),
        ("rod 3>3", "would stay where it is"),
        ("rod 1>2 2>1; rod 3>4 4>3", "rod is there twice"),
        ("bearings 1>2 2>1", "'bearings' is nothing that changes places"),
        ("rod 0>1 1>0", "is no move"),
        ("rod 1->2 2->1", "is no move"),
    ],
)
def test_what_is_no_moves_is_refused(text, told):
    with pytest.raises(ValueError, match=told):
        trades.parse(text)
