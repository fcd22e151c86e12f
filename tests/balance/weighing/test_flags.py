"""A reading that looks wrong is flagged before it is accepted."""

from __future__ import annotations

import pytest
from benches import bench


@pytest.mark.parametrize(
    ("typed", "said"), [("18.99", "ounces read as grams?"), ("545.0", "6.6 g above"), ("538.6", "")]
)
def test_a_flag_goes_up_the_moment_a_reading_looks_wrong(blank, typed, said):
    session = bench(blank())
    for grams in ("538.0", "538.4", "538.9", "538.4"):
        session.take(grams)
    flags = session.suspect(float(typed))
    assert said in "".join(flags)
    assert bool(flags) == bool(said)
    assert session.take(typed).flags == flags


def test_repeats_apart_and_ends_that_do_not_close_are_flagged(blank):
    session = bench(blank(bench={"rod_total": True}))
    session.take("538.4")
    session.again()
    assert "0.4 g apart" in session.suspect(538.8)[0]
    for kind, grams in (("big_end", "452.3"), ("small_end", "171.2")):
        session.go(1, kind)
        session.take(grams)
    session.go(1, "rod_total")
    assert session.suspect(623.6) == ()
    assert "1.5 g apart, allowed 0.5 g" in session.suspect(625.0)[0]
