"""A damaged line as data."""

import json

import pytest
from damaged_lines import CUT, READING, damaged, records

from truethrow.balance.log.damage import NEVER
from truethrow.balance.station.lost_lines import acknowledge
from truethrow.worksheets.data.damage_data import as_data


@pytest.mark.parametrize(
    ("number", "wholly", "was_done"), [(READING, False, False), (CUT, False, True), (READING, True, True)]
)
def test_what_was_done_by_it_is_told_and_what_nobody_knows_may_have_been(tmp_path, number, wholly, was_done):
    _, line = damaged(tmp_path, number, wholly=wholly)
    data = as_data(line, None)
    assert json.loads(json.dumps(data)) == data
    assert (data["number"], data["was_done"], data["acknowledged"]) == (number, was_done, None)
    assert (data["said"] is None) == wholly


def test_what_became_of_it_stands_beside_it(tmp_path):
    path, line = damaged(tmp_path, CUT)
    acknowledge(path, CUT, NEVER, "nobody ground it", by="AB")
    settled = next(one for one in records(path) if one.action == "acknowledge")
    data = as_data(line, settled)
    assert data["said"]["grams"] == 1.2
    assert (data["acknowledged"]["why"], data["acknowledged"]["by"]) == ("nobody ground it", "AB")
    assert data["raw"].startswith('{"id"')
