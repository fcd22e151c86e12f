"""The search ends when it is told to, with the best so far."""

from __future__ import annotations

import itertools

import pytest
from pools import invented, match


def test_interrupted_it_gives_the_best_so_far():
    heard = []

    def progress(best_g, bound_g, fraction):
        heard.append((best_g, bound_g, fraction))
        if len(heard) == 3:
            raise KeyboardInterrupt

    found = match(invented(200, 15), seconds=20.0, progress=progress)
    assert found.stopped == "interrupted"
    assert found.bound_g <= found.cost_g <= found.sorted_g
    assert heard[0][0] >= heard[-1][0]


def test_the_clock_ends_the_search():
    ticks = itertools.count()
    found = match(invented(200, 16), seconds=3.0, now=lambda: float(next(ticks)))
    assert found.stopped == "time"
    assert next(ticks) == 5
    assert found.bound_g <= found.cost_g <= found.sorted_g


@pytest.mark.parametrize(
    ("count", "seed", "layout", "scatter"), [(6, 2, "vtwin-90", "two-humped"), (9, 3, "inline-3", "outliers")]
)
def test_the_search_comes_down_to_what_none_can_beat(count, seed, layout, scatter):
    """Small shelves whose bound, which is worked out without the search, can be reached: it finds a division that
    costs no more, in a second's work."""
    found = match(invented(count + seed % 3, seed, layout, scatter=scatter, more=(("pin", 2),)), seconds=1.0)
    assert found.cost_g == pytest.approx(found.bound_g, abs=1e-9)
    assert found.cost_g > 0
