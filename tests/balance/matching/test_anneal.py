"""Swaps that are cooled find what is cheapest; whether it is the best of all is proved elsewhere."""

import dataclasses
import math

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


def slowly(asked, price, start, seed, *, hot, cold, sweeps):
    """Metropolis' rule chain by chain, with the same draws: a swap that costs less is made, one that costs more
    with the odds exp(-more / temperature); the temperature falls by equal parts from hot to cold."""
    draw = np.random.default_rng(seed)
    units, cylinders = start.shape
    chains = list(draw.permuted(np.broadcast_to(start, (CHAINS, units, cylinders)), axis=-1))
    chains[0] = start
    costs = [float(price(chain[np.newaxis])[0]) for chain in chains]
    least, best = min(costs), chains[costs.index(min(costs))]
    for sweep in range(sweeps):
        temperature = hot * (cold / hot) ** (sweep / (sweeps - 1))
        for _ in range(units):
            unit = draw.integers(units, size=CHAINS)
            one, other = draw.integers(cylinders, size=(2, CHAINS))
            moved, fresh = [], []
            for at, chain in enumerate(chains):
                swapped = chain.copy()
                swapped[unit[at], one[at]] = chain[unit[at], other[at]]
                swapped[unit[at], other[at]] = chain[unit[at], one[at]]
                moved.append(swapped)
                fresh.append(float(price(swapped[np.newaxis])[0]))
            odds = draw.random(CHAINS)
            for at in range(CHAINS):
                more = fresh[at] - costs[at]
                if more <= 0 or odds[at] < math.exp(-more / temperature):
                    chains[at], costs[at] = moved[at], fresh[at]
            if min(costs) < least:
                least, best = min(costs), chains[costs.index(min(costs))]
    return best


@pytest.mark.parametrize(("seed", "sweeps"), [(1, 6), (2, 3)])
def test_each_swap_is_made_by_metropolis_rule(seed, sweeps):
    """On an engine on which so few sweeps do not find the best."""
    asked = questions.question(seed, "v8-90-crossplane", ("rod", "piston", "pin"))
    price, best = found(asked, seed, sweeps=sweeps, enough=-1.0)
    assert np.array_equal(
        best, slowly(asked, price, questions.as_listed(asked), seed, hot=2.0, cold=0.01, sweeps=sweeps)
    )
    assert price(best[np.newaxis])[0] > 0.05
