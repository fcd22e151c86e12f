"""A shelf in numbers: exact masses, and what a division of it costs."""

import numpy as np
import pools
import pytest

from truethrow.balance.engine.layout import generic_layout
from truethrow.balance.shelf.pool import Part, Shelf
from truethrow.balance.shelf.problem import cost, exact, problem, total


def shelf(*pistons, layout="inline-2", **more):
    made = generic_layout(layout, 112.0)
    parts = tuple(Part("piston", label, 0.0, grams, **more.get(label, {})) for label, grams in pistons)
    return Shelf("launch-7", "g", 0.1, made, 0.5, (4.0,) * len(made.throws), {}, {"piston": parts})


FIVE = (("P1", 538.4), ("P2", 539.0), ("P3", 538.1), ("P4", 540.0), ("P5", 538.7))


def test_masses_are_whole_nanograms_and_the_part_that_is_not_there_weighs_nothing():
    assert exact([538.4, 0.1 + 0.2]).tolist() == [538_400_000_000, 300_000_000, 0]


def test_two_engines_of_two_out_of_five_pistons_leave_one_over():
    found = problem(shelf(*FIVE), 2)
    assert (found.cylinders, found.engines, found.rows) == (2, 2, 3)
    assert [part.label for part in found.parts["piston"]] == ["P3", "P1", "P5", "P2", "P4"]


def test_the_order_of_the_files_decides_nothing():
    assert problem(shelf(*FIVE), 2).parts == problem(shelf(*reversed(FIVE)), 2).parts


def test_a_division_costs_what_brings_each_engine_to_its_lightest():
    """By hand: 538.1 beside 538.4, and 538.7 beside 540.0: 0.3 + 1.3 g; P2 stays over."""
    found = problem(shelf(*FIVE), 2)
    division = {"piston": np.array([[0, 1], [2, 4], [3, -1]])}
    reciprocating, big = cost(found, division)
    assert (reciprocating / 1e9).tolist() == pytest.approx([0.3, 1.3])
    assert big.tolist() == [0, 0]
    assert total(found, division) / 1e9 == pytest.approx(1.6)


def test_big_ends_cost_beside_reciprocating_masses():
    found = problem(pools.invented(8, 3), 1)
    everything = {kind: np.arange(8)[np.newaxis] for kind in found.parts}
    rods, sums = found.parts["rod"], []
    for at in range(8):
        sums.append(sum(found.parts[kind][at].reciprocating_g for kind in found.parts))
    bigs = [rod.big_end_g for rod in rods]
    by_hand = sum(sums) - 8 * min(sums) + sum(bigs) - 8 * min(bigs)
    assert total(found, everything) / 1e9 == pytest.approx(by_hand, abs=1e-6)


def test_a_bank_counts_once_a_part_asks_for_one():
    plain = shelf(*FIVE, layout="vtwin-90")
    assert problem(plain, 1).cylinder_banks.tolist() == [0, 0]
    asking = shelf(*FIVE, layout="vtwin-90", P1={"bank": "left"})
    assert sorted(problem(asking, 1).cylinder_banks.tolist()) == [1, 2]
