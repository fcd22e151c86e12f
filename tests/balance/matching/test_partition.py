"""Whether any arrangement is within given spreads, against every arrangement there is."""

import random

import numpy as np
import pytest
import questions
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from small_engines import layouts_of, ruled

from truethrow.balance.matching import aims, partition
from truethrow.balance.matching.effort import Effort
from truethrow.balance.matching.question import spread
from truethrow.balance.matching.windows import TooMany


def effort(looks=1e9):
    return Effort(1e6, lambda: 0.0, looks=looks)


@examples(80)
@given(seed=st.integers(0, 10**6), scatter=st.sampled_from(sorted(questions.SCATTERS)))
def test_there_is_one_just_where_every_arrangement_gone_through_has_one(seed, scatter):
    """4 cylinders with three kinds, or up to 6 with two; with rules and without; boxes that few keep, or none.
    Every other time by pricing, as where there are many fillings."""
    draw = random.Random(seed)
    three = draw.random() < 0.7
    layout = draw.choice(layouts_of(4 if three else 6))
    units = ("rod", "piston", "pin") if three else ("rod", "piston")
    asked = questions.question(seed, layout, units, step_g=draw.choice([0.5, 0.1, 0.01]), scatter=scatter)
    if draw.random() < 0.4:
        asked = ruled(asked, seed)
    names = draw.sample(["bobweight", "reciprocating", "rotating"], draw.choice([1, 2]))
    masses = asked.masses(questions.every(asked))
    spreads = {name: spread(masses.of(name)) for name in names}
    most = {name: int(np.quantile(own, draw.choice([0.0, 0.001, 0.05]))) for name, own in spreads.items()}
    if draw.random() < 0.3:
        most[names[0]] -= 1
    exists = bool(np.all([spreads[name] <= most[name] for name in names], axis=0).any())
    with pytest.MonkeyPatch.context() as patch:
        if seed % 2:
            patch.setattr(partition, "FEW", 0)
            patch.setattr(partition, "ASKED", 10)
        found = partition.one_within(asked, most, effort())
    assert (found is not None) == exists
    if found is not None:
        assert asked.allows(found)
        assert all(spread(asked.masses(found).of(name)) <= most[name] for name in names)


def test_a_v16_of_three_kinds_is_brought_to_its_steps():
    """What a search by trades alone misses."""
    asked = questions.question(2, "v16-90")
    aim = aims.SpreadAim(asked, "reciprocating")
    found = partition.one_within(asked, aim.box(aim.bound()), effort())
    assert found is not None
    assert aim.at(found) <= aim.bound()


def test_without_work_nothing_is_claimed():
    asked = questions.question(1)
    with pytest.raises(TooMany):
        partition.one_within(asked, {"bobweight": int(asked.per_g)}, effort(looks=0))


def test_no_spread_is_below_zero():
    assert partition.one_within(questions.question(1), {"bobweight": -1}, effort()) is None
