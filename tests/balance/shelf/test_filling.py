"""Which part of an engine goes in which cylinder."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from pools import invented, match


def test_the_trades_are_the_best_order_there_is():
    shelf = invented(8, 14)
    (engine,) = match(shelf, seconds=0.3).engines
    gives = [s.reciprocating_g * 0.5 + s.big_end_g for s in engine.filled_places]
    least = np.inf
    for order in itertools.permutations(range(8)):
        pairs = [gives[order[i]] + gives[order[i + 1]] for i in range(0, 8, 2)]
        least = min(least, max(pairs) - min(pairs))
    assert engine.bobweight_spread_g == pytest.approx(least, abs=1e-6)
