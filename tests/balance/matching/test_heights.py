"""The least metal by the heights of the windows."""

import dataclasses
import itertools

import exact_solver
import numpy as np
import pytest
from metal_jobs import (
    hardly_inside,
    is_proved_the_least_of_all,
    is_proved_within_rules,
    least_of_all,
    limits_of,
    of_two_limits,
)
from plain_heights import PlainHeights
from scattered_jobs import uneven

from truethrow.balance.matching import heights
from truethrow.balance.matching.heights import Found, Heights, Join, vertices_of
from truethrow.balance.matching.joint import Asked, Joint, choices, in_order
from truethrow.balance.matching.match import ask, match, moves_of, rearranged
from truethrow.balance.matching.metal import MetalAim

ROUNDED_G = 0.02  # by the exact solver, over all cuts of an engine


@pytest.fixture(autouse=True)
def _no_programme(monkeypatch):
    """What is proved here is proved by heights."""

    def none(*_):
        raise AssertionError("by the programme")

    monkeypatch.setattr(Joint, "solve", none)


@pytest.mark.simulation(whole=24, sample=3)
def test_of_all_arrangements_of_a_four_the_best_is_found_and_proved(seed):
    assert is_proved_the_least_of_all(hardly_inside(seed, "inline-4", 4))


@pytest.mark.simulation(whole=12, sample=2)
def test_where_parts_are_not_equally_sure_too(seed):
    assert is_proved_the_least_of_all(uneven(seed, "inline-4", 4))


def test_limits_out_of_reach_are_exceeded_as_little_as_can_be():
    pads = {"piston": 0.2, "pin": 0.0, "big_end_pad": {"at": -48, "most": 0.3}}
    result = hardly_inside(3, "inline-4", 4, trim=pads)
    (metal,) = match(result, 60).reached
    least = least_of_all(result)
    assert least > 100  # some tenths of a gram, each counted a thousandfold
    assert metal.bound <= least + 1e-3
    assert metal.value == pytest.approx(least, abs=1e-3)


@pytest.mark.simulation(whole=30, sample=1)
def test_a_v8_is_as_the_exact_solver_has_it(seed):
    """What it finds unproved is no better, and its bound no higher."""
    result = of_two_limits(seed)
    (metal,) = match(result, 60).reached
    value, bound, is_proved, _ = exact_solver.least_metal(*limits_of(result), 20.0)
    assert bound - ROUNDED_G <= metal.value <= value + ROUNDED_G
    assert metal.bound >= 0.98 * metal.value
    assert not is_proved or metal.value == pytest.approx(value, abs=ROUNDED_G)


def test_a_v8s_least_metal_is_proved(as_many):
    """95 in 100; the others' bounds are none above what they found."""
    count = as_many(100, 1)
    proved = 0
    for seed in range(1, count + 1):
        (metal,) = match(hardly_inside(seed), 120).reached
        assert metal.bound <= metal.value <= metal.before
        proved += metal.proved
    assert proved >= count * 0.95


@pytest.mark.simulation(whole=40, sample=4)
def test_what_is_told_of_a_box_is_never_above_what_is_in_it(seed):
    """Of one arrangement at random, all others forbidden: its heights are in one of the boxes."""
    result = hardly_inside(seed)
    job, question = result.job, ask(result, ("piston", "rod"))
    aim = MetalAim(question, result, lambda own: rearranged(job, moves_of(job, question, own)))
    held = aim.held()
    masses = {one.spread.quantity: aim.members.masses_g(one.spread.quantity) for one in held}
    draw = np.random.default_rng(seed)
    arrangement = np.array([draw.permutation(8) for _ in range(2)])
    cost, close = aim.at(arrangement), aim.close(arrangement)
    units = [
        unit._replace(allowed=np.eye(8, dtype=bool)[own].T)
        for unit, own in zip(question.units, arrangement, strict=True)
    ]
    alone = Heights(Asked(job, dataclasses.replace(question, units=tuple(units)), held, masses), close)
    boxes = [alone.first(cost)]
    for _ in range(6):
        cuts = [list(alone.halves(box)) for box in boxes]
        boxes = [half for own in cuts for half in own[draw.integers(len(own))]]
        least = min(Found(alone, box).least for box in boxes)
        assert least <= cost
    assert least > cost / 4


def test_rules_hold_in_it_too():
    assert is_proved_within_rules()


