"""What a member of each quantity may weigh where spreads are within given ones, and what may sit in a cylinder.

A quantity within its spread lies, in every member, no further from the mean than the spread times
(members − 1) / members, since the members' total is the same whatever sits where; and no further than the spread
from what the heaviest member must weigh, and from the lightest. Parts that nothing tells apart count as one kind.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from truethrow.balance.base.arrays import Ints
from truethrow.balance.matching.bounds import extremes
from truethrow.balance.matching.question import Question, Unit

MOST_ROWS = 2_000_000  # rows held at once: some hundred megabytes


class TooMany(Exception):
    """More arrangements than can be looked at: nothing is proved."""


class Windows:
    """By quantity, in the order of quantities: most, the spread; total, members: of all members together, and how
    many they are; floor, ceiling: what a member weighs at least and at most. [grains]

    kind_of: by unit, the kind of each part."""

    def __init__(self, question: Question, most: Mapping[str, int]) -> None:
        self.question = question
        self.quantities = [name for name in ("reciprocating", "rotating", "bobweight") if name in most]
        self.most = np.array([most[name] for name in self.quantities], dtype=np.int64)
        as_listed = np.tile(np.arange(question.cylinders), (len(question.units), 1))
        masses = question.masses(as_listed)
        self.total = np.array([int(masses.of(name).sum()) for name in self.quantities], dtype=np.int64)
        self.members = np.array([masses.of(name).shape[-1] for name in self.quantities], dtype=np.int64)
        # |member · members − total| ≤ spread · (members − 1); and within the spread of the outermost members.
        reach = self.most * (self.members - 1)
        self.floor = -((reach - self.total) // self.members)
        self.ceiling = (self.total + reach) // self.members
        for at, name in enumerate(self.quantities):
            if found := extremes(question, name):
                width = int(self.most[at])
                self.floor[at] = max(int(self.floor[at]), math.ceil(found.heaviest) - width)
                self.ceiling[at] = min(int(self.ceiling[at]), math.floor(found.lightest) + width)
        self.kind_of = [kinds_of(question, u) for u in range(len(question.units))]

    def choices(self, cylinder: int) -> Ints:
        """Every choice of parts for one cylinder, within the rules: a kind of each unit. Raises TooMany."""
        question = self.question
        choice = np.zeros((1, 0), dtype=np.int64)
        for u, unit in enumerate(question.units):
            kinds = np.unique(self.kind_of[u][unit.allowed[:, cylinder]])
            choice = np.column_stack([np.repeat(choice, len(kinds), axis=0), np.tile(kinds, len(choice))])
            for (one, other), fits in question.pairs.items():
                if other == u:
                    first, second = (self._part(v)[choice[:, v]] for v in (one, other))
                    choice = choice[fits[first, second]]
            if len(choice) > MOST_ROWS:
                raise TooMany
        return choice

    def weights(self, cylinder: int, choice: NDArray[np.integer]) -> tuple[Ints, Ints]:
        """Reciprocating and rotating mass of a cylinder with each of some choices. [grains]"""
        question = self.question
        reciprocating = np.full(len(choice), question.cylinder_reciprocating[cylinder], dtype=np.int64)
        rotating = np.full(len(choice), question.cylinder_rotating[cylinder], dtype=np.int64)
        for u, unit in enumerate(question.units):
            parts = self._part(u)[choice[:, u]]
            reciprocating += unit.reciprocating[parts]
            rotating += unit.rotating[parts]
        return reciprocating, rotating

    def _part(self, unit: int) -> NDArray[np.intp]:
        """A part of each kind."""
        return np.unique(self.kind_of[unit], return_index=True)[1]


def kinds_of(question: Question, u: int) -> NDArray[np.intp]:
    """The parts of a unit by kind: those of one kind weigh the same and may do the same. The kinds furthest from
    the mean come first, because with them on the first throw there is least room for the rest."""
    unit: Unit = question.units[u]
    tellings: list[tuple[object, ...]] = []
    for part in range(question.cylinders):
        rules: list[bytes] = [unit.allowed[part].tobytes()]
        for (one, other), fits in question.pairs.items():
            rules += [fits[part].tobytes()] if one == u else []
            rules += [fits[:, part].tobytes()] if other == u else []
        tellings.append((int(unit.reciprocating[part]), int(unit.rotating[part]), *rules))
    weight = question.carried(unit.reciprocating, unit.rotating)
    far = np.argsort(-np.abs(weight * question.cylinders - weight.sum()), kind="stable")
    order = {telling: kind for kind, telling in enumerate(dict.fromkeys(tellings[part] for part in far))}
    return np.array([order[telling] for telling in tellings], dtype=np.intp)
