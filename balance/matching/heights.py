"""The least metal, by the heights at which the windows lie: with these given, what a throw costs depends on its
own parts alone, and the best arrangement is found exactly, by putting throws together.

A height is what the lightest member of a limited quantity weighs, after the cuts, and besides before them where
the spread is left too close to call. Heights come in boxes. In a box, a throw's parts cost no less than with each
of its members in the window of whichever height suits it best: by duality the largest of a few sums, one for each
vertex of the prices that no pad undercuts. Boxes that cannot hold anything better than what is at hand are done
with; where only few arrangements could be better, each is trimmed for itself; the others are halved.

It reckons with the bobweights and the LEVELS quantities that are furthest over their limits, and with pads that
give as much as is asked for: leaving out the rest costs nothing, so what it says is a bound.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

import numpy as np

from truethrow.balance.base.arrays import Floats, Ints
from truethrow.balance.job.job import Job
from truethrow.balance.matching.effort import Effort
from truethrow.balance.matching.every import count_of
from truethrow.balance.matching.joint import CLOSE_G, Asked, Tell, in_order, twins
from truethrow.balance.matching.question import Question
from truethrow.balance.result.least_metal import (
    EXCESS_COST,
    can_give_g,
    cylinders_of,
    reach_of_a_gram,
    window_of,
)
from truethrow.balance.result.spread import Spread

LEVELS = 2
# What is worked through for one box at most, in elements of tables, and how many of them are a look.
MOST_ELEMENTS, A_LOOK = 8_000_000, 300
# Arrangements of a box that are trimmed one by one: so few, or so many where halving gains only a little of what
# is open; and the first of a box that holds more. Measured on 25 V8s: with four times as many, six were left open
# instead of two, for want of work to halve with.
FEW, MANY, LITTLE, FIRST = 100, 3000, 0.1, 3
KNOWN = 10  # so many times as many are listed, since neighbouring boxes mostly hold the same
LISTED = 20  # what it costs to come by one of them [looks]
TRIMMED = 300  # what one of them costs [looks]
SURE_G = 1e-6  # what the sums of floats may be off by
TINY = 1e-9  # of a price against what a pad allows

Ends = tuple[float, float]
Box = tuple[Ends, ...]  # of each window the least and the greatest height, then of those left close the width [g]
Subset = tuple[int, ...]  # by unit, which of the subsets of its parts


class Quantity(NamedTuple):
    """A window of a limited quantity: its width [g], and where in a box it has a narrower one, None for nowhere;
    whether it is for before the cuts; whether its members are throws, and how many there are; what a gram at each
    (cylinder, pad) lowers its member by, and how much it lowers or raises one at most; what the parts of each unit
    weigh in it, and what of each member nobody trades [g]."""

    width_g: float
    width_at: int | None
    is_before: bool
    is_of_throws: bool
    members: int
    effects: Floats
    lowers: float
    raises: float
    moving_g: tuple[Floats, ...]
    staying_g: Floats

    def ends(self, cost: float) -> Ends:
        """Between which heights everything is that costs no more."""
        mean_g = math.fsum([*map(math.fsum, self.moving_g), math.fsum(self.staying_g)]) / self.members
        if self.is_before:
            return mean_g - self.width_g - SURE_G, mean_g + SURE_G
        lowest_g = mean_g - cost * self.lowers / self.members - self.width_g - cost / EXCESS_COST
        return lowest_g - SURE_G, mean_g + cost * self.raises / self.members + SURE_G


class Subsets:
    """The subsets of so many of a number of parts."""

    def __init__(self, parts: int, size: int) -> None:
        self.members = np.array(list(itertools.combinations(range(parts), size)), dtype=np.int64)
        self.at = {tuple(own): at for at, own in enumerate(self.members.tolist())}


class Join:
    """How subsets of the parts of each unit are parted in two of given sizes: by way and subset, where the one and
    the other are in tables laid out in a row."""

    def __init__(self, parts: int, first: int, second: int, units: int) -> None:
        ones, others = Subsets(parts, first), Subsets(parts, second)
        wholes = Subsets(parts, first + second)
        one, other = [], []
        for whole in wholes.at:
            ways = list(itertools.combinations(whole, first))
            one.append([ones.at[way] for way in ways])
            other.append([others.at[tuple(part for part in whole if part not in way)] for way in ways])
        by_way = [np.array(own, dtype=np.int64).T for own in (one, other)]
        self.shape = (len(wholes.at),) * units
        self.shapes = (len(ones.at),) * units, (len(others.at),) * units
        self.one, self.other = (
            np.array([_where(ways, shape[0]).ravel() for ways in itertools.product(own, repeat=units)])
            for own, shape in zip(by_way, self.shapes, strict=True)
        )

    def of(self, one: Floats, other: Floats) -> Floats:
        """The least sum of two tables for each subset."""
        ones, others, least = one.ravel(), other.ravel(), np.full(math.prod(self.shape), np.inf)
        for here, there in zip(self.one, self.other, strict=True):  # all ways at once are slower
            np.minimum(least, ones.take(here) + others.take(there), out=least)
        return least.reshape(self.shape)

    def below(self, one: Floats, other: Floats, subset: Subset, limit: float) -> Iterator[tuple[Subset, Subset]]:
        """The ways to part a subset that come to less than a limit."""
        at = np.ravel_multi_index(subset, self.shape)
        here, there = self.one[:, at], self.other[:, at]
        for way in np.flatnonzero(one.ravel()[here] + other.ravel()[there] < limit).tolist():
            places = zip((here[way], there[way]), self.shapes, strict=True)
            first, second = (tuple(map(int, np.unravel_index(place, shape))) for place, shape in places)
            yield first, second


class Throw:
    """One throw, and what parts cost there."""

    def __init__(self, job: Job, question: Question, on: Sequence[int], quantities: Sequence[Quantity]) -> None:
        self.on, self._quantities = on, quantities
        self._levels = [at for at, q in enumerate(quantities) if not q.is_of_throws and not q.is_before]
        self._bobweight = next((at for at, q in enumerate(quantities) if q.is_of_throws and not q.is_before), None)
        self.subsets, self._parts = Subsets(question.cylinders, len(on)), question.cylinders
        throw, units = int(question.throw_of[on[0]]), len(question.units)
        # By quantity what the parts make of each cylinder, or of the throw by the subsets that it has.
        self._masses_g = [
            [_summed([own[self.subsets.members].sum(axis=1) for own in q.moving_g], q.staying_g[throw])]
            if q.is_of_throws
            else [_summed(q.moving_g, q.staying_g[c]) for c in on]
            for q in quantities
        ]
        self._forbidden = [_forbidden(question, c) for c in on]
        self._prices, self._vertices = self._all_prices(job)
        # What the masses of each cylinder come to at the prices, whatever the box.
        self._linear = []
        for place, vertices in enumerate(self._vertices):
            total = np.zeros((*vertices.shape[:2], *(1,) * units))
            for at, level in enumerate(self._levels):
                total = total + _wide(vertices[..., at], units) * self._masses_g[level][place]
            self._linear.append(total)
        self.orders = list(itertools.product(itertools.permutations(range(len(on))), repeat=units))

    def keep_first(self, twins: Sequence[tuple[int, int]]) -> None:
        """Of the orders that trading twin cylinders as they are makes of one another, keep one."""
        pairs = [(self.on.index(a), self.on.index(b)) for a, b in twins if {a, b} <= set(self.on)]
        self.orders = [order for order in self.orders if all(order[0][a] < order[0][b] for a, b in pairs)]
        # By order and cylinder, where the parts of each subset are among all choices of one part a unit.
        places = range(len(self.on))
        self._places = [[_where(self.parts(order, at), self._parts) for at in places] for order in self.orders]

    def parts(self, order: tuple[tuple[int, ...], ...], place: int) -> list[Ints]:
        """By unit, of each subset the part that sits in one of the cylinders."""
        return [self.subsets.members[:, own[place]] for own in order]

    def costs(self, box: Box) -> Floats:
        """What parts cost at least, by order and by subsets."""
        windows = [
            (box[at][0], box[at][1] + (q.width_g if q.width_at is None else box[q.width_at][1]))
            for at, q in enumerate(self._quantities)
        ]
        cylinders = [self._of_cylinder(place, windows) for place in range(len(self.on))]
        throw = self._of_throw(windows)
        found = []
        for places in self._places:
            total = throw
            for own, at in zip(cylinders, places, strict=True):
                total = total + own.reshape(len(own), -1)[:, at]
            found.append(total.max(axis=0))
        return np.array(found)

    def _of_cylinder(self, place: int, windows: Sequence[Ends]) -> Floats:
        """By price of the bobweight, and by part of each unit."""
        vertices, outside = self._vertices[place], self._forbidden[place]
        free = np.zeros(vertices.shape[:2])
        for at, level in enumerate(self._levels):
            low, top = windows[level]
            free += vertices[..., at] * np.where(vertices[..., at] >= 0, top, low)
        for q, masses_g, window in zip(self._quantities, self._masses_g, windows, strict=True):
            if q.is_before and not q.is_of_throws:
                outside = outside + _outside(masses_g[place], window)
        return np.asarray((self._linear[place] - _wide(free, outside.ndim)).max(axis=1) + outside)

    def _of_throw(self, windows: Sequence[Ends]) -> Floats:
        """By price of the bobweight, and by subsets."""
        units = self._forbidden[0].ndim
        found = np.zeros((len(self._prices), *(1,) * units))
        for at, (q, (masses_g, *_)) in enumerate(zip(self._quantities, self._masses_g, strict=True)):
            if at == self._bobweight:
                low, top = windows[at]
                free = self._prices * np.where(self._prices >= 0, top, low)
                found = found + _wide(self._prices, units) * masses_g - _wide(free, units)
            elif q.is_of_throws:
                found = found + _outside(masses_g, windows[at])
        return found

    def _all_prices(self, job: Job) -> tuple[Floats, list[Floats]]:
        """Prices of a gram of the bobweight over its window, below 0 of a gram under it; and by cylinder for each
        of them the vertices of the prices of its own quantities (prices, vertices, quantities)."""
        cylinders, effects = list(job.parts), []
        for c in self.on:
            usable = [pad for pad in range(len(job.pads)) if can_give_g(job, cylinders[c], pad) > 0]
            thrown = np.zeros(len(usable))
            if self._bobweight is not None:
                thrown = self._quantities[self._bobweight].effects[c, usable]
            effects.append(np.array([thrown, *(self._quantities[at].effects[c, usable] for at in self._levels)]).T)
        # Members together pay no more than a gram that stays over the limit costs: so none may stay for nothing.
        levels = np.array([EXCESS_COST / self._quantities[at].members for at in self._levels])
        some = {0.0}
        if self._bobweight is not None:
            dearest = np.array([EXCESS_COST / self._quantities[self._bobweight].members, *levels])
            for own in effects:
                some |= set(vertices_of(own, np.ones(len(own)), dearest)[:, 0].tolist())
        prices, found = [], []
        for price in sorted(some):
            each = [vertices_of(effect[:, 1:], 1.0 - effect[:, 0] * price, levels) for effect in effects]
            if all(map(len, each)):
                prices.append(price)
                found.append(each)
        most = np.arange(max(len(own) for each in found for own in each))
        laid = [
            np.array([own[np.minimum(most, len(own) - 1)] for own in each]) for each in zip(*found, strict=True)
        ]
        return np.array(prices), laid


class Heights:
    """What is asked, with one choice of the spreads that are left too close to call."""

    def __init__(self, asked: Asked, close: frozenset[str]) -> None:
        job, question, held, traded = asked
        self.question = question
        self.twins = twins(job, question, traded)
        by_need = sorted(held, key=lambda one: one.inside_g - one.spread.spread_g)
        levels = [one for one in by_need if one.spread.quantity != "bobweight"][:LEVELS]
        thrown = [one for one in by_need if one.spread.quantity == "bobweight"]
        self._quantities: list[Quantity] = []
        self._widths: list[Ends] = []
        windows = len(levels) + len(thrown) + sum(one.spread.quantity in close for one in (*levels, *thrown))
        for one in (*levels, *thrown):
            own, is_close = traded[one.spread.quantity], one.spread.quantity in close
            if not is_close:
                self._quantities.append(_quantity(job, one.spread, own, one.inside_g))
                continue
            at = windows + len(self._widths)
            after = _quantity(job, one.spread, own, one.outside_g + CLOSE_G)._replace(width_at=at)
            self._quantities += [after, after._replace(is_before=True)]
            self._widths.append((one.inside_g, after.width_g))
        self.throws = [Throw(job, question, on, self._quantities) for on in question.on_throw]
        for throw in self.throws:
            throw.keep_first(self.twins)
        sizes, parts, units = [len(on) for on in question.on_throw], question.cylinders, len(question.units)
        middle = (question.throws + 1) // 2
        self.sides = (range(middle), range(middle, question.throws))
        self.joins = [
            [Join(parts, sum(sizes[side[0] : throw]), sizes[throw], units) for throw in side[1:]]
            for side in self.sides
        ]
        # Of each subset for the one side, which the other has then.
        ones, others = (Subsets(parts, sum(sizes[throw] for throw in side)) for side in self.sides)
        self.rest = np.array([others.at[tuple(set(range(parts)) - set(own))] for own in ones.at], dtype=np.int64)

    def first(self, cost: float) -> Box:
        """Where everything is that costs no more."""
        return (*(q.ends(cost) for q in self._quantities), *self._widths)

    def halves(self, box: Box) -> Iterator[tuple[Box, Box]]:
        """A box cut in two, along each of its ends."""
        for at, (low, high) in enumerate(box):
            middle = (low + high) / 2
            yield (*box[:at], (low, middle), *box[at + 1 :]), (*box[:at], (middle, high), *box[at + 1 :])


class Found:
    """What everything costs at least whose heights are in a box."""

    def __init__(self, heights: Heights, box: Box) -> None:
        self._heights = heights
        self._costs = [throw.costs(box) for throw in heights.throws]
        self._tables = [own.min(axis=0) for own in self._costs]
        self._joined = []  # by side, of its first throw, of its first two, …
        for side, joins in zip(heights.sides, heights.joins, strict=True):
            so_far = [self._tables[side[0]]] if side else []
            for throw, join in zip(side[1:], joins, strict=True):
                so_far.append(join.of(so_far[-1], self._tables[throw]))
            self._joined.append(so_far)
        one, other = (joined[-1] for joined in self._joined)
        self._other = other[np.ix_(*(heights.rest,) * other.ndim)]
        self._whole = one + self._other
        self.least = float(self._whole.min()) - SURE_G

    def ways_below(self, cost: float) -> int:
        """How many ways to part them between the sides may cost less than this."""
        return int((self._whole < cost + SURE_G).sum())

    def below(self, cost: float) -> Iterator[Ints]:
        """The arrangements that may cost less than this, the cheapest way to part them between the sides first; of
        those that twins' trades make of one another mostly one."""
        heights, limit = self._heights, cost + SURE_G
        places = np.argwhere(self._whole < limit)
        for at in self._whole[tuple(places.T)].argsort(kind="stable"):
            one: Subset = tuple(places[at].tolist())
            other: Subset = tuple(heights.rest[list(one)].tolist())
            for so_far, begun in self._filled(0, len(heights.sides[0]) - 1, one, limit - float(self._other[one])):
                for _, ended in self._filled(1, len(heights.sides[1]) - 1, other, limit - so_far):
                    arrangement = np.zeros((len(one), heights.question.cylinders), dtype=np.int64)
                    for c, parts in (*begun, *ended):
                        arrangement[:, c] = parts
                    yield in_order(heights.question, heights.twins, arrangement)

    def _filled(
        self, side: int, last: int, subset: Subset, limit: float
    ) -> Iterator[tuple[float, tuple[tuple[int, list[int]], ...]]]:
        """The ways to fill the throws of a side up to the last with a subset of the parts of each unit, below a
        limit: what each costs, and the parts in each cylinder."""
        throw_number = self._heights.sides[side][last]
        if last == 0:
            yield from self._ordered(throw_number, subset, limit)
            return
        before, table = self._joined[side][last - 1], self._tables[throw_number]
        for rest, here in self._heights.joins[side][last - 1].below(before, table, subset, limit):
            for cost, own in self._ordered(throw_number, here, limit - float(before[rest])):
                for so_far, begun in self._filled(side, last - 1, rest, limit - cost):
                    yield so_far + cost, (*begun, *own)

    def _ordered(
        self, throw_number: int, subset: Subset, limit: float
    ) -> Iterator[tuple[float, tuple[tuple[int, list[int]], ...]]]:
        throw = self._heights.throws[throw_number]
        for order, costs in zip(throw.orders, self._costs[throw_number], strict=True):
            if costs[subset] < limit:
                placed = (
                    (c, [int(own[at]) for own, at in zip(throw.parts(order, place), subset, strict=True)])
                    for place, c in enumerate(throw.on)
                )
                yield float(costs[subset]), tuple(placed)


