"""A rod on two supports; against statics in tests/published/test_statics.py."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from truethrow.balance.job.levers import falls_of_a_gram, lever, pad_grams, solved

lengths = st.floats(80, 300)
places = st.floats(-0.5, 1.5)


@given(places, lengths)
def test_what_leaves_a_rod_leaves_its_two_readings(part, length):
    assert sum(lever(part * length, length)) == pytest.approx(1)


@given(st.floats(-9, 9), st.floats(-9, 9), places, places, lengths)
def test_grams_at_two_pads_lower_the_readings_by_what_they_were_to(big_g, small_g, one, other, length):
    assume(abs(one - other) > 0.05)
    at = one * length, other * length
    grams = pad_grams(big_g, small_g, *at, length)
    falls = [falls_of_a_gram(pad, mm, length) for pad, mm in zip(("big_end", "small_end"), at, strict=True)]
    for kind, wanted in (("big_end", big_g), ("small_end", small_g)):
        assert sum(g * fall[kind] for g, fall in zip(grams, falls, strict=True)) == pytest.approx(wanted, abs=1e-9)


def test_what_has_one_reading_loses_there_what_it_loses():
    assert falls_of_a_gram("piston", None, 155.0) == {"piston": 1.0}


def test_two_pads_at_one_place_are_refused():
    with pytest.raises(ValueError, match="both pads are at 20"):
        pad_grams(1.0, 1.0, 20.0, 20.0, 155.0)


def test_pads_that_lower_both_ends_in_one_proportion_are_no_two():
    with pytest.raises(ValueError, match="in one proportion"):
        solved(3.0, 1.2, (0.5, 0.5), (1.0, 1.0))
