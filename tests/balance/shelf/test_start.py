"""The first choice is no worse than assignment in turn."""

from __future__ import annotations

import pytest
from pools import alternating, invented, match


@pytest.mark.parametrize(("count", "seed", "target_g"), [(40, 11, 7.0), (40, 12, 7.0), (200, 13, 3.0)])
def test_assignment_in_turn_is_never_better(count, seed, target_g):
    shelf = invented(count, seed)
    found = match(shelf, seconds=1.2)
    assert found.cost_g <= alternating(shelf) + 1e-9
    assert found.cost_g <= found.sorted_g <= found.as_came_g
    assert found.bound_g <= found.cost_g
    assert found.cost_g / len(found.engines) <= target_g
