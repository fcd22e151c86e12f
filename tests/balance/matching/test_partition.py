"""Whether any arrangement is within given spreads, against every arrangement there is."""

import dataclasses
import itertools
import random

import numpy as np
import pytest
import questions
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from plain_partition import PlainPartition
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


def asked_of(draw, layout, units):
    """A question at random with limits that few arrangements keep, or none."""
    seed, scatter = draw.randrange(10**6), draw.choice(sorted(questions.SCATTERS))
    asked = questions.question(seed, layout, units, step_g=draw.choice([0.5, 0.1]), scatter=scatter)
    asked = ruled(asked, seed) if len(units) > 1 and draw.random() < 0.4 else asked
    oil = np.array([draw.choice([0, 0, int(asked.per_g)]) for _ in range(asked.throws)])
    asked = dataclasses.replace(asked, oil=oil)
    some = np.random.default_rng(seed)
    drawn = np.array([[some.permutation(asked.cylinders) for _ in units] for _ in range(400)])
    masses = asked.masses(drawn)
    names = ["bobweight", *draw.sample(["reciprocating", "rotating"], draw.choice([0, 1]))]
    tight = draw.choice([0.3, 0.6, 1.0])
    return asked, {name: int(tight * spread(masses.of(name)).min()) for name in names}


@pytest.mark.parametrize(
    ("layout", "units"),
    [
        ("v6-60-even", ("rod", "piston")),
        ("v6-90-shared", ("rod",)),
        ("vtwin-90", ("rod", "piston", "pin")),
        ("inline-4", ("rod", "piston", "pin")),
    ],
)
@pytest.mark.simulation(whole=60, sample=6)
def test_a_throw_is_filled_in_every_way_there_is(seed, layout, units):
    """What every filling has in which cylinder, and what its members weigh, against all of them by hand; of
    cylinders that nothing tells apart in one order alone."""
    draw = random.Random(seed)
    asked, most = asked_of(draw, layout, units)
    made, plain = partition._Partition(asked, most, effort()), PlainPartition(asked, most)
    windows = made.windows
    pieces = [[own.count(kind) for kind in sorted(set(own))] for own in (one.tolist() for one in windows.kind_of)]
    assert made.wanted.tolist() == [*itertools.chain(*pieces), *made.throws]
    assert sum(made.throws) == asked.throws
    first = 0
    for at, described in enumerate(made.classes):
        throw = asked.throw_classes.index(described)
        by_hand = {}
        for filling in plain.fillings(throw):
            members = [filling.members[name] for name in windows.quantities]
            bounds = zip(members, windows.floor, windows.ceiling, windows.most, strict=True)
            if all(
                low <= min(own) and max(own) <= top and max(own) - min(own) <= wide
                for own, low, top, wide in bounds
            ):
                kinds = [
                    tuple(kind_of[list(own)]) for kind_of, own in zip(windows.kind_of, filling.parts, strict=True)
                ]
                ends = tuple((min(own), max(own)) for own in members)
                by_hand.setdefault(_in_order(kinds, described[1:]), set()).add(ends)
        kinds, many = made.kinds[at], len(made.kinds[at])
        own = slice(first, first + many)
        found = [_in_order(list(map(tuple, one.tolist())), described[1:]) for one in kinds]
        assert len(set(found)) == many
        assert set(found) == by_hand.keys()
        for one, low, high in zip(found, made.low[own].tolist(), made.high[own].tolist(), strict=True):
            assert by_hand[one] == {tuple(zip(low, high, strict=True))}
        for uses, one in zip(made.uses[own].tolist(), kinds.tolist(), strict=True):
            taken = [parts.count(kind) for parts, own in zip(one, pieces, strict=True) for kind in range(len(own))]
            assert uses == [*taken, *(int(number == at) for number in range(len(made.classes)))]
        first += many


def _in_order(kinds, cylinders):
    """A filling cylinder by cylinder, twins next to each other in one order."""
    found = []
    for _, twins in itertools.groupby(
        zip(cylinders, zip(*kinds, strict=True), strict=True), key=lambda one: one[0]
    ):
        found += sorted(tuple(map(int, own)) for _, own in twins)
    return tuple(found)


@pytest.mark.parametrize(
    ("layout", "units"),
    [("v8-90-crossplane", ("rod",)), ("v6-60-even", ("rod", "piston")), ("inline-6", ("rod", "piston"))],
)
@pytest.mark.simulation(whole=40, sample=4)
def test_there_is_one_just_where_filling_throw_after_throw_by_hand_finds_one(seed, layout, units):
    """Every other time by pricing, as where there are many fillings."""
    draw = random.Random(1000 + seed)
    asked, most = asked_of(draw, layout, units)
    with pytest.MonkeyPatch.context() as patch:
        if seed % 2:
            patch.setattr(partition, "FEW", 0)
            patch.setattr(partition, "ASKED", 10)
        found = partition.one_within(asked, most, effort())
    assert (found is not None) == PlainPartition(asked, most).exists()
    if found is not None:
        assert asked.allows(found)
        assert all(spread(asked.masses(found).of(name)) <= wide for name, wide in most.items())
