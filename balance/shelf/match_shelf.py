"""A shelf of loose parts made into engines with as little metal to take off as the search can find.

What counts is what matching each engine to its own lightest would take: over its cylinders, the reciprocating
masses less the lightest of them, and the big ends less the lightest of them. Every answer carries a bound, and
what that bound counts.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from typing import NamedTuple

import numpy as np

from truethrow.balance.base.digits import digits
from truethrow.balance.base.errors import BadInput, Fault
from truethrow.balance.base.parts import SUMS
from truethrow.balance.base.readings import tidy
from truethrow.balance.shelf import bound as bounds
from truethrow.balance.shelf.filling import filling, spreads_g
from truethrow.balance.shelf.pool import Part, Shelf
from truethrow.balance.shelf.problem import NANOGRAMS, Division, Problem, problem, total
from truethrow.balance.shelf.search import search
from truethrow.balance.shelf.start import best_start, settle, sorted_start

# How much is searched: what a common machine does in so many seconds. A busy one takes longer for the same answer,
# up to so long; whoever says himself how long it may take is kept to that.
SECONDS = 10.0
PATIENCE_S = 300.0
LONGEST_S = 3600.0
# Of a time that is given, as much goes into the search where a bound that counts both masses is worth the rest;
# where none is given, that bound comes on top.
SEARCH_SHARE = 0.5
# Of the search, as much goes into sorting over and over, the rest into swaps: many engines are settled best by
# sorting, few by swaps; and only swaps bring in what was left over.
SETTLE_SHARE, SETTLE_SHARE_OF_FEW, FEW_ENGINES = 0.9, 0.2, 50

# best [g], bound [g], how much of the time is gone (0 to 1)
Progress = Callable[[float, float, float], None]


class Filled(NamedTuple):
    """One cylinder: the loose parts in it by kind, and what it weighs with what is the same in every cylinder."""

    cylinder: int
    parts: Mapping[str, Part]
    big_end_g: float | None
    reciprocating_g: float


class Matched(NamedTuple):
    """One engine: its cylinders, the grams that a match to its lightest takes off reciprocating masses and big
    ends, and the spread of its bobweights."""

    number: int
    cylinders: tuple[Filled, ...]
    reciprocating_cost_g: float
    big_end_cost_g: float
    bobweight_spread_g: float

    @property
    def cost_g(self) -> float:
        return tidy(self.reciprocating_cost_g + self.big_end_cost_g)

    @property
    def reciprocating_spread_g(self) -> float:
        masses = [filled.reciprocating_g for filled in self.cylinders]
        return tidy(max(masses) - min(masses))

    @property
    def big_end_spread_g(self) -> float | None:
        masses = [filled.big_end_g for filled in self.cylinders if filled.big_end_g is not None]
        return tidy(max(masses) - min(masses)) if masses else None


class Costly(NamedTuple):
    """The part that costs most in the engine that costs most: what a part of just the right mass in its place
    would save, and the best that one of the leftovers would, if any does."""

    engine: int
    cylinder: int
    part: Part
    saves_g: float
    leftover: Part | None
    leftover_saves_g: float


class Match(NamedTuple):
    """A shelf made into engines. as_came_g, sorted_g: what the parts would cost in the order in which they came,
    and sorted by hand; bound_g: no way of dividing the shelf costs less, counts says what was looked at to know
    it; stopped: "time" or "interrupted" where the search was cut short, and another run may do better."""

    engines: tuple[Matched, ...]
    leftovers: Mapping[str, tuple[Part, ...]]
    cost_g: float
    bound_g: float
    counts: str
    stopped: str
    as_came_g: float
    sorted_g: float
    costly: Costly | None

    @property
    def proved(self) -> bool:
        return self.cost_g <= self.bound_g

    @property
    def gap_g(self) -> float:
        return tidy(self.cost_g - self.bound_g)


class _TimeIsUp(Exception):
    """The search has had its seconds."""


class _Best:
    """The best division so far and the best bound, and whether to go on."""

    def __init__(
        self,
        ids: Division,
        value: int,
        bound: bounds.Bound,
        seconds: tuple[float, float],
        progress: Progress,
        now: Callable[[], float],
    ) -> None:
        """seconds: how long it takes as a rule, and at the most."""
        self.ids, self.value, self.bound = ids, value, bound
        self.start, self.progress, self.now = now(), progress, now
        self.usual_s, self.most_s = seconds

    @property
    def proved(self) -> bool:
        return self.value <= self.bound.nanograms

    def hear(self, ids: Division, value: int) -> bool:
        if value < self.value:
            self.ids, self.value = ids, value
        return self._go_on()

    def hear_bound(self, bound: bounds.Bound) -> bool:
        if bound.nanograms > self.bound.nanograms:
            self.bound = bound
        return self._go_on()

    def _go_on(self) -> bool:
        gone_s = self.now() - self.start
        self.progress(self.value / NANOGRAMS, self.bound.nanograms / NANOGRAMS, min(1.0, gone_s / self.usual_s))
        if gone_s > self.most_s:
            raise _TimeIsUp
        return self.proved


def match(
    shelf: Shelf,
    engines: int | None = None,
    seconds: float | None = None,
    progress: Progress = lambda best_g, bound_g, fraction: None,
    now: Callable[[], float] = time.monotonic,
) -> Match:
    """As many engines as the shelf gives, or the best so many of them. Ctrl-C ends it with the best so far.
    seconds: how long the search may take, by now, and so how much there is to search; None for the usual work,
    which is done however busy the machine is.

    The same shelf gives the same answer, whatever the order of its rows, unless the clock cuts the search short.
    Raises BadInput for more engines than there are parts for, and for a time out of reach."""
    if seconds is not None and not 0 < seconds <= LONGEST_S:
        raise BadInput(
            [Fault("--seconds", f"{digits(seconds)} is out of reach", f"above 0 and at most {LONGEST_S:g}")]
        )
    if engines is not None and not 1 <= engines <= shelf.most_engines:
        allowed = f"1 to {shelf.most_engines}, for which there are parts enough"
        raise BadInput([Fault("--engines", f"{engines} is out of reach", allowed)])
    found = problem(shelf, engines or shelf.most_engines)
    by_hand = sorted_start(found, 1)
    start = best_start(found)
    work_s, most_s = (SECONDS, PATIENCE_S) if seconds is None else (seconds, seconds)
    best = _Best(start, total(found, start), bounds.alone(found), (work_s, most_s), progress, now)
    stopped = ""
    try:
        keeps_some = seconds is not None and bounds.reaches(found)
        _improve(found, best, work_s * (SEARCH_SHARE if keeps_some else 1.0))
    except _TimeIsUp:
        stopped = "time"
    except KeyboardInterrupt:
        stopped = "interrupted"
    return _told(shelf, found, best, stopped, total(found, by_hand))


def _improve(found: Problem, best: _Best, search_s: float) -> None:
    if best.proved:
        return
    few = found.engines < FEW_ENGINES or found.rows > found.engines
    share = SETTLE_SHARE_OF_FEW if few else SETTLE_SHARE
    settle(found, best.ids, search_s * share, best.hear)
    if not best.proved:
        search(found, best.ids, search_s * (1 - share), best.hear)
    if bounds.reaches(found) and not best.proved:
        bounds.both(found, best.ids, best.hear_bound)


def _told(shelf: Shelf, found: Problem, best: _Best, stopped: str, by_hand: int) -> Match:
    engines = _engines(shelf, found, best.ids)
    rows = slice(found.engines, None)
    leftovers = {
        kind: tuple(sorted((pool[i] for i in ids[rows].ravel() if i < len(pool)), key=lambda part: part.label))
        for kind, pool in found.parts.items()
        for ids in (best.ids[kind],)
    }
    return Match(
        engines=engines,
        leftovers=leftovers,
        cost_g=best.value / NANOGRAMS,
        bound_g=min(best.value, best.bound.nanograms) / NANOGRAMS,
        counts=best.bound.counts,
        stopped=stopped,
        as_came_g=_as_came(shelf, found) / NANOGRAMS,
        sorted_g=by_hand / NANOGRAMS,
        costly=_costly(engines, leftovers),
    )


def _as_came(shelf: Shelf, found: Problem) -> int:
    """The cost of the parts one after the other as their files have them; banks and partners are not looked at."""
    shape = (found.engines, found.cylinders)
    size = found.engines * found.cylinders
    number = {kind: {part.label: i for i, part in enumerate(pool)} for kind, pool in found.parts.items()}
    return total(
        found,
        {
            kind: np.array([number[kind][part.label] for part in pool[:size]]).reshape(shape)
            for kind, pool in shelf.pools.items()
        },
    )


def _engines(shelf: Shelf, found: Problem, ids: Division) -> tuple[Matched, ...]:
    """The engines from the lightest big ends to the heaviest, their members placed."""
    k, n = found.engines, found.cylinders
    x = np.sum([found.reciprocating[kind][at[:k]] for kind, at in ids.items()], axis=0)
    big = found.big[ids["rod"][:k]] if "rod" in ids else np.zeros((k, n), dtype=np.int64)
    banks = np.max([found.banks[kind][at[:k]] for kind, at in ids.items()], axis=0)
    given = shelf.given_g
    same_g = sum(given.get(kind, 0.0) for kind in SUMS["reciprocating"])
    same_rotating_g = sum(given.get(kind, 0.0) for kind in SUMS["rotating"])
    gives_g = same_rotating_g + big / NANOGRAMS + shelf.share * (same_g + x / NANOGRAMS)
    order = filling(found, shelf.layout, gives_g, banks, shelf.oil_g)
    spreads = spreads_g(shelf.layout, np.take_along_axis(gives_g, order, 1), shelf.oil_g)
    made = []
    for number, row in enumerate(np.lexsort((x.min(1), big.min(1))), start=1):
        cylinders = []
        for place, member in zip(shelf.layout.places, order[row], strict=True):
            parts = {kind: found.parts[kind][at[row, member]] for kind, at in ids.items()}
            rod = parts.get("rod")
            recip_g = tidy(same_g + sum(part.reciprocating_g for part in parts.values()))
            big_g = rod.big_end_g if rod else given.get("big_end")
            cylinders.append(Filled(place.cylinder, parts, big_g, recip_g))
        costs = [int(m[row].sum() - n * m[row].min()) / NANOGRAMS for m in (x, big)]
        made.append(Matched(number, tuple(cylinders), costs[0], costs[1], tidy(float(spreads[row]))))
    return tuple(made)


def _costly(engines: tuple[Matched, ...], leftovers: Mapping[str, tuple[Part, ...]]) -> Costly | None:
    """The part that costs most in the dearest engine; none where nothing is to be taken off."""
    engine = max(engines, key=lambda e: e.cost_g)
    if engine.cost_g == 0:
        return None
    options = []
    for at, filled in enumerate(engine.cylinders):
        others = [s for s in engine.cylinders if s is not filled]
        for part in filled.parts.values():
            right_g = min(s.reciprocating_g for s in others) - filled.reciprocating_g
            right_big_g = min(s.big_end_g or 0.0 for s in others) - (filled.big_end_g or 0.0)
            saves_g = engine.cost_g - _cost_with(engine, at, right_g, right_big_g if part.kind == "rod" else 0.0)
            options.append((tidy(saves_g), -filled.cylinder, part, at))
    saves_g, _, part, at = max(options, key=lambda o: (o[0], o[1]))
    leftover, leftover_g = None, 0.0
    for one in leftovers[part.kind]:
        change_g, big_change_g = one.reciprocating_g - part.reciprocating_g, one.big_end_g - part.big_end_g
        better_g = tidy(engine.cost_g - _cost_with(engine, at, change_g, big_change_g))
        if better_g > leftover_g and one.bank in ("", part.bank) and not (one.together or part.together):
            leftover, leftover_g = one, better_g
    return Costly(engine.number, engine.cylinders[at].cylinder, part, saves_g, leftover, leftover_g)


def _cost_with(engine: Matched, at: int, change_g: float, big_change_g: float) -> float:
    """The engine's cost with one cylinder's masses changed."""
    x = [filled.reciprocating_g + (change_g if i == at else 0.0) for i, filled in enumerate(engine.cylinders)]
    big = [
        (filled.big_end_g or 0.0) + (big_change_g if i == at else 0.0) for i, filled in enumerate(engine.cylinders)
    ]
    return sum(x) - len(x) * min(x) + sum(big) - len(big) * min(big)
