"""The ideal split: how much each counterweight gives at which angle, and the stretches of metal it is made on.
The depths and the degree wheel come after it. Holes alone are `fewest`'s; here is a mixed-integer programme for as
many slugs of heavy metal beside them as it takes.

What holes on one free stretch of an arc can take together is a sum of directions along it with amounts of zero
and up; every whole hole on it is worth as much as the largest tool takes there. The residual of a plane is held
to a polygon about the circle of what is allowed. A slug is there or not, at one of a few angles.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from truethrow.balance.base.arrays import Floats
from truethrow.balance.base.solver import UNBOUNDED, Programme
from truethrow.balance.correction.room import Site
from truethrow.balance.result.unbalance import plane_share

# Directions along a stretch: between two of them a vector is told short by half a percent at most.
FAN_DEG = 10.0
# Beyond this a stretch is cut: directions over half a turn and more would cancel each other.
WIDEST_DEG = 170.0
# More holes than this on one stretch are not counted.
MANY = 20
SLUG_GRID_DEG = 10.0  # the settling turns a slug on from there
CORNERS = 16
# What the programme weighs against one hole: each allowed amount that is left beyond the aim, a slug, the whole
# of the residual inside the aim, and the metal of one largest hole.
BEYOND, SLUG, LEFT, METAL = 20.0, 3.0, 0.2, 0.01
# Metal that comes off one place only to make up for what came off another brings every error of its drilling
# along: a split takes no more than so many times the unbalance that is to go. Common practice, no source.
WASTE = 6.0
# The search ends after so many nodes, not after a time, so that a plan is the same on every computer.
MOST_NODES = 100
# Holes are whole: an answer this near to the bound has the fewest.
PROVED = 0.2


class Stretch(NamedTuple):
    """A run of free angles on one member: every angle of it, the most that one hole takes at each, and that none,
    one, two … holes side by side take together, as far as they fit; the shares of the two planes, and the least
    metal for what is taken."""

    member: str
    angle_deg: tuple[float, ...]
    most_gmm: tuple[float, ...]
    together_gmm: tuple[float, ...]
    shares: tuple[float, float]
    gram_per_gmm: float

    @property
    def holes(self) -> int:
        """How many fit at most."""
        return len(self.together_gmm) - 1

    def fan(self, apart_deg: float) -> list[int]:
        """Angles along it no further apart than this, both ends among them."""
        last = len(self.angle_deg) - 1
        span_deg = (self.angle_deg[-1] - self.angle_deg[0]) % 360
        count = 1 + math.ceil(span_deg / apart_deg)
        return sorted({round(float(at)) for at in np.linspace(0, last, count)})


class Wanted(NamedTuple):
    """What the split asks of one stretch: its vector, and by how many holes."""

    stretch: Stretch
    vector_gmm: complex
    holes: int


class Split(NamedTuple):
    """The ideal: the wanted vectors, the slugs, and the worst of both planes over what is allowed; and the metal
    that no holes of this choice come below inside the aim, where that was asked."""

    wanted: tuple[Wanted, ...]
    slugs: tuple[tuple[Site, int], ...]
    worst: float
    least_g: float = 0.0

    @property
    def holes(self) -> int:
        return sum(one.holes for one in self.wanted)


def stretches(places: Sequence[Site], planes_mm: tuple[float, float], unlimited: bool = False) -> list[Stretch]:
    """The free stretches of all members; unlimited: as if any number of holes fitted."""
    by_member: dict[str, list[Site]] = {}
    for place in places:
        by_member.setdefault(place.member.name, []).append(place)
    found = []
    for name, own in by_member.items():
        most = np.max([np.where(p.free, p.depths.removes_gmm, 0.0).max(axis=1) for p in own], axis=0)
        shares = plane_share(own[0].member.z_mm, *planes_mm)
        lightest = min(float((p.depths.mass_g / p.depths.removes_gmm).min()) for p in own)
        pitch_deg = min(_pitch_deg(p) for p in own)
        for run in _runs(own[0].angle_deg, most):
            angles, amounts = own[0].angle_deg[run], most[run]
            after = (angles - angles[0]) % 360
            together = (
                tuple(n * float(amounts.max()) for n in range(1 + MANY))
                if unlimited
                else _together_gmm(after, amounts, pitch_deg)
            )
            around, at_most = tuple(map(float, angles)), tuple(map(float, amounts))
            found.append(Stretch(name, around, at_most, together, shares, lightest))
    return found


def _together_gmm(after_deg: Floats, most_gmm: Floats, pitch_deg: float) -> tuple[float, ...]:
    """The most that none, one, two … holes take, each so far from the next."""
    before = np.searchsorted(after_deg, after_deg - pitch_deg + 1e-9, side="right")
    best, found = np.zeros(after_deg.size + 1), [0.0]
    while len(found) <= MANY:
        best = np.concatenate([[-np.inf], np.maximum.accumulate(most_gmm + best[before])])
        if not math.isfinite(best[-1]):
            break
        found.append(max(found[-1], float(best[-1])))
    return tuple(found)


def _pitch_deg(place: Site) -> float:
    """Degrees from one hole to the next at least: shallow ones, a wall between them."""
    d = place.depths
    if d.kind == "grind":
        return d.arc_deg
    return math.degrees(2 * math.asin(min(1.0, (d.diameter_mm + place.wall_mm) / 2 / d.radius_mm)))


def _runs(angle_deg: Floats, most: Floats) -> list[list[int]]:
    """Neighbouring angles with room, no run wider than WIDEST_DEG."""
    runs: list[list[int]] = []
    for i in np.flatnonzero(most > 0):
        run = runs[-1] if runs else []
        next_to = run and (angle_deg[i] - angle_deg[run[-1]]) % 360 < 1.5
        if next_to and (angle_deg[i] - angle_deg[run[0]]) % 360 <= WIDEST_DEG:
            run.append(int(i))
        else:
            runs.append([int(i)])
    return runs


def ideal(
    stretches: Sequence[Stretch],
    slugs: Sequence[Site],
    target: tuple[complex, complex],
    allowed_gmm: tuple[float, float],
    planes_mm: tuple[float, float],
    *,
    aim: float,
    most_holes: int,
) -> Split:
    """The fewest holes that leave both planes inside aim · allowed; where none do, those that leave least.

    target: what is to come off each plane [g·mm]; allowed_gmm: for the front and the rear plane."""
    programme = _Programme(aim)
    fans = [programme.fan(one, most_holes) for one in stretches]
    if fans:
        programme.row(-UNBOUNDED, most_holes, {fan.holes: 1.0 for fan in fans})
    spots = slug_spots(slugs)
    picks = [programme.pick(spot, planes_mm) for spot in spots]
    _one_slug_a_place(programme, spots, picks)
    programme.row(-UNBOUNDED, WASTE * sum(map(abs, target)), programme.spent)
    for plane, (wanted, allowed) in enumerate(zip(target, allowed_gmm, strict=True)):
        programme.hold(plane, wanted, allowed)
    programme.run()
    values = programme.values
    if not values:
        return Split(
            (), (), max(abs(wanted) / allowed for wanted, allowed in zip(target, allowed_gmm, strict=True))
        )
    found = [fan.wanted(one, values) for one, fan in zip(stretches, fans, strict=True)]
    chosen = tuple(spot for spot, pick in zip(spots, picks, strict=True) if values[pick] > 0.5)
    return Split(tuple(one for one in found if one.holes), chosen, values[programme.worst])


class _Fan(NamedTuple):
    """A stretch in the programme: the column that counts its holes, and a column for each direction along it."""

    holes: int
    columns: tuple[int, ...]
    turned: tuple[complex, ...]

    def wanted(self, stretch: Stretch, values: Sequence[float]) -> Wanted:
        vector = sum((values[column] * unit for column, unit in zip(self.columns, self.turned, strict=True)), 0j)
        return Wanted(stretch, vector, round(values[self.holes]))


class _Programme(Programme):
    """The programme of one split: what is left beyond the aim and the worst of both planes stand in it first."""

    def __init__(self, aim: float) -> None:
        super().__init__(mip_max_nodes=MOST_NODES, mip_abs_gap=PROVED)
        beyond, self.worst = self.column(BEYOND), self.column(LEFT)
        self.row(-UNBOUNDED, aim, {self.worst: 1.0, beyond: -1.0})
        # What one of a column takes off, and how the planes share it; and what of that was not there to go.
        self._gives: list[tuple[int, complex, tuple[float, float]]] = []
        self.spent: dict[int, float] = {}

    def fan(self, one: Stretch, most_holes: int) -> _Fan:
        """Directions along a stretch, and as many whole holes as their amounts need."""
        holes = self.column(1.0, min(one.holes, most_holes), whole=True)
        fan = [(one.angle_deg[at], one.most_gmm[at]) for at in one.fan(FAN_DEG)]
        columns = tuple(self.column(METAL / most) for _, most in fan)
        turned = tuple(cmath.rect(1.0, math.radians(a)) for a, _ in fan)
        self._gives += [(column, unit, one.shares) for column, unit in zip(columns, turned, strict=True)]
        self.spent |= dict.fromkeys(columns, 1.0)
        room = {column: 1 / most for column, (_, most) in zip(columns, fan, strict=True)}
        self.row(-UNBOUNDED, 0.0, room | {holes: -1.0})
        self.row(-UNBOUNDED, max(one.together_gmm), dict.fromkeys(columns, 1.0))
        return _Fan(holes, columns, turned)

    def pick(self, spot: tuple[Site, int], planes_mm: tuple[float, float]) -> int:
        """A slug that is there or not; what it brings may be taken off elsewhere."""
        place, angle = spot
        pick = self.column(SLUG, 1.0, whole=True)
        amount = complex(place.depths.removes_gmm[0] * place.turned[angle])
        self.spent[pick] = -WASTE * abs(amount)
        self._gives.append((pick, amount, plane_share(float(place.depths.z_mm[0]), *planes_mm)))
        return pick

    def hold(self, plane: int, wanted: complex, allowed_gmm: float) -> None:
        """Hold what stays in a plane to a polygon about what is allowed, times the worst of both."""
        for corner in range(CORNERS):
            towards = cmath.rect(1 / allowed_gmm, cmath.phase(wanted) + 2 * math.pi * corner / CORNERS)
            terms = {column: -_along(shares[plane] * give, towards) for column, give, shares in self._gives}
            self.row(-UNBOUNDED, -_along(wanted, towards), terms | {self.worst: -1.0})


def _along(vector: complex, direction: complex) -> float:
    return vector.real * direction.real + vector.imag * direction.imag


def slug_spots(places: Sequence[Site]) -> list[tuple[Site, int]]:
    """Every slug at every tenth degree where it has room."""
    stride = round(SLUG_GRID_DEG)
    return [(p, int(a)) for p in places for a in np.flatnonzero(p.free[:, 0]) if a % stride == 0]


def _one_slug_a_place(programme: _Programme, spots: Sequence[tuple[Site, int]], picks: Sequence[int]) -> None:
    """No two slugs without a wall between them: one in every window of a member as wide as the largest takes."""
    for name in dict.fromkeys(place.member.name for place, _ in spots):
        own = [
            (float(p.angle_deg[a]), pick)
            for (p, a), pick in zip(spots, picks, strict=True)
            if p.member.name == name
        ]
        pitch_deg = max(_pitch_deg(p) for p, _ in spots if p.member.name == name)
        for start in sorted({angle for angle, _ in own}):
            window = {pick: 1.0 for angle, pick in own if (angle - start) % 360 < pitch_deg}
            programme.row(-UNBOUNDED, 1.0, window)
