"""Swaps that are cooled find what is cheapest; whether it is the best of all is proved elsewhere."""

import dataclasses

import numpy as np
import pytest
import questions

from truethrow.balance.matching.anneal import CHAINS, anneal
from truethrow.balance.matching.effort import Effort
from truethrow.balance.matching.question import spread


def found(asked, seed=0, *, enough=0.0, sweeps=60, effort=None):
    def price(arrangements):
        return spread(asked.masses(arrangements).bobweight) / asked.per_g

    start = questions.as_listed(asked)
    return price, anneal(
        asked, price, start, seed, hot=2.0, cold=0.01, enough=enough, sweeps=sweeps, effort=effort
    )


@pytest.mark.parametrize("seed", range(3))
def test_of_a_small_engine_the_cheapest_arrangement_is_found(seed):
    """Of two units of four parts there are 576 arrangements: all of them are tried."""
    asked = questions.question(seed, "inline-4", units=("rod", "piston"))
    price, best = found(asked)
    assert price(best[np.newaxis])[0] == pytest.approx(price(questions.every(asked)).min())


def test_every_part_is_still_there_once():
    asked = questions.question(5)
    for row in found(asked)[1]:
        assert sorted(row) == list(range(8))


def test_a_rule_is_kept_whatever_it_costs():
    """Rod 0 may sit in cylinder 3 alone."""
    asked = questions.question(4, "inline-4", units=("rod", "piston"))
    allowed = np.ones((4, 4), dtype=bool)
    allowed[0] = [False, False, False, True]
    rod = asked.units[0]._replace(allowed=allowed)
    ruled = dataclasses.replace(asked, units=(rod, asked.units[1]))
    price, best = found(ruled)
    assert best[0, 3] == 0
    assert price(best[np.newaxis])[0] == pytest.approx(price(questions.every(ruled)).min())


def test_it_ends_with_what_is_enough_or_when_its_work_is_out():
    """Where any answer is enough, or no work or time is left, one sweep is made and no more."""
    asked, looks = questions.question(6), []
    found(asked, enough=1e9, effort=Effort(1.0, lambda: float(bool(looks.append(1)))))
    assert len(looks) == 1  # at its making; what is enough needs no look at the clock
    for spent in (Effort(1.0, lambda: 0.0, looks=1), Effort(0.0, lambda: 0.0)):
        before = spent.looks
        found(asked, enough=-1.0, sweeps=50, effort=spent)
        assert spent.looks == before - len(asked.units) * CHAINS


def test_the_same_seed_finds_the_same():
    asked = questions.question(7)
    assert np.array_equal(found(asked, 3, sweeps=5)[1], found(asked, 3, sweeps=5)[1])
