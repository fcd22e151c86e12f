"""Jobs whose least metal depends on who sits where, and what the exact solver takes them as."""

import itertools
import random

import exact_solver
import invented
import numpy as np
from scattered_jobs import scattered
from trims import PADS

from truethrow.balance.base.parts import UNITS
from truethrow.balance.matching.match import ask, match, moves_of, rearranged
from truethrow.balance.result.least_metal import can_give_g, counted, cylinders_of, least_metal, window_of
from truethrow.balance.result.work import work

AIMED = {"aims": ["grams"], "move": ["piston", "rod"]}


def hardly_inside(seed, layout="v8-90-crossplane", count=8, **tables):
    """An engine whose reciprocating masses and bobweights are hardly to be brought inside by trading alone."""
    draw = random.Random(seed)
    limits = {"reciprocating": draw.choice((0.5, 1.0)), "bobweight": draw.choice((0.5, 1.0, 2.0))}
    if draw.random() < 0.5:
        limits["rotating"] = 1.0
    made = {"engine": invented.V8 | {"layout": layout}, "limits": limits, "trim": PADS, "match": AIMED}
    return work(invented.build(invented.document(scattered(seed, count, piston=2.0), **made | tables)))


def of_two_limits(seed):
    """A V8 of rods and pistons with limits on its reciprocating masses and its bobweights."""
    limits = {"reciprocating": 0.5 + 0.5 * (seed % 2), "bobweight": 2.0}
    parts = scattered(seed, piston=2.0)
    return work(invented.build(invented.document(parts, limits=limits, trim=PADS, match=AIMED)))


def least_of_all(result):
    """Of all 4!² arrangements of a four, each trimmed by itself."""
    question = ask(result, ("piston", "rod"))
    orders = list(itertools.permutations(range(4)))
    return min(
        least_metal(rearranged(result.job, moves_of(result.job, question, np.array(both))), result.certainty).cost
        for both in itertools.product(orders, repeat=2)
    )


def is_proved_the_least_of_all(result):
    (metal,) = match(result, 60).reached
    return metal.proved and abs(metal.value - least_of_all(result)) < 1e-3


def is_proved_within_rules():
    """A four with rules for its parts: they hold, and it is no better than without them."""
    rules = {"apart": [["rod 1", "piston 2"], ["rod 3", "cylinder 3"]], "fixed": ["piston 4"]}
    free, bound = (match(hardly_inside(4, "inline-4", 4, match=AIMED | own), 60) for own in ({}, rules))
    pistons, rods = ({n: bound.moves.get(unit, {}).get(n, n) for n in range(1, 5)} for unit in ("piston", "rod"))
    holds = pistons[4] == 4 and rods[3] != 3 and rods[1] != pistons[2]
    (least,), (metal,) = free.reached, bound.reached
    return holds and metal.proved and least.value <= metal.value + 1e-9


def limits_of(result, units=("piston", "rod")):
    """The limits and the pads of a job whose parts are all equally sure, as the exact solver takes them."""
    job = result.job
    cylinders = list(job.parts)
    limits = []
    for spread in result.spreads:
        if spread.limit_g is None:
            continue
        weights, members = counted(job, spread.quantity), window_of(job, spread).members
        units_g = [
            [sum(weights[k] * own[k].mean_g for k in UNITS[unit] if k in weights) for own in job.parts.values()]
            for unit in units
        ]
        on = [cylinders_of(job, spread, member.name) for member in members]
        moving = [sum(masses[cylinders.index(c)] for masses in units_g for c in own) for own in on]
        limits.append(
            exact_solver.MetalLimit(
                [tuple(cylinders.index(c) for c in own) for own in on],
                [member.now_g - own for member, own in zip(members, moving, strict=True)],
                units_g,
                [dict(member.effects) for member in members],
                max(0.0, spread.limit_g - spread.expanded_g),
                spread.limit_g + spread.expanded_g,
            )
        )
    pads = {(c, p): can_give_g(job, c, p) for c in cylinders for p in range(len(job.pads))}
    return limits, {place: most_g for place, most_g in pads.items() if most_g > 0}
