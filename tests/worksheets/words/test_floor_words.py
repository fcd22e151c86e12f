"""What the shop's screens say."""

from typing import get_args

from truethrow.worksheets.pages.floor.state import Role, Standing
from truethrow.worksheets.words import floor_words as words


def test_every_standing_of_a_load_says_what_to_do_now():
    assert words.DO.keys() == set(get_args(Standing))
    assert all(words.DO.values())


def test_what_stands_above_the_part_fits_on_a_phone():
    """In letters of 20 px, of which the widest are 0.9 em and most are 0.6, on 336 px."""
    assert max(map(len, (*words.DO.values(), words.DO_TYPE, words.DO_GRIND, words.DO_STOP))) <= 28


def test_every_button_says_what_it_does_and_every_role_what_it_may():
    assert words.DOES.keys() == words.KEYS.keys()
    assert words.MAY.keys() == set(get_args(Role))
