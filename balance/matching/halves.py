"""The least unbalance left in the worse plane, by halves of the crank: whatever parts one half takes, the other
has those that are left, and what both planes carry is the sum of the two. So every way to fill one half is held
against every way to fill the other, and what parts do within a throw is counted once.

It takes an engine where any part may sit anywhere, and rods in the middle of their throws.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from truethrow.balance.base.arrays import Complexes, Ints
from truethrow.balance.matching.effort import PAIR, Effort
from truethrow.balance.matching.question import Question
from truethrow.balance.matching.windows import TooMany


class Half(NamedTuple):
    """The ways to fill a half with so many parts of a unit: by subset and way the part in each cylinder, and what
    these make of both planes."""

    parts: Ints
    planes: Complexes


def reaches(question: Question, effort: Effort) -> bool:
    """Whether it can be done with the effort that is left."""
    if question.bound_by_rules or question.rod_arms_mm is not None or question.hung_g is None:
        return False
    return question.throws > 1 and _pairs(question) * PAIR < effort.looks


def least(question: Question, effort: Effort) -> Ints:
    """The arrangement with the least in its worse plane. Raises TooMany where the time ends it."""
    one, other = _sides(question)
    halves = [_halves(question, u, one, other) for u in range(len(question.units))]
    fixed = _fixed(question)
    best, found = math.inf, question.now
    a_look = _pairs(question) * PAIR / math.prod(len(first.parts) for first, _ in halves)
    for subsets in itertools.product(*(range(len(first.parts)) for first, _ in halves)):
        effort.spend(a_look)
        if effort.is_out():
            raise TooMany
        begun, ended = (
            _sums([both[side].planes[at] for both, at in zip(halves, subsets, strict=True)]) for side in (0, 1)
        )
        worse = np.zeros((len(begun), len(ended)))
        for plane in (0, 1):
            left = begun[:, np.newaxis, plane] + (ended[:, plane] + fixed[plane])
            np.maximum(worse, left.real**2 + left.imag**2, out=worse)
        place = int(worse.argmin())
        if worse.flat[place] < best:
            best = float(worse.flat[place])
            found = _arrangement(question, halves, subsets, divmod(place, len(ended)))
    return found


def _sides(question: Question) -> tuple[list[int], list[int]]:
    """The throws of both halves."""
    middle = (question.throws + 1) // 2
    return list(range(middle)), list(range(middle, question.throws))


def _pairs(question: Question) -> int:
    """How many pairs of halves there are."""
    sizes = [len(on) for on in question.on_throw]
    ways = math.factorial(question.cylinders) // math.prod(map(math.factorial, sizes))
    return int(ways ** len(question.units))


def _fixed(question: Question) -> Complexes:
    """What everything that nobody trades makes of both planes, less what is hung."""
    assert question.hung_g is not None
    stays = question.carried(question.cylinder_reciprocating, question.cylinder_rotating)
    throws = question.oil + np.array([stays[list(on)].sum() for on in question.on_throw])
    return np.asarray(question.arms_mm @ (throws / question.per_g - question.hung_g))


def _halves(question: Question, u: int, one: Sequence[int], other: Sequence[int]) -> tuple[Half, Half]:
    """Of a unit, in the order of the subsets that the first half takes."""
    unit, everyone = question.units[u], range(question.cylinders)
    carried_g = question.carried(unit.reciprocating, unit.rotating) / question.per_g
    filled: list[list[list[list[int]]]] = [[], []]
    for subset in itertools.combinations(everyone, sum(len(question.on_throw[throw]) for throw in one)):
        rest = tuple(part for part in everyone if part not in subset)
        for half, throws, own in ((0, one, subset), (1, other, rest)):
            filled[half].append(list(_ways(own, [len(question.on_throw[throw]) for throw in throws])))
    made = []
    for half, throws in ((0, one), (1, other)):
        parts = np.array(filled[half], dtype=np.int64)
        on = [throw for throw in throws for _ in question.on_throw[throw]]
        made.append(Half(parts, carried_g[parts] @ question.arms_mm[:, on].T))
    return made[0], made[1]


def _ways(parts: Sequence[int], sizes: Sequence[int]) -> Iterator[list[int]]:
    """Every way to give so many of some parts to each throw, whichever cylinder of it they sit in."""
    if not sizes:
        yield []
        return
    for own in itertools.combinations(parts, sizes[0]):
        for others in _ways([part for part in parts if part not in own], sizes[1:]):
            yield [*own, *others]


def _sums(planes: Sequence[Complexes]) -> Complexes:
    """What every choice of one way a unit makes of both planes."""
    total = np.zeros((1, 2), complex)
    for own in planes:
        total = (total[:, np.newaxis] + own).reshape(-1, 2)
    return total


def _arrangement(
    question: Question, halves: Sequence[tuple[Half, Half]], subsets: Sequence[int], ways: tuple[int, int]
) -> Ints:
    found = np.zeros((len(halves), question.cylinders), dtype=np.int64)
    for side, (throws, way) in enumerate(zip(_sides(question), ways, strict=True)):
        cylinders = [c for throw in throws for c in question.on_throw[throw]]
        shape = [both[side].parts.shape[1] for both in halves]
        for u, at in enumerate(np.unravel_index(way, shape)):
            found[u, cylinders] = halves[u][side].parts[subsets[u], at]
    return found
