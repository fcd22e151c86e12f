"""The bound that an aim gives of itself."""

import dataclasses
import itertools
import random

import numpy as np
import pytest
import questions
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from small_engines import layouts_of

from truethrow.balance.matching import aims
from truethrow.balance.matching.bounds import lattice, nearly_equal
from truethrow.balance.matching.question import spread


@examples(40)
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


def test_the_bound_of_the_residual_is_the_least_that_steps_of_the_masses_allow():
    """The four bobweights of a cross-plane V8, hung 0.37 g off their mean, moved by up to five steps each, their
    total kept: what each leaves in both planes is added up by hand. Farther off none is smaller, its arms being
    independent."""
    for seed in range(5):
        asked = questions.question(seed, "v8-90-crossplane", ("rod", "piston"), step_g=1.0)
        asked = dataclasses.replace(asked, hung_g=asked.hung_g + 0.37)
        rests, step, total = lattice(asked, "bobweight")
        middle = [float(one) for one in nearly_equal(rests, step, total)]
        left = []
        for moved in (by for by in itertools.product(range(-5, 6), repeat=4) if sum(by) == 0):
            off_g = [
                (own + by * step) / asked.per_g - hung
                for own, by, hung in zip(middle, moved, asked.hung_g, strict=True)
            ]
            planes = [sum(arm * grams for arm, grams in zip(arms, off_g, strict=True)) for arms in asked.arms_mm]
            left.append(max(map(abs, planes)))
        assert aims.ResidualAim(asked).bound() == pytest.approx(min(left), abs=1e-5), seed
        assert min(left) > 1
