"""What no division of a shelf can go below, by the rules that the text of `bound.both` takes away, done with every
relaxed engine there is: each is written down, and scipy weighs all of them at once. No prices, no columns found on
the way, no cheapest mates. For a shelf of very few parts, in whole steps of the grid."""

import itertools

import numpy as np
from scipy.optimize import linprog


def grid(kinds):
    """The largest step that all differences of two parts of a kind are multiples of, by Euclid."""
    step = 0
    for masses in kinds:
        for one, other in itertools.combinations(masses, 2):
            a, b = step, abs(one - other)
            while b:
                a, b = b, a % b
            step = a
    return step


def allowed(at_least, kinds, cylinders, step, *, all_used):
    """The least cost from a bound on that the readings allow. An engine costs the sum of its masses, less so many
    times the lightest of each kind: where every part is used, only those lightest are open, each a whole number of
    steps above its kind's lightest."""
    if not step:
        return 0
    if not all_used:
        cost = 0
        while cost < at_least:
            cost += step
        return cost
    whole = sum(mass - min(masses) for masses in kinds for mass in masses)
    cost = whole
    while cost - cylinders * step >= 0:
        cost -= cylinders * step
    while cost < at_least:
        cost += cylinders * step
    return cost


def highest_level(kinds, cylinders):
    """No more than this can be the lightest of so many cylinders of the heaviest parts: of the lightest so many of
    a kind, with the heaviest of the others, each counted no heavier than a cylinder needs it; −1 where a kind has
    too few."""
    if any(len(kind) < cylinders for kind in kinds):
        return -1
    used = [sorted(kind, reverse=True)[:cylinders] for kind in kinds]

    def is_open(level):
        needs = [level - sum(min(other) for other in used if other is not kind) for kind in used]
        counted = [[min(mass, need) for mass in kind] for kind, need in zip(used, needs, strict=True)]
        for number in range(1, cylinders + 1):
            for at in range(len(counted)):
                light = sum(sorted(counted[at])[:number])
                heavy = sum(sum(sorted(kind, reverse=True)[:number]) for n, kind in enumerate(counted) if n != at)
                if light + heavy < level * number:
                    return False
        return True

    level = sum(map(min, used))
    while is_open(level + 1):
        level += 1
    return level


def rules(big, rods, mates, cylinders, engines):
    """How many engines at most have all big ends from b and all cylinders from L on: (b, L, most), for every b."""
    for number in range(1, engines + 1):
        for b in sorted(set(big)):
            heavy = [rod for rod, end in zip(rods, big, strict=True) if end >= b]
            yield b, highest_level([heavy, *mates], cylinders * number) + 1, number - 1


def least(big, rods, mates, cylinders, engines):
    """The least cost of so many relaxed engines: n different rods, of each other kind n parts, the same one as
    often as one likes, any b and L up to its own. Each part is used once, or at most once where there are more
    than are needed, and the rules hold."""
    own = list(rules(big, rods, mates, cylinders, engines))
    sizes = [len(rods), *map(len, mates)]
    columns, costs = {}, []
    every = [itertools.product(range(len(kind)), repeat=cylinders) for kind in mates]
    every = [list(one) for one in every]
    for chosen in itertools.combinations(range(len(rods)), cylinders):
        for with_it in itertools.product(*every):
            x = [
                rods[rod] + sum(kind[parts[at]] for kind, parts in zip(mates, with_it, strict=True))
                for at, rod in enumerate(chosen)
            ]
            uses = np.zeros(sum(sizes), dtype=int)
            for at, parts in enumerate((chosen, *with_it)):
                for part in parts:
                    uses[sum(sizes[:at]) + part] += 1
            ends = [big[rod] for rod in chosen]
            for b, level in itertools.product(range(min(ends) + 1), range(min(x) + 1)):
                cost = sum(ends) - cylinders * b + sum(x) - cylinders * level
                about = tuple(b >= from_b and level >= from_level for from_b, from_level, _ in own)
                key = (*uses, *about)
                columns[key] = min(columns.get(key, cost), cost)
    costs, rows = list(columns.values()), np.array(list(columns)).T
    exactly = [size == engines * cylinders for size in sizes for _ in range(size)] + [False] * len(own)
    most = np.array([1] * sum(sizes) + [at_most for *_, at_most in own])
    exactly = np.array(exactly)
    found = linprog(
        costs,
        A_ub=rows[~exactly] if (~exactly).any() else None,
        b_ub=most[~exactly] if (~exactly).any() else None,
        A_eq=np.vstack([rows[exactly], np.ones(len(costs))]),
        b_eq=[*most[exactly], engines],
        method="highs",
    )
    return found.fun
