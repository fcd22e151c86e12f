"""The ideal split of an everyday correction: the fewest holes, by trying every way there is.

What one hole takes on a stretch of an arc is a sum of its two end directions with amounts of zero and up. Both
planes are four equations, so whatever holes can leave, in least squares, four end directions at most leave as
well (Carathéodory): all choices of one to four are solved, and those with an amount below zero fall away. That
is non-negative least squares for every choice of counterweights at once.
"""

from __future__ import annotations

import cmath
import itertools
import math
from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from truethrow.balance.base.arrays import Floats, Ints
from truethrow.balance.correction.room import Site
from truethrow.balance.correction.split import LEFT, METAL, SLUG, WASTE, Split, Stretch, Wanted, slug_spots
from truethrow.balance.result.unbalance import plane_share

# More end directions than this make more choices than the mixed-integer programme takes time.
MOST_ENDS = 40
# What least squares leave at an end of an arc, where the wall lets a hole be shallow only, takes many holes: the
# ends are tried where a deep one fits, and then as they are.
PARTS_OF_MOST = (0.6, 0.0)
# An amount below zero by less than this is rounding. [g·mm]
DUST_GMM = 1e-6
# Both planes are so many equations.
MOST_TOGETHER = 4


def fewest(
    stretches: Sequence[Stretch],
    slugs: Sequence[Site],
    target: tuple[complex, complex],
    allowed_gmm: tuple[float, float],
    planes_mm: tuple[float, float],
    *,
    aim: float,
    most_holes: int,
) -> Split | None:
    """The split with the fewest holes, with one slug at most, that leaves both planes inside aim · allowed; None
    where no such split does or there are too many stretches to try them all.

    target: what is to come off each plane [g·mm]; allowed_gmm: for the front and the rear plane."""
    spots: list[tuple[Site, int] | None] = list(slug_spots(slugs)) if slugs else [None]
    goals = [_Goal.of(spot, target, allowed_gmm, planes_mm) for spot in spots]
    search = _Search(stretches, goals, aim, most_holes)
    least = SLUG if slugs else 0.0
    for part in PARTS_OF_MOST:
        ends = [(s, a) for s, one in enumerate(stretches) for a in _ends(one, part)]
        if not ends or len(ends) > MOST_ENDS:
            continue
        columns = np.array([_column(stretches[s].shares, stretches[s].angle_deg[a], allowed_gmm) for s, a in ends])
        for holes, choices in _choices(tuple(s for s, _ in ends)):
            if search.best < least + holes:
                break
            search.look(holes, choices, ends, columns)
    return search.found


class _Goal(NamedTuple):
    """What holes are to take once a slug sits there, or none does: both planes over what is allowed, as a column
    has them; and the most metal that may go for it. [g·mm]"""

    spot: tuple[Site, int] | None
    left: Floats
    most_gmm: float

    @classmethod
    def of(
        cls,
        spot: tuple[Site, int] | None,
        target: tuple[complex, complex],
        allowed_gmm: tuple[float, float],
        planes_mm: tuple[float, float],
    ) -> _Goal:
        return cls(spot, np.array(_after(spot, target, allowed_gmm, planes_mm)), WASTE * _to_go_gmm(spot, target))


class _Search:
    """The best split so far, of all choices of end directions that were looked at."""

    def __init__(self, stretches: Sequence[Stretch], goals: Sequence[_Goal], aim: float, most_holes: int) -> None:
        self._stretches, self._goals, self._aim, self._most_holes = stretches, goals, aim, most_holes
        self.best = math.inf
        self.found: Split | None = None

    def look(self, holes: int, choices: Ints, ends: Sequence[tuple[int, int]], columns: Floats) -> None:
        """Take up the best of these choices, which all lie on so many stretches, with each slug that there may be.

        ends: stretch and angle of each direction, and columns: what it does, that the choices number."""
        directions = columns[choices]
        solver = _pseudo_inverse(directions)
        for goal in self._goals:
            amounts = solver @ goal.left
            worst = _worst(goal.left - np.einsum("ck,ckr->cr", amounts, directions))
            score = holes + LEFT * worst + (SLUG if goal.spot else 0.0)
            wasted = amounts.sum(axis=1) > goal.most_gmm
            score[(worst > self._aim) | wasted | (amounts < -DUST_GMM).any(axis=1)] = np.inf
            for index in np.argsort(score):
                if score[index] >= self.best:
                    break
                wants = _wants(self._stretches, [ends[c] for c in choices[index]], amounts[index])
                self._take(wants, goal.spot, float(worst[index]), float(score[index]) - holes)

    def _take(self, wants: tuple[Wanted, ...], spot: tuple[Site, int] | None, worst: float, score: float) -> None:
        """Take a split up where it fits and is the best so far. score: what it weighs but for its holes."""
        total = sum(one.holes for one in wants)
        fits = total <= self._most_holes and all(one.holes <= one.stretch.holes for one in wants)
        metal = METAL * sum(abs(one.vector_gmm) / max(one.stretch.most_gmm) for one in wants)
        full = score + total + metal
        if fits and full < self.best:
            self.best, self.found = full, Split(wants, (spot,) if spot else (), worst)


