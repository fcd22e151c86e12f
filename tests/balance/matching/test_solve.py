"""The matching gives the best of every arrangement, aim after aim."""

import dataclasses
import itertools
import random

import numpy as np
import pytest
import questions
from small_engines import LIMITS, answer, by_force, layouts_of, ruled

from truethrow.balance.matching import aims, solve
from truethrow.balance.matching.effort import Effort

NAMES = ("limits", "bobweight", "reciprocating", "rotating", "residual")


def test_what_stays_off_the_steps_of_what_moves_makes_the_steps_finer():
    """Pistons in whole grams, rods that stay in tenths: two spreads can be tenths apart; the better is found."""
    asked = questions.question(4, "v6-60-even", ("piston",), step_g=1.0)
    stays = questions.question(5, "v6-60-even", ("rod",))
    asked = dataclasses.replace(asked, cylinder_reciprocating=stays.units[0].reciprocating)
    assert aims.SpreadAim(asked, "reciprocating").step in (0.1, 0.2)
    found = answer(asked, ("reciprocating", "bobweight"))
    assert [aim.value for aim in found.reached] == pytest.approx(by_force(asked, ("reciprocating", "bobweight")))
    kept = solve.fewest_moves(asked, [aims.SpreadAim(asked, "reciprocating")], found.arrangement)
    assert aims.SpreadAim(asked, "reciprocating").at(kept) == found.reached[0].value


@pytest.mark.simulation(whole=60, sample=12)
def test_the_answer_is_the_best_of_every_arrangement(seed):
    """Brute force: 4 cylinders with three kinds, or up to 6 cylinders with two; aims in random order; every
    other question with random rules; every way to scatter, on scales of three resolutions. 6 cylinders with two
    kinds have 518,400 arrangements."""
    draw = random.Random(seed)
    three = seed % 2 == 0
    layout = draw.choice(layouts_of(4 if three else 6))
    units = ("rod", "piston", "pin") if three else ("rod", "piston")
    share = draw.choice([0.5, 0.5, 0.48, 0.35])
    step_g, scatter = draw.choice([0.1, 0.1, 0.01, 0.5]), draw.choice(sorted(questions.SCATTERS))
    asked = questions.question(seed, layout, units, share, step_g, LIMITS, scatter)
    if seed % 4 > 1:
        asked = ruled(asked, seed)
    names = draw.sample(NAMES, 3)
    found = answer(asked, names)
    assert [aim.value for aim in found.reached] == pytest.approx(by_force(asked, names), abs=1e-5), (layout, names)
    assert asked.allows(found.arrangement)
    assert all(aim.bound <= aim.value + 1e-9 for aim in found.reached)


def test_small_engines_are_proved(as_many):
    for seed in range(as_many(6, 3)):
        asked = questions.question(seed, "v6-90-shared", ("rod", "piston"), limits_g=LIMITS)
        found = answer(asked, ("limits", "bobweight", "reciprocating"))
        assert all(aim.proved for aim in found.reached), found.reached


@pytest.mark.parametrize("layout", ["v8-90-crossplane", "inline-6", "v6-90-shared"])
def test_the_order_of_the_rows_does_not_change_the_quality(layout, as_many):
    asked = questions.question(11, layout, limits_g=LIMITS)
    names = ("limits", "bobweight", "reciprocating", "residual")
    values = {
        tuple(round(aim.value, 6) for aim in answer(questions.shuffled(asked, seed), names).reached)
        for seed in range(as_many(4, 2))
    }
    assert len(values) == 1


def test_the_same_question_has_the_same_answer():
    asked = questions.question(5, units=("rod", "piston", "pin", "rings"))
    one, other = (answer(asked, ("bobweight", "residual")) for _ in range(2))
    assert (one.arrangement == other.arrangement).all()


def test_out_of_time_there_is_an_answer_with_its_bound():
    asked = questions.question(2, "v8-90-crossplane", limits_g=LIMITS)
    found = answer(asked, ("bobweight", "reciprocating"), seconds=0.0)
    assert (found.arrangement == questions.as_listed(asked)).all()
    assert not any(aim.proved for aim in found.reached)
    assert all(aim.bound < aim.value for aim in found.reached)


def test_broken_off_the_best_so_far_stands_with_its_bound():
    """As on Ctrl-C: the interrupt comes when the second aim is first told of."""
    asked = questions.question(2, limits_g=LIMITS)
    made = [aims.MAKERS[name](asked) for name in ("bobweight", "reciprocating", "residual")]
    listed = questions.as_listed(asked)

    def interrupt(aim, value, bound):
        if aim == "reciprocating":
            raise KeyboardInterrupt

    found = solve.solve(asked, made, listed, Effort(10, questions.by_looks()), interrupt)
    assert found.broken_off
    assert [aim.proved for aim in found.reached] == [True, False, False]
    assert aims.MAKERS["bobweight"](asked).at(found.arrangement) == found.reached[0].value


