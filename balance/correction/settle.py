"""From the ideal split to holes that can be drilled: angles of the wheel, standard depths, every wall kept.

Each wanted vector becomes its holes, nearest first; then one hole after the other is tried at every angle, with
every tool at every depth of its member that keep the walls to the rest, as long as that brings the planes
nearer; a hole that is not needed goes, and where the steps left too much, one is added.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from truethrow.balance.base.arrays import Bools, Complexes, Floats
from truethrow.balance.correction.room import Site
from truethrow.balance.correction.split import BEYOND, Split, Wanted
from truethrow.balance.crank.holes import Hole
from truethrow.balance.result.unbalance import plane_share

ROUNDS = 8
# A change that brings the planes nearer by less than this part of what is allowed is none.
NEARER = 1e-3
# A hole more is worth it from this part of what is allowed on, as in the split.
WORTH_A_HOLE = 1 / BEYOND


class _Pool:
    """One place with what each free hole takes off both planes, over what is allowed there."""

    def __init__(self, place: Site, planes_mm: tuple[float, float], allowed_gmm: tuple[float, float]) -> None:
        self.place = place
        d = place.depths
        self.angle, self.depth = np.nonzero(place.free)
        self.takes: Complexes = d.removes_gmm[self.depth] * place.turned[self.angle]
        shares = np.array([plane_share(float(z), *planes_mm) for z in d.z_mm])[self.depth]
        self.front: Complexes = shares[:, 0] / allowed_gmm[0] * self.takes
        self.rear: Complexes = shares[:, 1] / allowed_gmm[1] * self.takes
        self._clear: dict[Hole, Bools] = {}

    def clear_of(self, holes: Iterable[Hole]) -> Bools:
        clear = np.ones(self.angle.size, dtype=bool)
        for hole in holes:
            if hole not in self._clear:
                self._clear[hole] = self.place.clear_of([hole])[self.angle, self.depth]
            clear &= self._clear[hole]
        return clear

    def hole(self, index: int) -> Hole:
        return self.place.hole(int(self.angle[index]), int(self.depth[index]))


class _Chosen:
    """A hole with what it takes off both planes, over what is allowed."""

    __slots__ = ("front", "hole", "rear")

    def __init__(self, pool: _Pool, index: int) -> None:
        self.hole = pool.hole(index)
        self.front, self.rear = complex(pool.front[index]), complex(pool.rear[index])


class Settling:
    """All places of a crank for one question: what is to come off both planes, and the tolerance."""

    def __init__(
        self,
        drills: Sequence[Site],
        slugs: Sequence[Site],
        target: tuple[complex, complex],
        allowed_gmm: tuple[float, float],
        planes_mm: tuple[float, float],
    ) -> None:
        self._drills, self._slugs = drills, slugs
        self._planes_mm, self._allowed_gmm = planes_mm, allowed_gmm
        self._made: dict[tuple[str, bool], list[_Pool]] = {}
        self._target = target[0] / allowed_gmm[0], target[1] / allowed_gmm[1]

    def _pools(self, member: str, slug: bool) -> list[_Pool]:
        if (member, slug) not in self._made:
            own = [place for place in (self._slugs if slug else self._drills) if place.member.name == member]
            self._made[member, slug] = [_Pool(place, self._planes_mm, self._allowed_gmm) for place in own]
        return self._made[member, slug]

    def settled(self, split: Split, *, aim: float, most_holes: int) -> tuple[list[Hole], float]:
        """Holes for a split, and the worst of both planes over what is allowed."""
        chosen: list[_Chosen] = []
        for place, angle in split.slugs:
            pool = next(p for p in self._pools(place.member.name, True) if p.place is place)
            chosen.append(_Chosen(pool, int(np.flatnonzero(pool.angle == angle)[0])))
        for wanted in split.wanted:
            for vector in _fanned(wanted):
                self._start(wanted.stretch.member, vector, chosen)
        chosen = self._descend(chosen, aim)
        while self._worst(chosen) > aim and len(chosen) < most_holes:
            more = self._one_more(chosen)
            if more is None:
                break
            deeper = self._descend([*chosen, more], aim)
            if self._worst(deeper) > self._worst(chosen) - WORTH_A_HOLE:
                break
            chosen = deeper
        return [one.hole for one in chosen], self._worst(chosen)

    def _rest(self, chosen: Iterable[_Chosen]) -> tuple[complex, complex]:
        front, rear = self._target
        for one in chosen:
            front, rear = front - one.front, rear - one.rear
        return front, rear

    def _worst(self, chosen: Iterable[_Chosen]) -> float:
        return max(map(abs, self._rest(chosen)))

    def _start(self, member: str, vector: complex, chosen: list[_Chosen]) -> None:
        there = [one.hole for one in chosen]
        best: tuple[float, _Pool, int] | None = None
        for pool in self._pools(member, False):
            off = np.where(pool.clear_of(there), np.abs(pool.takes - vector), np.inf)
            index = int(off.argmin())
            if np.isfinite(off[index]) and (best is None or off[index] < best[0]):
                best = float(off[index]), pool, index
        if best is not None:
            chosen.append(_Chosen(best[1], best[2]))

    def _descend(self, chosen: list[_Chosen], aim: float) -> list[_Chosen]:
        """One hole after the other at its best, the others as they are; without it where it is not needed."""
        for _ in range(ROUNDS):
            before = self._squares(chosen)
            for one in list(chosen):
                others = [other for other in chosen if other is not one]
                if self._worst(others) <= aim:
                    chosen = others
                    continue
                pools = self._pools(one.hole.member, one.hole.kind == "slug")
                better = self._best(pools, others)
                if better is not None:
                    chosen = [better if other is one else other for other in chosen]
            if self._squares(chosen) > before - NEARER**2:
                break
        return chosen

    def _squares(self, chosen: Iterable[_Chosen]) -> float:
        return sum(abs(rest) ** 2 for rest in self._rest(chosen))

    def _one_more(self, chosen: list[_Chosen]) -> _Chosen | None:
        members = dict.fromkeys(place.member.name for place in self._drills)
        return self._best([pool for member in members for pool in self._pools(member, False)], chosen)

    def _best(self, pools: Sequence[_Pool], others: Sequence[_Chosen]) -> _Chosen | None:
        """The hole of these pools that leaves least beside the others: least squares over both planes."""
        front, rear = self._rest(others)
        there = [other.hole for other in others]
        best: tuple[float, _Pool, int] | None = None
        for pool in pools:
            left = _squared(front - pool.front) + _squared(rear - pool.rear)
            left[~pool.clear_of(hole for hole in there if hole.member == pool.place.member.name)] = np.inf
            index = int(left.argmin())
            if np.isfinite(left[index]) and (best is None or left[index] < best[0]):
                best = float(left[index]), pool, index
        return None if best is None else _Chosen(best[1], best[2])


def _squared(values: Complexes) -> Floats:
    return values.real**2 + values.imag**2


def _fanned(wanted: Wanted) -> list[complex]:
    """A wanted vector as its holes: equal shares side by side about its angle, which the walls then push apart."""
    one = wanted.vector_gmm / wanted.holes
    amount = max(abs(one), 1e-9)
    return [one / amount * min(amount, max(wanted.stretch.most_gmm)) for _ in range(wanted.holes)]
