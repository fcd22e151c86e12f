"""What the builder's page says."""

from typing import get_args

from truethrow.worksheets.pages.floor.build_state import Stage
from truethrow.worksheets.words import build_words as words


def test_every_stage_says_what_to_do_now_in_few_words():
    assert {*words.DO} == {*get_args(Stage)}
    assert all(len(said) <= 34 for said in words.DO.values())
