"""Going through all that could be better leaves no arrangement out."""

import dataclasses
import random

import numpy as np
import pytest
import questions
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from small_engines import LIMITS, answer, by_force, layouts_of, ruled

from truethrow.balance.matching import cover
from truethrow.balance.matching.question import spread


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


@examples(40)
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
