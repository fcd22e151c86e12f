"""The fixed sentences of cards: each is on a card, or told where cards are printed; none is left over."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from truethrow.worksheets.words import card_words

HOUSE = Path(__file__).parents[3]
WHERE = ("worksheets/cards", "worksheets/prints", "cli/paper")
NAMES = [name for name in vars(card_words) if name.isupper()]


@pytest.fixture(scope="module")
def used():
    files = [path for folder in WHERE for path in (HOUSE / folder).glob("*.py")]
    nodes = [node for path in files for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))]
    named = {node.attr for node in nodes if isinstance(node, ast.Attribute)}
    return named | {node.id for node in nodes if isinstance(node, ast.Name)}


@pytest.mark.parametrize("name", NAMES)
def test_every_sentence_is_on_a_card(name, used):
    assert name in used


def test_the_titles_tell_the_cards_apart():
    titles = [getattr(card_words, name) for name in NAMES if name.endswith("_TITLE")]
    assert len({*titles}) == len(titles) == 5
