"""What the bench does with the lines of a scale and with what hands do."""

from __future__ import annotations

import os

import pytest
from fed_scale import EMPTY, GOOD, ON, fed, loop_on, masses, more, seat_elsewhere, shown_by

from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.weighing.scaleline import Trouble
from truethrow.cli.weighing import benchloop, benchtext


def test_a_reading_that_looks_wrong_is_taken_with_its_flag_and_the_list_goes_on(blank):
    loop = fed(
        blank(),
        [*EMPTY, *ON(538.4), *EMPTY, *ON(538.6), *EMPTY, *ON(538.2), *EMPTY, *ON(538.5), *EMPTY, *ON(545.0)],
    )
    assert loop.session.done == 5
    assert "6.5 g above the median of the others" in loop.flags[0]
    assert "! 6.5 g above" in "\n".join(text for _, text in benchtext.screen(loop, benchtext.Typing(), 80, 24))


def test_another_part_than_the_one_asked_for_waits_for_enter(blank):
    loop = fed(blank(), [*GOOD, *ON(18.9)])
    assert (loop.session.done, loop.standing) == (3, "held")
    assert "ounces read as grams?" in loop.doubts[0]
    assert "NOT TAKEN" in shown_by(loop)
    assert "taken, lift it off" not in shown_by(loop)
    assert loop.enter()
    assert masses(loop)[4] == 18.9


def test_a_flag_stays_until_the_next_thing_is_done(blank):
    loop = fed(blank(), [*GOOD, *ON(18.9)])
    for _ in range(3):
        loop.port.at_s += 1.01 * benchloop.REFRESH_S
        loop.port.lines = [(loop.port.at_s, line) for line in ON(18.9)]
        loop.poll()
    assert loop.doubts
    assert loop.standing == "held"


def test_lifting_a_doubtful_load_off_takes_nothing_and_says_so(blank):
    loop = fed(blank(), [*GOOD, *ON(18.9), *EMPTY])
    assert any("NOT taken: piston 4 is still to be weighed" in said for said in loop.messages)
    more(loop, ON(538.5))
    assert masses(loop) == {1: 538.4, 2: 538.6, 3: 538.2, 4: 538.5}


def test_a_doubtful_load_placed_anew_is_weighed_anew(blank):
    """What is on the screen is what Enter takes, never what was there before."""
    loop = fed(blank(), [*GOOD, *ON(18.9), *ON(538.3), *ON(538.3)])
    assert masses(loop)[4] == 538.3


def test_enter_does_not_take_a_load_twice(blank):
    loop = fed(blank(), GOOD[:-6])
    assert loop.session.done == 3
    assert not loop.enter()
    assert loop.session.done == 3
    assert "this load is taken" in loop.messages[-1]
    by_hand = fed(blank(), [*EMPTY, *ON(538.4)], auto=False, path_name="hand.toml")
    assert [by_hand.enter(), by_hand.enter()] == [True, False]
    assert masses(by_hand) == {1: 538.4}


@pytest.mark.parametrize("trouble", ["  OL  g", "#!?", "19.0 oz"])
def test_a_stale_number_is_not_taken(blank, trouble):
    loop = fed(blank(), [*EMPTY, *ON(538.4), trouble], auto=False)
    assert loop.live is None
    assert not loop.enter()
    assert loop.session.done == 0


def test_a_silent_scale_shows_nothing_and_says_so(blank):
    loop = fed(blank(), [*EMPTY, *ON(538.4)], auto=False)
    loop.port.at_s += 0.99 * benchloop.SILENT_S
    loop.poll()
    assert loop.live is not None
    loop.port.at_s += 0.02 * benchloop.SILENT_S
    loop.poll()
    assert loop.live is None
    assert loop.messages[-1] == "the scale is silent"


def test_a_strike_does_not_weigh_what_still_lies_there(blank):
    loop = fed(blank(), GOOD[:-6])
    target = loop.target()
    assert not loop.strike(target, " ")
    more(loop, ON(538.2))
    assert loop.session.done == 3
    assert loop.strike(target, "wrong rod")
    more(loop, ON(538.2))
    assert loop.session.done == 2
    more(loop, [*EMPTY, *ON(538.9)])
    assert masses(loop)[3] == 538.9


def test_a_load_that_lay_there_at_the_start_is_not_taken(blank):
    path = blank()
    fed(path, GOOD[:-6])
    again = fed(path, ON(538.2))
    assert (again.session.done, again.standing) == (3, "early")
    assert not again.enter()
    assert "tare it" in shown_by(again)
    more(again, [*EMPTY, *ON(538.7)])
    assert masses(again)[4] == 538.7


