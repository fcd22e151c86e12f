"""One engine matched: against every arrangement of small engines, and by the laws that any matching keeps."""

import dataclasses
import itertools
import random

import numpy as np
import pytest
import questions
from hypothesis import given, settings
from hypothesis import strategies as st

from truethrow.balance.matching import aims, bounds, cover, solve
from truethrow.balance.matching.question import spread
from truethrow.balance.matching.solve import Clock

NAMES = ("limits", "bobweight", "reciprocating", "rotating", "residual")
LIMITS = {"bobweight": 1.2, "reciprocating": 1.6}


def layouts_of(most):
    from truethrow.balance.engine.layout import GENERIC, generic_layout

    return [name for name in GENERIC if 2 < len(generic_layout(name).cylinders) <= most]


def answer(asked, names, seconds=5.0, start=None):
    listed = questions.as_listed(asked)
    made = [aims.MAKERS[name](asked) for name in names]
    return solve.solve(asked, made, listed if start is None else start, Clock.of(seconds, questions.by_looks()))


def by_force(asked, names):
    """The best values in order, out of every arrangement."""
    left = questions.every(asked)
    found = []
    for name in names:
        aim = aims.MAKERS[name](asked)
        values = aim.of(left)
        found.append(values.min())
        left = left[values <= values.min() + aim.step / 2]
    return found


def ruled(asked, seed):
    """The question with random rules that the parts as listed keep."""
    draw = random.Random(seed)
    count = asked.cylinders
    units = list(asked.units)
    for u, unit in enumerate(units):
        allowed = np.ones((count, count), dtype=bool)
        for part, cylinder in itertools.product(range(count), repeat=2):
            if part != cylinder and draw.random() < 0.3:
                allowed[part, cylinder] = False
        units[u] = unit._replace(allowed=allowed)
    fits = np.ones((count, count), dtype=bool)
    for one, other in itertools.permutations(range(count), 2):
        if draw.random() < 0.2:
            fits[one, other] = False
    kept = draw.randrange(count)
    fits[kept, :] = fits[:, kept] = False
    fits[kept, kept] = True
    return dataclasses.replace(asked, units=tuple(units), pairs={(0, 1): fits})


def banked(asked, seed):
    """The question with some parts bound to the first or to the second cylinder of a throw: the throws are twins,
    their cylinders are not."""
    draw = random.Random(seed)
    units = []
    for unit in asked.units:
        allowed = np.ones((asked.cylinders, asked.cylinders), dtype=bool)
        for place in range(asked.cylinders):
            if draw.random() < 0.6:
                part = unit.sits.tolist().index(place)
                allowed[part] = np.arange(asked.cylinders) % 2 == place % 2
        units.append(unit._replace(allowed=allowed))
    return dataclasses.replace(asked, units=tuple(units))


@pytest.mark.simulation(whole=12, sample=6)
def test_with_parts_of_one_bank_the_answer_is_the_best_of_every_arrangement(seed):
    """Brute force again; no proof may be false."""
    draw = random.Random(seed)
    layout, units = draw.choice(
        [
            ("v6-90-shared", ("rod", "piston")),
            ("v6-60-shared", ("piston", "rod")),
            ("vtwin-45", ("rod", "piston", "pin")),
        ]
    )
    asked = banked(questions.question(seed, layout, units, limits_g=LIMITS), seed)
    names = draw.sample(["bobweight", "reciprocating", "residual"], 2)
    found = answer(asked, names)
    assert [aim.value for aim in found.reached] == pytest.approx(by_force(asked, names), abs=1e-5), (layout, names)
    all_of_them = questions.every(asked)
    most = {
        name: int(np.quantile(spread(asked.masses(all_of_them).of(name)), 0.02))
        for name in names
        if name != "residual"
    }
    inside = np.all([spread(asked.masses(all_of_them).of(name)) <= most[name] for name in most], axis=0)
    bobweights = {tuple(sorted(row)) for row in asked.masses(all_of_them[inside]).bobweight.tolist()}
    assert {tuple(sorted(row)) for row in asked.masses(cover.within(asked, most)).bobweight.tolist()} == bobweights


def test_what_stays_off_the_steps_of_what_moves_makes_the_steps_finer():
    """Pistons in whole grams, rods that stay in tenths: two spreads can be tenths apart; the better is found."""
    asked = questions.question(4, "v6-60-even", ("piston",), step_g=1.0)
    stays = questions.question(5, "v6-60-even", ("rod",))
    asked = dataclasses.replace(asked, seat_reciprocating=stays.units[0].reciprocating)
    assert aims.SpreadAim(asked, "reciprocating").step in (0.1, 0.2)
    found = answer(asked, ("reciprocating", "bobweight"))
    assert [aim.value for aim in found.reached] == pytest.approx(by_force(asked, ("reciprocating", "bobweight")))
    kept = solve.fewest_moves(asked, [aims.SpreadAim(asked, "reciprocating")], found.arrangement)
    assert aims.SpreadAim(asked, "reciprocating").at(kept) == found.reached[0].value


