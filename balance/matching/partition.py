"""Deciding: whether any arrangement is within given spreads, by whole throws.

There are so many ways to fill one throw with parts so that its masses are in their windows. An arrangement is
one of them for each throw, with every part used once: a set partitioning in whole numbers, for HiGHS (Garfinkel
and Nemhauser, The set-partitioning problem, Operations Research 17, 1969; from memory). Its relaxation is tight,
since a filling that does not fit by itself is never a part of it.

A window is as wide as the spread, and its bottom may lie at any height. All heights are asked for at once, with a
window that holds all of them; where what is found spreads too far, its heights are halved.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from truethrow.balance.base.arrays import Bools, Ints
from truethrow.balance.base.solver import Programme
from truethrow.balance.matching.effort import PAIR, SOLVED, Effort
from truethrow.balance.matching.question import Question
from truethrow.balance.matching.windows import MOST_ROWS, TooMany, Windows

MOST_FILLINGS = 40_000  # that one programme is asked of
MOST_PAIRS = 60_000_000  # of cylinders' fillings, for one throw: about a second
CHUNK_PAIRS = 1_000_000
MOST_WORK = 1_000_000  # nodes of one programme, times its fillings
FEW = 1_000  # of which the programme in whole numbers is asked at once
ASKED = 500  # fillings that come into the relaxed programme at a time
NO_PRICE, MISSING = 1e-7, 1e-4  # the solver's rounding is far below the one, and a throw's of it below the other
GOLDEN = (5**0.5 - 1) / 2
FILLING = 100  # looks that a filling costs in a programme


class _Fillings(NamedTuple):
    """Ways to fill one throw: the kind of part in each place (k, units, cylinders), of each quantity the least and
    the largest of its members (k, quantities); the bobweight so far (k)."""

    kinds: Ints
    low: Ints
    high: Ints
    carried: Ints

    def take(self, index: NDArray[np.intp] | Bools) -> _Fillings:
        return _Fillings(*(array[index] for array in self))


def one_within(question: Question, most: Mapping[str, int], effort: Effort) -> Ints | None:
    """An arrangement (units, cylinders) whose spreads are no larger than given; None where there is none.

    most: by quantity (reciprocating, rotating, bobweight) the spread [grains]; those left out may be anything.
    Raises TooMany where that is not known at the end of the work that it may do."""
    if min(most.values(), default=0) < 0:
        return None
    if "bobweight" not in most:  # then a throw is nothing but its cylinders
        each = np.arange(question.cylinders)
        question = dataclasses.replace(question, throw_of=each, oil=np.zeros_like(each))
    return _Partition(question, most, effort).one()


class _Partition:
    def __init__(self, question: Question, most: Mapping[str, int], effort: Effort) -> None:
        self.question, self.effort = question, effort
        self.windows = Windows(question, most)
        self.pieces = [np.bincount(kinds) for kinds in self.windows.kind_of]
        self.classes = list(dict.fromkeys(question.throw_classes))
        every = [self._throw(question.throw_classes.index(described)) for described in self.classes]
        self.of_class = np.repeat(np.arange(len(every)), [len(own.low) for own in every])
        self.kinds = [own.kinds for own in every]
        self.low, self.high = (np.concatenate([own[at] for own in every]) for at in (1, 2))
        self.throws = [question.throw_classes.count(described) for described in self.classes]
        self.wanted = np.concatenate([*self.pieces, self.throws])
        uses = np.concatenate([self._counted(own.kinds) for own in every])
        of_class = self.of_class[:, np.newaxis] == np.arange(len(self.classes))
        self.uses = np.hstack([uses, of_class]).astype(np.int8)
        # Which fillings take the same parts: in the order of the narrowest first, so that it stands for them.
        self.parts = np.unique(self.uses, axis=0, return_inverse=True)[1].ravel()

    def one(self) -> Ints | None:
        """Height by height, as the module says."""
        windows = self.windows
        # The mean is in the window, so its bottom is below the mean, and its top above.
        lowest = np.maximum(windows.floor, -((windows.most * windows.members - windows.total) // windows.members))
        heights = [(lowest, np.minimum(windows.ceiling, windows.total // windows.members))]
        while heights:
            lowest, highest = heights.pop()
            fits = ((self.low >= lowest) & (self.high <= highest + windows.most)).all(axis=1)
            some = np.flatnonzero(fits)
            if not len(some) or (lowest > highest).any():
                continue
            # Of those that take the same parts the narrowest stands for all.
            some = some[np.argsort((self.high - self.low)[some].sum(axis=1), kind="stable")]
            some = some[np.unique(self.parts[some], return_index=True)[1]]
            chosen = self._chosen(some, to_the_end=bool((lowest == highest).all()))
            if chosen is None:
                continue
            wide = highest - lowest
            if len(chosen):
                wide = self.high[chosen].max(axis=0) - self.low[chosen].min(axis=0) - windows.most
                if (wide <= 0).all():
                    return self._dealt(chosen)
            at = int((wide / np.maximum(windows.most, 1)).argmax())
            below, above = highest.copy(), lowest.copy()
            below[at] = (lowest[at] + highest[at]) // 2
            above[at] = below[at] + 1
            heights += [(lowest, below), (above, highest)]
        return None

    def _throw(self, throw: int) -> _Fillings:
        """Every way to fill a throw that is in the windows."""
        question, on = self.question, self.question.on_throw[throw]
        described = question.throw_classes[throw][1:]
        made = self._cylinder(on[0], int(question.oil[throw]))
        for position in range(1, len(on)):
            twin = described[position] == described[position - 1]
            more = made if twin and position == 1 and not question.oil[throw] else self._cylinder(on[position], 0)
            made = self._with(made, more, twin=twin, last=position == len(on) - 1)
        if "bobweight" in self.windows.quantities:
            at = self.windows.quantities.index("bobweight")
            made.low[:, at] = made.high[:, at] = made.carried
            floor, ceiling = self.windows.floor[at], self.windows.ceiling[at]
            made = made.take(np.flatnonzero((made.carried >= floor) & (made.carried <= ceiling)))
        takes_too_many = (self._counted(made.kinds) > np.concatenate(self.pieces)).any(axis=1)
        return made.take(np.flatnonzero(~takes_too_many))

    def _cylinder(self, cylinder: int, oil: int) -> _Fillings:
        """Every choice for a cylinder whose own masses are in their windows."""
        windows = self.windows
        choice = windows.choices(cylinder)
        reciprocating, rotating = windows.weights(cylinder, choice)
        low = np.zeros((len(choice), len(windows.quantities)), dtype=np.int64)
        fits = np.ones(len(choice), dtype=np.bool_)
        for at, name in enumerate(windows.quantities):
            if name != "bobweight":
                low[:, at] = reciprocating if name == "reciprocating" else rotating
                fits &= (low[:, at] >= windows.floor[at]) & (low[:, at] <= windows.ceiling[at])
        carried = self.question.carried(reciprocating, rotating) + oil
        return _Fillings(choice[:, :, np.newaxis], low, low, carried).take(fits)

    def _with(self, made: _Fillings, more: _Fillings, *, twin: bool, last: bool) -> _Fillings:
        """A cylinder more. twin: of the one before it, and then in the order of their choices; last: the bobweight
        is whole with it, so that only what brings it into its window is looked at."""
        windows = self.windows
        order = np.argsort(more.carried, kind="stable")
        starts, ends = np.zeros(len(made.low), dtype=np.int64), np.full(len(made.low), len(order))
        if last:
            at = windows.quantities.index("bobweight")
            starts = np.searchsorted(more.carried[order], windows.floor[at] - made.carried, side="left")
            ends = np.searchsorted(more.carried[order], windows.ceiling[at] - made.carried, side="right")
        counts = np.maximum(0, ends - starts)
        if int(counts.sum()) > MOST_PAIRS or self.effort.is_out():
            raise TooMany
        self.effort.spend(float(counts.sum()) * PAIR)
        kept = [self._joined(made, np.zeros(0, dtype=np.intp), more, np.zeros(0, dtype=np.intp))]
        ranks = made.kinds[:, :, -1] @ self._digits, more.kinds[:, :, 0] @ self._digits
        marks = np.flatnonzero(np.diff(np.cumsum(counts) // CHUNK_PAIRS)) + 1
        for places in np.split(np.arange(len(counts)), marks):
            repeats = counts[places]
            offsets = np.arange(repeats.sum()) - np.repeat(np.cumsum(repeats) - repeats, repeats)
            one, other = np.repeat(places, repeats), order[np.repeat(starts[places], repeats) + offsets]
            if twin:
                ordered = ranks[0][one] <= ranks[1][other]
                one, other = one[ordered], other[ordered]
            kept.append(self._joined(made, one, more, other))
            if sum(len(own.low) for own in kept) > MOST_ROWS:
                raise TooMany
        return _Fillings(*(np.concatenate(arrays) for arrays in zip(*kept, strict=True)))

    @property
    def _digits(self) -> Ints:
        """What turns the choice for a cylinder into one number."""
        return np.array([self.question.cylinders**u for u in range(len(self.pieces))], dtype=np.int64)

    def _joined(
        self, made: _Fillings, one: NDArray[np.intp], more: _Fillings, other: NDArray[np.intp]
    ) -> _Fillings:
        fits = np.ones(len(one), dtype=np.bool_)
        for at, name in enumerate(self.windows.quantities):
            if name != "bobweight":
                low = np.minimum(made.low[one, at], more.low[other, at])
                fits &= np.maximum(made.high[one, at], more.high[other, at]) - low <= self.windows.most[at]
        for u, pieces in enumerate(self.pieces):
            own = more.kinds[other, u, 0]
            fits &= (made.kinds[one, u, -1] != own) | (pieces[own] > 1)
        one, other = one[fits], other[fits]
        return _Fillings(
            np.concatenate([made.kinds[one], more.kinds[other]], axis=2),
            np.minimum(made.low[one], more.low[other]),
            np.maximum(made.high[one], more.high[other]),
            made.carried[one] + more.carried[other],
        )

    def _counted(self, kinds: Ints) -> Ints:
        """How many pieces of each kind fillings take, all units side by side."""
        return np.concatenate(
            [
                (kinds[:, u, :, np.newaxis] == np.arange(len(pieces))).sum(axis=1)
                for u, pieces in enumerate(self.pieces)
            ],
            axis=1,
        )

    def _chosen(self, some: NDArray[np.intp], *, to_the_end: bool) -> NDArray[np.intp] | None:
        """Of some fillings one a throw that take every part just once, None where there are none. Of many,
        some are asked; where these do not do, none of them are chosen, unless it is to be known to_the_end."""
        if self.effort.is_out():
            raise TooMany
        few = self._priced(some) if len(some) > FEW else some
        if few is None:
            return None
        found = self._solved(few)
        if found is not None or len(few) == len(some):
            return found
        if not to_the_end:
            return few[:0]
        if len(some) > MOST_FILLINGS:
            raise TooMany
        return self._solved(some)

    def _priced(self, some: NDArray[np.intp]) -> NDArray[np.intp] | None:
        """The fillings that the relaxed programme asks for, one pricing after the other; None where no mixture
        of fillings takes every part, so that no arrangement does: then the prices of the parts prove it, by which
        all parts together cost more than nothing and no filling does."""
        uses = self.uses[some]
        programme = Programme()
        for count in self.wanted.tolist():
            programme.row(float(count), float(count))
        for row in range(len(self.wanted)):
            programme.column(1.0, entries={row: 1.0})  # what is not taken by any
        taken = np.zeros(len(some), dtype=np.bool_)
        fresh = np.arange(len(some))[:: max(1, len(some) // ASKED)]
        while True:
            taken[fresh] = True
            programme.many_columns(np.zeros(len(fresh)), uses[fresh], max(self.throws), whole=False)
            programme.run()
            self.effort.spend(len(some) + SOLVED)
            if not programme.is_best:
                raise TooMany
            worth = uses @ np.array(programme.prices)
            worth[taken] = 0.0
            fresh = np.argsort(-worth, kind="stable")[:ASKED]
            fresh = fresh[worth[fresh] > NO_PRICE]
            if not len(fresh):
                break
            if self.effort.is_out():
                raise TooMany
        if programme.total > MISSING:
            return None
        return some[taken]

    def _solved(self, some: NDArray[np.intp]) -> NDArray[np.intp] | None:
        """The same in whole numbers, of all fillings at once."""
        programme = Programme(
            mip_max_nodes=max(1, MOST_WORK // len(some)), mip_max_improving_sols=1, time_limit=self.effort.left_s
        )  # any that is found will do
        for count in self.wanted.tolist():
            programme.row(float(count), float(count))
        # Where nothing costs anything one vertex is as good as another, and the simplex goes round among them for
        # long: so each costs something else.
        costs = np.asarray(np.arange(len(some)) * GOLDEN % 1.0, dtype=np.float64)
        programme.many_columns(costs, self.uses[some], max(self.throws), whole=True)
        programme.run()
        self.effort.spend(len(some) * (FILLING + programme.nodes))
        if programme.is_impossible:
            return None
        if not programme.is_feasible:
            raise TooMany
        return np.repeat(some, np.rint(programme.values).astype(np.int64))

    def _dealt(self, chosen: Sequence[int] | NDArray[np.intp]) -> Ints:
        """The parts themselves: of the kinds that the fillings take, one piece after the other."""
        question = self.question
        kinds = np.empty((len(question.units), question.cylinders), dtype=np.int64)
        for at, described in enumerate(self.classes):
            throws = [throw for throw, own in enumerate(question.throw_classes) if own == described]
            own = [filling for filling in chosen if self.of_class[filling] == at]
            first = int(np.searchsorted(self.of_class, at))
            for throw, filling in zip(throws, own, strict=True):
                kinds[:, list(question.on_throw[throw])] = self.kinds[at][filling - first]
        found = np.empty_like(kinds)
        for parts, wanted, kind_of in zip(found, kinds, self.windows.kind_of, strict=True):
            parts[np.argsort(wanted, kind="stable")] = np.argsort(kind_of, kind="stable")
        return found
