"""A job as a question in whole numbers: what arrangements weigh, and which rules they break."""

import dataclasses

import numpy as np
import pytest
import questions

from truethrow.balance.matching.question import nanograms, share_of, spread


@pytest.mark.parametrize(
    ("share", "largest", "fraction"),
    [(0.5, 10**6, (1, 2)), (0.48, 10**6, (12, 25)), (0.123456789, 10**6, (10, 81)), (0.485, 100, (16, 33))],
)
def test_a_share_is_the_nearest_fraction_of_whole_numbers(share, largest, fraction):
    """12/25 is 0.48; 10/81 is 0.123456790; 0.485 is 97/200, too fine for 100, and 16/33 is 0.00015 beside it."""
    assert share_of(share, largest) == fraction


def test_what_an_arrangement_weighs_is_the_sum_of_its_parts_by_hand():
    asked = questions.question(2, units=("rod", "piston"), share=0.48)
    draw = np.random.default_rng(1)
    arrangement = np.array([draw.permutation(8), draw.permutation(8)])
    found = asked.masses(arrangement)
    rods, pistons = asked.units
    in_g = asked.per_g
    throws = [0.0] * 4
    for cylinder in range(8):
        rod, piston = arrangement[:, cylinder]
        slides = (rods.reciprocating[rod] + pistons.reciprocating[piston]) / in_g
        turns = rods.rotating[rod] / in_g
        assert found.reciprocating[cylinder] / in_g == pytest.approx(slides)
        assert found.rotating[cylinder] / in_g == pytest.approx(turns)
        throws[asked.throw_of[cylinder]] += turns + 0.48 * slides
    assert found.bobweight / in_g == pytest.approx(throws)
    assert spread(found.bobweight) / in_g == pytest.approx(max(throws) - min(throws))


def test_every_broken_rule_counts():
    """Rod 0 is kept out of cylinder 0, and rod 1 from piston 1; as listed both rules are broken."""
    asked = questions.question(3, "inline-4", units=("rod", "piston"))
    assert not asked.bound_by_rules
    allowed, fits = np.ones((4, 4), dtype=bool), np.ones((4, 4), dtype=bool)
    allowed[0, 0] = fits[1, 1] = False
    ruled = dataclasses.replace(
        asked, units=(asked.units[0]._replace(allowed=allowed), asked.units[1]), pairs={(0, 1): fits}
    )
    assert ruled.bound_by_rules
    listed = questions.as_listed(ruled)
    turned = np.array([[1, 0, 2, 3], [0, 1, 2, 3]])
    assert ruled.broken(np.array([listed, turned])).tolist() == [2, 0]
    assert ruled.allows(turned)
    assert not ruled.allows(listed)


def test_throws_are_twins_until_something_tells_them_apart():
    asked = questions.question(1)
    assert len(set(asked.throw_classes)) == 1
    oil = asked.oil.copy()
    oil[2] = 1
    assert len(set(dataclasses.replace(asked, oil=oil).throw_classes)) == 2


def test_the_parts_sit_where_they_sit():
    asked = questions.question(1, units=("rod",))
    turned = asked.units[0]._replace(sits=np.array([2, 0, 1, 3, 4, 5, 6, 7]))
    now = dataclasses.replace(asked, units=(turned,)).now
    assert now[0].tolist() == [1, 2, 0, 3, 4, 5, 6, 7]


def test_grams_are_whole_nanograms():
    assert nanograms([538.4, 0.1 + 0.2]) == [538_400_000_000, 300_000_000]
