"""A reading that looks wrong is flagged before it is accepted."""

from __future__ import annotations

import pytest
from benches import bench
from grinding_shop import one_piston

from truethrow.balance.log.records import Cut
from truethrow.balance.weighing.benchjob import WeighStep
from truethrow.balance.weighing.flags import Flag, is_another_part, suspect


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


@pytest.mark.parametrize(("grams", "is_one"), [(538.9, False), (545.0, False), (112.1, True), (1077.0, True)])
def test_what_is_grossly_off_must_be_another_part(blank, grams, is_one):
    session = bench(blank())
    for typed in ("538.0", "538.4", "538.9"):
        session.take(typed)
    assert is_another_part(session.now, WeighStep(4, "piston"), grams) == is_one


@pytest.mark.parametrize(("grams", "is_one"), [(480.0, False), (540.0, False), (112.1, True), (0.7, True)])
def test_of_one_sister_only_what_is_grossly_off_is_said(blank, grams, is_one):
    session = bench(blank())
    session.take("538.0")
    assert is_another_part(session.now, WeighStep(2, "piston"), grams) == is_one
    assert suspect(session.now, WeighStep(2, "piston"), grams) == ()


@pytest.mark.parametrize(("grams", "is_one"), [(112.1, False), (538.3, True), (541.9, False)])
def test_the_first_of_a_kind_is_no_part_of_another_kind(blank, grams, is_one):
    """A piston of 538 g left on the scale when the pins begin."""
    session = bench(blank())
    session.take("538.0")
    assert is_another_part(session.now, WeighStep(1, "pin"), grams) == is_one


def test_a_ring_set_is_no_bearing_pair(blank):
    """41 g among bearings of 46 g: 11 % off, which no part of a set is."""
    session = bench(blank())
    for cylinder, typed in ((1, "46.0"), (2, "46.2")):
        session.go(cylinder, "bearings")
        session.take(typed)
    assert is_another_part(session.now, WeighStep(3, "bearings"), 41.3)
    assert not is_another_part(session.now, WeighStep(3, "bearings"), 47.9)


def test_of_light_parts_a_few_steps_of_the_scale_are_no_other_part(blank):
    session = bench(blank())
    for cylinder in (1, 2):
        session.go(cylinder, "locks")
        session.take("3.2")
    assert not is_another_part(session.now, WeighStep(3, "locks"), 2.8)
    assert is_another_part(session.now, WeighStep(3, "locks"), 2.6)


def test_a_part_that_was_cut_is_held_against_what_the_cut_was_to_leave(tmp_path):
    """Piston 3 weighed 541.0 and 1.8 g were to come off: 539.2 is as asked, 541.0 was not ground."""
    path, log = one_piston(tmp_path)
    log.append(Cut(3, "piston", 1.8, "p"))
    now = bench(path).now
    assert suspect(now, WeighStep(3, "piston"), 539.2) == ()
    (found,) = (flag for flag in suspect(now, WeighStep(3, "piston"), 541.0) if flag.what == "cut")
    assert found == Flag("cut", pytest.approx(1.8), is_above=True, against_g=pytest.approx(539.2))
