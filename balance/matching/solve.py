"""Answering: the aims one after the other, each as good as those before it leave room for, and proved.

For each aim the annealing finds an arrangement. If its value is the bound that the masses themselves set, that
is the proof; else every arrangement that could be better is looked at, from the bound upwards. Where these are
too many to look at, or time is out, the answer stands with the bound that was reached.
"""

from __future__ import annotations

import itertools
import math
import time
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

import numpy as np

from truethrow.balance.matching.aims import Aim, Reached
from truethrow.balance.matching.anneal import anneal
from truethrow.balance.matching.cover import Apart, TooMany, kinds_of, within
from truethrow.balance.matching.question import Bools, Floats, Ints, Question

SEED = 20
# How much further from the bound each look goes than the one before.
WIDENING = 3.0
LOOKS = 30  # the first look goes no less than so far, as a part of the way
# A short search first: what it misses the proof mostly finds. Where there are too many arrangements to look at,
# longer ones, each twice as long as the one before, until so many in turn have found nothing better.
QUICK_SWEEPS, PATIENT_SWEEPS = 60, 600
PATIENCE = {False: 3, True: 12}  # for aims that take a solver more tries, all of them short
# An aim before the one that is searched for costs this many times what it goes beyond what it had reached.
KEEP = 20.0
STAGE = 0.4  # of the time that is left, for an aim that is not the last
HOT, COLDEST = 0.5, 1e-4  # temperatures, as parts of the way from the bound to the first value
MOST_ORDERS = 5040  # of twin throws
MOST_PLACED = 10_000_000  # arrangements times orders: some seconds

Progress = Callable[[str, float, float], None]  # the aim, its value so far, its bound


class Clock(NamedTuple):
    """The time that may be used."""

    until: float

    @classmethod
    def of(cls, seconds: float) -> Clock:
        return cls(time.monotonic() + seconds)

    @property
    def left_s(self) -> float:
        return self.until - time.monotonic()


class Solved(NamedTuple):
    """The arrangement, and how far each aim was brought. broken_off: by Ctrl-C."""

    arrangement: Ints
    reached: tuple[Reached, ...]
    broken_off: bool = False


def solve(
    question: Question,
    aims: Sequence[Aim],
    now: Ints,
    start: Ints,
    clock: Clock,
    progress: Progress = lambda *_: None,
) -> Solved:
    """The best arrangement, aim by aim. now: as the parts sit; start: the same, or one that keeps to the rules."""
    caps: list[tuple[Aim, float]] = []
    reached: list[Reached] = []
    best, broken_off = start, False
    for position, aim in enumerate(aims):
        own_clock = clock if position == len(aims) - 1 else Clock.of(clock.left_s * STAGE)
        stage = _Stage(question, aim, caps, own_clock, progress, best)
        if not broken_off:
            try:
                stage.run()
            except KeyboardInterrupt:
                broken_off = True
        best, value = stage.best, stage.value
        reached.append(Reached(aim.name, aim.unit, aim.at(now), value, min(stage.bound, value), None))
        caps.append((aim, value))
    return Solved(best, tuple(reached), broken_off)


def alone(question: Question, aim: Aim, arrangement: Ints, clock: Clock) -> float | None:
    """What an aim could be brought to if it stood first; None where that takes a solver or more time than is
    left. arrangement: one that keeps to the rules."""
    if aim.slow or clock.left_s <= 0:
        return None
    stage = _Stage(question, aim, [], clock, lambda *_: None, arrangement)
    stage.run()
    return stage.value


def fewest_moves(question: Question, aims: Sequence[Aim], arrangement: Ints) -> Ints:
    """Of the arrangements as good as this one that let twin throws, twin cylinders of a throw and parts that
    nothing tells apart change places, the one that leaves most parts where they are."""
    try:
        orders = np.array(list(_twin_orders(question, within_throws=True)))
    except TooMany:
        orders = np.arange(question.cylinders)[np.newaxis]
    tried = arrangement[:, orders].swapaxes(0, 1)
    good = np.ones(len(tried), dtype=np.bool_)
    for aim in aims:
        if not aim.slow:  # the metal does not see which of the twins is which
            good &= np.abs(aim.of(tried) - aim.at(arrangement)) < aim.step / 2
    kinds = np.array([kinds_of(question, u) for u in range(len(question.units))])
    units = np.arange(len(question.units))[:, np.newaxis]
    stays = (kinds[units, tried] == kinds[units, np.arange(question.cylinders)]).sum(axis=(1, 2))
    best = tried[np.where(good, stays, -1).argmax()]
    for u, own in enumerate(kinds):
        wanted = own[best[u]]
        at_home = wanted == own
        best[u][at_home] = np.flatnonzero(at_home)
        for kind in np.unique(own):
            places = np.flatnonzero((wanted == kind) & ~at_home)
            best[u][places] = np.flatnonzero((own == kind) & ~at_home)
    return np.asarray(best)