def _worst(left: Floats) -> Floats:
    """The worst of both planes of each row: (x, y) front, (x, y) rear."""
    worst: Floats = np.maximum(np.hypot(left[:, 0], left[:, 1]), np.hypot(left[:, 2], left[:, 3]))
    return worst


def _ends(one: Stretch, part: float) -> list[int]:
    """The outermost directions of a stretch at which one hole still takes this part of the most."""
    enough = [a for a, most in enumerate(one.most_gmm) if most >= part * max(one.most_gmm)]
    return list(dict.fromkeys((enough[0], enough[-1])))


@lru_cache(maxsize=32)
def _choices(of_stretch: tuple[int, ...]) -> list[tuple[int, Ints]]:
    """All choices of one to four end directions by the number of stretches that they lie on, fewest first."""
    found = []
    for count in range(1, min(len(of_stretch), MOST_TOGETHER) + 1):
        choices = np.array(list(itertools.combinations(range(len(of_stretch)), count)))
        own = np.sort(np.array(of_stretch)[choices], axis=1)
        distinct = 1 + (own[:, 1:] != own[:, :-1]).sum(axis=1)
        found += [(int(n), choices[distinct == n]) for n in np.unique(distinct)]
    return sorted(found, key=lambda pair: pair[0])


def _column(shares: tuple[float, float], angle_deg: float, allowed_gmm: tuple[float, float]) -> list[float]:
    """One gram-millimetre at an angle, as both planes feel it over what is allowed: (x, y) front, (x, y) rear."""
    return _flat(
        *(share / allowed * _turned(angle_deg) for share, allowed in zip(shares, allowed_gmm, strict=True))
    )


def _turned(angle_deg: float) -> complex:
    return cmath.rect(1.0, math.radians(angle_deg))


def _flat(front: complex, rear: complex) -> list[float]:
    return [front.real, front.imag, rear.real, rear.imag]


def _after(
    spot: tuple[Site, int] | None,
    target: tuple[complex, complex],
    allowed_gmm: tuple[float, float],
    planes_mm: tuple[float, float],
) -> list[float]:
    """What is to come off once a slug sits there: more at its own angle."""
    front, rear = target
    if spot is not None:
        place, angle = spot
        takes = complex(place.depths.removes_gmm[0] * place.turned[angle])
        shares = plane_share(float(place.depths.z_mm[0]), *planes_mm)
        front, rear = front - shares[0] * takes, rear - shares[1] * takes
    return _flat(front / allowed_gmm[0], rear / allowed_gmm[1])


def _to_go_gmm(spot: tuple[Site, int] | None, target: tuple[complex, complex]) -> float:
    brought_gmm = abs(float(spot[0].depths.removes_gmm[0])) if spot else 0.0
    return sum(map(abs, target)) + brought_gmm


def _pseudo_inverse(rows: Floats) -> Floats:
    """Least-squares solver of each choice (k directions of four figures): (R·Rᵀ)⁻¹·R, made safe for directions
    that coincide; what that costs in exactness is in the residual, which is worked out from the amounts."""
    gram = rows @ rows.transpose(0, 2, 1)
    size = np.trace(gram, axis1=1, axis2=2)[:, None, None]
    solver: Floats = np.linalg.inv(gram + 1e-9 * size * np.eye(rows.shape[1])) @ rows
    return solver


def _wants(stretches: Sequence[Stretch], ends: Sequence[tuple[int, int]], amounts: Floats) -> tuple[Wanted, ...]:
    """The vector of each stretch, and how many holes of the most that one takes there it needs."""
    vectors: dict[int, complex] = {}
    for (s, a), amount in zip(ends, amounts, strict=True):
        vectors[s] = vectors.get(s, 0j) + float(amount) * _turned(stretches[s].angle_deg[a])
    wants = []
    for s, vector in vectors.items():
        one = stretches[s]
        after = [(a - one.angle_deg[0]) % 360 for a in one.angle_deg]
        at_deg = (math.degrees(cmath.phase(vector)) - one.angle_deg[0]) % 360
        most_gmm = float(np.interp(at_deg, after, one.most_gmm))
        wants.append(Wanted(one, vector, math.ceil(abs(vector) / most_gmm - 1e-9)))
    return tuple(one for one in wants if one.holes)
