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


def test_cautions_are_kept_with_the_last_block():
    made = together([LINES, table(3)], CAUTIONS, PAGE_MM)
    assert types(made) == ["lines", "kept"]
    assert made[-1]["nodes"] == [table(3), CAUTIONS]


@pytest.mark.parametrize("last", [table(60), table(3, whole=False)], ids=["too high", "over pages"])
def test_before_what_fits_no_page_they_come_first(last):
    assert together([LINES, last], CAUTIONS, PAGE_MM) == [LINES, CAUTIONS, last]


def test_of_tiles_the_last_row_alone_is_kept_with_them():
    row = [{"picture": {"height": 60.0}, "rows": [["a"]]}]
    made = together([{"type": "tiles", "rows": [row] * 5}], CAUTIONS, PAGE_MM)
    assert types(made) == ["tiles", "kept"]
    assert (len(made[0]["rows"]), len(made[1]["nodes"][0]["rows"])) == (4, 1)


def test_what_stands_side_by_side_is_as_high_as_its_highest_column():
    picture = {"type": "picture", "height": 100.0}
    side = {"type": "side", "columns": [[picture], [LINES]]}
    assert types(together([side], CAUTIONS, PAGE_MM)) == ["kept"]
    side["columns"][0] = [picture, picture]
    assert types(together([side], CAUTIONS, PAGE_MM)) == ["cautions", "side"]
