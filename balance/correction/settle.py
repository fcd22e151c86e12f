"""From the ideal split to holes that can be drilled: angles of the wheel, standard depths, every wall kept.

Each wanted vector becomes its holes, nearest first. Then every two of them are looked at together, every hole
near the one with every hole near the other, the rest as they are: what brings both planes inside the aim with the
least metal is taken, and until that is reached what brings them nearest. A hole that is not needed goes, and where
the steps left too much, one is added.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np

from truethrow.balance.base.arrays import Bools, Complexes, Floats, Ints
from truethrow.balance.correction.room import Site
from truethrow.balance.correction.split import BEYOND, Split, Wanted
from truethrow.balance.correction.walls import TOUCH_MM, axes, between_mm
from truethrow.balance.crank.holes import Hole
from truethrow.balance.result.unbalance import plane_share

ROUNDS = 8
# Holes nearest to one that are looked at in its place, when two are moved together.
NEIGHBOURS = 150
# Three or four holes that end outside the aim by less than so many times are looked at more widely: so many holes
# nearest to each of them, each with every pair near two others.
CLOSE, WIDER, AROUND = 2.0, (3, 4), 12
# The search ends after so many looks at pairs, not after a time, so that a plan is the same on every computer.
MOST_LOOKS = 1400
# Pairs on one member that are tried for a wall between them.
MOST_TRIED = 200
# A change that brings the planes nearer by less than this part of what is allowed, or saves less metal than this,
# is none.
NEARER, SAVED_G = 1e-3, 1e-3
# What is left of the whole aim is worth so much metal: drilled by hand, a plan at the very edge of it more often
# takes a spin more. Common practice, no source. [g]
LEFT_G = 1.4
# More metal than any crank has: what is not inside the aim comes after all that is. [g]
MUCH_G = 1e6
# A hole more is worth it from this part of what is allowed on, as in the split.
WORTH_A_HOLE = 1 / BEYOND


class _Pool:
    """All free holes of one member, or all its slugs, with what each takes off both planes, over what is allowed
    there, and its metal."""

    def __init__(
        self, places: Sequence[Site], planes_mm: tuple[float, float], allowed_gmm: tuple[float, float]
    ) -> None:
        self._places, self.member = places, places[0].member.name
        free = [np.nonzero(place.free) for place in places]
        self._starts = np.cumsum([0] + [angle.size for angle, _ in free])
        self.angle: Ints = np.concatenate([angle for angle, _ in free])
        self.depth: Ints = np.concatenate([depth for _, depth in free])
        each = [p.depths.removes_gmm[d] * p.turned[a] for p, (a, d) in zip(places, free, strict=True)]
        self.takes: Complexes = np.concatenate(each)
        shares = np.concatenate(
            [
                np.array([plane_share(float(z), *planes_mm) for z in p.depths.z_mm])[d]
                for p, (_, d) in zip(places, free, strict=True)
            ]
        )
        self.front: Complexes = shares[:, 0] / allowed_gmm[0] * self.takes
        self.rear: Complexes = shares[:, 1] / allowed_gmm[1] * self.takes
        metal_g = np.concatenate([p.depths.mass_g[d] for p, (_, d) in zip(places, free, strict=True)])
        self.metal_g: Floats = np.maximum(metal_g, 0.0)
        self._half_mm = np.repeat([p.depths.diameter_mm / 2 for p in places], [a.size for a, _ in free])
        self._half_deg = np.repeat([p.depths.arc_deg / 2 for p in places], [a.size for a, _ in free])
        if not self._half_deg.any():  # what is ground has no axis
            ends = [axes(p.angle_deg, p.depths) for p in places]
            self._from = np.concatenate([start[at] for (start, _), at in zip(ends, free, strict=True)])
            self._to = np.concatenate([end[at] for (_, end), at in zip(ends, free, strict=True)])
        self._clear: dict[Hole, Bools] = {}

    def clear_of(self, holes: Iterable[Hole]) -> Bools:
        clear = np.ones(self.angle.size, dtype=bool)
        for hole in holes:
            if hole not in self._clear:
                self._clear[hole] = np.concatenate(
                    [
                        place.clear_of([hole])[self.angle[start:end], self.depth[start:end]]
                        for place, start, end in zip(self._places, self._starts, self._starts[1:], strict=False)
                    ]
                )
            clear &= self._clear[hole]
        return clear

    def hole(self, index: int) -> Hole:
        return self._place(index).hole(int(self.angle[index]), int(self.depth[index]))

    def slug(self, place: Site, angle: int) -> int:
        at = self._places.index(place)
        start, end = self._starts[at], self._starts[at + 1]
        return int(start + np.flatnonzero(self.angle[start:end] == angle)[0])

    def near(self, takes: complex, among: Bools, many: int) -> Ints:
        """So many holes, of these, that take most nearly this."""
        found = np.flatnonzero(among)
        if found.size > many:
            off = _squared(self.takes[found] - takes)
            found = found[np.argpartition(off, many)[:many]]
        return found

    def apart_of(self, own: Ints, other: _Pool, theirs: Ints) -> Bools:
        """Which of these holes keep their wall to one each of another pool of the same member."""
        if self._half_deg.any() or other._half_deg.any():
            pairs = zip(own, theirs, strict=True)
            return np.array([self.clear_of([other.hole(int(j))])[i] for i, j in pairs], dtype=bool)
        lines = between_mm(self._from[own], self._to[own], other._from[theirs], other._to[theirs])
        wall_mm = lines - self._half_mm[own] - other._half_mm[theirs]
        apart: Bools = wall_mm >= self._places[0].wall_mm - TOUCH_MM
        return apart

    def _place(self, index: int) -> Site:
        return self._places[int(np.searchsorted(self._starts, index, side="right")) - 1]


class _Chosen:
    """A hole of a pool with what it takes off both planes, over what is allowed."""

    __slots__ = ("front", "hole", "metal_g", "pool", "rear", "takes")

    def __init__(self, pool: _Pool, index: int) -> None:
        self.pool, self.hole = pool, pool.hole(index)
        self.front, self.rear = complex(pool.front[index]), complex(pool.rear[index])
        self.takes, self.metal_g = complex(pool.takes[index]), float(pool.metal_g[index])


class Settled(NamedTuple):
    """Holes, the worst of both planes over what is allowed, and what ranks them among as many: their metal, and
    a little for what is left. [g]"""

    chosen: tuple[_Chosen, ...]
    worst: float
    rank_g: float

    @property
    def holes(self) -> list[Hole]:
        return [one.hole for one in self.chosen]


class Settling:
    """All places of a crank for one question: what is to come off both planes, and the part of what is allowed
    that the holes are to bring both inside of."""

    def __init__(
        self,
        drills: Sequence[Site],
        slugs: Sequence[Site],
        target: tuple[complex, complex],
        allowed_gmm: tuple[float, float],
        planes_mm: tuple[float, float],
        *,
        aim: float,
        most_looks: int = MOST_LOOKS,
    ) -> None:
        self._drills, self._slugs = drills, slugs
        self._planes_mm, self._allowed_gmm = planes_mm, allowed_gmm
        self._made: dict[tuple[str, bool], _Pool] = {}
        self._target = target[0] / allowed_gmm[0], target[1] / allowed_gmm[1]
        self._aim = aim
        # How many times all pairs near two holes were looked at, and how many times they may be.
        self.looks, self._most_looks = 0, most_looks

    def settled(self, split: Split) -> Settled:
        """The split in holes, as many as it asks for or fewer."""
        chosen = self._improved(self._started(split))
        if self._aim < self._worst(chosen) < CLOSE * self._aim and len(chosen) in WIDER:
            wider = self._wider(chosen)
            chosen = chosen if wider is chosen else self._improved(wider)
        return self._told(chosen)

    def anew(self, settled: Settled, most_holes: int) -> Settled:
        """Begun from holes that were settled for another target on the same crank."""
        return self.with_more(self._told(self._improved(list(settled.chosen))), most_holes)

    def with_more(self, settled: Settled, most_holes: int) -> Settled:
        """And while they leave more than the aim, one hole after the other more, each where it is worth it."""
        chosen = list(settled.chosen)
        while self._worst(chosen) > self._aim and len(chosen) < most_holes:
            more = self._one_more(chosen)
            if more is None:
                break
            deeper = self._improved(self._descend([*chosen, more]))
            if self._worst(deeper) > self._worst(chosen) - WORTH_A_HOLE:
                break
            chosen = deeper
        return self._told(chosen)

    def _pool(self, member: str, slug: bool = False) -> _Pool:
        if (member, slug) not in self._made:
            own = [place for place in (self._slugs if slug else self._drills) if place.member.name == member]
            self._made[member, slug] = _Pool(own, self._planes_mm, self._allowed_gmm)
        return self._made[member, slug]

    def _told(self, chosen: list[_Chosen]) -> Settled:
        return Settled(tuple(chosen), self._worst(chosen), self._rank(chosen))

    def _rest(self, chosen: Iterable[_Chosen]) -> tuple[complex, complex]:
        front, rear = self._target
        for one in chosen:
            front, rear = front - one.front, rear - one.rear
        return front, rear

    def _worst(self, chosen: Iterable[_Chosen]) -> float:
        return max(map(abs, self._rest(chosen)))

    def _started(self, split: Split) -> list[_Chosen]:
        """The nearest holes there are to what the split wants, one after the other."""
        chosen: list[_Chosen] = []
        for place, angle in split.slugs:
            pool = self._pool(place.member.name, slug=True)
            chosen.append(_Chosen(pool, pool.slug(place, angle)))
        for wanted in split.wanted:
            pool = self._pool(wanted.stretch.member)
            for vector in _fanned(wanted):
                off = np.where(_free(pool, chosen), _squared(pool.takes - vector), np.inf)
                if math.isfinite(off.min()):
                    chosen.append(_Chosen(pool, int(off.argmin())))
        return chosen

    def _improved(self, chosen: list[_Chosen]) -> list[_Chosen]:
        """Every hole alone, then every two together, at their best beside the rest; without those that are not
        needed."""
        for _ in range(ROUNDS):
            before = chosen
            for at in reversed(range(len(chosen))):
                if self._worst(_but(chosen, at)) <= self._aim:
                    chosen = _but(chosen, at)
            for at in range(len(chosen)):
                chosen = self._better(chosen, self._alone(chosen, at))
            for one, other in itertools.combinations(range(len(chosen)), 2):
                if self.looks < self._most_looks:
                    chosen = self._better(chosen, self._together(chosen, one, other))
            if chosen is before:
                break
        return chosen

    def _wider(self, chosen: list[_Chosen]) -> list[_Chosen]:
        """Every hole near one of them with every pair near two others: the first that comes inside the aim, or
        else the best."""
        best = chosen
        for at, one in enumerate(chosen):
            near = one.pool.near(one.takes, _free(one.pool, _but(chosen, at)), AROUND)
            others = [other for other in range(len(chosen)) if other != at]
            for index in near:
                moved = [*chosen[:at], _Chosen(one.pool, int(index)), *chosen[at + 1 :]]
                for pair in itertools.combinations(others, 2):
                    if self.looks < self._most_looks:
                        best = self._better(best, self._together(moved, *pair))
                if self._worst(best) <= self._aim:
                    return best
        return best

    def _better(self, chosen: list[_Chosen], instead: list[_Chosen] | None) -> list[_Chosen]:
        if instead is None:
            return chosen
        now, then = self._rank(chosen), self._rank(instead)
        return instead if then < now - (NEARER if then > MUCH_G else SAVED_G) else chosen

    def _rank(self, chosen: list[_Chosen]) -> float:
        metal_g = sum(one.metal_g for one in chosen)
        return float(self._order(np.array(self._worst(chosen)), np.array(metal_g)))

    def _alone(self, chosen: list[_Chosen], at: int) -> list[_Chosen] | None:
        """Any hole of the same member in the place of one."""
        others, pool = _but(chosen, at), chosen[at].pool
        front, rear = self._rest(others)
        worst = np.maximum(np.abs(front - pool.front), np.abs(rear - pool.rear))
        order = self._order(worst, pool.metal_g)
        order[~_free(pool, others)] = np.inf
        index = int(order.argmin())
        return [*chosen[:at], _Chosen(pool, index), *chosen[at + 1 :]] if math.isfinite(order[index]) else None

    def _together(self, chosen: list[_Chosen], at: int, also: int) -> list[_Chosen] | None:
        """Any two holes near two of them in their place."""
        self.looks += 1
        one, other = chosen[at], chosen[also]
        others = _but(_but(chosen, also), at)
        near = one.pool.near(one.takes, _free(one.pool, others), NEIGHBOURS)
        beside = other.pool.near(other.takes, _free(other.pool, others), NEIGHBOURS)
        front, rear = self._rest(others)
        worst = np.maximum(
            np.abs((front - one.pool.front[near])[:, None] - other.pool.front[beside]),
            np.abs((rear - one.pool.rear[near])[:, None] - other.pool.rear[beside]),
        )
        order = self._order(worst, one.pool.metal_g[near][:, None] + other.pool.metal_g[beside]).ravel()
        best = np.array([order.argmin()])
        if one.hole.member == other.hole.member:
            best = np.argsort(order)[:MOST_TRIED]
            best = best[one.pool.apart_of(near[best // beside.size], other.pool, beside[best % beside.size])]
        if not best.size:
            return None
        made = list(chosen)
        made[at] = _Chosen(one.pool, int(near[best[0] // beside.size]))
        made[also] = _Chosen(other.pool, int(beside[best[0] % beside.size]))
        return made

    def _order(self, worst: Floats, metal_g: Floats) -> Floats:
        """Least is best: of those inside the aim the metal, and a little for what is left; after all of them
        what the others leave."""
        return np.where(worst <= self._aim, metal_g + LEFT_G * worst / self._aim, MUCH_G + worst)

    def _descend(self, chosen: list[_Chosen]) -> list[_Chosen]:
        """One hole after the other where it leaves least of both planes together."""
        for _ in range(ROUNDS):
            before = self._squares(chosen)
            for at, one in enumerate(chosen):
                better = self._least([one.pool], _but(chosen, at))
                if better is not None:
                    chosen = [*chosen[:at], better, *chosen[at + 1 :]]
            if self._squares(chosen) > before - NEARER**2:
                break
        return chosen

    def _squares(self, chosen: Iterable[_Chosen]) -> float:
        return sum(abs(rest) ** 2 for rest in self._rest(chosen))

    def _one_more(self, chosen: list[_Chosen]) -> _Chosen | None:
        members = dict.fromkeys(place.member.name for place in self._drills)
        return self._least([self._pool(member) for member in members], chosen)

    def _least(self, pools: Sequence[_Pool], others: Sequence[_Chosen]) -> _Chosen | None:
        """The hole of these pools that leaves least beside the others: least squares over both planes."""
        front, rear = self._rest(others)
        best: tuple[float, _Pool, int] | None = None
        for pool in pools:
            left = _squared(front - pool.front) + _squared(rear - pool.rear)
            left[~_free(pool, others)] = np.inf
            index = int(left.argmin())
            if math.isfinite(left[index]) and (best is None or left[index] < best[0]):
                best = float(left[index]), pool, index
        return None if best is None else _Chosen(best[1], best[2])


def _but(chosen: Sequence[_Chosen], at: int) -> list[_Chosen]:
    return [*chosen[:at], *chosen[at + 1 :]]


def _free(pool: _Pool, others: Iterable[_Chosen]) -> Bools:
    return pool.clear_of(other.hole for other in others if other.hole.member == pool.member)


def _squared(values: Complexes) -> Floats:
    return values.real**2 + values.imag**2


def _fanned(wanted: Wanted) -> list[complex]:
    """A wanted vector as its holes: equal shares side by side about its angle, which the walls then push apart."""
    one = wanted.vector_gmm / wanted.holes
    amount = max(abs(one), 1e-9)
    return [one / amount * min(amount, max(wanted.stretch.most_gmm)) for _ in range(wanted.holes)]
