"""Many screens on the board while several benches weigh: every screen is told each record once. How late it is
told is a benchmark: tests/bench/floor.py."""

from __future__ import annotations

import pytest
from floor_load import load

# What a record may add to the floor's memory in the second half. It is 6 to 12 kB; the board's rows or a bench's
# state, kept for each record, would be beyond it.
MOST_KB = 24.0


@pytest.mark.xdist_group("floor under load")
def test_nothing_is_lost_and_nothing_is_told_twice(tmp_path, as_many):
    found = load(tmp_path, screens=50, benches=10, seconds=as_many(60.0, 4.0))
    assert found.records >= 10
    assert (found.lost, found.doubled) == (0, 0)
    if found.records > 500:  # a few seconds tell nothing
        assert found.kilobytes_a_record < MOST_KB
