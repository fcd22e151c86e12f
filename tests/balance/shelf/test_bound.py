"""No choice of parts is below the bound, and a tiny shelf reaches it."""

from __future__ import annotations

import itertools
import math

import numpy as np
import plain_bound
import pytest
from pools import SCATTERS, invented, match, standing

from truethrow.balance.shelf import bound as shelfbound
from truethrow.balance.shelf.problem import problem
from truethrow.balance.shelf.start import best_start


def least_by_brute_force(shelf, engines):
    """The least cost over every choice of rods for the engines and every choice and order of the other parts."""
    n = shelf.cylinders
    rods, *others = shelf.pools.values()
    mates = [list(itertools.permutations(pool, engines * n)) for pool in others]
    best = np.inf
    for chosen in _sets(range(len(rods)), engines, n):
        flat = [rods[i] for group in chosen for i in group]
        big = np.array([rod.big_end_g for rod in flat]).reshape(engines, n)
        small = np.array([rod.reciprocating_g for rod in flat])
        x = small
        for pool in mates:
            masses = np.array([[part.reciprocating_g for part in order] for order in pool])
            x = x[..., None, :] + masses
        x = x.reshape(-1, engines, n)
        cost = (x.sum(-1) - n * x.min(-1)).sum(-1).min() + (big.sum(-1) - n * big.min(-1)).sum()
        best = min(best, cost)
    return best


def _sets(numbers, engines, n):
    if engines == 0:
        yield ()
        return
    for group in itertools.combinations(numbers, n):
        # Each engine's first number above the one before: no division twice.
        rest = [i for i in numbers if i > group[0] and i not in group]
        for others in _sets(rest, engines - 1, n):
            yield (group, *others)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize(
    ("layout", "count", "engines", "kinds", "more"),
    [
        ("inline-2", 4, 2, ("rod", "piston"), {}),
        ("inline-2", 6, 3, ("rod", "piston"), {}),
        ("inline-3", 6, 2, ("rod", "piston"), {}),
        ("inline-2", 4, 2, ("rod", "piston", "pin"), {}),
        ("inline-2", 4, 1, ("rod", "piston"), {"rod": 2}),
        ("inline-2", 5, 2, ("rod", "piston"), {"piston": 1}),
        ("inline-3", 3, 1, ("rod", "piston", "pin"), {}),
    ],
)
def test_a_tiny_shelf_reaches_the_least_and_no_bound_is_above_it(layout, count, engines, kinds, more, seed):
    shelf = invented(count, seed, layout, kinds, more=more.items())
    least_g = least_by_brute_force(shelf, engines)
    found = match(shelf, engines, seconds=0.4, now=standing)
    assert found.cost_g == pytest.approx(least_g, abs=1e-6)
    assert found.bound_g <= least_g + 1e-9
    numbers = problem(shelf, engines)
    assert shelfbound.alone(numbers).nanograms <= round(least_g * 1e9)
    bounds = []
    shelfbound.both(numbers, best_start(numbers), lambda bound: bounds.append(bound) is not None)
    assert bounds
    assert max(bound.nanograms for bound in bounds) <= round(least_g * 1e9)


def test_the_bound_holds_whatever_the_prices():
    """Prices at random, not the programme's: still below the least there is."""
    shelf = invented(6, 1, "inline-3", ("rod", "piston"))
    numbers = problem(shelf, 2)
    least = least_by_brute_force(shelf, 2) * 1e9
    columns = shelfbound._Columns(numbers, 10**8)
    draw = np.random.default_rng(3)
    for scale in (0.5, 5, 50):
        for _ in range(40):
            prices = columns.allowed(draw.normal(0, scale, len(columns.most)))
            under = float(prices @ columns.most) + 2 * columns.cheapest(prices)[0]
            assert under * 1e8 <= least + 1


def test_the_big_ends_alone_are_the_least_of_all_choices():
    for seed in range(20):
        draw = np.random.default_rng(seed)
        masses = draw.integers(0, 30, 7)
        shelf = invented(7, seed, "inline-2", ("rod", "piston"))
        numbers = problem(shelf, 2)._replace(big=np.array([*masses, 0]))
        least = min(
            sum(int(masses[list(g)].sum() - 2 * masses[list(g)].min()) for g in groups)
            for groups in _sets(range(7), 2, 2)
        )
        assert shelfbound._windows(masses, numbers) == least


@pytest.mark.parametrize("scatter", SCATTERS)
def test_no_bound_is_above_the_least_however_the_masses_scatter(scatter):
    for seed, step_g in enumerate((0.5, 0.1, 0.01)):
        shelf = invented(6, seed, "inline-2", ("rod", "piston"), step_g, scatter=scatter)
        numbers = problem(shelf, 3)
        least = round(least_by_brute_force(shelf, 3) * 1e9)
        bounds = []
        shelfbound.both(numbers, best_start(numbers), lambda bound, found=bounds: found.append(bound) is not None)
        assert max(bound.nanograms for bound in bounds) <= least