def reaches(question: Question) -> bool:
    """Whether an engine is small enough."""
    return question.throws > 1 and _elements(question) <= MOST_ELEMENTS


def _elements(question: Question) -> int:
    """About how many elements of tables are worked through for one box."""
    parts, units = question.cylinders, len(question.units)
    sizes = [len(on) for on in question.on_throw]
    middle = (len(sizes) + 1) // 2
    total: int = sum(10 * (math.comb(parts, size) * math.factorial(size)) ** units for size in sizes)
    for side in (sizes[:middle], sizes[middle:]):
        for at in range(1, len(side)):
            both = sum(side[: at + 1])
            total += (math.comb(parts, both) * math.comb(both, side[at])) ** units
    return total


def search(
    choices: Sequence[Heights], start: Ints, at: Callable[[Ints], float], within: float, effort: Effort, tell: Tell
) -> Ints:
    """The best arrangement, from one at hand on. at: what an arrangement costs; within: so near to the best is
    near enough; tell: is told it, and what no arrangement at all can be below."""
    best, value = start, at(start)
    order, trimmed = itertools.count(), set[bytes]()
    boxes = [(0.0, next(order), own, own.first(value)) for own in choices]
    question = choices[0].question
    looks = _elements(question) / A_LOOK
    few = MANY if count_of(question) <= MANY else FEW

    def is_through(found: Found, most: int) -> bool:
        """Trim what could be better in a box, or some of it where more than so many were not trimmed before."""
        nonlocal best, value
        limit = value - within
        most = most if found.ways_below(limit) <= most else FIRST
        listed, new = 0, dict[bytes, Ints]()
        for arrangement in itertools.islice(found.below(limit), KNOWN * most + 1):
            listed += 1
            if (known := arrangement.tobytes()) not in trimmed:
                new[known] = arrangement
            if len(new) > most:
                break
        effort.spend(LISTED * listed)
        for known, arrangement in itertools.islice(new.items(), most):
            trimmed.add(known)
            effort.spend(TRIMMED)
            if at(arrangement) < value:
                best, value = arrangement, at(arrangement)
        return len(new) <= most and listed <= KNOWN * most

    def ways_of(both: Sequence[tuple[Found, Box]]) -> int:
        return sum(found.ways_below(value - within) for found, _ in both)

    while boxes and boxes[0][0] < value - within and not effort.is_out():
        lowest, _, heights, whole = heapq.heappop(boxes)
        cuts = [[(Found(heights, box), box) for box in both] for both in heights.halves(whole)]
        effort.spend(2 * len(cuts) * looks)
        gains = [sum(min(found.least, value) - lowest for found, _ in both) for both in cuts]
        halves = cuts[gains.index(max(gains))]
        if max(gains) < LITTLE * (value - lowest):
            # Where halving leads nowhere, all are looked at; else it is by what leaves the fewest to look at.
            halves = [] if is_through(Found(heights, whole), MANY) else min(cuts, key=ways_of)
        for found, box in halves:
            if found.least < value - within and not is_through(found, few):
                heapq.heappush(boxes, (found.least, next(order), heights, box))
        tell(best, min(value, boxes[0][0]) if boxes else value)
    return best


