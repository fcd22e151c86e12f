"""A replacement as plain data."""

import json

import invented

from truethrow.balance.result.fitting import cut_grid, tried
from truethrow.balance.result.replacing import replacement
from truethrow.balance.shelf.candidates import Candidate, LeftOut, Loose
from truethrow.balance.shelf.pool import Part
from truethrow.worksheets.data.replace_data import as_data, loose_data


def test_a_rods_window_its_sums_and_its_grid_are_there():
    limits = {"big_end": 1.0, "small_end": 1.0, "bobweight": 1.0}
    made = invented.build(invented.document(limits=limits))
    wanted = replacement(made, "rod", 3)
    data = json.loads(json.dumps(as_data(wanted, wanted, {}, cut_grid(wanted), None, [], ["weigh it"])))
    assert (data["window"]["big_end"]["low_g"], data["window"]["big_end"]["high_g"]) == (451.5, 453.1)
    assert data["sums"][0]["counts"] == {"small_end": 0.5, "big_end": 1.0}
    assert (data["metal_off_it"][0]["big_end_g"], data["metal_off_it"][0]["small_end_g"]) == (453.1, 172.0)
    assert data["metal_off_it"][0]["grams"] > 0
    assert data["least_metal"] is None
    assert data["next"] == ["weigh it"]


def test_loose_parts_come_with_their_mark_and_what_they_leave():
    made = invented.build(invented.document(limits={"piston": 1.0}))
    wanted = replacement(made, "piston", 3)
    loose = Loose({"X1": Candidate(Part("piston", "X1", 0.0, 538.6), "a.csv")}, (LeftOut("X2", "a.csv", "gone"),))
    data = loose_data(loose, {"X1": tried(wanted, {"piston": 538.6})}, 3)
    (one,) = data["loose"]
    assert (one["label"], one["source"], one["way"], one["grams"]) == ("X1", "a.csv", "as it is", 0.0)
    assert (one["verdict"], one["spreads_g"]) == ("inside", {"piston": 0.2})
    assert data["farther_off"] == 3
    assert data["left_out"] == [{"label": "X2", "source": "a.csv", "why": "gone"}]
