"""Every arrangement, where there are few enough of them."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

import numpy as np

from truethrow.balance.base.arrays import Ints
from truethrow.balance.matching.question import Question

CHUNK = 50_000


def count_of(question: Question) -> int:
    """How many arrangements there are, those that break a rule among them."""
    return math.prod(math.factorial(question.cylinders) for _ in question.units)


def every(question: Question) -> Iterator[Ints]:
    """All arrangements (k, units, cylinders) that keep to the rules, some at a time."""
    orders = np.array(list(itertools.permutations(range(question.cylinders))), dtype=np.int64)
    count = len(orders) ** len(question.units)
    for start in range(0, count, CHUNK):
        places = np.arange(start, min(start + CHUNK, count))
        chosen = np.unravel_index(places, (len(orders),) * len(question.units))
        arrangements = np.stack([orders[own] for own in chosen], axis=1)
        yield arrangements[question.broken(arrangements) == 0] if question.bound_by_rules else arrangements
