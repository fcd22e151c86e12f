"""The bound that an aim gives of itself."""

import random

import numpy as np
import questions
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from small_engines import layouts_of

from truethrow.balance.matching import aims
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
