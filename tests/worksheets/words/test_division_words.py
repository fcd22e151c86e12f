"""A station that reads divisions, in sentences."""

from typing import get_args

from meter_shop import Meter, polar

from truethrow.balance.station import balancing
from truethrow.balance.station.divisions import Ended
from truethrow.worksheets.words import division_words


def test_every_end_of_the_fourth_run_has_its_sentence():
    assert set(division_words.ENDED) == set(get_args(Ended))
    assert len(set(division_words.ENDED.values())) == 4


def test_a_reading_in_divisions():
    assert division_words.polar(polar(8.5, 60)) == "8.50@60"


def test_what_is_kept_is_said_once_it_is_proved(tmp_path):
    meter = Meter(tmp_path, [[0.02, 0], [0, 0.03j]])
    meter.crank = [polar(900, 40), polar(700, 200)]
    meter.spin(*meter.shows())
    state = balancing.load(meter.job, meter.profile)
    assert division_words.kept(state) == ""
    assert "in divisions" in division_words.in_divisions(state.last)
    meter.as_told()
    state = balancing.load(meter.job, meter.profile)
    assert "at 500 r/min, with these bobweights" in division_words.kept(state)
    assert division_words.in_divisions(state.last) == ""