@pytest.mark.parametrize("kinds", [("rod", "piston"), ("rod", "piston", "pin")])
def test_what_is_counted_of_the_engines_is_so_in_every_one_of_all_divisions(kinds):
    """Pairs out of four cylinders, and four out of five rods: with masses of all kinds, a heavy one among them."""
    draw = np.random.default_rng(5)
    reached = 0
    for _ in range(25):
        mass = {kind: draw.integers(0, 6, 4) + 9 * (draw.random(4) < 0.15) for kind in kinds}
        mass["rod"], big = draw.integers(0, 6, 5), draw.integers(0, 5, 5)
        rules = shelfbound.counted(big, mass, 2, 2)
        most = np.zeros(len(rules), dtype=int)
        mates = [np.array(list(itertools.permutations(mass[kind]))) for kind in kinds[1:]]
        for rods in itertools.permutations(range(5), 4):
            levels = mass["rod"][list(rods)]
            for other in mates:
                levels = levels[..., None, :] + other
            lowest = levels.reshape(-1, 2, 2).min(-1)
            low_big = big[list(rods)].reshape(2, 2).min(-1)
            for at, rule in enumerate(rules):
                is_about = (low_big >= rule.big) & (lowest >= rule.level)
                most[at] = max(most[at], is_about.sum(-1).max())
        assert all(found <= rule.most for found, rule in zip(most, rules, strict=True))
        reached += sum(most == [rule.most for rule in rules])
    assert reached > 50


def in_steps(numbers, step):
    """Big ends, rods and the parts of each other kind, counted in steps from their kind's lightest."""
    kinds = [numbers.big[:-1], *(mass[:-1] for mass in numbers.reciprocating.values())]
    return [[int((mass - min(kind)) // step) for mass in kind] for kind in kinds]


@pytest.mark.parametrize(
    ("layout", "count", "engines", "kinds", "more", "step_g"),
    [
        ("inline-2", 4, 2, ("rod", "piston"), {}, 0.1),
        ("inline-2", 5, 2, ("rod", "piston"), {}, 0.5),
        ("inline-2", 4, 2, ("rod", "piston"), {"rod": 1}, 0.2),
        ("inline-2", 4, 2, ("rod", "piston"), {"piston": 2}, 0.5),
        ("inline-2", 4, 2, ("rod", "piston", "pin"), {}, 0.5),
        ("inline-3", 4, 1, ("rod", "piston"), {}, 0.5),
        ("inline-2", 6, 3, ("rod", "piston"), {}, 0.5),
    ],
)
@pytest.mark.simulation(whole=20, sample=3)
def test_the_bound_is_what_all_relaxed_engines_written_down_come_to(
    seed, layout, count, engines, kinds, more, step_g
):
    """Also with a heavy part far off, which is what the rules are about."""
    scatter = SCATTERS[seed % len(SCATTERS)]
    numbers = problem(invented(count, seed, layout, kinds, step_g, more=more.items(), scatter=scatter), engines)
    masses = [numbers.big[:-1].tolist(), *(mass[:-1].tolist() for mass in numbers.reciprocating.values())]
    step = plain_bound.grid(masses)
    assert shelfbound.reaches(numbers) == (step > 0)
    heard = []
    shelfbound.both(numbers, best_start(numbers), lambda bound: heard.append(bound.nanograms) is not None)
    big, rods, *mates = in_steps(numbers, step)
    least = plain_bound.least(big, rods, mates, numbers.cylinders, engines)
    all_used = all(len(pool) == engines * numbers.cylinders for pool in numbers.parts.values())
    plainly = plain_bound.allowed(
        max(0, math.ceil(least - 1e-6)) * step, masses, numbers.cylinders, step, all_used=all_used
    )
    assert heard[-1] == plainly
    assert heard == sorted(heard)


@pytest.mark.simulation(whole=400, sample=60)
def test_what_is_counted_is_the_least_of_the_same_counted_level_by_level(seed):
    """The highest level is found by halving; here by going up one by one. Of the rules those that another one
    implies are left out."""
    draw = np.random.default_rng(seed)
    engines, cylinders = int(draw.integers(1, 4)), int(draw.integers(1, 4))
    size = engines * cylinders
    big = draw.integers(0, 5, size + int(draw.integers(0, 3)))
    mass = {"rod": draw.integers(0, 9, len(big)), "piston": draw.integers(0, 9, size)}
    if draw.random() < 0.5:
        mass["pin"] = draw.integers(0, 4, size + 1) + 9 * (draw.random(size + 1) < 0.2)
    rods, *mates = (own.tolist() for own in mass.values())
    found = shelfbound.counted(big, mass, cylinders, engines)
    plainly = list(plain_bound.rules(big.tolist(), rods, mates, cylinders, engines))
    assert {*map(tuple, found)} <= {*plainly}
    for b, level, most in plainly:
        assert any(rule.big <= b and rule.level <= level and rule.most <= most for rule in found)


@pytest.mark.parametrize("kinds", [("rod",), ("piston",), ("rod", "piston"), ("piston", "pin"), ("pin", "rings")])
@pytest.mark.parametrize("more", [0, 2])
def test_alone_each_is_the_least_of_its_own(kinds, more):
    """Of sets of two for two engines: by going through all; of two kinds without rods only what the grid says."""
    for seed in range(10):
        numbers = problem(invented(4 + more, seed, "inline-2", kinds), 2)

        def least(masses):
            return min(
                sum(max(pair) - min(pair) for pair in ([masses[at] for at in one] for one in both))
                for both in _sets(range(len(masses)), 2, 2)
            )

        masses = [mass[:-1].tolist() for mass in numbers.reciprocating.values()]
        at_least = least(numbers.big[:-1].tolist()) if "rod" in kinds else 0
        at_least += least(masses[0]) if len(kinds) == 1 else 0
        everything = [*masses, *([numbers.big[:-1].tolist()] if "rod" in kinds else [])]
        step = plain_bound.grid(everything)
        plainly = plain_bound.allowed(at_least, everything, 2, step, all_used=not more)
        found = shelfbound.alone(numbers)
        assert found.nanograms == plainly
        assert not shelfbound.reaches(numbers) or kinds == ("rod", "piston")
