"""What becomes of a stream of lines: each load is taken once."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from simulated_scale import STYLES, Pan

from truethrow.balance.weighing.scaleline import Frame, ScaleProfile, Trouble, read_line
from truethrow.balance.weighing.settler import Load, Settler

GRAMS = ScaleProfile()


LOADS = [538.4, 112.1, 3.2, 41.0, 171.2, 452.3, 46.0, 1.3]


def feed(settler, values, *, every_s=0.1, start_s=0.0, stable=None):
    frames = [Frame(grams, f"{grams} g", stable, "g") for grams in values]
    return [settler.feed(frame, start_s + i * every_s) for i, frame in enumerate(frames)]


def armed(profile=GRAMS):
    """A settler that has seen the scale empty."""
    settler = Settler(profile)
    feed(settler, [0.0] * 3, start_s=-0.3)
    return settler


def taken(events):
    return [event.live_g for event in events if event.take]


def played(profile, pan):
    """Every event that a script makes, line by line, and every trouble on the way."""
    settler, events, troubles = Settler(profile), [], []
    for step in pan.script():
        for line in step.data.decode("ascii", "replace").splitlines():
            match read_line(line, profile):
                case Frame() as frame:
                    events.append(settler.feed(frame, step.at_s))
                case Trouble() as trouble:
                    troubles.append(trouble.what)
                    if trouble.what not in ("flood", "overload"):
                        settler.lost()
    return events, troubles + ["zero" for event in events if event.state == "off"]


@given(
    grams=st.integers(11, 50_000).map(lambda tenths: tenths / 10),
    every_s=st.floats(0.01, 2.0),
    count=st.integers(1, 80),
    stable=st.sampled_from([None, True]),
)
def test_a_constant_feed_is_taken_exactly_once(grams, every_s, count, stable):
    events = feed(armed(), [grams] * count, every_s=every_s, stable=stable)
    enough = count >= 2 if stable else count >= 3 and (count - 1) * every_s >= 0.5
    assert taken(events) == [grams] * enough
    assert all(event.state == "taken" for event in events if event.live_g and event is events[-1]) or not enough


@given(st.lists(st.integers(2, 9), min_size=10, max_size=100), st.booleans())
def test_noise_of_more_than_a_step_is_never_taken(steps, told):
    """Each line is two steps or more from the one before, whatever the scale says of itself."""
    values, up = [500.0], 1
    for step in steps:
        values.append(500.0 + up * step * 0.1)
        up = -up
    assert taken(feed(armed(), values, stable=True if told else None)) == []


@given(st.lists(st.sampled_from([500.0, 500.1]), min_size=10, max_size=50))
def test_flutter_of_one_step_is_rest(values):
    assert len(taken(feed(armed(), values))) == 1


def test_a_scale_that_says_it_moves_is_believed():
    assert taken(feed(armed(), [500.0] * 50, stable=False)) == []


def test_a_scale_that_says_it_rests_must_show_it():
    assert taken(feed(armed(), [500.0, 500.2, 500.4, 500.6], stable=True)) == []
    assert taken(feed(armed(), [500.0, 500.2, 500.2], stable=True)) == [500.2]


def test_an_empty_pan_is_never_taken():
    events = feed(armed(), [0.0, 0.1, 0.9, 1.0] * 20 + [1.0] * 20)
    assert taken(events) == []
    # Less than a load, and more than an empty scale may show: it is to be tared.
    states = [event.state for event in events]
    assert states[:80] == ["empty"] * 80
    assert states[-10:] == ["off"] * 10


def test_a_load_goes_from_empty_by_settling_to_taken_and_away():
    events = feed(armed(), [0.0, 300.0, *[540.2] * 8, 200.0, 0.0, 0.0, 0.0])
    states = [event.state for event in events]
    assert states == ["empty"] + ["settling"] * 6 + ["taken"] * 6 + ["empty"]
    assert [event.left for event in events].index(True) == 13


@pytest.mark.parametrize("wrong", [[0.2], [54.0, 0.2]])
def test_a_broken_line_is_no_leaving(wrong):
    """The head and the tail of a line, 54 and 0.2 of 540.2, are numbers too."""
    events = feed(armed(), [540.2] * 8 + wrong + [540.2] * 20)
    assert taken(events) == [540.2]
    assert not any(event.left for event in events)


def test_on_a_slow_scale_two_lines_are_enough_to_see_a_load_leave():
    assert taken(feed(armed(), [540.2] * 4 + [0.0, 0.0] + [540.2] * 4, every_s=0.5)) == [540.2] * 2


def test_another_load_after_one_empty_line_waits_until_the_scale_is_seen_empty():
    settler = armed()
    events = feed(settler, [540.2] * 8 + [0.0] + [538.4] * 8)
    assert (taken(events), events[-1].state) == ([540.2], "early")
    assert taken(feed(settler, [0.0] * 3 + [538.4] * 8, start_s=1.7)) == [538.4]


def test_a_load_just_above_the_least_may_flutter_below_it():
    assert len(taken(feed(armed(), [1.1] * 8 + [1.0, 1.0, 1.1, 0.9, 1.0] * 10 + [1.1] * 10))) == 1


def test_the_same_load_is_taken_again_after_it_was_lifted():
    assert taken(feed(armed(), ([540.2] * 8 + [0.0] * 3) * 3)) == [540.2] * 3


def test_a_load_on_top_is_not_taken_by_itself():
    assert taken(feed(armed(), [540.2] * 8 + [652.3] * 30)) == [540.2]


def test_without_auto_a_load_waits_for_the_key():
    settler = armed(GRAMS._replace(auto=False))
    events = feed(settler, [540.2] * 10)
    assert (taken(events), events[-1].state) == ([], "stable")
    settler.taken()
    assert feed(settler, [540.2], start_s=1.0)[0].state == "taken"
    assert feed(settler, [0.0] * 3, start_s=1.1)[2].left


def test_a_load_taken_by_hand_is_not_taken_again():
    settler = armed()
    feed(settler, [540.2, 540.3])
    settler.taken()
    assert taken(feed(settler, [540.2] * 20, start_s=0.2)) == []


def test_a_repeat_without_lifting_is_weighed_anew():
    settler = armed()
    assert taken(feed(settler, [540.2] * 10)) == [540.2]
    settler.rearm()
    again = feed(settler, [540.3] * 10, start_s=1.0)
    assert [event.take for event in again].index(True) == 5


def test_the_lines_before_a_silence_prove_nothing():
    settler = armed()
    feed(settler, [540.2] * 2)
    assert taken(feed(settler, [540.2] * 2, start_s=60.0)) == []


def test_a_zero_that_is_off_stays_so_until_it_is_back():
    events = feed(armed(), [-37.0] * 10 + [0.0] * 3 + [-0.2] * 10 + [-5.0] * 6)
    off = [i for i, event in enumerate(events) if event.state == "off"]
    assert off == [*range(5, 12), 28]


def test_the_swing_of_a_lifted_load_is_no_negative_zero():
    events = feed(armed(), [540.2] * 10 + [-4.0, -2.0, 0.0, 0.0])
    assert not any(event.state == "off" for event in events)


@given(
    st.lists(st.tuples(st.floats(-1e6, 1e6), st.sampled_from([None, True, False]), st.floats(-1, 9)), max_size=60)
)
def test_no_stream_upsets_the_settler(lines):
    settler, at_s = Settler(GRAMS), 0.0
    for grams, stable, later_s in lines:
        at_s += later_s
        event = settler.feed(Frame(grams, f"{grams} g", stable, "g"), at_s)
        assert isinstance(event, Load)
        assert not event.take or grams > GRAMS.least_g


@pytest.mark.parametrize("style", sorted(STYLES))
def test_every_load_of_a_session_is_taken_once(style, as_many):
    for seed in range(as_many(8, 2)):
        loads = [round(random.Random(seed).uniform(2, 900), 1) for _ in range(25)]
        events, troubles = played(GRAMS, Pan(loads, seed=seed, style=style))
        assert taken(events) == pytest.approx(loads, abs=0.1001)
        assert sum(event.left for event in events) == len(loads)
        assert troubles == []


@pytest.mark.parametrize("lines_per_s", [3, 5, 10, 20, 50])
def test_the_pace_of_the_scale_does_not_matter(lines_per_s, as_many):
    for seed in range(as_many(10, 3)):
        events, _ = played(GRAMS, Pan(LOADS, seed=seed, lines_per_s=lines_per_s, hold_s=1.5, drift_g=0.02))
        assert taken(events) == pytest.approx(LOADS, abs=0.25)


@pytest.mark.parametrize("style", sorted(STYLES))
def test_what_goes_wrong_on_the_way_makes_no_reading_more_or_less(style, as_many):
    faults = {
        i: (name,) for i, name in enumerate(("garbage", "half", "flood", "unit", "overload", "cable", "negative"))
    }
    for seed in range(as_many(6, 2)):
        events, troubles = played(GRAMS, Pan(LOADS, seed=seed, style=style, faults=faults))
        assert taken(events) == pytest.approx(LOADS, abs=0.1001)
        assert {"garbage", "unit", "overload", "zero"} <= set(troubles)


def test_what_an_empty_scale_shows_after_the_line_was_lost_is_no_load():
    """A load of 300 g lay there when the cable came out, and was lifted while nobody saw it: 0.7 g is the zero."""
    settler = armed()
    feed(settler, [300.0] * 9)
    settler.lost()
    feed(settler, [0.7] * 9, start_s=5.0)
    assert settler.off is not None
    feed(settler, [0.0] * 9, start_s=6.0)
    assert settler.off is None
