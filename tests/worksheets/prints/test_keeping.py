"""The cautions stand on no page alone: they are kept with what they are about, or stand before it."""

import pytest

from truethrow.worksheets.prints.keeping import together

CAUTIONS = {"type": "cautions", "lines": ["Eyes and lungs guarded."]}
LINES = {"type": "lines", "lines": ["one"]}
PAGE_MM = 250.0


def table(rows, *, whole=True):
    return {"type": "table", "whole": whole, "rows": [["1"]] * rows}


def types(nodes):
    return [node["type"] for node in nodes]


def test_cautions_are_kept_with_the_last_block_where_it_is_low():
    made = together([LINES, LINES], CAUTIONS, PAGE_MM)
    assert types(made) == ["lines", "kept"]
    assert made[-1]["nodes"] == [LINES, CAUTIONS]


@pytest.mark.parametrize(
    "last", [table(6), table(60), table(3, whole=False)], ids=["high", "higher", "over pages"]
)
def test_before_what_is_high_they_come_first_so_that_it_is_not_pushed_away(last):
    assert together([LINES, last], CAUTIONS, PAGE_MM) == [LINES, CAUTIONS, last]


def test_before_drawings_they_come_first_whatever_is_behind_these():
    tiles, picture = {"type": "tiles", "rows": []}, {"type": "picture", "height": 60.0}
    assert types(together([table(6), LINES, tiles, LINES, picture], CAUTIONS, PAGE_MM)) == [
        *("table", "kept", "tiles", "lines", "picture")
    ]
    assert types(together([LINES, picture, picture], CAUTIONS, PAGE_MM)) == ["kept", "picture", "picture"]
    assert types(together([picture], CAUTIONS, PAGE_MM)) == ["cautions", "picture"]


def test_what_stands_side_by_side_is_as_high_as_its_highest_column():
    low = {"type": "side", "columns": [[LINES], [LINES]]}
    assert types(together([low], CAUTIONS, PAGE_MM)) == ["kept"]
    low["columns"][0] = [LINES, LINES, LINES]
    assert types(together([low], CAUTIONS, PAGE_MM)) == ["cautions", "side"]
