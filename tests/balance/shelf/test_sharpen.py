"""A division is never the worse for being sharpened, and what a swap is said to gain is what it gains by hand."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from pools import SCATTERS, invented

from truethrow.balance.shelf import sharpen
from truethrow.balance.shelf.problem import problem, total
from truethrow.balance.shelf.start import sorted_start


def soft_lightest(masses, softness):
    return -softness * math.log(sum(math.exp(-(mass - min(masses)) / softness) for mass in masses)) + min(masses)


def soft_value(found, ids, softness):
    """Of all engines, cylinder by cylinder."""
    value = 0.0
    for engine in range(found.engines):
        cylinders = range(found.cylinders)
        x = [float(sum(found.reciprocating[kind][at[engine, c]] for kind, at in ids.items())) for c in cylinders]
        value += soft_lightest(x, softness)
        if "rod" in ids:
            value += soft_lightest([float(found.big[ids["rod"][engine, c]]) for c in cylinders], softness)
    return value


@pytest.mark.parametrize("kinds", [("rod", "piston", "pin"), ("piston", "pin")])
def test_what_a_swap_gains_is_what_it_gains_by_hand(kinds):
    found = problem(invented(8, 3, "inline-4", kinds), 2)
    ids, softness = sorted_start(found, 1), 3e8
    for move in sharpen.moves_of(found, together=False):
        gains = sharpen._gains(found, ids, move, softness)
        for here, there in itertools.product(range(8), range(8)):
            if here // 4 == there // 4:
                assert gains[here, there] == -np.inf
                continue
            after = {kind: at.copy() for kind, at in ids.items()}
            for kind in move:
                flat = after[kind].reshape(-1)
                flat[[here, there]] = flat[[there, here]]
            by_hand = soft_value(found, after, softness) - soft_value(found, ids, softness)
            assert gains[here, there] == pytest.approx(by_hand, abs=1e3)  # of some 1e8 nanograms


@pytest.mark.parametrize("scatter", SCATTERS)
def test_a_division_gets_better_and_keeps_its_parts(scatter):
    found = problem(invented(43, 5, scatter=scatter), 5)
    start = sorted_start(found, 1)
    after = sharpen.sharpened(found, start)
    assert total(found, after) < total(found, start)
    for kind, at in after.items():
        assert sorted(at.ravel()) == sorted(start[kind].ravel())
        assert np.array_equal(at[5:], start[kind][5:])


def test_of_swaps_each_engine_makes_one_at_a_time_and_only_what_gains():
    found = problem(invented(24, 6), 3)
    ids = sorted_start(found, 1)
    before = soft_value(found, ids, 3e8)
    assert sharpen._swap_best(found, ids, ("piston",), 3e8) == 1  # the third engine has no other
    assert soft_value(found, ids, 3e8) > before


def test_where_parts_ask_for_a_bank_or_a_piston_or_are_very_many_it_leaves_them_alone():
    assert sharpen.reaches(problem(invented(80, 2), 10))
    assert not sharpen.reaches(problem(invented(8, 2), 1))
    assert not sharpen.reaches(problem(invented(408, 2), 51))
    shelf = invented(18, 5, "v6-60-even")
    pistons = tuple(part._replace(bank="left") for part in shelf.pools["piston"][:4])
    banked = shelf._replace(pools={**shelf.pools, "piston": (*pistons, *shelf.pools["piston"][4:])})
    assert not sharpen.reaches(problem(banked, 3))
    pins = (shelf.pools["pin"][0]._replace(together=shelf.pools["piston"][0].label), *shelf.pools["pin"][1:])
    fitted = problem(shelf._replace(pools={**shelf.pools, "pin": pins}), 3)
    assert not sharpen.reaches(fitted)
    start = sorted_start(fitted, 1)
    assert sharpen.sharpened(fitted, start) is start