def test_a_part_swapped_while_the_cable_was_out_waits_until_the_scale_is_seen_empty(blank):
    loop = fed(blank(), [*EMPTY, *ON(538.4)])
    more(loop, [Trouble("cable", "the cable is out"), *ON(539.0), *ON(539.0)])
    assert (masses(loop), loop.standing) == ({1: 538.4}, "early")
    more(loop, [*EMPTY, *ON(539.0)])
    assert masses(loop) == {1: 538.4, 2: 539.0}


def test_what_is_not_saved_is_not_called_taken(blank, monkeypatch):
    loop = fed(blank(), EMPTY)
    with monkeypatch.context() as patched:
        patched.setattr(os, "fsync", lambda _: (_ for _ in ()).throw(OSError(28, "No space left on device")))
        more(loop, ON(538.4))
        assert loop.standing == "unsaved"
        assert "NOT SAVED: leave it on" in shown_by(loop)
        assert "taken, lift it off" not in shown_by(loop)
    assert loop.enter()
    assert [r.grams for r in ReadingLog(loop.session.log.path).records if r.action == "read"] == [538.4]


def test_the_step_stays_under_busy_hands_when_another_bench_weighs(blank):
    path = blank()
    west, east = loop_on(path), loop_on(path)
    west.typing = True
    east.accept("538.4")
    west._refresh()
    assert west.session.step.cylinder == 1
    assert "was weighed by bench-1; here it would be a repeat" in west.messages[-1]
    west.typing = False
    east.accept("538.5")
    west._refresh()
    assert west.session.step.cylinder == 3


def test_a_part_moved_elsewhere_meanwhile_is_said_and_its_reading_refused_once(blank):
    path = blank()
    loop = loop_on(path)
    assert loop.accept("538.4")
    seat_elsewhere(path)
    loop._refresh()
    loop._refresh()
    assert ["piston weighed in 5 (goes in 2) is asked for now" in said for said in loop.messages] == [True]
    assert not loop.accept("538.9")
    assert loop.messages[-1].startswith("refused: parts have traded places")
    assert loop.accept("538.9")
    assert masses(loop) == {1: 538.4, 2: 538.9}


def test_a_load_of_a_part_moved_elsewhere_meanwhile_is_not_taken_by_itself(blank):
    path = blank()
    loop = fed(path, [*EMPTY, *ON(538.4), *EMPTY])
    seat_elsewhere(path)
    more(loop, ON(538.9))
    assert (loop.standing, masses(loop)) == ("held", {1: 538.4})
    assert "parts have traded places" in loop.messages[-1]
    more(loop, EMPTY)
    assert "piston weighed in 5 (goes in 2) is still to be weighed" in loop.messages[-1]
    more(loop, ON(538.6))
    assert masses(loop) == {1: 538.4, 2: 538.6}


def test_a_strike_is_of_this_sessions_own_reading(blank):
    path = blank()
    one, other = loop_on(path), loop_on(path)
    one.accept("538.4")
    other._refresh()
    other.accept("538.6")
    one._refresh()
    assert one.target().grams == 538.4


def test_a_repeat_is_taken_without_lifting(blank):
    loop = fed(blank(), [*EMPTY, *ON(538.4)])
    assert loop.again()
    more(loop, ON(538.5))
    assert [(s.cylinder, s.repeats) for s in loop.session.now.sisters("piston")] == [(1, 2)]


def test_troubles_are_told_and_the_bench_goes_on(blank):
    loop = fed(blank(), ["#!?", "12 stone", "OL"])
    assert len(loop.messages) >= 2
    more(loop, [*EMPTY, *ON(538.4)])
    assert loop.session.done == 1


@pytest.mark.parametrize("auto", [True, False])
def test_zero_is_taken_of_the_empty_scale_only(blank, auto):
    loop = fed(blank(bench={"reference": 500.0}), ON(500.0), auto=auto)
    assert not loop.enter()
    more(loop, [*EMPTY, *EMPTY])
    if not auto:
        assert loop.enter()
    more(loop, ON(500.0))
    if not auto:
        assert loop.enter()
    assert [(r.action, r.when, r.grams) for r in loop.session.log.records] == [
        ("zero", "start", 0.0),
        ("reference", "start", 500.0),
    ]
