"""The search ends when it is told to, with the best so far; and each step of it is what going through every swap
by hand gives."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from pools import invented, match

from truethrow.balance.shelf import search
from truethrow.balance.shelf.problem import problem, total
from truethrow.balance.shelf.start import sorted_start


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


@pytest.mark.parametrize(
    ("count", "seed", "layout", "scatter"), [(6, 2, "vtwin-90", "two-humped"), (9, 3, "inline-3", "outliers")]
)
def test_the_search_comes_down_to_what_none_can_beat(count, seed, layout, scatter):
    """Small shelves whose bound, which is worked out without the search, can be reached: it finds a division that
    costs no more, in a second's work."""
    found = match(invented(count + seed % 3, seed, layout, scatter=scatter, more=(("pin", 2),)), seconds=1.0)
    assert found.cost_g == pytest.approx(found.bound_g, abs=1e-9)
    assert found.cost_g > 0


def shop(case):
    """A shelf in numbers: with parts left over, or none; parts of a bank; pins and rings that stay with a piston;
    no rods at all; more chains than one."""
    kinds, more, count, layout, engines = {
        "plain": (("rod", "piston", "pin"), (), 8, "inline-4", 2),
        "left over": (("rod", "piston", "pin"), (("pin", 3), ("rod", 1)), 11, "inline-4", 2),
        "banks": (("rod", "piston", "pin"), (("rod", 2),), 18, "v6-60-even", 3),
        "fitted": (("rod", "piston", "pin", "rings"), (("piston", 2),), 12, "inline-4", 3),
        "no rods": (("piston", "pin"), (), 6, "vtwin-90", 3),
        "one kind": (("rod",), (), 6, "vtwin-90", 3),
        "one engine": (("rod", "piston", "pin"), (), 4, "inline-4", 1),
    }[case]
    shelf = invented(count, 5, layout, kinds, more=more)
    pools = dict(shelf.pools)
    if case == "banks":
        pools["piston"] = tuple(
            p._replace(bank=("left", "right", "")[i % 3]) for i, p in enumerate(pools["piston"])
        )
        pools["rod"] = tuple(p._replace(bank=("", "right")[i % 4 == 0]) for i, p in enumerate(pools["rod"]))
    if case == "fitted":
        for kind, every in (("pin", 3), ("rings", 4)):
            pools[kind] = tuple(
                p._replace(together=f"p{i:04}") if i % every == 0 else p for i, p in enumerate(pools[kind])
            )
    found = problem(shelf._replace(pools=pools), engines)
    return found, sorted_start(found, 1)


def cost_steps(found, ids, rows):
    """What the engines among these rows take off to their lightest, in steps of the scale: row by row."""
    steps = 0
    for row in rows:
        if row >= found.engines:
            continue
        reciprocating = [
            sum(int(found.reciprocating[k][at[row, c]]) for k, at in ids.items()) for c in range(found.cylinders)
        ]
        steps += sum(reciprocating) - found.cylinders * min(reciprocating)
        if "rod" in ids:
            big = [int(found.big[ids["rod"][row, c]]) for c in range(found.cylinders)]
            steps += sum(big) - found.cylinders * min(big)
    return steps / found.step


def is_allowed(found, ids, move, one, other):
    """Whether a swap leaves each part on a bank of its own and with its piston."""
    for kind in move:
        for place, to in ((one, other), (other, one)):
            part = ids[kind][place]
            bank = found.banks[kind][part]
            side = found.cylinder_banks[to[1]] if to[0] < found.engines else 0
            if bank and side and bank != side:
                return False
    if len(move) == 1:
        (kind,) = move
        for place in (one, other):
            part = ids[kind][place]
            if kind in found.partner and found.partner[kind][part] >= 0:
                return False
            if kind == "piston" and any(
                part in partner for partner in found.partner.values() if part < len(found.parts[kind])
            ):
                return False
    return True


def by_hand(found, ids, move, one, other):
    """What a swap saves: the cost of both rows before it less the cost after it. Without end below zero where it
    may not be, and where an engine would get a part that is not there."""
    if not is_allowed(found, ids, move, one, other):
        return -math.inf
    if any(ids[kind][place] == len(found.parts[kind]) for kind in move for place in (one, other)):
        return None if min(one[0], other[0]) >= found.engines else -math.inf
    was, after = cost_steps(found, ids, {one[0], other[0]}), {kind: at.copy() for kind, at in ids.items()}
    swap(after, move, one, other)
    return was - cost_steps(found, after, {one[0], other[0]})


