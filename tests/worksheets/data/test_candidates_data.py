"""Candidates side by side, as plain data."""

import json

import choosing
import pytest

from truethrow.balance.planning import candidates, comparing
from truethrow.worksheets.data import candidates_data


def test_it_has_every_figure_in_g_and_n():
    found = candidates.build(choosing.SMALL)
    order = comparing.ranked(comparing.candidates(found.pairs, None, None), "reciprocating")
    data = candidates_data.candidates(found, order, "reciprocating")
    assert json.loads(json.dumps(data)) == data
    first, second = data["candidates"]
    assert first["bobweight"]["value_g"] == 763.5
    assert first["at_top_speed"]["pull_n"] == pytest.approx(2 * first["at_top_speed"]["rod_bolt_n"], abs=0.02)
    assert (first["doubt_before"], first["expected"], first["price"]) == (None, None, None)
    assert second["doubt_before"]["could_change"]
    assert second["doubt_before"]["kinds"] == {"piston": pytest.approx(1.0)}
    assert data["currency"] is None
