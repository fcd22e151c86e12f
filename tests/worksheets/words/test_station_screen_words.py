"""The station's page has words for each stage, each view and each yes."""

from typing import get_args

from truethrow.cli.floor.station_acts import ACTS
from truethrow.worksheets.pages.floor.pages import VIEWS
from truethrow.worksheets.pages.floor.station_state import Stage
from truethrow.worksheets.words import station_screen_words as words


def test_each_stage_says_what_to_do():
    assert words.DO.keys() == words.STEP.keys() == set(get_args(Stage))


def test_each_view_and_each_act_has_its_word():
    assert words.VIEWS.keys() == set(VIEWS)
    assert words.YES.keys() == words.IS_RECORDED.keys() == ACTS.keys()


def test_what_is_done_now_is_short_enough_for_two_metres():
    assert max(map(len, (*words.DO.values(), *words.STEP.values()))) <= 24