def swap(ids, move, one, other):
    for kind in move:
        ids[kind][one], ids[kind][other] = ids[kind][other], ids[kind][one]


def weighed(chains, move, within):
    """One step: the swaps that there were in the order of their gains, those gains, and which were made."""
    seen = {}
    draw, pairs = search._Chains._draw, search._Chains._pairs

    def drawing(gain, temperature, others):
        seen["gains"] = gain.copy()
        seen["drawn"] = draw(chains, gain, temperature, others)
        return seen["drawn"]

    def pairing(rods):
        seen["pairs"] = pairs(chains, rods)
        return seen["pairs"]

    chains._draw, chains._pairs = drawing, pairing
    (chains._within if within else chains._between)(move, 1.0)
    columns = range(chains.cylinders)
    if within:
        both = [(row, row) for row in np.flatnonzero(chains.counts)]
        swaps = list(itertools.combinations(columns, 2))
    else:
        both, swaps = list(zip(*seen["pairs"], strict=True)), list(itertools.product(columns, columns))
    places = [[((here, a), (there, b)) for a, b in swaps] for here, there in both]
    one, other, taken = seen["drawn"]
    picked = one if within else one * chains.cylinders + other
    made = [own[pick] for own, pick, is_made in zip(places, picked, taken, strict=True) if is_made]
    return places, seen["gains"], made


@pytest.mark.parametrize("within", [False, True])
@pytest.mark.parametrize("case", ["plain", "left over", "banks", "fitted", "no rods", "one kind"])
def test_each_swap_is_weighed_as_the_cost_before_it_less_the_cost_after_it(case, within, monkeypatch):
    """Every swap of every kind between the cylinders of two rows, or within one, done by hand; what is there after
    the step is what was there before with the swaps that were drawn, and every mass follows its part."""
    found, start = shop(case)
    monkeypatch.setattr(search, "MOST_CHAINS", 2)
    chains = search._Chains(found, start, 3)
    assert chains.chains == 2
    kinds = {"weighed": 0, "not to be": 0}
    for move in [move for move in chains.moves for _ in range(3)]:
        before = {kind: at.copy() for kind, at in chains.ids.items()}
        places, gains, made = weighed(chains, move, within)
        for (first, second), gain in zip(itertools.chain(*places), gains.ravel(), strict=True):
            begins = first[0] // found.rows * found.rows
            assert second[0] // found.rows * found.rows == begins
            ids = {kind: at[begins : begins + found.rows] for kind, at in before.items()}
            by = by_hand(found, ids, move, (first[0] - begins, first[1]), (second[0] - begins, second[1]))
            if by == -math.inf:
                assert gain < -1000
            elif by is not None:
                assert gain == pytest.approx(by, abs=0.02)
            kinds["weighed" if gain > -1000 else "not to be"] += 1
        for one, other in made:
            swap(before, move, one, other)
        for kind, at in before.items():
            assert np.array_equal(chains.ids[kind], at)
        steps = {kind: chains._steps(found.reciprocating[kind])[at] for kind, at in before.items()}
        assert np.allclose(chains.reciprocating, sum(steps.values()), atol=0.02)
        if "rod" in before:
            assert np.allclose(chains.big, chains._steps(found.big)[before["rod"]], atol=0.02)
    assert kinds["weighed"] > 10
    assert (kinds["not to be"] > 0) == (case in ("banks", "fitted") or (case == "left over" and not within))


def test_of_one_engine_swaps_within_it_are_all_there_is():
    found, start = shop("one engine")
    chains = search._Chains(found, start, 3)
    before = {kind: at.copy() for kind, at in chains.ids.items()}
    chains.sweep(1.0, within=False)
    assert all(np.array_equal(chains.ids[kind], at) for kind, at in before.items())
    for _ in range(20):
        chains.sweep(50.0, within=True)
    assert not all(np.array_equal(chains.ids[kind], at) for kind, at in before.items())


