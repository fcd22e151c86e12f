"""The fields of a document: quantities and readings, and every fault of them named."""

from __future__ import annotations

import invented
import pytest
from full_document import document, one_fault, with_reading

from truethrow.balance.base.errors import BadInput
from truethrow.balance.job import job


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (-538.4, "is not above zero"),
        (0, "is not above zero"),
        (float("nan"), "is not a number"),
        (float("inf"), "is not a number"),
        ("1e400", "out of reach"),
        ("1e-400", "out of reach"),
        ("538,4", "takes a decimal point"),
        ("538.4 mm", "no unit of mass"),
        ("538.4 quarrel", "not a unit of mass"),
        ("heavy", "is not a number"),
        (True, "is not a number"),
        (0.04, "below one step of the scale"),
        (3000.1, "beyond the scale"),
        ([538.4, "x"], "is not a number"),
        ([[538.4]], "is not a number"),
        ([538.4] * 21, "21 readings of one part; allowed: at most 20"),
        ({"g": 538.4}, "is not a number"),
    ],
    ids=str,
)
def test_a_reading_that_no_scale_gives_is_named_by_cylinder_and_kind(value, said):
    found = one_fault(with_reading(value))
    assert found.startswith("cylinder 3, piston: ")
    assert said in found


@pytest.mark.parametrize(
    "number", ["1e400", "1e99999999999999999999", "-1e99999999999999999999", "nan", "0x" + "f" * 20_000]
)
@pytest.mark.parametrize(
    "key", ["piston", "share", "stroke", "resolution", "number", "id", "tared", "throw_positions", "mass_unit"]
)
def test_a_number_beyond_everything_is_a_fault_in_any_field(key, number):
    text = invented.text(document())
    lines = [line for line in text.splitlines() if line.split(" = ")[0] == key]
    table = {"tared": "[scale]", "throw_positions": "[engine]", "mass_unit": "[job]"}.get(key)
    wrong = (
        text.replace(table, f"{table}\n{key} = {number}", 1)
        if table
        else text.replace(lines[0], f"{key} = {number}", 1)
    )
    with pytest.raises(BadInput) as caught:
        job.build(wrong)
    assert any(key in fault.where for fault in caught.value.faults)
    assert len(str(caught.value)) < 2000


@pytest.mark.parametrize("count", [1, 2, 20])
def test_a_reading_may_be_repeated_up_to_twenty_times(count):
    made = invented.build(with_reading([538.4] * count))
    assert made.parts[3]["piston"].repeats_g == (538.4,) * count


def test_every_bad_repeat_is_named():
    with pytest.raises(BadInput, match=r"reading 2, 'x' is not a number; reading 3, -1 is not above zero"):
        invented.build(invented.document(invented.cylinders(piston={1: [541.3, "x", -1]})))
