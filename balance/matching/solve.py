"""Answering: the aims one after the other, each as good as those before it leave room for, and proved.

For each aim the annealing finds an arrangement. If its value is the bound that the masses themselves set, that
is the proof; else it is shown that there is none better (partition), or every arrangement that could be better is
looked at, from the bound upwards. Where these are too many, the answer stands with the bound that was reached.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import NamedTuple

import numpy as np

from truethrow.balance.base.arrays import Bools, Floats, Ints
from truethrow.balance.matching import halves
from truethrow.balance.matching.aims import Aim, Reached, ResidualAim
from truethrow.balance.matching.anneal import anneal
from truethrow.balance.matching.cover import Apart, within
from truethrow.balance.matching.effort import SOLVED, Effort
from truethrow.balance.matching.every import count_of, every
from truethrow.balance.matching.metal import MetalAim
from truethrow.balance.matching.partition import one_within
from truethrow.balance.matching.question import Question
from truethrow.balance.matching.windows import TooMany, kinds_of

SEED = 20
ROUNDING = 1e-9
# How much further from the bound each look goes than the one before.
WIDENING = 3.0
LOOKS = 30  # the first look goes no less than so far, as a part of the way
# A short search first: what it misses the proof mostly finds. Where there are too many arrangements to look at,
# longer ones from other seeds for as long as there is time.
QUICK_SWEEPS, PATIENT_SWEEPS = 60, 600
ALONE = 1_000_000  # looks for what an aim could be if it stood first
# An aim before the one that is searched for costs this many times what it goes beyond what it had reached.
KEEP = 20.0
STAGE = 0.4  # of what is left, for an aim that is not the last
HOT, COLDEST = 0.5, 1e-4  # temperatures, as parts of the way from the bound to the first value
CHUNK = 20_000  # arrangements looked at between two words of how far it is
METAL = 3  # looks that the bound of the metal costs
MOST_EVERY = 1_000_000  # arrangements that are simply gone through
MOST_ORDERS = 5040  # of twin throws
MOST_PLACED = 10_000_000  # arrangements times orders: some seconds

Progress = Callable[[str, float, float], None]  # the aim, its value so far, its bound


class Solved(NamedTuple):
    """The arrangement, and how far each aim was brought. broken_off: by Ctrl-C."""

    arrangement: Ints
    reached: tuple[Reached, ...]
    broken_off: bool = False


def solve(
    question: Question, aims: Sequence[Aim], start: Ints, effort: Effort, progress: Progress = lambda *_: None
) -> Solved:
    """The best arrangement, aim by aim. start: one that keeps to the rules.

    What is found does not depend on how the parts sit now, but where nothing better is found they stay."""
    caps: list[tuple[Aim, float]] = []
    stages: list[_Stage] = []
    best, broken_off = start, False
    for position, aim in enumerate(aims):
        own = effort if position == len(aims) - 1 else effort.part(STAGE)
        stage = _Stage(question, aim, caps, own, progress, best)
        if not broken_off:
            try:
                stage.run()
            except KeyboardInterrupt:
                broken_off = True
        best = stage.best
        stages.append(stage)
        caps.append((aim, stage.value))
    before = [aim.at(question.now) for aim in aims]
    # What the search for an aim finds may by the way be better in one before it that was not brought to its end.
    values = [min(stage.value, aim.at(best)) for aim, stage in zip(aims, stages, strict=True)]
    if question.allows(question.now) and _no_worse(before, values, aims):
        best, values = question.now, before
    reached = (
        Reached(aim.name, aim.unit, was, value, _bound(aim, stage.bound, value), None)
        for aim, was, value, stage in zip(aims, before, values, stages, strict=True)
    )
    return Solved(best, tuple(reached), broken_off)


def _bound(aim: Aim, bound: float, value: float) -> float:
    """The bound of an aim that was brought to a value: the value itself where no other lies between."""
    is_next = not aim.slow and value - bound < aim.step * (1 - ROUNDING)
    return value if is_next else min(bound, value)


def _no_worse(one: Sequence[float], other: Sequence[float], aims: Sequence[Aim]) -> bool:
    """Whether some values are as good as others, the first that differs deciding."""
    for own, their, aim in zip(one, other, aims, strict=True):
        if abs(own - their) > aim.step / 2:
            return own < their
    return True


def alone(question: Question, aim: Aim, arrangement: Ints, effort: Effort) -> float | None:
    """What an aim could be brought to if it stood first; None where that takes the solver of the metal, or
    more than is left. arrangement: one that keeps to the rules."""
    if aim.slow or effort.is_out():
        return None
    stage = _Stage(question, aim, [], effort.part(1.0, ALONE), lambda *_: None, arrangement)
    stage.run()
    return stage.value


def fewest_moves(question: Question, aims: Sequence[Aim], arrangement: Ints) -> Ints:
    """Of the arrangements as good as this one that let twin throws, twin cylinders of a throw and parts that
    nothing tells apart change places, the one that leaves most parts where they are; and from there every part
    sent home, in a trade with the one that sits there, that makes nothing worse."""
    try:
        orders = np.array(list(_twin_orders(question, within_throws=True)))
    except TooMany:
        orders = np.arange(question.cylinders)[np.newaxis]
    tried = arrangement[:, orders].swapaxes(0, 1)
    good = np.ones(len(tried), dtype=np.bool_)
    for aim in aims:
        if not aim.slow:  # the metal does not see which of the twins is which
            good &= aim.of(tried) <= aim.at(arrangement) + ROUNDING
    kinds = np.array([kinds_of(question, u) for u in range(len(question.units))])
    units = np.arange(len(question.units))[:, np.newaxis]
    at_home = kinds[units, question.now]
    stays = (kinds[units, tried] == at_home).sum(axis=(1, 2))
    best = tried[np.where(good, stays, -1).argmax()]
    for own, now, home, parts in zip(kinds, question.now, at_home, best, strict=True):
        wanted = own[parts]
        staying = wanted == home
        parts[staying] = now[staying]
        for kind in np.unique(wanted[~staying]):
            others = np.setdiff1d(np.flatnonzero(own == kind), now[staying])
            parts[(wanted == kind) & ~staying] = others
    return _sent_home(question, aims, np.asarray(best))


def _sent_home(question: Question, aims: Sequence[Aim], arrangement: Ints) -> Ints:
    """The arrangement once no part more can go home by a trade of two that makes no aim worse."""
    values = [aim.at(arrangement) for aim in aims]
    fast_first = sorted(range(len(aims)), key=lambda at: aims[at].slow)

    def as_good(other: Ints) -> bool:
        return question.allows(other) and all(aims[at].at(other) <= values[at] + ROUNDING for at in fast_first)

    while True:
        for unit, cylinder in np.argwhere(arrangement != question.now).tolist():
            home = question.now[unit, cylinder]  # the part that sits here as it is now
            other = arrangement.copy()
            other[unit, arrangement[unit] == home] = arrangement[unit, cylinder]
            other[unit, cylinder] = home
            if as_good(other):
                arrangement = other
                break
        else:
            return arrangement


class _Stage:
    """One aim, with what the aims before it have reached as caps: the best arrangement so far, its value, and the
    bound so far, which hold whenever it is broken off."""

    def __init__(
        self,
        question: Question,
        aim: Aim,
        caps: Sequence[tuple[Aim, float]],
        effort: Effort,
        progress: Progress,
        start: Ints,
    ) -> None:
        self.question, self.aim, self.caps, self.effort, self.progress = question, aim, caps, effort, progress
        self.best, self.value = start, aim.at(start)
        self.bound = aim.bound()

    def run(self) -> None:
        """Find and prove, as far as the effort reaches."""
        self._tell()
        for seed in itertools.count(SEED):
            if self._done:
                return
            first = seed == SEED
            found = self._searched(QUICK_SWEEPS if first or self.aim.slow else PATIENT_SWEEPS, seed)
            self._take(found)
            if self.aim.slow:
                self._take(self._descended(found))
            elif any(cap.slow for cap, _ in self.caps):  # which the annealing did not see
                self._take(self._descended(self.best))
            self._tell()
            if first and not self._done:
                self._solve_jointly()
            if first and not self._done:
                self._prove()

    @property
    def _done(self) -> bool:
        return self.value <= self.bound + self.aim.step / 2 or self.effort.is_out()

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
        effort = self.effort
        return anneal(
            self.question, price, self.best, seed, hot=HOT, cold=cold, enough=enough, sweeps=sweeps, effort=effort
        )

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
                self.effort.spend(SOLVED)
                if other < value - self.aim.step and self._holds(neighbour):
                    arrangement, value = neighbour, other
                    break
            else:
                return arrangement

    def _solve_jointly(self) -> None:
        """What one programme for arrangement and cuts says of the metal. The larger of the two bounds holds."""
        if not isinstance(self.aim, MetalAim):
            return

        def tell(arrangement: Ints | None, bound: float) -> None:
            if arrangement is not None:
                self._take(arrangement)
            self.bound = min(self.value, max(self.bound, bound))
            self._tell()

        self.aim.jointly(self.best, self.effort, tell)
        if self._done and not self.effort.is_out():
            self.bound = self.value  # nearer than two values can be apart
        self._tell()

    def _prove(self) -> None:
        """Every arrangement that could be better is looked at, or shown not to be there."""
        if self.aim.is_of_spreads and all(cap.is_of_spreads for cap, _ in self.caps):
            self._decide()
        elif not self.aim.slow and count_of(self.question) <= MOST_EVERY:
            self._go_through()
        elif isinstance(self.aim, ResidualAim) and not self.caps and halves.reaches(self.question, self.effort):
            self._by_halves()
        else:
            self._widen()

    def _decide(self) -> None:
        """Whether there is one that is better by a step; if so, halfway to the bound from then on. Where too much
        would have to be done to know, those nearer to the bound are asked for."""
        unknown, halving = math.inf, False
        while not self._done:
            lowest, most = self.bound - self.aim.step / 2, self._on_steps(min(self.value, unknown) - self.aim.step)
            if most < lowest:
                break
            reach = self._on_steps((self.bound + most) / 2) if halving else most
            reach = most if reach < lowest else reach
            try:
                found = one_within(self.question, self._boxes(reach), self.effort)
            except TooMany:
                unknown, halving = reach, True
                continue
            if found is None:
                self.bound = min(self.value, reach + self.aim.step)
            else:
                self.best, self.value = found, self.aim.at(found)
            halving = found is not None or unknown < self.value
            self._tell()
        self._widen()

    def _on_steps(self, value: float) -> float:
        """The next value below that an arrangement can have."""
        steps = math.ceil((self.value - value) / self.aim.step - ROUNDING)
        return self.value - max(1, steps) * self.aim.step

    def _go_through(self) -> None:
        """Every arrangement there is."""
        try:
            better = self._best_of(every(self.question), self.value - self.aim.step / 2)
        except TooMany:
            return
        if better is not None:
            self.best, self.value = better, self.aim.at(better)
        self.bound = self.value
        self._tell()

    def _by_halves(self) -> None:
        """Every way to fill one half of the crank with every way to fill the other."""
        try:
            self._take(halves.least(self.question, self.effort))
        except TooMany:
            return
        self.bound = self.value
        self._tell()

    def _widen(self) -> None:
        """All that are near the bound first, since they are few."""
        step = self.aim.step
        widening = max(step, (self.value - self.bound) / LOOKS) if self.aim.box(self.value) else self.value
        while not self._done:
            reach = self._on_steps(self.bound + widening)
            try:
                better = self._better(reach)
            except TooMany:
                return
            if better is not None:
                self.best, self.value = better, self.aim.at(better)
                self.bound = self.value
                return
            self.bound = min(self.value, max(self.bound, reach + step))
            widening *= WIDENING
            self._tell()

    def _better(self, reach: float) -> Ints | None:
        """The best arrangement whose value is no more than this, None if there is none. Raises TooMany."""
        boxes = self._boxes(reach)
        if not boxes:
            raise TooMany
        traded = self.aim.slow or any(cap.slow for cap, _ in self.caps)
        apart: Apart = "cylinders"
        if set(boxes) == {"bobweight"} and not traded and not self._sees_rods:
            apart = "throws"
        elif "bobweight" not in boxes and not traded and not self._sees_places:
            apart = "parts in a cylinder"
        candidates = within(self.question, boxes, apart, self.effort)
        return self._best_of(self._placed(candidates), reach + self.aim.step / 2)

    def _best_of(self, some: Iterable[Ints], least: float) -> Ints | None:
        """Of arrangements within the rules the best whose value is below this, and that keeps what is reached.
        Raises TooMany."""
        slow = [(cap, most) for cap, most in self.caps if cap.slow]
        best = None
        look = METAL if self.aim.slow or slow else 1
        for placed in _in_chunks(some):
            self.effort.spend(len(placed) * look)
            self._tell()
            if self.effort.is_out():
                raise TooMany
            values = np.where(self._keeps(placed), self.aim.at_least(self.question.masses(placed)), np.inf)
            for place in values.argsort(kind="stable"):
                if not values[place] < least:
                    break
                if self.aim.slow or slow:
                    self.effort.spend(SOLVED)
                if self.effort.is_out():
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

    @property
    def _sees_rods(self) -> bool:
        """Whether an aim tells apart the two rods of a throw, of which one is in front of the other."""
        return self._sees_places and self.question.rod_arms_mm is not None

    def _placed(self, arrangements: Ints) -> Iterator[Ints]:
        """Where an aim sees the place of a throw, the arrangements with their twin throws in every order."""
        if not self._sees_places:
            yield arrangements
            return
        orders = list(_twin_orders(self.question, within_throws=self._sees_rods))
        if len(orders) * len(arrangements) > MOST_PLACED:
            raise TooMany
        for order in orders:
            yield arrangements[:, :, order]


def _in_chunks(some: Iterable[Ints]) -> Iterator[Ints]:
    for arrangements in some:
        yield from np.array_split(arrangements, len(arrangements) // CHUNK + 1)


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
    of_trades = [
        list(_orders(described[1:])) if within_throws else [range(len(described) - 1)] for described in classes
    ]
    if len(of_throws) * math.prod(map(len, of_trades)) > MOST_ORDERS:
        raise TooMany
    for throws in of_throws:
        for traded in itertools.product(*of_trades):
            order = [0] * question.cylinders
            for throw, (other, own) in enumerate(zip(throws, traded, strict=True)):
                for here, trade in zip(question.on_throw[throw], own, strict=True):
                    order[here] = question.on_throw[other][trade]
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
