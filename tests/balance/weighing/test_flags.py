"""A reading that looks wrong is flagged before it is accepted."""

from __future__ import annotations

import pytest
from benches import bench
from grinding_shop import one_piston

from truethrow.balance.log.records import Cut
from truethrow.balance.weighing.belongs import Doubt
from truethrow.balance.weighing.benchjob import WeighStep
from truethrow.balance.weighing.flags import Flag, suspect


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("18.99", [("outlier", 519.41, False, "ounces read as grams")]),
        ("545.0", [("outlier", 6.6, True, "")]),
        ("538.6", []),
    ],
)
def test_a_flag_goes_up_the_moment_a_reading_looks_wrong(blank, typed, found):
    session = bench(blank())
    for grams in ("538.0", "538.4", "538.9", "538.4"):
        session.take(grams)
    flags = session.suspect(float(typed))
    assert [(one.what, round(one.off_g, 9), one.is_above, one.mistake) for one in flags] == found
    assert session.take(typed).flags == flags


def test_repeats_apart_and_ends_that_do_not_close_are_flagged(blank):
    session = bench(blank(bench={"rod_total": True}))
    session.take("538.4")
    session.again()
    assert session.suspect(538.8) == (Flag("repeat", pytest.approx(0.4)),)
    for kind, grams in (("big_end", "452.3"), ("small_end", "171.2")):
        session.go(1, kind)
        session.take(grams)
    session.go(1, "rod_total")
    assert session.suspect(623.6) == ()
    assert session.suspect(625.0) == (Flag("closure", pytest.approx(1.5), against_g=0.5),)


def test_of_what_is_no_outlier_it_is_said_that_it_may_be_another_part(blank):
    """Two parts are too few for statistics, and a first one has none beside it."""
    session = bench(blank())
    session.take("538.0")
    assert suspect(session.now, WeighStep(2, "piston"), 480.0) == ()
    (found,) = suspect(session.now, WeighStep(2, "piston"), 112.1)
    assert (found.what, found.doubt) == ("doubt", Doubt("apart", 538.0, "piston", 1))
    (found,) = suspect(session.now, WeighStep(1, "pin"), 538.3)
    assert (found.what, found.doubt) == ("doubt", Doubt("kind", 538.0, "piston", 1))


def test_a_part_that_was_cut_is_held_against_what_the_cut_was_to_leave(tmp_path):
    """Piston 3 weighed 541.0 and 1.8 g were to come off: 539.2 is as asked, 541.0 was not ground."""
    path, log = one_piston(tmp_path)
    log.append(Cut(3, "piston", 1.8, "p"))
    now = bench(path).now
    assert suspect(now, WeighStep(3, "piston"), 539.2) == ()
    (found,) = (flag for flag in suspect(now, WeighStep(3, "piston"), 541.0) if flag.what == "cut")
    assert found == Flag("cut", pytest.approx(1.8), is_above=True, against_g=pytest.approx(539.2))