def vertices_of(effects: Floats, most: Floats, dearest: Floats) -> Floats:
    """The vertices of all prices p with effects · p ≤ most and none beyond the dearest either way, each sign by
    itself (vertices, quantities); none where no prices are."""
    count = effects.shape[1]
    if count == 0:
        return np.zeros((int((most >= -TINY).all()), 0))
    one = np.eye(count)
    rows = np.vstack([effects, one, -one, one])
    than = np.concatenate([most, dearest, dearest, np.zeros(count)])
    chosen = np.array(list(itertools.combinations(range(len(rows)), count)))
    solvable = chosen[np.abs(np.linalg.det(rows[chosen])) > TINY]
    points = np.linalg.solve(rows[solvable], than[solvable][..., np.newaxis])[..., 0]
    kept = len(rows) - count  # the axes keep nothing out
    inside = (points @ rows[:kept].T <= than[:kept] + TINY).all(axis=1)
    return np.unique(points[inside].round(12) + 0.0, axis=0)


def _quantity(job: Job, spread: Spread, traded: Sequence[Floats], width_g: float) -> Quantity:
    *moving, staying = traded
    members = window_of(job, spread).members
    order = {number: at for at, number in enumerate(job.parts)}
    effects = np.zeros((len(order), len(job.pads)))
    for member in members:
        for (cylinder, pad), effect in member.effects.items():
            effects[order[cylinder], pad] = effect
    is_of_throws = spread.quantity == "bobweight"
    if is_of_throws:
        on = [[order[c] for c in cylinders_of(job, spread, member.name)] for member in members]
        staying = np.array([staying[own].sum() + m.unread_g for own, m in zip(on, members, strict=True)])
    reach = reach_of_a_gram(job, spread.quantity)
    return Quantity(
        width_g,
        None,
        False,
        is_of_throws,
        len(members),
        effects,
        reach["lowers"],
        reach["raises"],
        tuple(moving),
        np.array(staying),
    )