@pytest.mark.simulation(whole=60, sample=24)
def test_the_answer_is_the_best_of_every_arrangement(seed):
    """Brute force: 4 cylinders with three kinds, or up to 6 cylinders with two; aims in random order; every
    other question with random rules. 6 cylinders with two kinds have 518,400 arrangements."""
    draw = random.Random(seed)
    three = seed % 2 == 0
    layout = draw.choice(layouts_of(4 if three else 6))
    units = ("rod", "piston", "pin") if three else ("rod", "piston")
    share = draw.choice([0.5, 0.5, 0.48, 0.35])
    asked = questions.question(seed, layout, units, share, limits_g=LIMITS)
    if seed % 4 > 1:
        asked = ruled(asked, seed)
    names = draw.sample(NAMES, 3)
    found = answer(asked, names)
    assert [aim.value for aim in found.reached] == pytest.approx(by_force(asked, names), abs=1e-5), (layout, names)
    assert asked.allows(found.arrangement)
    assert all(aim.bound <= aim.value + 1e-9 for aim in found.reached)


def test_small_engines_are_proved():
    for seed in range(6):
        asked = questions.question(seed, "v6-90-shared", ("rod", "piston"), limits_g=LIMITS)
        found = answer(asked, ("limits", "bobweight", "reciprocating"))
        assert all(aim.proved for aim in found.reached), found.reached


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10**6), name=st.sampled_from(["bobweight", "reciprocating", "rotating"]))
def test_no_arrangement_is_below_a_bound(seed, name):
    layout = random.Random(seed).choice(layouts_of(4))
    asked = questions.question(seed, layout, ("rod", "piston"), random.Random(seed).choice([0.5, 0.37]))
    least = spread(asked.masses(questions.every(asked)).of(name)).min()
    assert bounds.least(asked, name) <= least


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10**6))
def test_no_arrangement_leaves_less_than_the_bound_of_the_residual(seed):
    layout = random.Random(seed).choice(layouts_of(6))
    asked = questions.question(seed, layout, ("rod",))
    aim = aims.ResidualAim(asked)
    arrangements = questions.every(asked)
    assert aim.bound() <= aim.of(arrangements).min() + 1e-6
    values = aim.of(arrangements)
    for name, most in aim.box(float(np.median(values))).items():
        within = arrangements[values <= np.median(values)]
        assert spread(asked.masses(within).of(name)).max() <= most


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10**6), apart=st.sampled_from(["cylinders", "throws"]))
def test_going_through_leaves_no_arrangement_out(seed, apart):
    """All masses that any arrangement within the spreads has are found, and none beyond them."""
    draw = random.Random(seed)
    asked = questions.question(seed, draw.choice(layouts_of(4)), ("rod", "piston", "pin"))
    if seed % 2:
        asked = ruled(asked, seed)
    names = ["bobweight"] if apart == "throws" else draw.sample(["bobweight", "reciprocating", "rotating"], 2)
    all_of_them = questions.every(asked)
    masses = asked.masses(all_of_them)
    most = {name: int(np.quantile(spread(masses.of(name)), draw.choice([0.0, 0.2, 0.6]))) for name in names}
    inside = np.all([spread(masses.of(name)) <= most[name] for name in names], axis=0)

    def told(arrangements):
        """What tells arrangements apart but for the order of twins: the masses of the throws."""
        weights = asked.masses(arrangements)
        told_apart = weights.bobweight if apart == "throws" else np.sort(weights.reciprocating, axis=1)
        return {tuple(sorted(row)) for row in told_apart.tolist()}

    found = cover.within(asked, most, apart)
    assert asked.broken(found).sum() == 0
    assert told(found) == told(all_of_them[inside])
    if len(found):
        found_masses = asked.masses(found)
        assert all((spread(found_masses.of(name)) <= most[name]).all() for name in names)


def test_parts_in_a_cylinder_are_found_without_their_places():
    asked = questions.question(3, "inline-4", ("rod", "piston", "pin"))
    masses = asked.masses(questions.every(asked))
    spreads = spread(masses.reciprocating)
    most = int(np.quantile(spreads, 0.1))
    found = asked.masses(cover.within(asked, {"reciprocating": most}, "parts in a cylinder")).reciprocating
    wanted = {tuple(sorted(row)) for row in masses.reciprocating[spreads <= most].tolist()}
    assert {tuple(sorted(row)) for row in found.tolist()} == wanted


@pytest.mark.parametrize("layout", ["v8-90-crossplane", "inline-6", "v6-90-shared"])
def test_the_order_of_the_rows_does_not_change_the_quality(layout):
    asked = questions.question(11, layout, limits_g=LIMITS)
    names = ("limits", "bobweight", "reciprocating", "residual")
    values = {
        tuple(round(aim.value, 6) for aim in answer(questions.shuffled(asked, seed), names).reached)
        for seed in range(4)
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

    found = solve.solve(asked, made, listed, Clock.of(10, questions.by_looks()), interrupt)
    assert found.broken_off
    assert [aim.proved for aim in found.reached] == [True, False, False]
    assert aims.MAKERS["bobweight"](asked).at(found.arrangement) == found.reached[0].value


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
