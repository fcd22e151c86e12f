"""Which part of an engine goes in which cylinder."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from pools import invented, match

from truethrow.balance.engine.layout import generic_layout
from truethrow.balance.shelf.filling import filling, spreads_g
from truethrow.balance.shelf.problem import problem


def test_the_trades_are_the_best_order_there_is():
    shelf = invented(8, 14)
    (engine,) = match(shelf, seconds=0.3).engines
    gives = [s.reciprocating_g * 0.5 + s.big_end_g for s in engine.cylinders]
    least = np.inf
    for order in itertools.permutations(range(8)):
        pairs = [gives[order[i]] + gives[order[i + 1]] for i in range(0, 8, 2)]
        least = min(least, max(pairs) - min(pairs))
    assert engine.bobweight_spread_g == pytest.approx(least, abs=1e-6)


def test_a_bobweight_is_what_its_cylinders_give_and_its_oil():
    """A cross-plane V8: 1 and 2 on the first throw. 10 g more in cylinder 3, 4 g more oil on the last throw."""
    gives = np.full((1, 8), 900.0)
    gives[0, 2] += 10
    layout = generic_layout("v8-90-crossplane", 112.0)
    assert spreads_g(layout, gives, (4.0,) * 4).tolist() == [10.0]
    assert spreads_g(layout, gives, (4.0, 4.0, 4.0, 8.0)).tolist() == [10.0]
    assert spreads_g(layout, gives, (4.0, 8.0, 4.0, 4.0)).tolist() == [14.0]


def test_no_engine_is_worse_filled_than_as_its_members_came():
    found = problem(invented(24, 3), 3)
    layout = generic_layout("v8-90-crossplane", 112.0)
    gives = np.random.default_rng(1).normal(900, 2, (3, 8))
    order = filling(found, layout, gives, np.zeros((3, 8), dtype=int), (4.0,) * 4)
    assert (np.sort(order, axis=1) == np.arange(8)).all()
    before = spreads_g(layout, gives, (4.0,) * 4)
    assert (spreads_g(layout, np.take_along_axis(gives, order, 1), (4.0,) * 4) <= before).all()


def least_spread_g(layout, gives, banks, sides, oil_g):
    """Every order of the members that leaves each on its bank: the least that any leaves."""
    orders = np.array(list(itertools.permutations(range(len(gives)))))
    there = banks[orders]
    orders = orders[((there == 0) | (sides == 0) | (there == sides)).all(axis=1)]
    number = {throw.name: at for at, throw in enumerate(layout.throws)}
    weights = np.zeros((len(orders), len(layout.throws))) + oil_g
    for at, place in enumerate(layout.places):
        weights[:, number[place.throw]] += gives[orders[:, at]]
    return (weights.max(axis=1) - weights.min(axis=1)).min()


@pytest.mark.parametrize("with_banks", [False, True])
@pytest.mark.parametrize("oil_g", [(4.0,) * 4, (4.0, 6.5, 4.0, 3.0)])
def test_no_order_of_all_leaves_the_throws_more_alike(oil_g, with_banks):
    """A dozen cross-plane V8s with any masses, all 40,320 orders of each (of those that the banks allow)."""
    draw = np.random.default_rng(7)
    layout = generic_layout("v8-90-crossplane", 112.0)
    found = problem(invented(96, 5), 12)
    sides = (
        np.array([{"left": 1, "right": 2}[place.bank] for place in layout.places]) if with_banks else np.zeros(8)
    )
    found = found._replace(cylinder_banks=sides.astype(int))
    gives, banks = draw.normal(900, 3, (12, 8)), np.zeros((12, 8), dtype=int)
    if with_banks:
        banks[:, sides == 1] = draw.choice((0, 1), (12, 4))
        banks[:, sides == 2] = draw.choice((0, 2), (12, 4))
    order = filling(found, layout, gives, banks, oil_g)
    sits = np.take_along_axis(banks, order, 1)
    assert ((sits == 0) | (sides == 0) | (sits == sides)).all()
    left = spreads_g(layout, np.take_along_axis(gives, order, 1), oil_g)
    for at in range(12):
        assert left[at] == pytest.approx(least_spread_g(layout, gives[at], banks[at], sides, oil_g), abs=1e-6)


def test_members_that_are_best_as_they_came_stay():
    """All throws alike already: no member moves. Two cylinders that would be as good are no reason, either."""
    layout = generic_layout("v8-90-crossplane", 112.0)
    order = filling(
        problem(invented(8, 3), 1), layout, np.full((1, 8), 900.0), np.zeros((1, 8), dtype=int), (4.0,) * 4
    )
    assert order.tolist() == [list(range(8))]
