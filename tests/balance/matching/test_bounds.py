"""No arrangement is below a bound."""

import itertools
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


def test_numbers_that_nothing_changes_are_as_far_apart_as_they_are():
    """Where all parts of each kind weigh the same, no arrangement moves anything: of 3, 7 and 4 the heaviest less
    the lightest is 4. Where sums go by steps of 5 from 3, 2 and 4, and are 19 in all, the least apart are 8, 7
    and 4, found by trying all."""
    assert bounds._least_spread([3, 7, 4], 0, 14) == 4
    tried = [
        max(sums) - min(sums)
        for sums in itertools.product(range(-17, 30, 5), range(-18, 30, 5), range(-16, 30, 5))
        if sum(sums) == 19
    ]
    assert bounds._least_spread([3, 2, 4], 5, 19) == min(tried) == 4
