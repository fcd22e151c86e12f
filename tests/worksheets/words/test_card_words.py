"""The fixed sentences of cards: each is on a card, none is left over."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from truethrow.worksheets.words import card_words

CARDS = Path(__file__).parents[3] / "worksheets" / "cards"
NAMES = [name for name in vars(card_words) if name.isupper()]


@pytest.fixture(scope="module")
def used():
    trees = [ast.parse(path.read_text(encoding="utf-8")) for path in CARDS.glob("*.py")]
    return {node.attr for tree in trees for node in ast.walk(tree) if isinstance(node, ast.Attribute)}


@pytest.mark.parametrize("name", NAMES)
def test_every_sentence_is_on_a_card(name, used):
    assert name in used


def test_the_titles_tell_the_cards_apart():
    titles = [getattr(card_words, name) for name in NAMES if name.endswith("_TITLE")]
    assert len({*titles}) == len(titles) == 5
