"""The search ends when it is told to, with the best so far."""

from __future__ import annotations

import itertools

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
