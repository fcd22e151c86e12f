"""Whether what lies on the scale can be the part asked for, and which part, read first, is none of its set."""

from __future__ import annotations

import pytest
from benches import bench
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.job.plausible_masses import BESIDE
from truethrow.balance.weighing.belongs import Doubt, alone, doubt
from truethrow.balance.weighing.benchjob import WeighStep


@pytest.mark.parametrize(("grams", "is_one"), [(538.9, False), (545.0, False), (112.1, True), (1077.0, True)])
def test_what_is_grossly_off_waits(blank, grams, is_one):
    session = bench(blank())
    for typed in ("538.0", "538.4", "538.9"):
        session.take(typed)
    assert bool(doubt(session.now, WeighStep(4, "piston"), grams)) == is_one


@pytest.mark.parametrize(("grams", "is_one"), [(480.0, False), (540.0, False), (112.1, True), (0.7, True)])
def test_of_one_sister_only_what_is_grossly_off_waits(blank, grams, is_one):
    session = bench(blank())
    session.take("538.0")
    assert bool(doubt(session.now, WeighStep(2, "piston"), grams)) == is_one


@pytest.mark.parametrize(("grams", "is_one"), [(112.1, False), (538.3, True), (541.9, True), (300.0, False)])
def test_the_first_of_a_kind_is_no_part_of_another_kind(blank, grams, is_one):
    """A piston of 538 g left on the scale when the pins begin; or what is too heavy for a pin of such a piston."""
    session = bench(blank())
    session.take("538.0")
    assert bool(doubt(session.now, WeighStep(1, "pin"), grams)) == is_one


def test_a_ring_set_is_no_bearing_pair(blank):
    """41 g among bearings of 46 g: 11 % off, which no part of a set is."""
    session = bench(blank())
    for cylinder, typed in ((1, "46.0"), (2, "46.2")):
        session.go(cylinder, "bearings")
        session.take(typed)
    assert doubt(session.now, WeighStep(3, "bearings"), 41.3)
    assert not doubt(session.now, WeighStep(3, "bearings"), 47.9)


def test_of_light_parts_a_few_steps_of_the_scale_are_no_other_part(blank):
    session = bench(blank())
    for cylinder in (1, 2):
        session.go(cylinder, "locks")
        session.take("3.2")
    assert not doubt(session.now, WeighStep(3, "locks"), 2.8)
    assert doubt(session.now, WeighStep(3, "locks"), 2.6)


def read(blank, kind, *typed):
    """A bench that has read the parts of a kind, cylinder by cylinder."""
    session = bench(blank())
    for cylinder, grams in enumerate(typed, start=1):
        session.go(cylinder, kind)
        session.take(grams)
    return session


@pytest.mark.parametrize(
    ("kind", "grams", "found"),
    [
        ("pin", 30.0, Doubt("beside", 538.1, "piston")),
        ("big_end", 171.2, Doubt("beside", 538.1, "piston")),
        ("big_end", 452.3, None),
        ("small_end", 171.2, None),
        ("small_end", 900.0, Doubt("beside", 538.1, "piston")),
    ],
)
def test_the_first_of_a_kind_is_held_against_the_other_kinds(blank, kind, grams, found):
    session = read(blank, "piston", "538.0", "538.2")
    assert doubt(session.now, WeighStep(1, kind), grams) == found


@pytest.mark.parametrize(("grams", "is_held"), [(538.4, False), (112.1, True), (4000.0, True)])
def test_the_very_first_piston_is_held_against_the_bore(blank, grams, is_held):
    """Of 105 mm: a wrist pin on the scale, and pounds for grams."""
    found = doubt(bench(blank()).now, WeighStep(1, "piston"), grams)
    assert found == (Doubt("bore", 105.0) if is_held else None)


def test_the_rod_the_other_way_round_is_no_small_end(blank):
    session = read(blank, "big_end", "452.3", "452.0", "452.1")
    assert doubt(session.now, WeighStep(3, "small_end"), 452.1) == Doubt("kind", 452.1, "big_end", 3)
    assert doubt(session.now, WeighStep(3, "small_end"), 470.0) == Doubt("beside", 452.1, "big_end")


def test_of_two_that_are_far_apart_either_may_be_wrong(blank):
    """The first rod lay the other way round, and the second, which is right, was taken by hand: the third is not
    told that it is another part, and the first is."""
    session = read(blank, "big_end", "171.2", "452.3")
    assert doubt(session.now, WeighStep(3, "big_end"), 452.0) is None
    assert alone(session.now) == ()
    session.take("452.0")
    assert alone(session.now) == (WeighStep(1, "big_end"),)
    assert doubt(session.now, WeighStep(4, "big_end"), 171.0) == Doubt("another", 452.15)


def test_two_kinds_of_rod_in_one_engine_are_two_heaps_and_none_is_alone(blank):
    """A fork and a blade on each throw."""
    session = read(blank, "big_end", "700.0", "420.0", "701.0", "421.0", "700.5")
    assert doubt(session.now, WeighStep(6, "big_end"), 420.5) is None
    assert alone(session.now) == ()


def test_what_was_weighed_twice_or_confirmed_is_not_asked_for_again(blank):
    session = read(blank, "piston", "480.0", "538.2", "538.0")
    assert alone(session.now) == (WeighStep(1, "piston"),)
    session.go(1, "piston")
    session.take("480.1")
    assert alone(session.now) == ()


@given(st.sampled_from(sorted(BESIDE)), st.floats(0.3, 3.0))
def test_a_range_knows_no_size_of_engine(place, times):
    """What is allowed of a first part goes with the other kind's mass; each range holds its own middle."""
    least, most = BESIDE[place]
    assert 0 < least < most
    assert least * times < (least * most) ** 0.5 * times < most * times


def test_the_first_of_its_kind_that_stands_out_later_is_asked_for_again(blank):
    """A spanner of 20 g lay under the first piston: less than parts of one set may be apart, and more than these
    are. One that was flagged when it was read is not told again."""
    session = read(blank, "piston", "558.3", "538.2", "538.0")
    assert alone(session.now) == ()
    assert session.take("538.5").alone == alone(session.now) == (WeighStep(1, "piston"),)
    session.take("538.4")
    flagged = session.take("549.0")
    assert [flag.what for flag in flagged.flags] == ["outlier"]
    assert WeighStep(6, "piston") not in alone(session.now)
