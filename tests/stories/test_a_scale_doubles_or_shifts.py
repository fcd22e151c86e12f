"""The cable comes out while a part settles; the empty scale shows -3.4 g or +5 g.

By hand: who looks away from the scale lifts the part off, sees 0.0, and puts it on again; and who sees -3.4 on the
empty scale tares it before the next part, and weighs the last one again.

The whole session on a simulated scale, line by line, with the clock of those lines.
"""

from __future__ import annotations

import json

import commands
import invented
import pytest
from at_the_bench import BACK, EMPTY, OUT, bench_of, on
from within import log_path


@pytest.fixture
def weigh(blank, monkeypatch, capsys):
    return bench_of(monkeypatch, capsys, blank)


def readings(records):
    struck = {r["of"] for r in records if r["action"] == "strike"}
    return [(r["cylinder"], r["grams"]) for r in records if r["action"] == "read" and r["id"] not in struck]


@pytest.mark.parametrize("pulled", range(1, 14))
def test_a_cable_pulled_at_any_point_of_a_load_makes_no_second_reading_of_it(weigh, pulled):
    """The load settles from line 4 on, is taken at line 9, and lies there when the cable is back."""
    load = [300.0, 560.0, 541.0, 538.6, *on(538.4, 10)]

    def act(person):
        person.sees(*load[:pulled], OUT, BACK, *on(538.4, 20))
        taken_before = person.loop.session.done - 1
        assert taken_before in (0, 1)
        assert "lift off what lies there" in person.screen
        person.sees(*EMPTY)
        assert "lift off" not in person.screen
        if not taken_before:
            person.sees(*on(538.4), *EMPTY)
        person.sees(*on(539.0), *EMPTY)

    records, _ = weigh(act)
    assert readings(records) == [(1, 538.4), (2, 539.0)]


@pytest.mark.parametrize("lost", ["#!?", "538.4 pcs", "silence", "off and on"])
def test_after_any_loss_of_the_line_a_load_waits_until_the_scale_was_empty(weigh, lost):
    def act(person):
        person.sees(400.0, 538.2)
        if lost == "silence":
            person.waits(2.0)
        elif lost == "off and on":
            person.line.now_s += 4.0  # nothing is heard of it but that the lines stop for a while
        else:
            person.sees(lost)
        person.sees(*on(538.4, 30))
        assert person.loop.session.done == 1  # the zero
        assert not person.loop.enter()
        person.sees(*EMPTY, *on(538.4), *EMPTY)

    assert readings(weigh(act)[0]) == [(1, 538.4)]


@pytest.mark.parametrize("off", [-3.4, 0.3, -0.3])
def test_an_empty_scale_that_is_off_holds_everything_until_it_is_tared(weigh, off):
    def act(person):
        person.sees(*on(off))
        for _ in range(2):  # whatever is put on it and whatever is pressed
            assert f"the empty scale shows {off} g: tare it" in person.screen
            person.sees(*on(538.4 + off, 20))
            assert not person.loop.enter()
            assert not person.loop.enter("538.4")
            person.sees(*on(off))
        person.sees(*EMPTY)
        assert "tare" not in person.screen
        person.sees(*on(538.4), *EMPTY)

    assert readings(weigh(act)[0]) == [(1, 538.4)]


@pytest.mark.parametrize("off", [-3.4, 5.0])
def test_a_scale_that_is_off_when_the_session_starts_is_tared_first(weigh, off):
    def act(person):
        person.sees(*on(off))
        assert person.at_hand.kind == "zero"
        assert "tare it" in person.screen
        person.sees(*on(538.4 + off, 20))
        assert person.at_hand.kind == "zero"
        person.sees(*on(off), *EMPTY, *EMPTY)
        assert "tare" not in person.screen
        person.sees(*on(538.4), *EMPTY)

    assert readings(weigh(act, zero=False)[0]) == [(1, 538.4)]


@pytest.mark.parametrize("off", [-3.4, 5.0])
def test_a_scale_that_is_off_once_the_line_is_back_is_tared_first(weigh, off):
    def act(person):
        person.sees(*on(538.4), *EMPTY, OUT, BACK, *on(off, 12))
        assert "tare it" in person.screen
        person.sees(*on(539.0 + off, 12), *on(off, 12))
        assert person.at_hand.cylinder == 2
        person.sees(*EMPTY, *on(539.0), *EMPTY)

    assert readings(weigh(act)[0]) == [(1, 538.4), (2, 539.0)]


