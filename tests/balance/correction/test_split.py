"""The search for the split ends by what it did."""

import math

from truethrow.balance.correction.split import _Programme


def test_the_search_ends_by_what_it_did_and_not_by_the_clock():
    solver = _Programme(0.5).highs
    assert solver.getOptionValue("time_limit")[1] == math.inf
    assert solver.getOptionValue("mip_max_nodes")[1] < 1000
