"""A shelf made into engines: the search against brute force and against assignment, the bounds, the seats."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest
import questions
from pools import alternating, invented

from truethrow.balance.base.errors import BadInput
from truethrow.balance.shelf import bound as shelfbound
from truethrow.balance.shelf import match as shelf_module
from truethrow.balance.shelf.problem import problem
from truethrow.balance.shelf.start import best_start


def match(shelf, engines=None, **options):
    """On a clock that counts: how far the search goes is the same on any machine."""
    return shelf_module.match(shelf, engines, **{"now": questions.by_looks(), **options})


def standing():
    """A clock on which no search is cut short."""
    return 0.0


def weighed(engine):
    """What the parts of an engine cost, worked out by hand."""
    x = [sum(part.reciprocating_g for part in seat.parts.values()) for seat in engine.seats]
    big = [sum(part.big_end_g for part in seat.parts.values()) for seat in engine.seats]
    return sum(x) - len(x) * min(x) + sum(big) - len(big) * min(big)


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


@pytest.mark.parametrize(("count", "seed", "target_g"), [(40, 11, 7.0), (40, 12, 7.0), (200, 13, 3.0)])
def test_assignment_in_turn_is_never_better(count, seed, target_g):
    shelf = invented(count, seed)
    found = match(shelf, seconds=1.2)
    assert found.cost_g <= alternating(shelf) + 1e-9
    assert found.cost_g <= found.sorted_g <= found.as_came_g
    assert found.bound_g <= found.cost_g
    assert found.cost_g / len(found.engines) <= target_g


def test_every_part_is_used_once_and_the_grams_are_those_of_the_parts():
    shelf = invented(43, 5, more=[("rod", 3)])
    found = match(shelf, seconds=0.6)
    assert len(found.engines) == 5
    for kind, pool in shelf.pools.items():
        used = [seat.parts[kind] for engine in found.engines for seat in engine.seats]
        assert sorted([*used, *found.leftovers[kind]]) == sorted(pool)
        assert len(used) == 40
    assert sum(weighed(engine) for engine in found.engines) == pytest.approx(found.cost_g, abs=1e-9)
    for engine in found.engines:
        assert engine.cost_g == pytest.approx(weighed(engine), abs=1e-9)
        seat = engine.seats[0]
        given = 3.2 + sum(part.reciprocating_g for part in seat.parts.values())
        assert seat.reciprocating_g == pytest.approx(given, abs=1e-9)


def test_leaving_parts_out_is_part_of_the_search():
    shelf = invented(40, 7)
    every, best_two = match(shelf, seconds=1.0), match(shelf, 2, seconds=1.0)
    assert len(best_two.engines) == 2
    assert best_two.cost_g < sum(sorted(engine.cost_g for engine in every.engines)[:2])
    assert [len(parts) for parts in best_two.leftovers.values()] == [24, 24, 24]


def shuffled(shelf, seed):
    draw = random.Random(seed)
    pools = {kind: tuple(draw.sample(pool, len(pool))) for kind, pool in shelf.pools.items()}
    return shelf._replace(pools=dict(draw.sample(list(pools.items()), len(pools))))


def test_the_order_of_the_rows_changes_nothing():
    shelf = invented(24, 8, "inline-4")
    one, other = (match(s, seconds=1.0, now=standing) for s in (shelf, shuffled(shelf, 1)))
    assert not one.stopped and not other.stopped
    assert one.cost_g == other.cost_g
    assert one.bound_g == other.bound_g
    assert one.engines == other.engines


def test_parts_of_a_bank_sit_on_it_and_the_rest_anywhere():
    shelf = invented(40, 9)
    pistons = tuple(
        part._replace(bank=("left", "right", "")[i % 3 if i < 30 else i % 2])
        for i, part in enumerate(shelf.pools["piston"])
    )
    rods = tuple(part._replace(bank="left") if i < 6 else part for i, part in enumerate(shelf.pools["rod"]))
    shelf = shelf._replace(pools={"rod": rods, "piston": pistons, "pin": shelf.pools["pin"]})
    found = match(shelf, seconds=0.6)
    bank = {place.cylinder: place.bank for place in shelf.layout.places}
    for seat in (seat for engine in found.engines for seat in engine.seats):
        for part in seat.parts.values():
            assert part.bank in ("", bank[seat.cylinder])
    assert len(found.engines) == 5
    assert found.cost_g <= found.sorted_g


def test_fitted_parts_stay_with_their_piston():
    shelf = invented(24, 10, "inline-4", ("rod", "piston", "pin", "rings"), more=[("piston", 3)])
    pins = tuple(p._replace(together=f"p{i:04}") if i % 3 == 0 else p for i, p in enumerate(shelf.pools["pin"]))
    rings = tuple(p._replace(together=f"p{i:04}") if i % 4 == 0 else p for i, p in enumerate(shelf.pools["rings"]))
    found = match(shelf._replace(pools=dict(shelf.pools) | {"pin": pins, "rings": rings}), seconds=1.0)
    held = 0
    for seat in (seat for engine in found.engines for seat in engine.seats):
        for kind in ("pin", "rings"):
            held += bool(seat.parts[kind].together)
            assert seat.parts[kind].together in ("", seat.parts["piston"].label)
    assert held == 8 + 6
    assert found.cost_g < found.sorted_g


def test_fitted_parts_that_leave_too_few_are_told():
    shelf = invented(4, 1, "inline-4", ("piston", "pin", "rings"), more=[("piston", 4)])
    pins = tuple(p._replace(together=f"p{i:04}") for i, p in enumerate(shelf.pools["pin"]))
    rings = tuple(p._replace(together=f"p{i + 4:04}") for i, p in enumerate(shelf.pools["rings"]))
    with pytest.raises(BadInput, match="too few for 1 engine that stay with no piston"):
        match(shelf._replace(pools=dict(shelf.pools) | {"pin": pins, "rings": rings}))


def test_pistons_that_others_stay_with_are_taken_before_any_that_nothing_stays_with():
    """Four pistons of each bank and one of any; its pin stays with that one, so it must be used."""
    shelf = invented(8, 1, "v8-90-crossplane", ("piston", "pin"), more=[("piston", 1)])
    banks = {f"p{i:04}": ("left", "right")[i % 2] for i in range(8)}
    pistons = tuple(p._replace(bank=banks.get(p.label, "")) for p in shelf.pools["piston"])
    pins = (shelf.pools["pin"][0]._replace(together="p0008"), *shelf.pools["pin"][1:])
    (engine,) = match(
        shelf._replace(pools=dict(shelf.pools) | {"piston": pistons, "pin": pins}), seconds=0.3
    ).engines
    assert "p0008" in {seat.parts["piston"].label for seat in engine.seats}


def test_the_seats_are_the_best_order_there_is():
    shelf = invented(8, 14)
    (engine,) = match(shelf, seconds=0.3).engines
    gives = [s.reciprocating_g * 0.5 + s.big_end_g for s in engine.seats]
    least = np.inf
    for order in itertools.permutations(range(8)):
        pairs = [gives[order[i]] + gives[order[i + 1]] for i in range(0, 8, 2)]
        least = min(least, max(pairs) - min(pairs))
    assert engine.bobweight_spread_g == pytest.approx(least, abs=1e-6)


def test_interrupted_it_gives_the_best_so_far():
    heard = []

    def progress(best_g, bound_g, fraction):
        heard.append((best_g, bound_g, fraction))
        if len(heard) == 3:
            raise KeyboardInterrupt

    found = match(invented(200, 15), seconds=20.0, progress=progress)
    assert found.stopped == "interrupted"
    assert found.bound_g <= found.cost_g <= found.sorted_g
    assert heard[0][0] >= heard[-1][0]


def test_the_clock_ends_the_search():
    ticks = itertools.count()
    found = match(invented(200, 16), seconds=3.0, now=lambda: float(next(ticks)))
    assert found.stopped == "time"
    assert next(ticks) == 5
    assert found.bound_g <= found.cost_g <= found.sorted_g


def test_one_kind_alone_has_its_least_proved():
    shelf = invented(24, 17, "inline-4", ("piston",))
    found = match(shelf, seconds=1.0)
    assert found.proved
    assert found.counts == "reciprocating masses"


def test_the_dearest_part_is_named_and_a_leftover_that_does_better():
    shelf = invented(8, 18)
    heavy = shelf.pools["rod"][0]._replace(big_end_g=460.0)
    found = match(shelf._replace(pools=dict(shelf.pools) | {"rod": (heavy, *shelf.pools["rod"][1:])}), seconds=0.3)
    assert found.costly.part == heavy
    assert found.costly.saves_g > 5
    assert found.costly.leftover is None


@pytest.mark.parametrize(
    ("engines", "seconds", "said"),
    [
        (6, 1.0, "--engines: 6 is out of reach; allowed: 1 to 5"),
        (0, 1.0, "--engines: 0 is out of reach; allowed: 1 to 5"),
        (None, 0.0, "--seconds: 0 is out of reach; allowed: above 0 to 3600"),
        (None, float("nan"), "--seconds: nan is out of reach"),
    ],
)
def test_options_out_of_reach(engines, seconds, said):
    with pytest.raises(BadInput, match=said):
        match(invented(40, 1), engines, seconds=seconds)


def test_single_cylinders_cost_nothing():
    found = match(invented(5, 19, "inline-1"), seconds=0.2)
    assert found.cost_g == 0
    assert found.proved
    assert found.costly is None
