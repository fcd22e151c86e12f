"""A job's log: records, only ever appended to, each safe once append has returned. Wherever it is kept.

What all logs share is here: the making of a record and its id, what keeps one out, and what is known so far.
readinglog.py keeps the records in a file beside the job, balance/book in a database.

Only light modules of the standard library are imported here: the bench starts with this.
"""

from __future__ import annotations

import math
import os
from abc import ABC, abstractmethod
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Literal, NamedTuple

from truethrow.balance.base.errors import NotSaved, shown
from truethrow.balance.base.parts import CUT_AT
from truethrow.balance.log.records import ACKNOWLEDGE, ACTIONS, AGAIN, DAMAGED, STATION_ACTIONS, Record, again_id

# What is ordered, done or signed on the word of a log that is whole; a reading is kept in any case.
NEEDS_A_WHOLE_LOG = ("propose", "seat", "cut", *STATION_ACTIONS)


class Note(NamedTuple):
    """What is wrong with one line of a log. number: of the line, or of a book's record, as unit has it; what: torn
    (its writing was broken off), whole (torn behind its last sign), damaged, or repeats; ids: the records that are
    whole in it."""

    number: int
    what: Literal["torn", "whole", "damaged", "repeats"]
    ids: tuple[str, ...] = ()
    unit: str = "line"

    def __str__(self) -> str:
        ids = ", ".join(map(shown, self.ids))
        match self.what:
            case "torn":
                told = "is torn: its writing was broken off; it does not count"
            case "whole":
                told = "is torn at its end; its record is whole and counts"
            case "repeats":
                told = f"repeats the id {ids}; the first of them counts"
            case _:
                told = f"is damaged; {f'what is whole in it, {ids}, counts' if ids else 'what it said is lost'}"
        return f"{self.unit} {self.number} {told}"


class Log(ABC):
    """The log of one job, as one bench sees it.

    name: what faults and messages call it; job: what commands call its job; unit: what the numbers of its notes
    count; records: what it holds, the first of each id, in its order, with damaged lines in their places and what
    was written again for one right behind it; is_damaged: whether there is one; notes: what is wrong with it. Not
    for use by two threads at once; for two processes, or two logs of one job, there is a lock.

    A subclass says where the records are kept, in two methods:

    - `_write` puts one record there, under a lock that keeps out every other writer of this log;
    - `_read_on` takes up what others wrote.

    Its `__init__` calls this one, then reads all there is and hands each record to `_add`, so that a log once
    opened holds it. What it reads later it hands to `_add_of_another`. `_known`, the records by id, tells it which
    it has; it changes nothing else of what is here. Where a record is not safe it raises `unsaved`."""

    unit = "line"

    def __init__(self, name: str, bench: str = "bench", by: str = "") -> None:
        self.name = name
        self.job = "JOB"
        self.bench = bench
        self.by = by
        self.records: list[Record] = []
        self.notes: list[Note] = []
        self.is_damaged = False
        self._known: dict[str, Record] = {}
        self._untold: list[Record] = []  # others' records that append came across, for the next refresh
        self._session = ""
        self._process = 0
        self._count = 0

    @abstractmethod
    def _write(self, record: Record, may_stand: Callable[[], None]) -> None:
        """Write one record; when this returns it is on the disk.

        In this order: take the lock, not waiting for ever; take up all that others wrote before; call may_stand,
        and let out whatever it raises, with nothing written; write; make it safe; give the lock back. The record
        is added to what is known by append, not here. Its id may be known already, from an attempt that failed or
        went unheard: then it need not be written again, but on return it must be as safe as a new one.

        Raises NotSaved (`unsaved`) whenever the record is not known to be safe, also where it may stand after all,
        and where what others wrote cannot be read."""

    @abstractmethod
    def _read_on(self) -> None:
        """Take up what others wrote since, each record by `_add_of_another`. Waits for no lock. Raises BadInput
        where that cannot be read, or is no longer the log that was opened."""

    def next_id(self) -> str:
        """An id that no other record has: to be kept by who may have to append the same reading again."""
        if self._process != os.getpid():  # also in a forked child, which must not go on with its parent's ids
            self._process, self._session, self._count = os.getpid(), os.urandom(6).hex(), 0
        self._count += 1
        return f"{self._session}-{self._count}"

    def append(
        self,
        action: str,
        *,
        cylinder: int | None = None,
        kind: str = "",
        grams: float | None = None,
        typed: str = "",
        of: str = "",
        why: str = "",
        id: str | None = None,  # noqa: A002 (the record's own field)
        unless: Callable[[], None] | None = None,
    ) -> Record:
        """Write one record; when this returns it is on the disk.

        unless: called under the lock, when .records holds all that the log does; what it raises keeps the record
        out. Not called for an id that the log has already: what is written there is written.

        id: from next_id, by who means to try again after a failure. However often one id is written, it is one
        record, the first; it may stand in the log after a failure, since a disk that fails does not say what
        it kept. Raises NotSaved when it is not known to be safe; ValueError for a record that makes no sense,
        or an id that another record has."""
        record = Record(
            id=self.next_id() if id is None else id,
            at=now(),
            bench=self.bench,
            by=self.by,
            action=action,
            cylinder=cylinder,
            kind=kind,
            grams=None if grams is None else float(grams),
            typed=typed,
            of=of,
            why=why,
        )
        check(record)

        def may_stand() -> None:
            before = self._known.get(record.id)
            check_same(record, before)
            if before is None and record.action in NEEDS_A_WHOLE_LOG:
                self._must_be_whole(record)
            if unless is not None and before is None:
                unless()

        self._write(record, may_stand)
        if record.id not in self._known:
            self._add(record)
        self._untold = [other for other in self._untold if other.id != record.id]
        return self._known[record.id]

    def must_be_settled(self) -> None:
        """Raise BadInput for a log with damage of which nobody said what became of it."""
        from truethrow.balance.log.damage import must_be_settled  # noqa: PLC0415 (few logs are damaged)

        must_be_settled(self.records, self.unit, self.job, self.name)

    def _must_be_whole(self, record: Record) -> None:
        """Raise BadInput for a log with damage of which nobody said what became of it, unless this says it."""
        lines = [line for line in self.records if self.is_damaged and line.action == DAMAGED]
        if lines and record.id not in map(again_id, lines):
            self.must_be_settled()

    def refresh(self) -> list[Record]:
        """What others appended since, which .records then holds too. Raises BadInput where the log cannot be
        read, or is no longer the one that was opened."""
        self._read_on()
        fresh, self._untold = self._untold, []
        return fresh

    def _add(self, record: Record) -> None:
        """Take up a record whose id is not known yet."""
        self._known[record.id] = record
        self.records.append(record)
        if record.action == DAMAGED:
            self.is_damaged = True
        elif self.is_damaged and record.id.endswith(AGAIN):
            self._put_behind_its_line(record)

    def _put_behind_its_line(self, record: Record) -> None:
        """Take what was written again to the place of the damaged line, where its order matters."""
        line = next((one for one in self.records if one.action == DAMAGED and again_id(one) == record.id), None)
        if line is not None:
            self.records.remove(record)
            self.records.insert(self.records.index(line) + 1, record)

    def _add_of_another(self, record: Record) -> None:
        """Take up a record of another's, which the next refresh tells; its id is not known yet."""
        self._add(record)
        self._untold.append(record)


