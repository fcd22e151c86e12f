"""No arrangement is below a bound."""

import random

import questions
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from small_engines import layouts_of

from truethrow.balance.matching import bounds
from truethrow.balance.matching.question import spread


@examples(60)
@given(seed=st.integers(0, 10**6), name=st.sampled_from(["bobweight", "reciprocating", "rotating"]))
def test_no_arrangement_is_below_a_bound(seed, name):
    layout = random.Random(seed).choice(layouts_of(4))
    asked = questions.question(seed, layout, ("rod", "piston"), random.Random(seed).choice([0.5, 0.37]))
    least = spread(asked.masses(questions.every(asked)).of(name)).min()
    assert bounds.least(asked, name) <= least
