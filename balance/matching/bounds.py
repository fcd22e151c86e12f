"""Bounds that no arrangement can beat, out of the masses alone."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

import numpy as np

from truethrow.balance.base.arrays import Floats, Ints
from truethrow.balance.matching.question import Question


def step_of(question: Question, name: str) -> int:
    """The step of a quantity's sums [grains]; 0 where nothing changes it."""
    return _lattice_step([_values(question, name, u) for u in range(len(question.units))])


def apart(question: Question, name: str) -> int:
    """What every difference of two members of a quantity is a multiple of, whoever sits where. [grains]"""
    rests, step, _ = lattice(question, name)
    return math.gcd(step, *(rest - rests[0] for rest in rests))


def _values(question: Question, name: str, u: int) -> Ints:
    unit = question.units[u]
    match name:
        case "reciprocating":
            return unit.reciprocating
        case "rotating":
            return unit.rotating
    return question.carried(unit.reciprocating, unit.rotating)


def lattice(question: Question, name: str) -> tuple[list[int], int, int]:
    """Of a quantity: the rest of each member, the step, and the total."""
    light = sum(int(_values(question, name, u).min()) for u in range(len(question.units)))
    sizes = [len(on) for on in question.on_throw] if name == "bobweight" else [1] * question.cylinders
    rests = [trade + size * light for trade, size in zip(_traded(question, name), sizes, strict=True)]
    values = sum(int(_values(question, name, u).sum()) for u in range(len(question.units)))
    return rests, step_of(question, name), sum(_traded(question, name)) + values


def least(question: Question, name: str) -> int:
    """A spread that no arrangement can be below. [grains]

    The larger of two: what the steps of the masses allow, and what the lightest and the heaviest parts do."""
    rests, step, total = lattice(question, name)
    by_steps = _least_spread(rests, step, total)
    found = extremes(question, name)
    by_extremes = math.ceil(found.heaviest - found.lightest) if found else 0
    if len(set(rests)) == 1 and step:  # then spreads are whole steps
        by_extremes = -(-by_extremes // step) * step
    return max(by_steps, by_extremes)


class Extremes(NamedTuple):
    """Whoever sits where: what the heaviest member weighs at least, and the lightest at most. [grains]"""

    heaviest: Fraction
    lightest: Fraction


def extremes(question: Question, name: str) -> Extremes | None:
    """Whatever the heaviest k parts of a unit are put with, the members that they are in are on average no
    lighter than with the lightest of all else, and so is the heaviest of these members; and the other way
    round. None on a crank whose throws carry different numbers of cylinders."""
    sizes = {len(on) for on in question.on_throw} if name == "bobweight" else {1}
    if len(sizes) > 1:
        return None
    values = [np.sort(_values(question, name, u)) for u in range(len(question.units))]
    traded = _traded(question, name)
    size = sizes.pop()
    heaviest = _heaviest_at_least(values, sorted(traded), size)
    turned = _heaviest_at_least([-unit[::-1] for unit in values], sorted(-trade for trade in traded), size)
    return Extremes(heaviest, -turned)


def _traded(question: Question, name: str) -> list[int]:
    """What stays with each member, whoever sits there."""
    if name == "reciprocating":
        return [int(mass) for mass in question.cylinder_reciprocating]
    if name == "rotating":
        return [int(mass) for mass in question.cylinder_rotating]
    carried = question.carried(question.cylinder_reciprocating, question.cylinder_rotating)
    return [
        int(oil) + int(carried[list(on)].sum()) for oil, on in zip(question.oil, question.on_throw, strict=True)
    ]


def _heaviest_at_least(values: list[Ints], traded: list[int], size: int) -> Fraction:
    """What the heaviest member weighs at least. values: of each unit, rising; trades: what stays with each
    member, rising; size: cylinders to a member."""
    sums = [np.concatenate([[0], np.cumsum(unit)]).tolist() for unit in values]
    lifted = np.concatenate([[0], np.cumsum(traded)]).tolist()
    bounds = []
    for lead, unit in enumerate(sums):
        for k in range(1, len(unit)):
            top = unit[-1] - unit[-1 - k]
            averages = []
            for members in range(-(-k // size), min(k, len(traded)) + 1):
                rest = sum(other[members * size] for u, other in enumerate(sums) if u != lead)
                # The k heaviest with the lightest of their own unit in the places that are left.
                own = top + unit[members * size - k]
                averages.append(Fraction(own + rest + lifted[members], members))
            bounds.append(min(averages))
    return max(bounds)


def nearly_equal(rests: list[int], step: int, total: int) -> Floats:
    """Numbers of these rests and this total, about equal."""
    if step == 0:
        return np.array(rests, dtype=np.float64)
    mean = total // len(rests)
    near = [rest + (mean - rest) // step * step for rest in rests]
    for lifted in range((total - sum(near)) // step):
        near[lifted % len(near)] += step
    return np.array(near, dtype=np.float64)


def _lattice_step(groups: Sequence[Ints]) -> int:
    """The step of all sums that take one value out of each group: what every difference of two such sums is a
    multiple of."""
    differences = [int(value) for group in groups for value in np.unique(group - group.min())]
    return math.gcd(*differences)


def _least_spread(rests: Sequence[int], step: int, total: int) -> int:
    """The least spread that numbers of a given total can have, each being its own rest plus a whole number of
    steps.

    Proof: numbers whose spread is less than a step lie in a window of one step, which holds one number of each
    rest. Moved up along the axis, the window changes one number at a time, by one step, so that just one of
    its contents has this total, and no other numbers within a step of each other have it."""
    if step == 0:
        return max(rests) - min(rests)
    rests = sorted(rest % step for rest in rests)
    steps, left = divmod(total - sum(rests), step)
    if left:
        raise ValueError(f"no such numbers add up to {total}")
    lifted = steps % len(rests)  # all rests raised together by whole steps, then the lowest so many once more
    window = [rest + step for rest in rests[:lifted]] + rests[lifted:]
    return max(window) - min(window)