@pytest.mark.parametrize("off", [-3.4, 5.0])
def test_a_shift_that_shows_only_when_the_part_is_lifted_is_about_that_part(weigh, off):
    """It is said, and the part has it in its ± until it is weighed again."""

    def act(person):
        person.sees(*on(538.4), *EMPTY, *on(538.6 + off), *on(off))
        assert f"the empty scale shows {off} g: tare it" in person.screen
        assert "may be off by that much: cancel it (x) and weigh it again" in person.screen
        person.sees(*EMPTY)
        assert person.loop.strike(person.loop.target(), "the scale had shifted")
        person.sees(*on(538.6), *EMPTY)

    records, out = weigh(act)
    assert readings(records) == [(1, 538.4), (2, 538.6)]
    assert [r["grams"] for r in records if r["action"] == "zero"] == [0.0, off, 0.0]
    assert f"zero between loads reads {off} g, {abs(off)} g off" in out


def test_a_part_taken_off_before_it_rested_does_not_leave_its_rest_behind_as_a_part(weigh):
    def act(person):
        person.sees(200.0, 500.0, 538.0, 539.0, 538.0, 300.0, *on(5.0, 20))
        assert person.at_hand.cylinder == 1
        person.sees(*EMPTY, *on(538.4), *EMPTY)

    assert readings(weigh(act)[0]) == [(1, 538.4)]


@pytest.mark.parametrize("key", ["s", "b"])
def test_a_load_that_lies_there_when_a_step_is_passed_is_not_taken_for_the_next(weigh, key):
    def act(person):
        person.sees(*on(538.4), *EMPTY, 400.0, 538.9)
        person.presses(key)
        person.sees(*on(538.9, 20))
        assert "lift off what lies there" in person.screen
        person.sees(*EMPTY, *on(538.9), *EMPTY)

    records, _ = weigh(act)
    # Gone back to, a part is weighed over.
    assert readings(records) == {"s": [(1, 538.4), (3, 538.9)], "b": [(1, 538.9)]}[key]


def test_a_load_taken_is_not_taken_again_when_going_back(weigh):
    def act(person):
        person.sees(*on(538.4))
        person.presses("b")
        person.sees(*on(538.4, 30))
        assert person.loop.standing == "taken"

    assert readings(weigh(act)[0]) == [(1, 538.4)]


def test_a_session_started_anew_with_a_load_on_the_scale_takes_it_from_the_empty_scale_only(weigh, blank):
    path = blank()
    weigh(lambda person: person.sees(*on(538.4)), path)

    def act(person):
        person.sees(*on(538.4, 20))
        assert person.at_hand.kind == "zero"
        person.sees(*EMPTY, *EMPTY, *on(538.8), *EMPTY)

    assert readings(weigh(act, path, zero=False)[0]) == [(1, 538.4), (2, 538.8)]


def test_the_reference_mass_is_held_like_a_part(weigh):
    def act(person):
        person.sees(*on(-3.4), *on(496.6), *on(-3.4))
        assert person.at_hand.kind == "reference"
        person.sees(*EMPTY, *on(500.0), *EMPTY, *on(538.4))

    records, _ = weigh(act, bench={"reference": 500.0})
    assert [(r["action"], r["grams"]) for r in records] == [("zero", 0.0), ("reference", 500.0), ("read", 538.4)]


def test_a_zero_that_is_off_by_less_is_in_the_figures(weigh, blank):
    """0.2 g on the empty scale all day: nine times in a bobweight (its sensitivities add up to that), none in
    a spread, whose parts have it in common."""
    path = blank()

    def act(person):
        while (step := person.at_hand).kind not in ("zero", "reference"):
            person.sees(*on(0.2, 4), *on(invented.PARTS[step.kind] + 0.2))
        person.sees(*on(0.2))

    records, _ = weigh(act, path)
    assert len(readings(records)) == 56
    done = commands.run("sure", path, "--json")
    assert done.status == 0
    parts = {budget["figure"]: budget["zero"] for budget in json.loads(done.out)["budget"]}
    assert parts["bobweight 1"] == pytest.approx(2 * 9 * 0.2)
    assert parts["spread piston"] == 0.0


def test_of_readings_that_are_typed_it_says_that_nobody_saw_zero(blank):
    done = commands.run("weigh", blank(), stdin="538.4\n538.6\n")
    assert done.status == 0
    assert "! nobody saw what the empty scale showed before 2 readings" in done.out


def test_a_typed_zero_that_is_off_is_not_passed(blank):
    path = blank(bench={"reference": 500.0})
    done = commands.run("weigh", path, stdin="-3.4\n500\n")
    assert done.status == 2
    assert "the empty scale shows -3.4 g: tare it, then read zero again" in done.out
    assert not log_path(path).exists()
    assert commands.run("weigh", path, stdin="0.1\n500\n").status == 0


def test_a_wider_tolerance_where_the_bobweight_has_one(weigh):
    """A tenth of 28 g over 14 readings is 0.2 g a reading: twenty steps of a fine scale, not two."""

    def act(person):
        person.sees(*on(0.1), *on(538.4), *on(0.1), *on(538.6), *on(0.1))

    fine = {"resolution": 0.01, "capacity": 3000}
    assert len(readings(weigh(act, scale=fine, limits={"bobweight": 28.0})[0])) == 2
