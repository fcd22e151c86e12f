"""Bobweight stacks that have to share too few pieces, or whose halves may differ: integer programmes (HiGHS).

Where both halves are alike, each group chooses one of all its recipes that have few enough pieces; else, or where
these are too many or masses too fine to list, columns are how many of a piece go on a half. First the fewest
pieces, then with as few the nearest, then by name. The solver sees milligrams and parts of them.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence

from truethrow.balance.base.solver import UNBOUNDED, Programme, Terms
from truethrow.balance.station.stacked import PG, Counts, Group, Half, Halves, Inventory

Watch = Callable[[], None]

LONGEST_S = 10.0
MOST_RECIPES = 20_000
MOST_MORE = 3  # pieces above the fewest, each group alone
# A window is opened by a microgram, so that the solver's rounding closes nothing.
OPENED_MG = 1e-3
# How far the solver's whole numbers may be off: times the heaviest plate still less than that.
WHOLE = 1e-9


def share(
    groups: Sequence[Group], inventory: Inventory, halves: Sequence[Half], watch: Watch
) -> tuple[list[Halves] | None, bool]:
    """The stacks of all groups together, None where there are none, and whether that is proved."""
    if inventory.alike and all(half.is_listed and half.least is not None for half in halves):
        for more in range(MOST_MORE + 1):
            recipes = _recipes(halves, more)
            if recipes is None:
                break
            if (found := _chosen(groups, inventory, halves, recipes, more, watch)) is not None:
                return found, True
    programme = _ByPiece(groups, inventory, watch)
    step = inventory.step_pg
    for at, (group, half) in enumerate(zip(groups, halves, strict=True)):
        programme.within(at, group.wanted_pg - step, group.wanted_pg + step)
        if half.is_listed:
            programme.at_least(at, half.least or 0)
    best, is_proved = programme.best([programme.pieces(), programme.off(), programme.names()])
    return None if best is None else programme.halves(best), is_proved


def _recipes(halves: Sequence[Half], more: int) -> list[list[Counts]] | None:
    """Those of each group that have no more than so many pieces a half above the fewest; None where these are more
    than a programme should choose from."""
    found: list[list[Counts]] = []
    left = MOST_RECIPES
    for half in halves:
        found.append(list(itertools.islice(half.recipes(more), left + 1)))
        left -= len(found[-1])
        if left < 0:
            return None
    return found


def _chosen(
    groups: Sequence[Group],
    inventory: Inventory,
    halves: Sequence[Half],
    recipes: Sequence[Sequence[Counts]],
    more: int,
    watch: Watch,
) -> list[Halves] | None:
    """The best stacks of these recipes, where they are proved to be the best of all; None where they are not."""
    programme = _Programme(watch)
    pieces, off, names = {}, {}, {}
    use: list[dict[int, float]] = [{} for _ in inventory.pieces]
    for group, own in zip(groups, recipes, strict=True):
        columns = [programme.count(1) for _ in own]
        programme.row(1, 1, dict.fromkeys(columns, 1.0))
        on = 2 * len(group.throws)
        for column, counts in zip(columns, own, strict=True):
            mass_pg = 2 * _mass_pg(inventory, counts)
            pieces[column] = float(on * sum(counts))
            off[column] = len(group.throws) * _mg(abs(mass_pg - group.wanted_pg))
            names[column] = float(sum(rank * count for rank, count in enumerate(counts)))
            for terms, count in zip(use, counts, strict=True):
                terms[column] = float(on * count)
    for piece, terms in zip(inventory.pieces, use, strict=True):
        programme.row(0, piece.stock, terms)
    best, is_proved = programme.best([pieces, off, names])
    if best is None or not is_proved:
        return None
    # What was left out has more than so many pieces above the fewest in some group.
    fewest = sum(2 * len(group.throws) * (half.least or 0) for group, half in zip(groups, halves, strict=True))
    left_out = fewest + 2 * min(len(group.throws) for group in groups) * (more + 1)
    if sum(pieces[column] for column, value in enumerate(best) if value) >= left_out:
        return None
    chosen = [counts for counts, value in zip(itertools.chain(*recipes), best, strict=True) if value]
    return [(counts, counts) for counts in chosen]


def nearest_pg(group: Group, inventory: Inventory, watch: Watch) -> tuple[int | None, int | None]:
    """The heaviest that the pieces of both halves make together without exceeding what is wanted, and the lightest
    that is not below it."""
    found: list[int | None] = []
    most = sum(piece.mass_pg * piece.stock for piece in inventory.pieces)
    for low, high, sign in ((0, group.wanted_pg, -1), (max(0, group.wanted_pg), most, 1)):
        programme = _ByPiece([group], inventory, watch)
        programme.within(0, low, high)
        best, _ = programme.best([{column: sign * weight for column, weight in programme.mass(0).items()}])
        found.append(
            None if best is None else sum(_mass_pg(inventory, half) for half in programme.halves(best)[0])
        )
    return found[0], found[1]


def _mass_pg(inventory: Inventory, counts: Counts) -> int:
    return sum(piece.mass_pg * count for piece, count in zip(inventory.pieces, counts, strict=True))


def _mg(pg: int) -> float:
    return pg * 1000 / PG


class _Programme(Programme):
    """A programme with several goals, one after the other."""

    def __init__(self, watch: Watch) -> None:
        super().__init__(time_limit=LONGEST_S, mip_feasibility_tolerance=WHOLE, mip_rel_gap=0.0, mip_abs_gap=0.0)
        self.watch = watch
        self._wholes: list[int] = []

    def count(self, most: float) -> int:
        """A column that is a whole number, zero or more."""
        self._wholes.append(self.column(most=most, whole=True))
        return self._wholes[-1]

    def best(self, goals: Sequence[Terms]) -> tuple[list[float] | None, bool]:
        """The values of the columns with the least of the first goal, then of the second …, None for none; and
        whether that is proved."""
        best, is_proved = self._minimise(goals[0])
        for done, goal in itertools.pairwise(goals):
            if best is None or not is_proved:
                break
            # A hundredth, of a piece or of a milligram, is the solver's rounding.
            self.row(-UNBOUNDED, sum(weight * best[column] for column, weight in done.items()) + 0.01, done)
            better, is_proved = self._minimise(goal)
            best = better or best
        return best, is_proved

    def _minimise(self, goal: Terms) -> tuple[list[float] | None, bool]:
        self.cost(goal)
        self.run()
        if self.is_impossible:
            return None, True
        if not self.is_best and not self.is_feasible:
            return None, False
        values = self.values
        for column in self._wholes:
            values[column] = float(round(values[column]))
        return values, self.is_best


class _ByPiece(_Programme):
    """How many of each piece go on each half of each group, and how far each group is off."""

    def __init__(self, groups: Sequence[Group], inventory: Inventory, watch: Watch) -> None:
        super().__init__(watch)
        self._groups, self._inventory = groups, inventory
        self._slots = 1 if inventory.alike else 2
        self._kinds = len(inventory.pieces)
        for group in groups:
            for _ in range(self._slots):
                for piece in inventory.pieces:
                    self.count(piece.stock // (len(group.throws) * self._twice))
        self._off = [self.column() for _ in groups]
        for kind, piece in enumerate(inventory.pieces):
            own = {column: weight for column, weight in self.pieces().items() if column % self._kinds == kind}
            self.row(0, piece.stock, own)
        if self._slots == 2:
            for at in range(len(groups)):
                apart = {c: w if self._slot(c) == 0 else -w for c, w in self.mass(at).items()}
                self.row(0, _mg(inventory.step_pg) + OPENED_MG, apart)

    @property
    def _twice(self) -> int:
        return 3 - self._slots

    def _slot(self, column: int) -> int:
        return column // self._kinds % self._slots

    def _own(self, at: int) -> range:
        wide = self._slots * self._kinds
        return range(at * wide, (at + 1) * wide)

    def mass(self, at: int) -> dict[int, float]:
        """What a piece more adds to both halves of a group together. [mg]"""
        own = self._own(at)
        return {c: self._twice * _mg(self._inventory.pieces[c % self._kinds].mass_pg) for c in own}

    def pieces(self) -> dict[int, float]:
        """How many pieces one more in a column is, over all throws."""
        return {
            column: len(group.throws) * self._twice
            for at, group in enumerate(self._groups)
            for column in self._own(at)
        }

    def off(self) -> dict[int, float]:
        """How far off all throws are together. [mg]"""
        return {column: len(group.throws) for column, group in zip(self._off, self._groups, strict=True)}

    def names(self) -> dict[int, float]:
        return {column: column % self._kinds for column in self.pieces()}

    def within(self, at: int, low_pg: int, high_pg: int) -> None:
        """What the pieces of a group weigh together, and how far that is off."""
        mass, off, wanted = self.mass(at), self._off[at], _mg(self._groups[at].wanted_pg)
        self.row(_mg(low_pg) - OPENED_MG, _mg(high_pg) + OPENED_MG, mass)
        self.row(-UNBOUNDED, wanted, {**mass, off: -1.0})
        self.row(wanted, UNBOUNDED, {**mass, off: 1.0})

    def at_least(self, at: int, fewest: int) -> None:
        for slot in range(self._slots):
            own = {column: 1.0 for column in self._own(at) if self._slot(column) == slot}
            self.row(fewest, UNBOUNDED, own)

    def halves(self, values: Sequence[float]) -> list[Halves]:
        found = []
        for at in range(len(self._groups)):
            counts = [int(values[column]) for column in self._own(at)]
            front = tuple(counts[: self._kinds])
            found.append((front, tuple(counts[self._kinds :]) or front))
        return found
