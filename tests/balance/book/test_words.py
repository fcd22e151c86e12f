"""The words by which a job is found."""

import pytest

from truethrow.balance.book.words import LONGEST, words_of


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
