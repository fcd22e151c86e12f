"""The question that matching answers, as arrays: which part may sit where, and what each arrangement weighs.

An arrangement is one row of part numbers a unit: arrangement[u, c] is the part of unit u that sits in cylinder
c, the cylinders counted from 0 in the job's order, the parts by their masses, so that the order in which they
were listed changes nothing. Masses are whole numbers of a grain, so that equal is equal and a bound that is
reached is a proof; a grain is the largest mass of which all of them are multiples.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

import numpy as np

from truethrow.balance.base.arrays import Bools, Complexes, Floats, Ints

# A share of up to six decimals is taken as it is. One of more, or one that would make the numbers too large, is
# rounded to the nearest fraction of the next smaller denominator.
DENOMINATORS = (10**6, 10**4, 10**2)
NANOGRAMS = 10**9


class Unit(NamedTuple):
    """What changes places as one: of each part reciprocating and rotating mass [grains], the cylinders it may sit
    in (parts × cylinders), and the one in which it sits now."""

    name: str
    reciprocating: Ints
    rotating: Ints
    allowed: Bools
    sits: Ints


class Limited(NamedTuple):
    """A limit on a spread that an arrangement changes [grains]: inside, a spread that is inside whoever sits
    where; most_inside, beyond which none is inside; outside, beyond which each is outside; lowers and
    raises, by how much a gram of metal does that to a member at best."""

    inside: int
    most_inside: int
    outside: int
    lowers: float
    raises: float


@dataclasses.dataclass(frozen=True, eq=False)
class Question:
    """One engine to be matched.

    cylinders n, throws t; per_g: grains to the gram; share: numerator and denominator; cylinder_reciprocating,
    cylinder_rotating (n): what stays with its cylinder; throw_of (n): the throw of each cylinder; oil (t); pairs:
    for two units which of their parts may sit together (parts × parts); limited: by quantity its limit;
    metal_anyway: a spread that nobody's trade changes is outside its limit; arms_mm (2, t): what a gram on each
    throw gives to the front and the rear plane; hung_g (t), None where each throw is hung its own; rod_arms_mm
    (2, n): what a gram on each rod gives beyond the same in the middle of its throw, None where every rod lies
    there."""

    units: tuple[Unit, ...]
    cylinder_reciprocating: Ints
    cylinder_rotating: Ints
    throw_of: Ints
    oil: Ints
    share: tuple[int, int]
    per_g: float
    pairs: Mapping[tuple[int, int], Bools]
    limited: Mapping[str, Limited]
    metal_anyway: bool
    arms_mm: Complexes
    hung_g: Floats | None
    rod_arms_mm: Complexes | None = None

    @property
    def cylinders(self) -> int:
        return len(self.cylinder_reciprocating)

    @property
    def throws(self) -> int:
        return len(self.oil)

    @functools.cached_property
    def now(self) -> Ints:
        """The arrangement as the parts sit now."""
        return np.array([np.argsort(unit.sits) for unit in self.units])

    @functools.cached_property
    def on_throw(self) -> tuple[tuple[int, ...], ...]:
        """The cylinders of each throw."""
        return tuple(tuple(np.flatnonzero(self.throw_of == throw).tolist()) for throw in range(self.throws))

    @functools.cached_property
    def throw_classes(self) -> tuple[tuple[object, ...], ...]:
        """All that tells a throw from another, but for its place along the crank: its oil, then of each of its
        cylinders what stays with it and which parts may sit in it. Throws of one class are twins."""
        found = []
        for throw, cylinders in enumerate(self.on_throw):
            traded = (
                (
                    int(self.cylinder_reciprocating[c]),
                    int(self.cylinder_rotating[c]),
                    *(unit.allowed[:, c].tobytes() for unit in self.units),
                )
                for c in cylinders
            )
            found.append((int(self.oil[throw]), *traded))
        return tuple(found)

    @functools.cached_property
    def _members(self) -> Ints:
        made = np.zeros((self.cylinders, self.throws), dtype=np.int64)
        made[np.arange(self.cylinders), self.throw_of] = 1
        return made

    def masses(self, arrangements: Ints) -> Masses:
        """What arrangements (…, units, cylinders) weigh."""
        reciprocating = np.broadcast_to(self.cylinder_reciprocating, (*arrangements.shape[:-2], self.cylinders))
        rotating = np.broadcast_to(self.cylinder_rotating, reciprocating.shape)
        for u, unit in enumerate(self.units):
            reciprocating = reciprocating + unit.reciprocating[arrangements[..., u, :]]
            rotating = rotating + unit.rotating[arrangements[..., u, :]]
        return Masses(reciprocating, rotating, self.carried(reciprocating, rotating) @ self._members + self.oil)

    def carried(self, reciprocating: Ints, rotating: Ints) -> Ints:
        """What cylinders give to the bobweight of their throw. All masses here are counted in grains already
        multiplied by the share's denominator, so that this stays whole."""
        numerator, denominator = self.share
        return rotating + reciprocating // denominator * numerator

    def allows(self, arrangement: Ints) -> bool:
        """Whether every part may sit where it does."""
        return not self.broken(arrangement[np.newaxis])[0]

    def broken(self, arrangements: Ints) -> Ints:
        """How many of the builder's rules each arrangement (k, units, cylinders) breaks."""
        cylinders = np.arange(self.cylinders)
        count = np.zeros(len(arrangements), dtype=np.int64)
        for u, unit in enumerate(self.units):
            if not unit.allowed.all():
                count += (~unit.allowed[arrangements[:, u], cylinders]).sum(axis=1)
        for (u, v), fits in self.pairs.items():
            count += (~fits[arrangements[:, u], arrangements[:, v]]).sum(axis=1)
        return count

    @property
    def bound_by_rules(self) -> bool:
        """Whether the builder's rules keep any part from any place."""
        return bool(self.pairs) or any(not unit.allowed.all() for unit in self.units)


class Masses(NamedTuple):
    """Of one or more arrangements: reciprocating and rotating mass of each cylinder, bobweight of each throw,
    in grains."""

    reciprocating: Ints
    rotating: Ints
    bobweight: Ints

    def of(self, quantity: str) -> Ints:
        return getattr(self, quantity)  # type: ignore[no-any-return]


def spread(values: Ints) -> Ints:
    """Heaviest less lightest, along the last axis."""
    return np.asarray(values.max(axis=-1) - values.min(axis=-1))


def share_of(share: float, largest: int) -> tuple[int, int]:
    """The reciprocating share as a fraction of whole numbers, the denominator no larger than this."""
    exact = Fraction(repr(share)).limit_denominator(largest)
    return exact.numerator, exact.denominator


def nanograms(masses_g: Sequence[float]) -> list[int]:
    return [round(mass * NANOGRAMS) for mass in masses_g]
