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
