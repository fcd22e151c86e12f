"""What a bobweight is stacked from, and what a stack is."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import NamedTuple

from truethrow.balance.base.readings import tidy

PG = 10**12  # in a gram


# A set of more sums than these takes too long.
MOST_SUMS = 2_000_000


Counts = tuple[int, ...]  # how many of each piece, in the order of their names


Halves = tuple[Counts, Counts]


class Piece(NamedTuple):
    """A kind of plate or shim: what one weighs, and how many there are."""

    name: str
    mass_g: float
    stock: int

    @property
    def mass_pg(self) -> int:
        return round(self.mass_g * PG)


class Inventory(NamedTuple):
    """What the shop stacks from. clamp_half_g: one empty half of a clamp, both equal; step_g: how near a stack
    has to come; alike: whether both halves carry the same pieces."""

    clamp_half_g: float
    step_g: float
    pieces: tuple[Piece, ...]
    alike: bool = True

    @property
    def step_pg(self) -> int:
        return round(self.step_g * PG)

    @property
    def clamp_pg(self) -> int:
        """Both empty halves."""
        return 2 * round(self.clamp_half_g * PG)


class Group(NamedTuple):
    """Throws that carry the same, and what the pieces of both halves should weigh together."""

    throws: tuple[str, ...]
    target_g: float
    wanted_pg: int


class Stack(NamedTuple):
    """What is clamped on each of some throws that carry the same. halves: name → how many, of each half, None
    where the step is not met; mass_g: clamp and pieces; below_g, above_g: the nearest that all pieces of the shop
    can make for these throws alone, where the step is not met, None for none; short: name → how many more of it
    would do, the fewest; finer_g: where no number would, what one piece more on each half would have to weigh, 0
    where that is not known."""

    throws: tuple[str, ...]
    target_g: float
    halves: tuple[Mapping[str, int], Mapping[str, int]] | None
    mass_g: float | None = None
    below_g: float | None = None
    above_g: float | None = None
    short: Mapping[str, int] = {}
    finer_g: float = 0.0

    @property
    def off_g(self) -> float | None:
        return None if self.mass_g is None else tidy(self.mass_g - self.target_g)

    @property
    def pieces(self) -> int:
        """Pieces on one throw, both halves together."""
        return sum(sum(half.values()) for half in self.halves or ())


class Stacks(NamedTuple):
    """All throws. is_proved: no stacks with fewer pieces exist, nor with as few any nearer; lacking: name → how
    many more would do, where each throw could be met alone but not all at once."""

    stacks: tuple[Stack, ...]
    is_proved: bool = True
    lacking: Mapping[str, int] = {}

    @property
    def is_met(self) -> bool:
        return all(stack.halves is not None for stack in self.stacks) and not self.lacking

    @property
    def pieces(self) -> int:
        """Pieces on all throws together."""
        return sum(stack.pieces * len(stack.throws) for stack in self.stacks)


class Half:
    """All that one half of a clamp can carry when both are alike, as sets of sums: bit s of a set is a sum of s
    units, the largest mass that divides every piece. is_listed: they are few enough; else ask for nothing here."""

    def __init__(self, group: Group, inventory: Inventory, slack_pg: int) -> None:
        self._unit = math.gcd(*(piece.mass_pg for piece in inventory.pieces)) or 1
        self._masses = [piece.mass_pg // self._unit for piece in inventory.pieces]
        each = len(group.throws) * (2 if inventory.alike else 1)
        self._counts = [piece.stock // each for piece in inventory.pieces]
        self._wanted_pg = group.wanted_pg
        self._low = max(0, -((slack_pg - group.wanted_pg) // (2 * self._unit)))
        self._high = (group.wanted_pg + slack_pg) // (2 * self._unit)
        self.is_listed = max(self._high, 0) + max(self._masses, default=0) <= MOST_SUMS

    def fewest(self) -> Counts | None:
        """The fewest pieces within the slack, and of these the nearest, the lighter of two; None for none."""
        least = self.least
        if least is None:
            return None
        tables = self._by_number(least)
        best = min(self._within(tables[0][least]), key=lambda s: (abs(2 * self._unit * s - self._wanted_pg), s))
        return next(self._made(tables, least, best))

    @cached_property
    def least(self) -> int | None:
        """The least number of pieces that come within the slack, None for none."""
        if self._high < self._low or not self._within(self._sums(self._high)):
            return None
        most = 4
        while True:  # ends: some number of pieces makes a sum within
            sums = self._by_number(most)[0]
            if (found := next((n for n in range(most + 1) if self._within(sums[n])), None)) is not None:
                return found
            most *= 2

    def recipes(self, more: int) -> Iterator[Counts]:
        """Every way to come within the slack with no more than so many pieces above the least."""
        most = (self.least or 0) + more
        tables = self._by_number(most)
        for number in range(self.least or 0, most + 1):
            for units in self._within(tables[0][number]):
                yield from self._made(tables, number, units)

    def nearest_pg(self) -> tuple[int | None, int | None]:
        """The heaviest that both halves make together without exceeding what is wanted, and the lightest that is
        not below it."""
        at = self._wanted_pg // (2 * self._unit)
        # The lightest sum above would be below again without any one of its pieces.
        sums = self._sums(max(at, 0) + max(self._masses, default=0) + 1)
        below = (sums & ((1 << max(at + 1, 0)) - 1)).bit_length() - 1
        above = sums >> (start := max(0, -(-self._wanted_pg // (2 * self._unit))))
        lightest = start + (above & -above).bit_length() - 1
        return (
            2 * self._unit * below if below >= 0 else None,
            2 * self._unit * lightest if above else None,
        )

    def _within(self, sums: int) -> list[int]:
        window = sums >> self._low & ((1 << (self._high - self._low + 1)) - 1)
        found = []
        while window:
            lowest = window & -window
            found.append(self._low + lowest.bit_length() - 1)
            window ^= lowest
        return found

    def _sums(self, most: int) -> int:
        """Every sum up to most units, by any number of pieces."""
        mask, sums = (1 << (most + 1)) - 1, 1
        for mass, count in zip(self._masses, self._counts, strict=True):
            left, some = count, 1
            while left:  # 1, 2, 4 … at a time make every number up to the count
                some = min(some, left)
                sums |= sums << mass * some & mask
                left -= some
                some *= 2
        return sums

    def _by_number(self, most: int) -> list[list[int]]:
        """table[p][n]: the sums that just n pieces make, of those from the p-th on."""
        mask = (1 << (self._high + 1)) - 1
        tables = [[1] + [0] * most]
        for mass, count in zip(reversed(self._masses), reversed(self._counts), strict=True):
            after = tables[0]
            made = list(after)
            for taken in range(1, min(count, most, self._high // mass) + 1):
                for number in range(taken, most + 1):
                    made[number] |= after[number - taken] << mass * taken & mask
            tables.insert(0, made)
        return tables

    def _made(self, tables: Sequence[Sequence[int]], number: int, units: int, at: int = 0) -> Iterator[Counts]:
        """Every way to make a sum of so many pieces from the at-th on: first with as many of it as can be."""
        if at == len(self._masses):
            yield ()
            return
        mass, after = self._masses[at], tables[at + 1]
        for taken in range(min(self._counts[at], number, units // mass), -1, -1):
            if after[number - taken] >> (units - taken * mass) & 1:
                for rest in self._made(tables, number - taken, units - taken * mass, at + 1):
                    yield (taken, *rest)
