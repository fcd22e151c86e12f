"""What is to be looked at again, for a page: what the command line says, without its commands."""

from __future__ import annotations

import invented
import pytest
from trims import PADS

from truethrow.balance.result.doubts import faults
from truethrow.cli.floor.look_again import doubts_of, to_settle
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import build_words as words

# Down to 539.2 of a piston of 546.5 are more than its hundredth; the others are scattered below it.
UNKNOWN = {"resolution": 0.1, "repeatability": None, "rod_end_repeatability": None}
PISTONS = {1: 538.0, 2: 538.4, 3: 538.6, 4: 538.2, 5: 538.1, 6: 538.5, 7: 538.3, 8: 538.4}
BIG = {"piston": {3: 546.5} | {n: [grams] * 2 for n, grams in ((4, 544.1), (5, 542.4), (6, 540.8))}}
PLENTY = PADS | {"piston": 20.0}
FOR_A_BIG_CUT = words.FOR_A_BIG_CUT.format(share="1%")


def told(result):
    return doubts_of(result, Display.of(result.job))


@pytest.mark.parametrize(
    ("parts", "tables", "how", "again", "is_confirmable"),
    [
        ({"piston": {3: 532.4}}, {}, words.ONE_READING, ["piston 3"], True),
        ({"piston": {3: [537.9, 538.9]}}, {}, words.WRONG_ONE, ["piston 3"], False),
        ({"pin": dict.fromkeys((1, 3, 5, 7), 122.0)}, {}, words.ONE_SET, [], True),
        (BIG, {"limits": {"piston": 1.0}, "trim": PLENTY}, FOR_A_BIG_CUT, ["piston 3"], True),
    ],
)
def test_each_doubt_has_its_part_at_the_bench_and_what_may_be_done_and_no_command(
    parts, tables, how, again, is_confirmable
):
    result = invented.worked(invented.cylinders(**parts), **tables)
    found = told(result)
    assert faults(result)
    assert [one.how for one in found] == [how]
    assert [one.typed for doubt in found for one in doubt.again] == again
    assert [bool(one.right) for one in found] == [is_confirmable]
    for doubt in found:
        assert "truethrow" not in f"{doubt.said}{doubt.how}{doubt.ask}"


def test_a_set_that_is_sure_is_not_looked_at_again():
    assert told(invented.worked()) == ()


def test_what_is_too_close_to_call_has_its_parts_at_the_bench():
    result = invented.worked(invented.cylinders(piston=PISTONS), limits={"piston": 1.2}, scale=UNKNOWN)
    assert {one.typed for one in to_settle(result)} == {"piston 1", "piston 3"}
