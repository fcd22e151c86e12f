"""Numbers as people type them in a cell, and what stands between several."""

from __future__ import annotations

import pytest

from truethrow.balance.job.sheet_numbers import TwoWays, as_number, as_written, decimal_marks, several


@pytest.mark.parametrize(
    ("cell", "pieces"),
    [
        ("538.4/538.5", ["538.4", "538.5"]),
        ("538.4 538.5 538.6", ["538.4", "538.5", "538.6"]),
        ("538,4; 538,5", ["538,4", "538,5"]),
        ("538.4, 538.5", ["538.4", "538.5"]),
        ("538.412 538.415", ["538.412", "538.415"]),
        ("538 / 540", ["538", "540"]),
        ("18 1/2 oz", ["18 1/2 oz"]),
        ("1 234.5", ["1 234.5"]),
        ("1.234 567", ["1.234 567"]),
        ("538.4 and more", ["538.4 and more"]),
        ("", [""]),
    ],
)
def test_several_readings_of_one_cell_are_several_and_no_number_is_torn(cell, pieces):
    assert several(cell) == pieces


def test_a_light_part_tells_that_its_mark_is_a_decimal_one():
    assert decimal_marks([("3,204", "locks")], 50_000) == {","}
    assert decimal_marks([("3,204", "piston")], 50_000) == set()
    assert decimal_marks([("538,412", "piston")], 3_000) == {","}


def test_what_nothing_tells_is_not_guessed():
    with pytest.raises(TwoWays):
        as_number("1,234", set())
    assert as_number("1,234", {","}) == ("1.234", "")
    assert as_number("1,234", {"."}) == ("1234", "")


@pytest.mark.parametrize(
    ("typed", "written"),
    [("538,4", "538.4"), ("18 1/2 oz", "18.5 oz"), ("1 lb 2 oz", "18 oz"), (" 538 ", "538"), ("0,5 kg", "0.5 kg")],
)
def test_a_quantity_alone_is_written_as_a_job_file_has_it(typed, written):
    assert as_written(typed) == written
