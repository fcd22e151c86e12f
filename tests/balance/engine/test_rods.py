"""Two rods side by side: where each lies, and what a job cannot say of them."""

from __future__ import annotations

import invented
import pytest
from full_document import engine, faults, one_fault

from truethrow.balance.engine.layout import GENERIC

BESIDE = {"rods_apart": 24.0, "rod_in_front": "left"}


def made(**changes):
    return invented.build(invented.document(engine=invented.V8 | changes))


@pytest.mark.parametrize(("in_front", "ahead"), [("left", 1), ("right", -1)])
def test_each_rod_lies_half_the_way_before_or_behind_the_middle_of_its_throw(in_front, ahead):
    layout = made(rods_apart="2.4 cm", rod_in_front=in_front).layout
    throws = [0.0, 112.0, 224.0, 336.0]
    by_hand = [z - ahead * 12.0 if left else z + ahead * 12.0 for z in throws for left in (True, False)]
    assert layout.rods_mm == pytest.approx(by_hand)
    assert [throw.z_mm for throw in layout.throws] == throws


def test_without_the_keys_every_rod_lies_in_the_middle_of_its_throw():
    assert made().layout.rods_mm == (0, 0, 112, 112, 224, 224, 336, 336)
    assert made().engine.rods_apart_mm is None


def test_where_the_throws_have_no_place_their_order_alone_counts():
    job = made(cylinder_spacing="", **BESIDE)
    assert job.engine.spaced.rods_mm == (0, 0, 1, 1, 2, 2, 3, 3)


def test_which_rod_is_in_front_is_part_of_the_digest():
    digests = {made(**changes).digest for changes in ({}, BESIDE, BESIDE | {"rod_in_front": "right"})}
    assert len(digests) == 3


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"rods_apart": 24.0}, "engine, rod_in_front: missing; allowed: the bank whose rod is nearer the front"),
        (
            {"rod_in_front": "left"},
            "engine, rods_apart: missing; allowed: how far the two rods of a throw lie apart",
        ),
        (BESIDE | {"rod_in_front": "lefft"}, "engine, rod_in_front: 'lefft' is no bank; allowed: left, right"),
        (BESIDE | {"rods_apart": 0}, "engine, rods_apart: 0 is out of reach; allowed: a length, above 0"),
        (BESIDE | {"rods_apart": -24}, "engine, rods_apart: -24 is out of reach"),
        (BESIDE | {"rods_apart": 0.95}, "engine, rods_apart: 0.95 mm looks wrong beside a stroke of 92 mm"),
        (BESIDE | {"rods_apart": 240}, "engine, rods_apart: 240 mm looks wrong beside a stroke of 92 mm"),
        (BESIDE | {"layout": "inline-4", "rod_in_front": "line"}, "engine, rods_apart: no throw has two rods"),
        (
            BESIDE | {"layout": "v6-60-even"},
            "engine, rods_apart: no throw has two rods; allowed: two rods on one pin",
        ),
        (
            BESIDE | {"layout": "radial-3", "rod_in_front": "1"},
            "engine, rods_apart: is of two rods on a pin, and throw 1 has 3; allowed: fork-and-blade and",
        ),
    ],
    ids=lambda value: str(value)[:60],
)
def test_what_cannot_be_is_told(changes, said):
    assert any(line.startswith(said) for line in faults(engine(**changes))), faults(engine(**changes))


def test_rods_that_would_reach_the_next_throw():
    changes = BESIDE | {"rods_apart": 60, "cylinder_spacing": 50, "bore": 45}
    assert "engine, rods_apart: 60 mm, and the next throw is 50 mm away" in "\n".join(faults(engine(**changes)))


def test_of_four_banks_the_one_in_front_must_be_on_every_throw():
    places = {str(n): {"throw": (n + 1) // 2, "bank": bank} for n, bank in enumerate("abcdabcd", start=1)}
    banks = {"a": -60, "b": -20, "c": 20, "d": 60}
    changes = {"rods_apart": 24.0, "rod_in_front": "a", "banks": banks, "cylinders": places}
    assert one_fault(engine(**changes)).startswith("engine, rod_in_front: throw 2 has rods of the banks c and d")


def test_who_looked_at_it_again_says_so():
    assert made(rods_apart=4.0, rod_in_front="left", checked=["rods_apart"]).engine.rods_apart_mm == 4.0


def test_every_layout_with_two_rods_on_a_pin_takes_the_keys():
    for name in (name for name, one in GENERIC.items() if len(one.banks) == 2 and not one.pin_a_cylinder):
        count = 2 * len(GENERIC[name].throw_angles_deg)
        changed = invented.V8 | BESIDE | {"layout": name}
        layout = invented.build(invented.document(invented.cylinders(count), engine=changed)).layout
        assert {abs(place.behind_mm) for place in layout.places} == {12.0}
