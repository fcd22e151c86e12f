"""A matching as data."""

import json

import pytest
from scattered_jobs import matched, scattered

from truethrow.worksheets.data.matching_data import as_data
from truethrow.worksheets.shown.display import Display

SHOW = Display("g", "mm", 0.1)


def test_every_cylinder_has_its_parts_and_what_they_weigh_there():
    found = matched(scattered(labelled=True), match={"aims": ["bobweight", "residual"]})
    data = as_data(found, SHOW)
    assert json.loads(json.dumps(data)) == data
    job = found.matched.job
    for own in data["cylinders"]:
        parts = job.parts[own["cylinder"]]
        assert own["piston"]["label"] == job.labels[own["cylinder"]]["piston"]
        assert own["piston"]["goes_in"] == own["cylinder"]
        turns = parts["big_end"].mean_g + parts["bearings"].mean_g
        assert own["rotating_g"] == pytest.approx(turns)
        assert own["contribution_g"] == pytest.approx(turns + 0.5 * own["reciprocating_g"])


def test_moves_lead_from_where_a_part_sits_to_where_it_is_told_to_go():
    found = matched(scattered(labelled=True), match={"aims": ["bobweight"]})
    data = as_data(found, SHOW)
    for unit, moves in data["moves"].items():
        for start, to in moves.items():
            assert found.now.job.labels[int(start)][unit] == data["cylinders"][to - 1][unit]["label"]
    assert list(data["compared"]) == ["as_they_sit", "by_hand", "matched"]


def test_what_no_cut_can_mend_is_told_beside_the_metal_and_has_no_bound():
    """No pad gives anything, and the pistons' spread is outside: all of it stays over the limit."""
    none = {"piston": 0.0, "big_end_pad": {"at": -48.0, "most": 0.0}, "small_end_pad": {"at": 182.0, "most": 0.0}}
    found = matched(limits={"piston": 0.5}, trim=none, match={"aims": ["grams"]})
    (aim,) = as_data(found, SHOW)["aims"]
    assert aim["over_limits_g"] > 1
    assert aim["value"] == 0
    assert aim["bound"] in (None, aim["value"])
