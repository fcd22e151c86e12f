"""Invented pools of parts, and the common way of choosing out of them, for comparison."""

from __future__ import annotations

import math
import random
import time

import numpy as np
import questions

from truethrow.balance.engine.layout import generic_layout
from truethrow.balance.shelf import match_shelf as shelf_module
from truethrow.balance.shelf.pool import Part, Shelf
from truethrow.balance.shelf.problem import problem, total
from truethrow.balance.shelf.start import sorted_start

SIGMA_G = {"rod": (1.5, 1.5), "piston": (0.0, 1.2), "pin": (0.0, 0.3), "rings": (0.0, 0.2)}


MEAN_G = {"rod": (452.0, 171.0), "piston": (0.0, 538.0), "pin": (0.0, 112.0), "rings": (0.0, 41.0)}


# How the masses of a kind scatter: as many drawn alike; with a tail of heavy ones; out of two boxes; with one in
# twenty far off.
SCATTERS = ("plain", "skewed", "two-humped", "outliers")


def invented(
    count,
    seed,
    layout="v8-90-crossplane",
    kinds=("rod", "piston", "pin"),
    step_g=0.1,
    more=(),
    scatter="plain",
):
    """A shelf of so many of each kind on the scale's grid; more: how many more of a kind."""
    draw = random.Random(seed)
    pools = {}
    for kind in kinds:
        pools[kind] = tuple(
            Part(kind, f"{kind[0]}{i:04}", *(_on_grid(draw, m, s, step_g, scatter) for m, s in _masses(kind)))
            for i in range(count + dict(more).get(kind, 0))
        )
    made = generic_layout(layout, 112.0)
    return Shelf("launch-7", "g", step_g, made, 0.5, (4.0,) * len(made.throws), {"locks": 3.2}, pools)


def _masses(kind):
    return zip(MEAN_G[kind], SIGMA_G[kind], strict=True)


def _on_grid(draw, mean_g, sigma_g, step_g, scatter="plain"):
    return round(round(_drawn(draw, mean_g, sigma_g, scatter) / step_g) * step_g, 6) if mean_g else 0.0


def _drawn(draw, mean_g, sigma_g, scatter):
    match scatter:
        case "skewed":
            return mean_g + sigma_g * (draw.gammavariate(1.5, 1.0) - 1.5)
        case "two-humped":
            return draw.gauss(mean_g + draw.choice((-1.5, 1.5)) * sigma_g, 0.5 * sigma_g)
        case "outliers":
            return draw.gauss(mean_g, sigma_g * (6 if draw.random() < 0.05 else 1))
        case _:
            return draw.gauss(mean_g, sigma_g)


def alternating(shelf, rounds=12):
    """The common way, for comparison: rods assigned to the places of the engines for the least of what they are
    above each engine's targets, then pistons and pins sorted against what is there, in turn."""
    from scipy.optimize import linear_sum_assignment

    numbers = problem(shelf, shelf.most_engines)
    n, k = numbers.cylinders, numbers.engines
    ids = min((sorted_start(numbers, m) for m in (1, 2, 4, 8) if m <= k), key=lambda i: total(numbers, i))
    best = total(numbers, ids)
    rec, big = numbers.reciprocating, numbers.big
    for _ in range(rounds):
        mates = rec["piston"][ids["piston"]] + rec["pin"][ids["pin"]]
        x = mates + rec["rod"][ids["rod"]]
        level, low = np.median(x, axis=1, keepdims=True), big[ids["rod"]].min(1, keepdims=True)
        wanted_x, wanted_b = (level - mates).ravel(), np.broadcast_to(low, x.shape).ravel()
        off_x, off_b = rec["rod"][:-1][:, None] - wanted_x, big[:-1][:, None] - wanted_b
        price = np.where(off_x < 0, -n * off_x, off_x) + np.where(off_b < 0, -n * off_b, off_b)
        rod, place = linear_sum_assignment(price)
        flat = np.empty(k * n, dtype=int)
        flat[place] = rod
        ids["rod"] = flat.reshape(k, n)
        for kind, other in (("piston", "pin"), ("pin", "piston")):
            rest = rec["rod"][ids["rod"]] + rec[other][ids[other]]
            gap = (np.median(rest + rec[kind][ids[kind]], axis=1, keepdims=True) - rest).ravel()
            taken = np.empty(k * n, dtype=int)
            taken[np.argsort(gap, kind="stable")] = np.argsort(rec[kind][:-1], kind="stable")
            ids[kind] = taken.reshape(k, n)
            best = min(best, total(numbers, ids))
    return best / 1e9


def annealed(shelf, processor_s, seed=1):
    """An annealing of whole engines, for comparison: from sorted by hand, one part or whole cylinder at a time
    trades places between two engines at random, by the odds of Metropolis, with a temperature that falls from
    5 g to a quarter of a step over the processor's time that it is given. The least on its way [g]."""
    numbers, draw = problem(shelf, shelf.most_engines), random.Random(seed)
    n, k = numbers.cylinders, numbers.engines
    start = sorted_start(numbers, 1)
    mass = {kind: numbers.reciprocating[kind][at[:k]].tolist() for kind, at in start.items()}
    big = numbers.big[start["rod"][:k]].tolist()
    x = [[sum(own) for own in zip(*(mass[kind][e] for kind in mass), strict=True)] for e in range(k)]
    moves = [(kind,) for kind in mass] + [tuple(mass)]
    hot, cold = 5e9, numbers.step / 4
    cost = best = total(numbers, start)
    begun = time.process_time()
    while (gone := (time.process_time() - begun) / processor_s) < 1:
        temperature = hot * (cold / hot) ** gone
        for _ in range(200):
            a, b = draw.sample(range(k), 2)
            i, j, move = draw.randrange(n), draw.randrange(n), draw.choice(moves)
            step = sum(mass[kind][b][j] - mass[kind][a][i] for kind in move)
            before = min(x[a]) + min(x[b])
            x[a][i], x[b][j] = x[a][i] + step, x[b][j] - step
            gain = min(x[a]) + min(x[b]) - before
            if "rod" in move:
                before = min(big[a]) + min(big[b])
                big[a][i], big[b][j] = big[b][j], big[a][i]
                gain += min(big[a]) + min(big[b]) - before
            if gain * n >= temperature * math.log(1 - draw.random()):
                for kind in move:
                    mass[kind][a][i], mass[kind][b][j] = mass[kind][b][j], mass[kind][a][i]
                cost -= n * gain
                best = min(best, cost)
                continue
            x[a][i], x[b][j] = x[a][i] - step, x[b][j] + step
            if "rod" in move:
                big[a][i], big[b][j] = big[b][j], big[a][i]
    return best / 1e9


def match(shelf, engines=None, **options):
    """On a clock that counts: how far the search goes is the same on any machine."""
    return shelf_module.match(shelf, engines, **{"now": questions.by_looks(), **options})


def standing():
    """A clock on which no search is cut short."""
    return 0.0
