"""A replacement in sentences."""

import invented
import pytest

from truethrow.balance.job.replaced import OldRecord
from truethrow.balance.result.fitting import tried
from truethrow.balance.result.replacing import replacement
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import replace_words as words


def wanted(unit="piston", labels=None, **tables):
    parts = invented.cylinders(piston={2: 538.6})
    for number, own in (labels or {}).items():
        parts[number - 1]["labels"] = own
    made = {"limits": {"piston": 1.0, "bobweight": 3.0}, "trim": {"piston": 5.0}} | tables
    return replacement(invented.build(invented.document(parts, **made)), unit, 3)


def show(one):
    return Display.of(one.job)


@pytest.mark.parametrize(
    ("mass", "said"),
    [
        (538.4, "nothing"),
        (540.0, "0.8 off it"),
        (537.2, "3.0 off 7 parts"),
        (400.0, "nothing: still OUTSIDE"),
    ],
)
def test_what_it_takes(mass, said):
    """Of 538.4 six times and 538.6, a limit of 1.0 less ± 0.115 leaves 0.8 to both sides: down to 538.0 beside
    537.2 it is 6 · 0.4 + 0.6 = 3.0; a pad of 5 g does not reach to 400, and nothing is ground for nothing."""
    one = wanted()
    assert words.taken(tried(one, {"piston": mass}), show(one)) == said


def test_what_a_rod_loses_is_told_end_by_end():
    one = wanted("rod", limits={"big_end": 1.0, "small_end": 1.0})
    trial = tried(one, {"big_end": 454.0, "small_end": 171.2})
    assert words.taken(trial, show(one)) == "0.7 + 0.0 off it"
    assert words.take_off(one) == "take off (big end + small end)"


def test_what_holds_a_window_is_a_part_or_a_throw():
    one = wanted(labels={2: {"piston": "P2"}})
    piston, bobweight = one.leeways
    assert words.holds(piston, "2", show(one), one.job.names) == "piston 1.0: piston P2 (sits in 2)"
    assert words.holds(bobweight, "1", show(one), one.job.names) == "bobweight 3.00: throw 1"
    assert words.reading(bobweight) == "0.5 × piston"
    low, high = words.bounds(piston, show(one))
    assert (low, high) == ("537.72", "539.28")


def test_what_is_next_is_in_the_order_of_the_hands():
    one = wanted(labels={3: {"piston": "P3"}})
    steps = words.next_steps(one, [OldRecord("b-2", "read"), OldRecord("b-1", "cut")], ())
    assert steps == [
        "truethrow strike JOB b-2 --why 'piston P3 replaced'",
        "truethrow strike JOB b-1 --why 'piston P3 replaced'",
        "mark it P3, as the old one; or put its own mark in the job file: cylinder 3, labels, piston",
        "truethrow weigh JOB, then type go piston P3",
    ]


def test_what_the_stock_is_told():
    one = wanted(labels={3: {"piston": "P3"}})
    assert words.stock_steps(one, "X 1", "seven", "") == [
        "truethrow book stock move piston 'X 1' --job seven --cylinder 3 (once the job file has its mark)"
    ]
    assert words.stock_steps(one, "P3", "seven", "P0")[0].startswith("truethrow book stock move piston P0 (")


def test_a_set_of_rings_is_one():
    assert words.head(wanted("rings")) == "Another set of rings in the place of rings 3"
