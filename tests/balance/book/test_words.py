"""The words by which a job is found."""

import pytest

from truethrow.balance.book.words import LONGEST, word_of_mark, words_of


@pytest.mark.parametrize(
    ("texts", "found"),
    [
        (("launch-7", "Pilot launch, V8"), ["7", "launch", "pilot", "v8"]),
        (("STRASSE_9", "Straße"), ["9", "strasse"]),
        (("--", ""), []),
        (("x" * 99,), ["x" * LONGEST]),
    ],
)
def test_words_are_told_apart_by_what_is_no_letter_and_no_digit(texts, found):
    assert words_of(*texts) == found


def test_the_word_of_a_mark_is_no_word_that_anybody_types():
    word = word_of_mark("rod", "R7")
    assert word != word_of_mark("piston", "R7")
    assert not any(typed.startswith("#") for typed in words_of(word))
