"""A shelf made into engines as CSV and as data."""

import csv
import io
import json

import pools
import pytest

from truethrow.balance.base.errors import Fault
from truethrow.balance.book.stock_shelf import Moving
from truethrow.balance.shelf.pool import Part
from truethrow.worksheets.data import shelf_data


@pytest.fixture(scope="module")
def made():
    shelf = pools.invented(16, 5)
    return shelf, pools.match(shelf)


def test_the_csv_has_a_row_a_cylinder_whose_parts_add_up(made):
    shelf, found = made
    text = shelf_data.to_csv(shelf, found)
    assert text.count("\r\n") == text.count("\n")
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert len(rows) == 16
    assert {(row["engine"], row["cylinder"]) for row in rows} == {
        (str(e), str(c)) for e in (1, 2) for c in range(1, 9)
    }
    for row in rows:  # with the locks of 3.2 g, which are the same everywhere
        parts = 3.2 + sum(float(row[name]) for name in ("piston_g", "pin_g", "small_end_g"))
        assert float(row["reciprocating_g"]) == pytest.approx(parts, abs=1e-6)
    labels = [(name, row[name]) for row in rows for name in ("piston_label", "pin_label", "rod_label")]
    assert len(labels) == len(set(labels)) == 48


def test_a_label_that_a_spreadsheet_would_run_is_guarded(made):
    shelf, found = made
    evil = shelf._replace(job_id="=1+2")
    assert {row[0] for row in list(csv.reader(io.StringIO(shelf_data.to_csv(evil, found))))[1:]} == {"'=1+2"}


def test_the_data_are_the_match_as_it_is(made):
    shelf, found = made
    data = shelf_data.as_data(shelf, found)
    assert json.loads(json.dumps(data)) == data
    assert data["grams"] == pytest.approx(sum(engine["grams"] for engine in data["engines"]))
    assert data["bound"]["grams"] <= data["grams"] <= data["sorted_by_hand_grams"]
    assert data["proved_best"] == (data["bound"]["grams"] >= data["grams"])
    for engine in data["engines"]:
        big = [own["big_end_g"] for own in engine["cylinders"]]
        assert engine["big_end_spread_g"] == pytest.approx(max(big) - min(big))
        assert engine["big_end_grams"] == pytest.approx(sum(big) - 8 * min(big))


def test_who_has_nothing_to_grind_is_not_warned_of_grinding(made):
    shelf, found = made
    assert shelf_data.as_data(shelf, found)["cautions"]
    assert shelf_data.as_data(shelf, found._replace(cost_g=0.0))["cautions"] == []


def test_what_stays_over_is_told_by_its_label(made):
    shelf, found = made
    left = found._replace(leftovers={"pin": (Part("pin", "N9", 0.0, 112.0),)}, costly=None)
    data = shelf_data.as_data(shelf, left)
    assert data["leftovers"] == {"pin": ["N9"]}
    assert data["costly"] is None


def test_an_engines_moves_are_commands_too():
    data = shelf_data.moves_data(1, "seven", [Moving("rod", "R 1", "seven", 3)], [Fault("x", "is full")])
    assert data["moves"][0]["command"] == "truethrow book stock move rod 'R 1' --job seven --cylinder 3"
    assert (data["engine"], data["job"], data["against"]) == (1, "seven", ["x: is full"])
