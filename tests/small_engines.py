"""Small engines and rules, for which every arrangement can be tried."""

import dataclasses
import itertools
import random

import numpy as np
import questions

from truethrow.balance.matching import aims, solve
from truethrow.balance.matching.effort import Effort

LIMITS = {"bobweight": 1.2, "reciprocating": 1.6}


def layouts_of(most):
    from truethrow.balance.engine.layout import GENERIC, generic_layout

    return [name for name in GENERIC if 2 < len(generic_layout(name).cylinders) <= most]


def answer(asked, names, seconds=5.0, start=None):
    listed = questions.as_listed(asked)
    made = [aims.MAKERS[name](asked) for name in names]
    return solve.solve(asked, made, listed if start is None else start, Effort(seconds, questions.by_looks()))


def by_force(asked, names):
    """The best values in order, out of every arrangement."""
    left = questions.every(asked)
    found = []
    for name in names:
        aim = aims.MAKERS[name](asked)
        values = aim.of(left)
        found.append(values.min())
        left = left[values <= values.min() + aim.step / 2]
    return found


def ruled(asked, seed):
    """The question with random rules that the parts as listed keep."""
    draw = random.Random(seed)
    count = asked.cylinders
    units = list(asked.units)
    for u, unit in enumerate(units):
        allowed = np.ones((count, count), dtype=bool)
        for part, cylinder in itertools.product(range(count), repeat=2):
            if part != cylinder and draw.random() < 0.3:
                allowed[part, cylinder] = False
        units[u] = unit._replace(allowed=allowed)
    fits = np.ones((count, count), dtype=bool)
    for one, other in itertools.permutations(range(count), 2):
        if draw.random() < 0.2:
            fits[one, other] = False
    kept = draw.randrange(count)
    fits[kept, :] = fits[:, kept] = False
    fits[kept, kept] = True
    return dataclasses.replace(asked, units=tuple(units), pairs={(0, 1): fits})