def test_a_swap_is_drawn_with_the_odds_of_a_heat_bath():
    """Boltzmann's weights: none weighs 1, a swap exp(gain / temperature); 40,000 draws, 4 standard errors."""
    found, start = shop("plain")
    chains = search._Chains(found, start, 1)
    temperature, rows = 2.0, 40_000
    gains = np.array([math.log(2) * temperature, 0.0, math.log(0.5) * temperature, -math.inf], dtype=np.float32)
    one, other, taken = chains._draw(np.tile(gains, (rows, 1)), temperature, 2)
    weights = [2.0, 1.0, 0.5, 0.0]
    counts = [int(((2 * one + other == at) & taken).sum()) for at in range(4)] + [int((~taken).sum())]
    for count, weight in zip(counts, [*weights, 1.0], strict=True):
        share = weight / 4.5
        assert abs(count - rows * share) <= 4 * math.sqrt(rows * share * (1 - share)) + 1e-9


@pytest.mark.parametrize(("noise", "rows", "times"), [(1 << 20, 10, 4000), (5000, 10, 4000), (1000, 4000, 1)])
def test_draw_after_draw_has_the_same_odds_by_chances_of_its_own(noise, rows, times, monkeypatch):
    """Rows drawn a few at a time, each time by other chances; and more at once than there is noise, which then
    comes again. Boltzmann's weights, 2, 1 and 1 for none; 5 standard errors of what is drawn anew."""
    monkeypatch.setattr(search, "NOISE", noise)
    found, start = shop("plain")
    chains = search._Chains(found, start, 1)
    gains = np.array([math.log(2) * 2.0, 0.0], dtype=np.float32)
    counts = np.zeros(3)
    for _ in range(times):
        one, other, taken = chains._draw(np.tile(gains, (rows, 1)), 2.0, 2)
        own = np.where(taken, 2 * one + other, 2)
        counts += np.bincount(own, minlength=3)
    anew = min(rows * times, noise // 3)
    for count, share in zip(counts, (0.5, 0.25, 0.25), strict=True):
        assert abs(count / (rows * times) - share) <= 5 * math.sqrt(share * (1 - share) / anew)


@pytest.mark.parametrize("case", ["plain", "left over", "banks", "no rods"])
def test_the_best_chain_is_the_one_that_costs_least(case):
    found, start = shop(case)
    chains = search._Chains(found, start, 2)
    assert chains.chains > 1
    for number in range(60):
        chains.sweep(5.0, within=number % 5 == 0)
    every = [
        {kind: at[first : first + found.rows] for kind, at in chains.ids.items()}
        for first in range(0, chains.chains * found.rows, found.rows)
    ]
    assert total(found, chains.best()) == min(total(found, one) for one in every)
    assert len({total(found, one) for one in every}) > 1
    for one in every:  # a division still: every part is in it once
        for kind, pool in found.parts.items():
            assert sorted(part for part in one[kind].ravel() if part < len(pool)) == list(range(len(pool)))


@pytest.mark.parametrize("rods", [False, True])
@pytest.mark.parametrize("case", ["left over", "plain", "banks"])
def test_rows_are_paired_within_a_chain_each_once(case, rods):
    found, start = shop(case)
    chains = search._Chains(found, start, 2)
    met, left = set(), set()
    for _ in range(200):
        here, there = chains._pairs(rods)
        rows = [*here, *there]
        assert len(set(rows)) == len(rows) == 2 * (found.rows // 2) * chains.chains
        assert (here // found.rows == there // found.rows).all()
        met |= {frozenset((int(a) % found.rows, int(b) % found.rows)) for a, b in zip(here, there, strict=True)}
        left |= {row % found.rows for row in range(found.rows * chains.chains)} - {
            int(row) % found.rows for row in rows[:2]
        }
    assert met == {frozenset(pair) for pair in itertools.combinations(range(found.rows), 2)}


def test_each_round_is_four_times_as_long_and_the_last_takes_the_rest():
    """By hand: 1.5, then 6; of 22.5 that are left after these of 30, a round of 24 and three more do not fit."""
    for seconds, lengths in {30.0: [1.5, 6.0, 22.5], 0.4: [0.4], 6.0: [6.0], 8.0: [1.5, 6.5]}.items():
        assert list(search._rounds(seconds)) == lengths


def test_it_cools_from_each_heat_to_cold_and_then_from_the_one_that_came_furthest(monkeypatch):
    """As many sweeps as its part of a round has, the temperature a geometric row; every 25th looks inside the
    engines; every 20th is told, with the exact cost of what is told, and so is what sharpening makes of it after
    the last; and what is told ends it. The chains are chosen anew for just what it is colder by then."""
    found, start = shop("plain")
    seen, heard, colder = [], [], []
    sweep, choose = search._Chains.sweep, search._Chains.choose

    def sweeping(chains, temperature, within):
        seen.append((temperature, within))
        sweep(chains, temperature, within)

    def choosing(chains, by):
        colder.append((len(seen), by))
        choose(chains, by)

    def done(ids, value):
        heard.append((len(seen), value))
        assert value == total(found, ids)
        return len(heard) == 4

    monkeypatch.setattr(search._Chains, "sweep", sweeping)
    monkeypatch.setattr(search._Chains, "choose", choosing)
    monkeypatch.setattr(search, "FIRST_ROUND_S", 0.12)
    search.search(found, start, 0.1, done)
    assert [at for at, _ in heard] == list(range(20, 81, 20))
    assert len(seen) == 80
    seen.clear(), heard.clear(), colder.clear()
    # Two rounds: the second, of 0.48, from the heat that came to the least in the first.
    search.search(found, start, 0.6, lambda _, value: bool(heard.append((len(seen), value))))
    first, second = search._sweeps_in(found, 0.04), search._sweeps_in(found, 0.48)
    ends = [first, 2 * first, 3 * first]
    least = [min(value for at, value in heard if end - first < at <= end) for end in ends]
    came_furthest = search.HEATS[least.index(min(least))]
    assert len(seen) == 3 * first + second
    told = [at for at, _ in heard]
    assert [told.count(end) for end in (*ends, 3 * first + second)] == [3, 3, 3, 3]
    by = dict(colder)
    assert [*by] == list(range(20, len(seen) + 1, 20))
    begun = 0
    for heat, sweeps in zip((*search.HEATS, came_furthest), (first, first, first, second), strict=True):
        hot, cold = search._heat(found, heat)
        last = hot
        for at, (temperature, within) in enumerate(seen[begun : begun + sweeps]):
            assert temperature == pytest.approx(hot * (cold / hot) ** (at / sweeps), rel=1e-9)
            assert within == (at % 25 == 0)
            if at % 20 == 19:
                assert by[begun + at + 1] == pytest.approx(1 / temperature - 1 / last)
                last = temperature
        begun += sweeps


@pytest.mark.parametrize("case", ["plain", "left over", "banks", "fitted", "no rods", "one kind"])
def test_the_better_chains_go_on_more_than_once(case):
    """Each as often as its share of Σ exp(−cost/T), worked out chain by chain, rounded down or up (Hukushima and
    Iba 2003, from memory); no colder, each once; and whole divisions with all their masses are carried along."""
    found, start = shop(case)
    chains = search._Chains(found, start, 4)
    for _ in range(5):
        chains.sweep(5.0, within=False)
    rows = found.rows
    for colder in (0.0, 0.01, 0.3, 50.0):
        before = [
            {kind: at[first : first + rows].copy() for kind, at in chains.ids.items()}
            for first in range(0, rows * chains.chains, rows)
        ]
        costs = [total(found, ids) / found.step for ids in before]
        assert chains.values() - chains.values()[0] == pytest.approx([cost - costs[0] for cost in costs], abs=0.05)
        shares = [math.exp(-colder * (cost - min(costs))) for cost in costs]
        chains.choose(colder)
        names = [tuple(at.tobytes() for at in ids.values()) for ids in before]
        after = [
            tuple(at[first : first + rows].tobytes() for at in chains.ids.values())
            for first in range(0, rows * chains.chains, rows)
        ]
        assert len(after) == chains.chains
        assert {*after} <= {*names}
        for name in {*names}:
            share = sum(own for own, other in zip(shares, names, strict=True) if other == name) / sum(shares)
            alike = names.count(name)
            assert abs(after.count(name) - share * chains.chains) < alike + 0.1
        mass = {kind: chains._steps(found.reciprocating[kind])[at] for kind, at in chains.ids.items()}
        assert np.array_equal(chains.reciprocating, sum(mass.values()))
        assert all(np.array_equal(chains.mass[kind], own) for kind, own in mass.items())
        if chains.big is not None:
            assert np.array_equal(chains.big, chains._steps(found.big)[chains.ids["rod"]])


@pytest.mark.parametrize(
    ("case", "odds"),
    [
        (
            "plain",
            {"rod": 2 / 13, "piston": 4 / 13, "pin": 3 / 13, "piston pin": 2 / 13, "rod piston pin": 2 / 13},
        ),
        ("one kind", {"rod": 1.0}),
        ("no rods", {"piston": 4 / 9, "pin": 3 / 9, "piston pin": 2 / 9}),
        (
            "fitted",
            {"rod": 2 / 16, "piston": 4 / 16, "pin": 3 / 16, "rings": 3 / 16}
            | {"rod piston pin rings": 2 / 16, "piston pin rings": 2 / 16},
        ),
    ],
)
def test_what_a_swap_may_move_and_how_often(case, odds):
    """Rods 2, pistons 4, pins and ring sets 3, several together 2, each over the sum (common practice, no
    source); only all that is fitted to a piston together where something stays with one."""
    found, start = shop(case)
    chains = search._Chains(found, start, 1)
    assert len(chains.moves) == len(odds)
    told = {frozenset(move.split()): part for move, part in odds.items()}
    for move, part in zip(chains.moves, chains.odds, strict=True):
        assert part == pytest.approx(told[frozenset(move)])


def test_it_begins_hotter_where_a_gain_is_larger():
    """By hand, in steps of the scale (how hot is common practice, no source). Two in-line fours, scatter below 15
    steps: 0.5 + 25 / 2 rows, down to half of 0.06 + 2 / 2. Ten V8s: 0.5 + 2.5, down to 0.06 + 0.2; warm a quarter
    of the one. Masses that scatter by 30 steps, twice that. Never hotter at the end than at the beginning."""
    four, _ = shop("plain")
    assert search._heat(four, 1.0) == pytest.approx((13.0, 0.53))
    assert search._heat(four, 0.01) == pytest.approx((0.53, 0.53))
    eight = problem(invented(80, 2), 10)
    scatter = max(float(np.std(m[:-1])) for m in (eight.big, *eight.reciprocating.values())) / eight.step
    unit = max(1, scatter / 15)
    assert search._heat(eight, 1.0) == pytest.approx((unit * 3.0, unit * 0.26))
    assert search._heat(eight, 0.25) == pytest.approx((unit * 0.75, unit * 0.26))
    wide = 30.0 / scatter
    coarse = eight._replace(
        big=np.round(eight.big * wide).astype(int),
        reciprocating={kind: np.round(m * wide).astype(int) for kind, m in eight.reciprocating.items()},
    )
    assert search._heat(coarse, 1.0) == pytest.approx((6.0, 0.52), rel=1e-6)
    twelve = problem(invented(24, 2, "v12-60"), 2)
    hot, cold = search._heat(twelve, 1.0)
    assert hot / cold == pytest.approx((0.5 + 25 / 2) / (0.06 + 2 / 2))


def test_so_much_is_weighed_at_a_time():
    """About 12,000 swaps a sweep: of ten V8s, five pairs of 64 swaps, 37 chains; never more than 64; one at least.
    As many sweeps as fit, in twenties: 0.14 ms each, and 17 ns a swap."""
    eight = problem(invented(80, 2), 10)
    assert search._chains_for(eight) == 12000 // (5 * 64) == 37
    assert search._chains_for(shop("no rods")[0]) == 64
    assert search._chains_for(problem(invented(4000, 2), 500)) == 1
    assert search._chains_for(shop("one engine")[0]) == 64
    assert search._sweeps_in(eight, 1.0) == 20 * int(1.0 / (1.4e-4 + 1.7e-8 * 37 * 320) / 20)
    assert search._sweeps_in(eight, 1e-6) == 20


@pytest.mark.parametrize("case", ["plain", "left over"])
def test_each_round_begins_from_the_best_that_was_told(case, monkeypatch):
    """Kept so hot that it ends far from the best that it came by, and never sharpened. The first round begins
    three times from the start."""
    found, start = shop(case)
    monkeypatch.setattr(search, "FIRST_ROUND_S", 0.12)
    monkeypatch.setattr(search, "_heat", lambda *_: (1000.0, 1000.0))
    monkeypatch.setattr(search, "sharpened", lambda _, ids: ids)
    begun, heard = [], [total(found, start)]
    begin = search._Chains.__init__

    def beginning(chains, problem_, division, seed):
        begun.append((total(found, division), min(heard)))
        begin(chains, problem_, division, seed)

    monkeypatch.setattr(search._Chains, "__init__", beginning)
    search.search(found, start, 0.6, lambda _, value: bool(heard.append(value)))
    assert len(begun) == 4
    assert [value for value, _ in begun[:3]] == [total(found, start)] * 3
    value, best = begun[3]
    assert value == best
    assert max(heard) > min(heard)
