"""The kinds of part: what moves together, what a cut changes, what a sum counts."""

import pytest

from truethrow.balance.base import parts


def test_each_kind_that_is_weighed_turns_or_slides_and_none_does_both():
    weighed = {kind.name for kind in parts.KINDS} - {"rod_total"}
    turning, sliding = set(parts.SUMS["rotating"]), set(parts.SUMS["reciprocating"])
    assert turning | sliding == weighed
    assert not turning & sliding


@pytest.mark.parametrize(
    ("pad", "changed"),
    [
        ("piston", {"piston"}),
        ("pin", {"pin"}),
        ("big_end", {"big_end", "small_end", "rod_total"}),  # a rod on two supports: both readings move
        ("small_end", {"big_end", "small_end", "rod_total"}),
        ("locks", set()),
    ],
)
def test_a_cut_changes_all_that_is_read_of_its_part(pad, changed):
    assert set(parts.moved_by_cut(pad)) == changed
    assert changed <= set(parts.CUTTABLE)


@pytest.mark.parametrize(
    ("unit", "kinds"), [("rod", ("big_end", "small_end")), ("pin", ("pin",)), ("bearings", ("bearings",))]
)
def test_what_a_part_weighs_is_told_by_its_readings_without_the_check(unit, kinds):
    assert parts.weighed_by(unit) == kinds


def test_no_name_of_a_part_means_two():
    names = [name for kind in parts.KINDS for name in {kind.name, kind.label, *kind.also_called}]
    assert len(names) == len(set(names))
