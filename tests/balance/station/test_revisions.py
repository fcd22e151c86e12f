"""A revision of a profile: what it means for reading has a name, and an edit says what it changed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.station.revisions import changes, read_as, revision
from truethrow.balance.station.spin import Instrument

GRAMS = Instrument("g", 100.0, True, 0.0, 0.02, 2.0, 30.0)

units = st.sampled_from([("g", 100.0), ("oz", 100.0), ("g", 120.0), ("g·mm", None), ("oz·in", None)])
instruments = st.builds(
    lambda unit, sense, zero, part, sure, floor: Instrument(*unit, sense, zero, part, sure, floor),
    *(units, st.booleans(), st.sampled_from([0.0, 40.0, 359.5])),
    *(st.sampled_from([0.0, 0.02]), st.sampled_from([0.0, 2.0]), st.sampled_from([20.0, 30.0])),
)


@given(instruments, instruments)
def test_two_are_one_revision_where_nothing_was_changed(one, other):
    assert (revision(one) == revision(other)) == (changes(one, other) == ()) == (read_as(one) == read_as(other))
    assert [said.split()[0] for said in changes(one, other)] == [said.split()[0] for said in changes(other, one)]


@pytest.mark.parametrize(
    ("edit", "told"),
    [
        ({"zero_deg": 40.0}, "zero 0 → 40"),
        ({"with_rotation": False}, "sense with → against"),
        ({"radius_mm": 101.6}, "radius 100 mm → 101.6 mm"),
        ({"unit": "oz"}, "unit g → oz"),
        ({"amount_part": 0.04}, "amount_uncertainty 2 % → 4 %"),
        ({"angle_deg": 3.0}, "angle_uncertainty 2 deg → 3 deg"),
        ({"floor_gmm": 20.0}, "floor 30 g·mm → 20 g·mm"),
    ],
)
def test_every_field_of_the_instrument_is_told_when_it_is_edited(edit, told):
    assert changes(GRAMS, GRAMS._replace(**edit)) == (told,)


def test_a_unit_is_the_same_however_it_is_written_and_a_zero_by_a_whole_turn():
    inch = GRAMS._replace(unit="oz·in", radius_mm=None)
    assert all(revision(inch._replace(unit=unit)) == revision(inch) for unit in ("oz in", "oz*in", "oz-in"))
    assert revision(GRAMS._replace(zero_deg=360.0)) == revision(GRAMS)
    assert changes(GRAMS, inch) == ("unit g → oz·in", "radius 100 mm → none")
