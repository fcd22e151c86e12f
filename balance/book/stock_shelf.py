"""The stock as a shelf: its loose parts as pools, and where each of the others is."""

from __future__ import annotations

from collections.abc import Collection
from typing import NamedTuple

from truethrow.balance.base.errors import shown
from truethrow.balance.book import stock
from truethrow.balance.book.opened import Book
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