def check(record: Record) -> None:
    """Keep out what replay could not give back, or would pass over. Raises ValueError."""
    if record.action not in ACTIONS:
        raise ValueError(f"{record.action!r} is no action of the log")
    if not record.id:
        raise ValueError("a record needs an id")
    if record.cylinder is not None and type(record.cylinder) is not int:
        raise ValueError(f"{record.cylinder!r} is no number of a cylinder")
    if record.grams is not None and not math.isfinite(record.grams):
        raise ValueError(f"{record.grams} is no number of grams")
    if record.action == "read" and (record.cylinder is None or record.grams is None or not record.kind):
        raise ValueError("a reading needs cylinder, kind and grams")
    if record.action == "strike" and not record.of:
        raise ValueError("a strike needs the id that it strikes")
    if record.action == "confirm" and (record.cylinder is None or record.grams is None or not record.kind):
        raise ValueError("a confirmation needs cylinder, kind and grams")
    if record.action == "cut" and (not record.cylinder or (record.grams or 0) <= 0 or record.kind not in CUT_AT):
        raise ValueError("a cut needs a cylinder, a pad and grams, else it is no cut")
    if record.action == ACKNOWLEDGE and not (record.of and record.kind):
        raise ValueError("an acknowledgement needs the damaged line, and what became of what it said")
    if record.action in ("propose", "seat"):
        from truethrow.balance.base.trades import parse  # noqa: PLC0415 (few logs have trades)

        parse(record.typed)
        if not record.of:
            raise ValueError(f"a {record.action} needs what it is of")
    if record.action in STATION_ACTIONS and not (record.typed and record.of):
        raise ValueError(f"a {record.action} needs what was done, and what it is of")


def unsaved(told: str, record: Record) -> NotSaved:
    """What is raised for a record that is not known to be safe. told: the log's name, and why."""
    named = {name: name for name in ("seat", "cut", "spin", "hole")}
    named |= {"propose": "proposal", "test": "test mass", "unproved": "override", "sign": "sign-off"}
    named |= {ACKNOWLEDGE: "acknowledgement", "confirm": "confirmation"}
    return NotSaved(f"{told}; the {named.get(record.action, 'reading')} is not saved")


def check_same(record: Record, before: Record | None) -> None:
    """Raise ValueError for another record under an id that is taken: replay keeps the first of an id, so it would
    be lost without a word. The same record made again may have another time, and other initials."""
    if before and _said(before) != _said(record):
        raise ValueError(f"the id {record.id} belongs to another record")


def _said(record: Record) -> tuple[object, ...]:
    done = record.typed if record.action in ("propose", "seat", *STATION_ACTIONS) else ""
    return record.action, record.cylinder, record.kind, record.grams, record.of, done


def now() -> str:
    return datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def when(at: str) -> str:
    """A record's time as it is told: in UTC, to the minute."""
    return at[:16].replace("T", " ")