def _summed(by_unit: Sequence[Floats], more: float) -> Floats:
    """What every choice of one entry a unit comes to."""
    total = np.full((1,) * len(by_unit), more)
    for u, own in enumerate(by_unit):
        total = total + own.reshape([-1 if at == u else 1 for at in range(len(by_unit))])
    return np.asarray(total)


def _forbidden(question: Question, cylinder: int) -> Floats:
    """By part of each unit: 0 where they may sit there together, else infinite."""
    units = len(question.units)
    allowed = np.ones((question.cylinders,) * units, dtype=np.bool_)
    for u, unit in enumerate(question.units):
        allowed &= unit.allowed[:, cylinder].reshape([-1 if at == u else 1 for at in range(units)])
    for (u, v), fits in question.pairs.items():
        both = fits if u < v else fits.T
        allowed &= both.reshape([question.cylinders if at in (u, v) else 1 for at in range(units)])
    return np.where(allowed, 0.0, np.inf)


def _where(places: Sequence[Ints], size: int) -> Ints:
    """Where all choices of one place along each axis are in a table of this size along each, when it is laid out
    in a row."""
    found = np.zeros((1,) * len(places), dtype=np.int64)
    for axis, own in enumerate(places):
        found = found * size + own.reshape([-1 if at == axis else 1 for at in range(len(places))])
    return found


def _wide(values: Floats, more: int) -> Floats:
    """With so many axes more."""
    return values.reshape(*values.shape, *(1,) * more)


def _outside(masses_g: Floats, window: Ends) -> Floats:
    """Infinite where a mass is outside."""
    low, top = window
    return np.where((masses_g < low - SURE_G) | (masses_g > top + SURE_G), np.inf, 0.0)
