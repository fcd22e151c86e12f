"""The stock as a shelf: its loose parts as pools, where the others are, and the moves that carry a match out.

The stock does not say which engine a part is for. What is far from the others of its kind is of another one, and
left out; what is not so far has to be looked at by whoever builds it in.
"""

from __future__ import annotations

import statistics
from collections.abc import Collection, Iterator, Sequence
from typing import NamedTuple

from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.book import stock
from truethrow.balance.book.opened import Book
from truethrow.balance.result.slips import GROSS
from truethrow.balance.shelf.pool import POOLED, Part

# As a source, beside the names of files.
STOCK = "the stock"


class InJob(NamedTuple):
    """Where a part is that is not loose."""

    job: str
    cylinder: int

    @property
    def said(self) -> str:
        return f"in job {shown(self.job)}, cylinder {self.cylinder}, as the stock has it"


class StockParts(NamedTuple):
    """The stock's parts: those that are loose, and where the others are, by kind and label."""

    loose: tuple[Part, ...]
    in_jobs: dict[tuple[str, str], InJob]


def parts_of(opened: Book, kinds: Collection[str] = POOLED) -> StockParts:
    """The parts of the stock, of these kinds. Raises BadInput where the book cannot be read."""
    loose, in_jobs = [], {}
    for one in stock.find_parts(opened, everywhere=True):
        if one.kind not in kinds:
            continue
        if one.job is None or one.cylinder is None:
            loose.append(Part(one.kind, one.label, one.big_end_g or 0.0, one.other_g, one.bank, one.together))
        else:
            in_jobs[one.kind, one.label] = InJob(one.job, one.cylinder)
    return StockParts(tuple(loose), in_jobs)


def in_other_jobs(opened: Book, kind: str, label: str, job: str) -> tuple[InJob, ...]:
    """The other jobs that have a part of this kind and mark by their own labels, whatever the stock says of it.
    job: the one that asks."""
    (found,) = stock.history(opened, label, kind)
    return tuple(InJob(one.job, one.cylinder) for one in found.sits if one.job != job)


class Moving(NamedTuple):
    """A part of the stock that is to go into a job's cylinder."""

    kind: str
    label: str
    job: str
    cylinder: int


class LeftThere(NamedTuple):
    """A loose part that is no part of the pools. median_g: what the others of its kind have in the middle, where
    it is far from that; None where it stays with a piston that is not loose."""

    part: Part
    median_g: float | None


def of_one_engine(loose: Sequence[Part]) -> tuple[tuple[Part, ...], tuple[LeftThere, ...]]:
    """The parts that can be of one engine, and those that are left out: what is a fifth from the median of its
    kind, a rod at either end (as slips.GROSS has it: common practice, no source), and what stays with a piston
    that is not there."""
    out: dict[tuple[str, str], LeftThere] = {}
    for kind in POOLED:
        own = [part for part in loose if part.kind == kind]
        for name in ("big_end_g", "reciprocating_g") if own else ():
            median_g = statistics.median(getattr(part, name) for part in own)
            far = (part for part in own if abs(getattr(part, name) - median_g) > GROSS * median_g)
            out |= {(kind, part.label): LeftThere(part, median_g) for part in far if (kind, part.label) not in out}
    pistons = {part.label for part in loose if part.kind == "piston" and ("piston", part.label) not in out}
    alone = (part for part in loose if part.together and part.together not in pistons)
    out |= {(part.kind, part.label): LeftThere(part, None) for part in alone if (part.kind, part.label) not in out}
    return tuple(part for part in loose if (part.kind, part.label) not in out), tuple(out.values())


def against(opened: Book, moves: Sequence[Moving]) -> list[Fault]:
    """Why moves could not be made, as things are now; the first reason of each."""
    return [fault for one in moves for fault in _against(opened, one)]


def _against(opened: Book, one: Moving) -> Iterator[Fault]:
    try:
        stock.can_move(opened, *one)
    except BadInput as error:
        yield from error.faults[:1]
