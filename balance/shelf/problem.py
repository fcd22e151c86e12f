"""A shelf in numbers: the parts of each kind as exact masses, and what a division of them into engines costs.

A division holds, for each kind, the number of the part in every row and cylinder: the engines first, then rows
for the parts that stay over, filled up with a part that is not there.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from truethrow.balance.base.arrays import Ints
from truethrow.balance.shelf.pool import FITTED, POOLED, Part, Shelf

Division = dict[str, Ints]
NANOGRAMS = 10**9


class Problem(NamedTuple):
    """A shelf in numbers. parts: by kind, in an order that no file decides; reciprocating, big: exact, in
    nanograms, one entry more than parts for the part that is not there; banks: a part's, 0 for any, and
    cylinder_banks: a cylinder's; partner: the piston's number for a part that stays with it, else −1; rows:
    engines and rows of leftovers; step: the scale's, in nanograms."""

    parts: dict[str, tuple[Part, ...]]
    reciprocating: dict[str, Ints]
    big: Ints
    banks: dict[str, Ints]
    partner: dict[str, Ints]
    cylinder_banks: Ints
    engines: int
    rows: int
    step: int

    @property
    def cylinders(self) -> int:
        return len(self.cylinder_banks)


def problem(shelf: Shelf, engines: int) -> Problem:
    n = shelf.cylinders
    parts = {kind: tuple(sorted(shelf.pools[kind], key=_order)) for kind in POOLED if kind in shelf.pools}
    code = {"": 0} | {bank: i for i, bank in enumerate(shelf.layout.banks, start=1)}
    piston = {part.label: i for i, part in enumerate(parts.get("piston", ()))}
    # A bank that no part asks for divides nothing.
    asked = any(part.bank for pool in parts.values() for part in pool)
    left = max(len(pool) - engines * n for pool in parts.values())
    rods = parts.get("rod", ())
    return Problem(
        parts,
        {kind: exact([part.reciprocating_g for part in pool]) for kind, pool in parts.items()},
        exact([part.big_end_g for part in rods]),
        {kind: np.array([*(code[part.bank] for part in pool), 0]) for kind, pool in parts.items()},
        {
            kind: np.array([*(piston[part.together] if part.together else -1 for part in parts[kind]), -1])
            for kind in FITTED
            if kind in parts
        },
        np.array([code[place.bank] if asked else 0 for place in shelf.layout.places]),
        engines,
        engines + -(-left // n),
        round(shelf.step_g * NANOGRAMS),
    )


def exact(grams: Sequence[float]) -> Ints:
    """Nanograms, and the entry of the part that is not there."""
    return np.array([*(round(g * NANOGRAMS) for g in grams), 0], dtype=np.int64)


def cost(found: Problem, ids: Division) -> tuple[Ints, Ints]:
    """What matching each engine to its lightest would take off [ng]: off the reciprocating masses, and off the
    big ends."""
    n, rows = found.cylinders, slice(found.engines)
    zero = np.zeros((found.engines, n), dtype=np.int64)
    x = sum((found.reciprocating[kind][ids[kind][rows]] for kind in ids), zero)
    big = found.big[ids["rod"][rows]] if "rod" in ids else zero
    return x.sum(1) - n * x.min(1), big.sum(1) - n * big.min(1)


def total(found: Problem, ids: Division) -> int:
    x, big = cost(found, ids)
    return int(x.sum() + big.sum())


def moves_of(problem: Problem, *, together: bool) -> list[tuple[str, ...]]:
    """What a swap may move: one part, several beside the rod at once, or a whole cylinder. Two kinds at once find
    what neither does: each of them may lie as well as it can beside the other. together: some parts stay with
    their piston, so a piston moves with all that may be fitted to it."""
    kinds = tuple(problem.parts)
    mates = tuple(kind for kind in kinds if kind != "rod")
    fewest = len(mates) if together else 2
    several = [
        own for count in range(max(2, fewest), len(mates) + 1) for own in itertools.combinations(mates, count)
    ]
    whole = [kinds] if len(kinds) > 1 and kinds not in several else []
    return [*((kind,) for kind in kinds), *several, *whole]


def _order(part: Part) -> tuple[object, ...]:
    return part.big_end_g, part.reciprocating_g, part.bank, part.together, part.label
