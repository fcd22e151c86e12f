"""Proving: every arrangement within given spreads, with none left out.

The cylinders, throw by throw, are filled one after the other, and what has left a window is not gone on with.
The first and the second half of the throws are filled apart; then each first half is joined with the second
halves that use just the parts it leaves.

    windows    what a member may weigh (windows)
    alike      parts that nothing tells apart count as one kind with so many pieces: the pieces in use stand as
               small numbers, side by side in one word, each with a guard bit that a piece too many would set
    twins      throws that nothing tells apart are filled in the order of the first unit's parts, so that no
               arrangement comes once for every order of them
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from truethrow.balance.base.arrays import Bools, Ints
from truethrow.balance.matching.effort import PAIR, Effort
from truethrow.balance.matching.question import Question
from truethrow.balance.matching.windows import MOST_ROWS, TooMany, Windows

Words = NDArray[np.uint64]

MOST_PAIRS = 300_000_000  # pairs looked at in one step: some seconds
CHUNK_PAIRS = 2_000_000
WORD_BITS = 64


class _Rows(NamedTuple):
    """Partly filled arrangements: the pieces in use, the kind of part of each cylinder filled so far (rows ×
    units × cylinders filled), and of each quantity the least and the largest of its members, and their sum."""

    used: Words
    kinds: NDArray[np.int8]
    low: Ints
    high: Ints
    sum: Ints

    def take(self, index: NDArray[np.intp] | Bools) -> _Rows:
        used, kinds, low, high, total = self
        return _Rows(used[index], kinds[index], low[index], high[index], total[index])


Apart = Literal["cylinders", "throws", "parts in a cylinder"]


def within(
    question: Question,
    most: Mapping[str, int],
    apart: Apart = "cylinders",
    effort: Effort | None = None,
) -> Ints:
    """All arrangements (k, units, cylinders) whose spreads are no larger than given, but for the order of
    twin throws, of twin cylinders on one throw, and of parts that nothing tells apart.

    most: by quantity (reciprocating, rotating, bobweight) the spread [grains]; those left out may be anything.
    apart: what tells two arrangements apart, who sits in which cylinder, only which parts are on one throw, or
    only which parts share a cylinder. effort: what may be done, after which it is given up; without it anything.
    Raises TooMany."""
    if min(most.values(), default=0) < 0:
        return np.zeros((0, len(question.units), question.cylinders), dtype=np.int64)
    if apart == "parts in a cylinder":
        question = _each_with_its_own(question)
    effort = effort or Effort(math.inf, looks=math.inf)
    return _Cover(question, most, effort, sets=apart == "throws").all()


def _each_with_its_own(question: Question) -> Question:
    """Where nothing tells the cylinders apart, the same with the parts of the first unit where they are, and
    every cylinder on a throw of its own."""
    traded = {trade for throw in question.throw_classes for trade in throw[1:]}
    if len(traded) > 1:
        return question
    first = question.units[0]
    fixed = first._replace(allowed=np.eye(question.cylinders, dtype=np.bool_))
    each = np.arange(question.cylinders)
    return dataclasses.replace(
        question, units=(fixed, *question.units[1:]), throw_of=each, oil=np.zeros_like(each)
    )


class _Cover:
    def __init__(self, question: Question, most: Mapping[str, int], effort: Effort, *, sets: bool) -> None:
        self.question, self.effort, self.sets = question, effort, sets
        self.windows = Windows(question, most)
        self.quantities, self.kind_of = self.windows.quantities, self.windows.kind_of
        self._pack()

    def _pack(self) -> None:
        """Give every kind of part its field in the word."""
        bit = 0
        self.one: list[list[int]] = []  # by unit and kind: one piece of it
        self.every, self.bias, self.guards = 0, 0, 0
        for kinds in self.kind_of:
            fields = []
            for pieces in np.bincount(kinds).tolist():
                width = int(pieces).bit_length()
                fields.append(1 << bit)
                self.every |= pieces << bit
                self.bias |= ((1 << width) - 1 - pieces) << bit
                self.guards |= 1 << (bit + width)
                bit += width + 1
            self.one.append(fields)
        if bit > WORD_BITS:
            raise TooMany

    def all(self) -> Ints:
        """From the front and from the back, whichever has fewer rows to go on with, until they meet."""
        question, classes = self.question, self.question.throw_classes
        made: dict[object, _Rows] = {described: self._throw(throw) for throw, described in enumerate(classes)}
        ahead, behind = [0], [question.throws - 1]
        front, back = made[classes[0]], made[classes[-1]]
        if len(made) == 1 and len(set(classes[0][1:])) == 1:
            # Among twins of twin cylinders, the first may be the one that has a piece of the first kind of the
            # first unit, and has it in its first cylinder, by which the twins are put in order.
            front = front.take(front.kinds[:, 0, 0] == 0)
        while len(front.used) and ahead[-1] + 1 < behind[-1]:
            if len(front.used) <= len(back.used):
                front = self._next(front, ahead, ahead[-1] + 1, made)
            else:
                back = self._next(back, behind, behind[-1] - 1, made)
        if question.throws > 1 and len(front.used):
            front = self._joined(front, back)
        else:
            behind.clear()
        order = [cylinder for throw in (*ahead, *behind) for cylinder in question.on_throw[throw]]
        return self._dealt(front, order)

    def _next(self, rows: _Rows, filled: list[int], throw: int, made: Mapping[object, _Rows]) -> _Rows:
        """One throw more."""
        classes = self.question.throw_classes
        twin = classes[throw] == classes[filled[-1]]
        filled.append(throw)
        return self._times(rows, made[classes[throw]], twin=twin, throws=len(filled))

    def _dealt(self, rows: _Rows, order: Sequence[int]) -> Ints:
        """The parts themselves: the pieces of a kind are dealt out in the order of the cylinders."""
        question = self.question
        found = np.empty((len(rows.used), len(question.units), question.cylinders), dtype=np.int64)
        if not len(found):
            return found
        for u, kinds in enumerate(self.kind_of):
            places = np.array(order)[np.argsort(rows.kinds[:, u], axis=1, kind="stable")]
            np.put_along_axis(found[:, u], places, np.argsort(kinds, kind="stable")[np.newaxis], 1)
        return found

    def _throw(self, throw: int) -> _Rows:
        """Every choice of parts for one throw."""
        question, traded = self.question, self.question.on_throw[throw]
        described = question.throw_classes[throw][1:]
        rows = self._trade(traded[0])
        for position in range(1, len(traded)):
            twin = described[position] == described[position - 1]
            rows = self._times(rows, self._trade(traded[position]), twin=twin, throws=0)
        if "bobweight" in self.quantities:
            weights = np.full(len(rows.used), question.oil[throw], dtype=np.int64)
            for position, cylinder in enumerate(traded):
                weights += question.carried(*self.windows.weights(cylinder, rows.kinds[:, :, position]))
            at = self.quantities.index("bobweight")
            low, high, total = rows.low.copy(), rows.high.copy(), rows.sum.copy()
            low[:, at] = high[:, at] = total[:, at] = weights
            rows = rows._replace(low=low, high=high, sum=total)
            rows = rows.take(self._fits(low, high, total, len(traded), 1))
        if self.sets:
            rows = rows.take(np.unique(rows.used, return_index=True)[1])
        return rows

    def _trade(self, cylinder: int) -> _Rows:
        """Every choice of parts for one cylinder."""
        choice = self.windows.choices(cylinder)
        used = np.zeros(len(choice), dtype=np.uint64)
        for u, fields in enumerate(self.one):
            used += np.array(fields, dtype=np.uint64)[choice[:, u]]
        low = np.zeros((len(choice), len(self.quantities)), dtype=np.int64)
        for at, name in enumerate(self.quantities):
            if name != "bobweight":
                low[:, at] = self.windows.weights(cylinder, choice)[name == "rotating"]
        rows = _Rows(used, choice[:, :, np.newaxis].astype(np.int8), low, low, low)
        return rows.take(self._fits(low, low, low, 1, 0))

    def _fits(self, low: Ints, high: Ints, total: Ints, cylinders: int, throws: int) -> Bools:
        """Whether every spread so far is within, every member in its window, and what is left enough and not
        too much to put every other member in it. cylinders, throws: how many are filled; while the first throw
        is being filled, none, and it has no bobweight yet."""
        windows = self.windows
        fits = (high - low <= windows.most) & (low >= windows.floor) & (high <= windows.ceiling)
        filled = [throws if name == "bobweight" else cylinders for name in self.quantities]
        left = windows.members - np.array(filled, dtype=np.int64)
        rest = windows.total - total
        fits &= rest >= left * np.maximum(high - windows.most, windows.floor)
        fits &= rest <= left * np.minimum(low + windows.most, windows.ceiling)
        if throws == 0 and "bobweight" in self.quantities:
            fits[:, self.quantities.index("bobweight")] = True
        return np.asarray(fits.all(axis=1))

    def _times(self, rows: _Rows, more: _Rows, *, twin: bool, throws: int) -> _Rows:
        """Each of the rows with each of the choices that it leaves room for. twin: the choice is for a twin of
        what was filled last, and may not come before it in the order of the first unit's parts."""
        pairs = len(rows.used) * len(more.used)
        if pairs > MOST_PAIRS:
            raise TooMany
        self.effort.spend(pairs * PAIR)
        nothing = np.zeros(0, dtype=np.intp)
        kept = [self._together(rows, nothing, more, nothing, throws)]
        last = rows.kinds[:, 0, -more.kinds.shape[2]]
        step = max(1, CHUNK_PAIRS // max(1, len(more.used)))
        for start in range(0, len(rows.used), step):
            some = slice(start, start + step)
            free = (rows.used[some, np.newaxis] + more.used + np.uint64(self.bias)) & np.uint64(self.guards) == 0
            if twin:
                free &= last[some, np.newaxis] <= more.kinds[:, 0, 0]
            one, other = np.nonzero(free)
            kept.append(self._together(rows, one + start, more, other, throws))
            self._check(kept)
        return _stacked(kept)

    def _check(self, kept: Sequence[_Rows]) -> None:
        if sum(len(found.used) for found in kept) > MOST_ROWS or self.effort.is_out():
            raise TooMany

    def _together(
        self, rows: _Rows, one: NDArray[np.intp], more: _Rows, other: NDArray[np.intp], throws: int
    ) -> _Rows:
        low = np.minimum(rows.low[one], more.low[other])
        high = np.maximum(rows.high[one], more.high[other])
        total = rows.sum[one] + more.sum[other]
        fits = self._fits(low, high, total, rows.kinds.shape[2] + more.kinds.shape[2], throws)
        one, other = one[fits], other[fits]
        kinds = np.concatenate([rows.kinds[one], more.kinds[other]], axis=2)
        return _Rows(rows.used[one] + more.used[other], kinds, low[fits], high[fits], total[fits])

    def _joined(self, first: _Rows, second: _Rows) -> _Rows:
        """Every first half with the second halves that use just what it leaves."""
        second = second.take(np.argsort(second.used, kind="stable"))
        wanted = np.uint64(self.every) - first.used
        starts = np.searchsorted(second.used, wanted, side="left")
        counts = np.searchsorted(second.used, wanted, side="right") - starts
        if int(counts.sum()) > MOST_PAIRS:
            raise TooMany
        self.effort.spend(float(counts.sum()) * PAIR)
        nothing = np.zeros(0, dtype=np.intp)
        kept = [self._together(first, nothing, second, nothing, self.question.throws)]
        for places in _runs(counts):
            repeats = counts[places]
            offsets = np.arange(repeats.sum()) - np.repeat(np.cumsum(repeats) - repeats, repeats)
            other = np.repeat(starts[places], repeats) + offsets
            kept.append(self._together(first, np.repeat(places, repeats), second, other, self.question.throws))
            self._check(kept)
        return _stacked(kept)


def _stacked(rows: Sequence[_Rows]) -> _Rows:
    return _Rows(*(np.concatenate(arrays) for arrays in zip(*rows, strict=True)))


def _runs(counts: Ints) -> list[NDArray[np.intp]]:
    """The places where there is something, in runs of about as many as one chunk holds."""
    places = np.flatnonzero(counts)
    marks = np.cumsum(counts[places]) // CHUNK_PAIRS
    return np.split(places, np.flatnonzero(np.diff(marks)) + 1) if len(places) else []