class _Stage:
    """One aim, with what the aims before it have reached as caps: the best arrangement so far, its value, and the
    bound so far, which hold whenever it is broken off."""

    def __init__(
        self,
        question: Question,
        aim: Aim,
        caps: Sequence[tuple[Aim, float]],
        clock: Clock,
        progress: Progress,
        start: Ints,
    ) -> None:
        self.question, self.aim, self.caps, self.clock, self.progress = question, aim, caps, clock, progress
        self.best, self.value = start, aim.at(start)
        self.bound = aim.bound()

    def run(self) -> None:
        """Find and prove, as far as the time reaches."""
        self._tell()
        sweeps, idle = QUICK_SWEEPS, 0
        for seed in itertools.count(SEED):
            if self._done or idle == PATIENCE[self.aim.slow]:
                return
            before = self.value
            found = self._searched(sweeps, seed)
            self._take(found)
            if self.aim.slow:
                self._take(self._descended(found))
            elif any(cap.slow for cap, _ in self.caps):  # which the annealing did not see
                self._take(self._descended(self.best))
            self._tell()
            if not self._done and seed == SEED:
                self._prove()
            idle = 0 if self.value < before else idle + 1
            if not self.aim.slow:
                sweeps = PATIENT_SWEEPS if seed == SEED else 2 * sweeps

    @property
    def _done(self) -> bool:
        return self.value <= self.bound + self.aim.step / 2 or self.clock.left_s <= 0

    def _tell(self) -> None:
        self.progress(self.aim.name, self.value, self.bound)

    def _take(self, arrangement: Ints) -> None:
        """An arrangement that may be better, if it keeps to the rules and to what is reached."""
        value = self.aim.at(arrangement)
        if value < self.value and self._holds(arrangement):
            self.best, self.value = arrangement, value

    def _holds(self, arrangement: Ints) -> bool:
        keeps = self.question.allows(arrangement) and bool(self._keeps(arrangement[np.newaxis])[0])
        return keeps and all(cap.at(arrangement) <= most + cap.step / 2 for cap, most in self.caps if cap.slow)

    def _searched(self, sweeps: int, seed: int) -> Ints:
        """What the annealing makes of it."""
        step, bound = self.aim.step, self.bound
        scale = max(self.value - bound, 10 * step)
        fast = [(cap, most) for cap, most in self.caps if not cap.slow]

        def price(arrangements: Ints) -> Floats:
            masses = self.question.masses(arrangements)
            cost = (self.aim.leaning(masses) - bound) / scale
            for cap, most in fast:
                over = np.maximum(0.0, cap.leaning(masses) - most) / cap.step
                cost = cost + KEEP * over * (step / scale)
            return np.asarray(cost)

        cold, enough = max(step / scale / 4, COLDEST), step / scale / 2
        return anneal(self.question, price, self.best, seed, hot=HOT, cold=cold, enough=enough, sweeps=sweeps)

    def _descended(self, arrangement: Ints) -> Ints:
        """Down the slope, one swap of two parts at a time, as long as one of them is better."""
        if not self._holds(arrangement):
            return arrangement
        value = self.aim.at(arrangement)
        while True:
            for neighbour in _neighbours(arrangement):
                if self._done:
                    return arrangement
                other = self.aim.at(neighbour)
                if other < value - self.aim.step and self._holds(neighbour):
                    arrangement, value = neighbour, other
                    break
            else:
                return arrangement

    def _prove(self) -> None:
        """Every arrangement that could be better is looked at, those near the bound first, since they are few."""
        step = self.aim.step
        widening = max(step, (self.value - self.bound) / LOOKS) if self.aim.box(self.value) else self.value
        while not self._done:
            reach = min(self.bound + widening, self.value - step)
            try:
                better = self._better(reach)
            except TooMany:
                return
            if better is not None:
                self.best, self.value = better, self.aim.at(better)
                self.bound = self.value
                return
            self.bound = min(self.value, reach + step)
            widening *= WIDENING
            self._tell()

    def _better(self, reach: float) -> Ints | None:
        """The best arrangement whose value is no more than this, None if there is none. Raises TooMany."""
        boxes = self._boxes(reach)
        if not boxes:
            raise TooMany
        slow = [(cap, most) for cap, most in self.caps if cap.slow]
        seats = bool(slow) or self.aim.slow
        apart: Apart = "cylinders"
        if set(boxes) == {"bobweight"} and not seats:
            apart = "throws"
        elif "bobweight" not in boxes and not seats and not self._sees_places:
            apart = "parts in a cylinder"
        candidates = within(self.question, boxes, apart, self.clock.until)
        best, least = None, reach + self.aim.step / 2
        for placed in self._placed(candidates):
            values = np.where(self._keeps(placed), self.aim.at_least(self.question.masses(placed)), np.inf)
            for place in values.argsort(kind="stable"):
                if not values[place] < least:
                    break
                if self.clock.left_s <= 0:
                    raise TooMany
                if all(cap.at(placed[place]) <= most + cap.step / 2 for cap, most in slow):
                    value = self.aim.at(placed[place])
                    if value < least:
                        best, least = placed[place], value
        return best

    def _boxes(self, reach: float) -> dict[str, int]:
        """By quantity the largest spread that an arrangement within reach, and within the caps, can have."""
        boxes: dict[str, int] = {}
        for aim, most in (*self.caps, (self.aim, reach)):
            for name, spread in aim.box(most).items():
                boxes[name] = min(spread, boxes.get(name, spread))
        return boxes

    def _keeps(self, arrangements: Ints) -> Bools:
        """Whether arrangements are as good in the aims before, as far as can be told without a solver."""
        masses = self.question.masses(arrangements)
        keeps = np.ones(len(arrangements), dtype=np.bool_)
        for cap, most in self.caps:
            keeps &= cap.at_least(masses) <= most + cap.step / 2
        return keeps

    @property
    def _sees_places(self) -> bool:
        """Whether an aim tells one place of a throw along the crank from another."""
        return any(aim.name == "residual" for aim in (self.aim, *(cap for cap, _ in self.caps)))

    def _placed(self, arrangements: Ints) -> Iterator[Ints]:
        """Where an aim sees the place of a throw, the arrangements with their twin throws in every order."""
        if not self._sees_places:
            yield arrangements
            return
        orders = list(_twin_orders(self.question))
        if len(orders) * len(arrangements) > MOST_PLACED:
            raise TooMany
        for order in orders:
            yield arrangements[:, :, order]


