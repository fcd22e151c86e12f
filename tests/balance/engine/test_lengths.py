"""What a length that is not there would tell, in one line."""

from __future__ import annotations

import pytest

from truethrow.balance.engine.declared import EngineTable
from truethrow.balance.engine.lengths import TELLS, NotDeclared, fill_in, listed


def test_every_length_that_is_asked_for_is_a_key_of_the_engine():
    assert set(TELLS) <= set(EngineTable.model_fields)


def test_what_several_lengths_tell_is_told_once():
    said = fill_in(["stroke", "rod_length"], "my.toml")
    assert said == (
        "to see the unbalance in the planes, the station's sheet, what shakes and what to take off a rod, fill in "
        "stroke and rod_length in [engine] of my.toml"
    )


def test_what_is_not_declared_is_one_line_whatever_is_missing():
    assert NotDeclared(["stroke", "cylinder_spacing"]).lines() == [
        "engine: stroke and cylinder_spacing missing; to see the unbalance in the planes, the station's sheet and "
        "what shakes, fill in stroke and cylinder_spacing (or throw_positions) in [engine]"
    ]


@pytest.mark.parametrize(("names", "said"), [("a", "a"), ("ab", "a and b"), ("abc", "a, b and c")])
def test_a_list_is_said_as_one_says_it(names, said):
    assert listed(names) == said