def test_no_part_more_can_go_home_without_making_something_worse():
    """Trades of two, tried one by one: each that brings a part home costs something in an aim."""
    for seed in range(4):
        asked = questions.question(seed, units=("rod", "piston"))
        found = answer(asked, ("bobweight",))
        aim = aims.MAKERS["bobweight"](asked)
        fewest = solve.fewest_moves(asked, [aim], found.arrangement)
        assert aim.at(fewest) == aim.at(found.arrangement)
        for unit, cylinder in np.argwhere(fewest != asked.now).tolist():
            other = fewest.copy()
            home = asked.now[unit, cylinder]
            there = np.flatnonzero(fewest[unit] == home)[0]
            other[unit, [there, cylinder]] = fewest[unit, cylinder], home
            assert aim.at(other) > aim.at(fewest)


def test_of_answers_as_good_the_one_with_fewest_moves():
    """Two like pins, and throws that nothing tells apart: what sits right already stays."""
    asked = questions.question(8)
    found = answer(asked, ("bobweight", "reciprocating"))
    made = [aims.MAKERS[name](asked) for name in ("bobweight", "reciprocating")]
    fewest = solve.fewest_moves(asked, made, found.arrangement)
    listed = questions.as_listed(asked)
    assert [aim.at(fewest) for aim in made] == [aim.at(found.arrangement) for aim in made]
    assert (fewest != listed).sum() <= (found.arrangement != listed).sum()
    again = answer(asked, ("bobweight", "reciprocating"), start=fewest)
    assert (solve.fewest_moves(asked, made, again.arrangement) == again.arrangement).all()


@pytest.mark.parametrize("names", [("bobweight",), ("reciprocating", "bobweight"), ("residual",)])
def test_no_order_of_twins_that_is_as_good_leaves_more_parts_where_they_are(names):
    """A cross-plane V8: its throws in all 24 orders, the two cylinders of each both ways round: 384. Of those
    that make no aim worse none has more parts at home, and where parts are sent home after that, no fewer."""
    for seed in range(5):
        asked = questions.question(seed, units=("rod", "piston"))
        made = [aims.MAKERS[name](asked) for name in names]
        draw = np.random.default_rng(seed)
        given = np.array([draw.permutation(8), draw.permutation(8)])
        values = [aim.at(given) for aim in made]
        pairs = [np.flatnonzero(asked.throw_of == throw) for throw in range(4)]
        most = 0
        for throws in itertools.permutations(range(4)):
            for ways in itertools.product((1, -1), repeat=4):
                moved = given.copy()
                for throw, other, way in zip(range(4), throws, ways, strict=True):
                    moved[:, pairs[throw]] = given[:, pairs[other][::way]]
                if all(aim.at(moved) <= value + 1e-6 for aim, value in zip(made, values, strict=True)):
                    most = max(most, int((moved == asked.now).sum()))
        fewest = solve.fewest_moves(asked, made, given)
        assert [aim.at(fewest) for aim in made] <= [value + 1e-6 for value in values]
        assert int((fewest == asked.now).sum()) >= most
        assert sorted(map(sorted, fewest.tolist())) == [list(range(8))] * 2


@pytest.mark.parametrize(
    "names", [("bobweight", "residual"), ("residual",), ("rotating", "residual", "bobweight")]
)
def test_which_of_two_rods_side_by_side_is_in_front_counts(names, as_many):
    """Brute force over 6 cylinders with two kinds: two parts that change places on one throw leave its bobweight
    as it is, and make another couple."""
    for seed in range(as_many(6, 2)):
        asked = questions.question(seed, "v6-90-shared", ("rod", "piston"), limits_g=LIMITS)
        turned = np.exp(2j * np.pi * np.array([0, 0, 1, 1, 2, 2]) / 3) * 46.0 * 0.05
        arms = np.array([turned, -turned]) * np.array([1, -1] * 3)
        asked = dataclasses.replace(asked, rod_arms_mm=arms)
        found = answer(asked, names)
        assert [aim.value for aim in found.reached] == pytest.approx(by_force(asked, names), abs=1e-5)
        assert all(aim.bound <= aim.value + 1e-9 for aim in found.reached)


@pytest.mark.parametrize("units", [("rod", "piston", "pin"), ("rod", "piston")])
@pytest.mark.parametrize("layout", ["opposed-4", "inline-4"])
def test_of_a_flat_cranks_arrangements_all_are_gone_through(layout, units):
    """Brute force over 13,824 arrangements of three kinds and 576 of two; the arms of a flat crank are not
    independent, so bobweights tell nothing of what is left in the planes."""
    for seed in range(2):
        asked = questions.question(seed, layout, units, step_g=0.01, scatter="outliers")
        (left,) = answer(asked, ("residual",)).reached
        assert left.proved
        assert [left.value] == pytest.approx(by_force(asked, ("residual",)), abs=1e-5)


