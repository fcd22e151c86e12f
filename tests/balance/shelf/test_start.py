"""The first choice is no worse than assignment in turn."""

from __future__ import annotations

import numpy as np
import pytest
from pools import alternating, invented, match

from truethrow.balance.shelf.problem import problem, total
from truethrow.balance.shelf.start import best_start, sorted_start


@pytest.mark.parametrize(("count", "seed", "target_g"), [(40, 11, 7.0), (40, 12, 7.0), (200, 13, 3.0)])
def test_assignment_in_turn_is_never_better(count, seed, target_g):
    shelf = invented(count, seed)
    found = match(shelf, seconds=1.2)
    assert found.cost_g <= alternating(shelf) + 1e-9
    assert found.cost_g <= found.sorted_g <= found.as_came_g
    assert found.bound_g <= found.cost_g
    assert found.cost_g / len(found.engines) <= target_g


@pytest.mark.parametrize("blocks", [1, 2])
def test_a_start_has_every_part_once(blocks):
    found = problem(invented(20, 4), 2)
    for division in (sorted_start(found, blocks), best_start(found)):
        for kind, pool in found.parts.items():
            dealt = division[kind].ravel()
            there = dealt[(dealt >= 0) & (dealt < len(pool))]
            assert sorted(there) == list(range(len(pool)))
    assert total(found, best_start(found)) <= total(found, sorted_start(found, blocks))
    assert np.array_equal(best_start(found)["rod"], best_start(found)["rod"])
