"""The sentences of the floor's server: each is filled by what it names, and says what to do."""

from __future__ import annotations

import string

import pytest

from truethrow.worksheets.words import server_words

SENTENCES = {name: text for name, text in vars(server_words).items() if name.isupper() and isinstance(text, str)}


@pytest.mark.parametrize("name", SENTENCES)
def test_a_sentence_names_what_fills_it(name):
    fields = [field for _, field, _, _ in string.Formatter().parse(SENTENCES[name]) if field is not None]
    assert all(field.isidentifier() for field in fields)
    assert SENTENCES[name].strip() == SENTENCES[name] != ""


def test_who_is_not_let_in_is_told_how_to_be():
    assert "ask for a code" in server_words.NOT_PAIRED
    for text in (server_words.WRONG_CODE, server_words.TOO_MANY_GUESSES):
        assert "ask for a new one" in text