@pytest.mark.parametrize(
    ("below_steps", "is_best"), [(0.0, True), (0.4, True), (0.99, True), (1.01, False), (3.0, False)]
)
def test_a_value_less_than_a_step_above_its_bound_is_the_best(below_steps, is_best):
    """Values come in whole steps: where no other lies between a bound and the value, none is better. Where one
    does, the bound is what it was."""
    aim = aims.SpreadAim(questions.question(4, "inline-4", ("piston",)), "reciprocating")
    bound = 12 * aim.step - below_steps * aim.step
    assert solve._bound(aim, bound, 12 * aim.step) == (12 * aim.step if is_best else bound)
    assert solve._bound(aim, 13 * aim.step, 12 * aim.step) == 12 * aim.step


def stage_of(asked, names, caps=(), start=None):
    """A search for the last of some aims, with what the ones before it may come to."""
    *before, aim = (aims.MAKERS[name](asked) for name in names)
    listed = questions.as_listed(asked) if start is None else start
    effort = Effort(5.0, questions.by_looks())
    return solve._Stage(asked, aim, list(zip(before, caps, strict=True)), effort, lambda *_: None, listed)


def test_the_next_value_that_an_arrangement_can_have_is_whole_steps_below():
    stage = stage_of(questions.question(3), ("bobweight",))
    step, value = stage.aim.step, stage.value
    for off, steps in ((0.0, 1), (0.2, 1), (1.0, 1), (1.001, 2), (4.0, 4), (4.5, 5), (-3.0, 1)):
        assert stage._on_steps(value - off * step) == pytest.approx(value - steps * step, abs=1e-9)


@pytest.mark.parametrize("names", [("bobweight",), ("reciprocating", "bobweight"), ("rotating", "residual")])
def test_no_single_swap_goes_further_down(names):
    """After the way down every swap of two parts of a kind is tried: none is better by more than a step and keeps
    what the aim before it came to; and it never ends higher than it began."""
    for seed in range(4):
        asked = questions.question(seed, "v6-60-even", ("rod", "piston"))
        draw = np.random.default_rng(seed)
        start = np.array([draw.permutation(6), draw.permutation(6)])
        before = [aims.MAKERS[name](asked) for name in names[:-1]]
        stage = stage_of(asked, names, [cap.at(start) for cap in before], start)
        down = stage._descended(start)
        value = stage.aim.at(down)
        assert value <= stage.aim.at(start)
        assert all(cap.at(down) <= cap.at(start) + cap.step / 2 for cap in before)
        for unit in (0, 1):
            for one, other in itertools.combinations(range(6), 2):
                swapped = down.copy()
                swapped[unit, [one, other]] = down[unit, [other, one]]
                if all(cap.at(swapped) <= cap.at(start) + cap.step / 2 for cap in before):
                    assert stage.aim.at(swapped) >= value - stage.aim.step


@pytest.mark.parametrize("names", [("bobweight",), ("reciprocating", "bobweight"), ("bobweight", "residual")])
def test_of_some_arrangements_the_best_that_keeps_what_was_reached(names):
    """A hundred at random, one after the other by hand; only what is below what is asked for counts."""
    for seed in range(4):
        asked = questions.question(seed, "v6-60-even", ("rod", "piston"))
        draw = np.random.default_rng(seed)
        some = np.array([[draw.permutation(6), draw.permutation(6)] for _ in range(100)])
        before = [aims.MAKERS[name](asked) for name in names[:-1]]
        caps = [float(np.median(cap.of(some))) for cap in before]
        stage = stage_of(asked, names, caps)
        keeps = [
            one
            for one in some
            if all(cap.at(one) <= most + cap.step / 2 for cap, most in zip(before, caps, strict=True))
        ]
        assert (len(keeps) < 100) == bool(before)
        least = min(stage.aim.at(one) for one in keeps)
        assert stage.aim.at(stage._best_of([some], 1e9)) == pytest.approx(least)
        assert stage._best_of([some], least) is None
        assert stage._keeps(some).sum() == len(keeps)


def test_an_answer_is_no_worse_if_the_first_aim_that_differs_is_less():
    """Less than half a step apart is the same; half a step and more is not."""
    made = [aims.MAKERS[name](questions.question(1)) for name in ("reciprocating", "bobweight")]
    one, other = (aim.step for aim in made)
    for values, is_so in (
        ((5 * one, 5 * other), True),
        ((4 * one, 9 * other), True),
        ((6 * one, 1 * other), False),
        ((5.4 * one, 4 * other), True),
        ((4.6 * one, 6 * other), False),
        ((5 * one, 5.4 * other), True),
    ):
        assert solve._no_worse(values, (5 * one, 5 * other), made) == is_so


@pytest.mark.parametrize("name", ["bobweight", "reciprocating", "rotating", "residual"])
def test_what_an_aim_could_be_if_it_stood_first_is_the_best_of_all(name):
    asked = questions.question(5, "inline-4", ("rod", "piston"))
    aim = aims.MAKERS[name](asked)
    effort = Effort(5.0, questions.by_looks())
    assert solve.alone(asked, aim, asked.now, effort) == pytest.approx(by_force(asked, [name])[0])
    assert solve.alone(asked, aim, asked.now, Effort(5.0, questions.by_looks(), looks=0)) is None