def _neighbours(arrangement: Ints) -> Iterator[Ints]:
    """The arrangement with any two parts of a unit in each other's place."""
    for u, parts in enumerate(arrangement):
        for one, other in itertools.combinations(range(len(parts)), 2):
            moved = arrangement.copy()
            moved[u, [one, other]] = parts[[other, one]]
            yield moved


def _twin_orders(question: Question, *, within_throws: bool = False) -> Iterator[list[int]]:
    """The cylinders in every order that only lets twin throws change places, and within_throws twin cylinders
    of a throw as well. Raises TooMany."""
    classes = question.throw_classes
    of_throws = list(_orders(classes))
    of_seats = [
        list(_orders(described[1:])) if within_throws else [range(len(described) - 1)] for described in classes
    ]
    if len(of_throws) * math.prod(map(len, of_seats)) > MOST_ORDERS:
        raise TooMany
    for throws in of_throws:
        for seats in itertools.product(*of_seats):
            order = [0] * question.cylinders
            for throw, (other, own) in enumerate(zip(throws, seats, strict=True)):
                for here, seat in zip(question.on_throw[throw], own, strict=True):
                    order[here] = question.on_throw[other][seat]
            yield order


def _orders(classes: Sequence[object]) -> Iterator[tuple[int, ...]]:
    """Every order of some things that only lets those of one class change places. Raises TooMany."""
    groups: dict[object, list[int]] = {}
    for thing, described in enumerate(classes):
        groups.setdefault(described, []).append(thing)
    if math.prod(math.factorial(len(group)) for group in groups.values()) > MOST_ORDERS:
        raise TooMany
    for orders in itertools.product(*(itertools.permutations(group) for group in groups.values())):
        placed = dict(zip(itertools.chain(*groups.values()), itertools.chain(*orders), strict=True))
        yield tuple(placed[thing] for thing in range(len(classes)))
