"""The fields of a document: quantities and readings, and every fault of them named."""

from __future__ import annotations

from decimal import Decimal

import invented
import pytest
from full_document import document, one_fault, with_reading
from pydantic import ValidationError

from truethrow.balance.base.errors import BadInput
from truethrow.balance.base.fields import (
    Length,
    Readings,
    Table,
    Typed,
    Units,
    empty,
    number_within,
    one_of,
    reading_g,
    unknown_key,
    validate,
)
from truethrow.balance.base.units import NotAQuantity
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
        ("538,4", "write it with a decimal point"),
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


SCALE = Units("oz", "in", 0.1, 3000.0)


def test_a_bare_number_has_the_documents_unit_and_a_text_its_own():
    assert reading_g(19, "oz", SCALE) == pytest.approx(538.64094, abs=1e-5)
    assert reading_g("538.4 g", "oz", SCALE) == 538.4
    for typed, said in ((0, "not above zero"), ("0.05 g", "below one step"), ("4 kg", "beyond the scale")):
        with pytest.raises(NotAQuantity, match=said):
            reading_g(typed, "oz", SCALE)


class Rod(Table):
    length: Length
    weighed: Readings = Typed((), ())


def test_a_table_is_built_in_the_documents_units_or_told_fault_by_fault():
    faults = []
    made = validate(Rod, {"length": 6, "weighed": ["22 oz", 22.1]}, "rod", SCALE, faults)
    assert faults == []
    assert made.length == pytest.approx(152.4)
    assert made.weighed.texts == ("22 oz", "22.1")
    assert validate(Rod, {"lenght": 6}, "rod", SCALE, faults) is None
    assert [str(fault) for fault in faults] == [
        "rod, length: missing",
        "rod: 'lenght' is not known here (did you mean length?)",
    ]
    assert validate(Rod, 3, "rod", SCALE, faults) is None
    assert str(faults[-1]) == "rod: 3 is not a table; allowed: a table [rod]"


def test_a_table_that_is_left_out_has_its_defaults_and_cannot_be_changed():
    left_out = empty(Rod)
    assert left_out.weighed == Typed((), ())
    with pytest.raises(ValidationError):
        left_out.weighed = Typed(("1",), (1.0,))


@pytest.mark.parametrize("typed", [True, "0.5", None, float("nan"), 10**400, Decimal("NaN"), -0.1, 1.1])
def test_a_plain_number_is_a_number_within_its_reach(typed):
    check = number_within(0, 1)
    assert check(Decimal("0.48")) == 0.48
    with pytest.raises(ValueError, match="out of reach"):
        check(typed)


def test_a_word_that_is_nearly_right_is_told_the_right_one():
    check = one_of("kind-by-kind", "by-rod")
    assert check("by-rod") == "by-rod"
    with pytest.raises(ValueError, match=r"'by-rods' is not known \(did you mean by-rod\?\)"):
        check("by-rods")
    assert unknown_key("pistn", ["piston", "pin"]) == "'pistn' is not known here (did you mean piston?)"
    assert unknown_key("wheel", ["piston"]) == "'wheel' is not known here"
