"""What to do about messages that do not say it themselves: of each of them, and of none that is gone."""

import re

import pytest

from truethrow.cli.handbook import program
from truethrow.worksheets.handbook import messages
from truethrow.worksheets.words import what_to_do


@pytest.fixture(scope="module")
def silent():
    """The messages that say nothing of what to do."""
    said = messages.messages(program())
    return [one for own in said.by_heading.values() for one in own if not one.do]


def test_hardly_a_message_is_told_in_general_what_to_do(silent):
    """One that is new may be, till it has words of its own here: one in twenty at the most."""
    general = [one.said for one in silent if one.to_do == what_to_do.ELSE]
    assert len(general) <= len(silent) / 20, general


def test_hardly_anything_is_told_of_a_message_that_is_gone(silent):
    fits = [next((pattern for pattern, _ in what_to_do.OF if re.search(pattern, one.said)), "") for one in silent]
    gone = {pattern for pattern, _ in what_to_do.OF} - set(fits)
    assert len(gone) <= len(what_to_do.OF) / 20, gone


@pytest.mark.parametrize(
    ("wrong", "must"),
    [
        ("is in other metal than one after", "drill nothing"),
        ("looks like a slip", "grind nothing by it"),
        ("does not help", "drill nothing"),
        ("was drilled already", "drill nothing more"),
        ("is another one in the book", "don't grind, drill or sign"),
        ("is this a second pass", "look at the crank"),
        ("as no cut can have left it", "grind nothing"),
        ("have traded places since", "read the marks"),
        ("sense: missing", "wrong angle"),
    ],
)
def test_where_a_hand_could_go_wrong_it_is_told_what_not_to_do(silent, wrong, must):
    found = [one for one in silent if wrong in one.said]
    assert found
    assert all(must in one.to_do for one in found)