@pytest.mark.parametrize("units", [1, 2])
def test_two_tables_are_joined_over_every_way_to_part_a_subset(units):
    draw = np.random.default_rng(units)
    join = Join(5, 2, 1, units)
    pairs, triples = list(itertools.combinations(range(5), 2)), list(itertools.combinations(range(5), 3))
    one, other = draw.random((10,) * units), draw.random((5,) * units)
    found = join.of(one, other)
    for at in np.ndindex(found.shape):
        ways = itertools.product(*(itertools.combinations(triples[own], 2) for own in at))
        sums = [
            one[tuple(pairs.index(way) for way in both)]
            + other[tuple((set(triples[own]) - set(way)).pop() for own, way in zip(at, both, strict=True))]
            for both in ways
        ]
        assert found[at] == pytest.approx(min(sums))
        below = list(join.below(one, other, at, float(np.median(sums))))
        assert len(below) == sum(one_sum < np.median(sums) for one_sum in sums)


def test_prices_are_those_that_no_pad_undercuts():
    """One pad lowers by 1 and another raises by half for a gram: a gram over costs at most 1, one under at most 2;
    by hand."""
    found = vertices_of(np.array([[1.0], [-0.5]]), np.ones(2), np.array([1000.0]))
    assert found.ravel().tolist() == [-2.0, 0.0, 1.0]
    # Nothing raises: only what stays over a limit does.
    assert vertices_of(np.array([[1.0]]), np.ones(1), np.array([1000.0])).ravel().tolist() == [-1000.0, 0.0, 1.0]
    # Nothing at all is cheap enough.
    assert not len(vertices_of(np.array([[1.0]]), np.array([-1001.0]), np.array([1000.0])))


def test_a_large_engine_is_left_to_the_programme():
    assert heights.reaches(ask(of_two_limits(1), ("piston", "rod")))
    assert not heights.reaches(ask(hardly_inside(1, "v12-60", 12), ("piston", "rod")))
    assert not heights.reaches(ask(of_two_limits(1), ("piston", "rod", "pin")))


def heights_of(result, units):
    """What the search begins with, and the second computation of it."""
    job, question = result.job, ask(result, units)
    aim = MetalAim(question, result, lambda own: rearranged(job, moves_of(job, question, own)))
    held = aim.held()
    masses = {one.spread.quantity: aim.members.masses_g(one.spread.quantity) for one in held}
    for close in choices(held):
        yield Heights(Asked(job, question, held, masses), close), PlainHeights(result, question, held, close), aim


@pytest.mark.parametrize(
    ("layout", "count", "units"), [("inline-4", 4, ("piston", "rod")), ("v6-90-shared", 6, ("piston",))]
)
@pytest.mark.simulation(whole=20, sample=2)
def test_what_a_box_costs_is_what_a_second_computation_says_of_each_arrangement_in_it(seed, layout, count, units):
    """Of boxes at random: the least, which arrangements are below a cost, and how many ways there are to part
    their parts between the front and the rear throws. By arrangement: rearranged, and asked of scipy."""
    draw = np.random.default_rng(seed)
    result = hardly_inside(seed, layout, count)
    for found, plain, aim in heights_of(result, units):
        box = found.first(aim.at(plain.question.now))
        for _ in range(int(draw.integers(0, 7))):
            cuts = list(found.halves(box))
            box = cuts[draw.integers(len(cuts))][draw.integers(2)]
        costs = {one.tobytes(): sum(plain.cost(one, box)) for one in plain.every()}
        own, least = Found(found, box), min(costs.values())
        assert own.least == pytest.approx(least, abs=1e-5)
        if least == np.inf:
            continue
        some = sorted({round(one, 6) for one in costs.values() if one < np.inf})
        limit = sum(some[(at := min(len(some) - 2, int(draw.integers(1, 12)))) : at + 2]) / 2
        below = {key for key, one in costs.items() if one < limit}
        in_order_of = {in_order(plain.question, found.twins, _arrangement(key, count)).tobytes() for key in below}
        told = [one.tobytes() for one in own.below(limit)]
        assert set(told) == in_order_of
        front = [c for throw in found.sides[0] for c in plain.question.on_throw[throw]]
        ways = {tuple(tuple(sorted(own[front])) for own in _arrangement(key, count)) for key in below}
        assert own.ways_below(limit) == len(ways)


def _arrangement(key, count):
    return np.frombuffer(key, dtype=np.int64).reshape(-1, count)
