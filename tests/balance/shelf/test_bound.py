"""No choice of parts is below the bound, and a tiny shelf reaches it."""

from __future__ import annotations

import itertools

import numpy as np
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
    found = match(shelf, engines, seconds=0.1, now=standing)
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
