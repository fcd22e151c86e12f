"""A job's log: records, only ever appended to, each safe once append has returned. Wherever it is kept.

What all logs share is here: the making of a record and its id, what keeps one out, and what is known so far.
readinglog.py keeps the records in a file beside the job, balance/book in a database.

Only light modules of the standard library are imported here: the bench starts with this.
"""

from __future__ import annotations

import os
import shlex
from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from typing import Literal, NamedTuple, TypeAlias, TypeVar, cast

from truethrow.balance.base import dry_run
from truethrow.balance.base.errors import BadInput, Fault, NotSaved, shown, shown_path
from truethrow.balance.log import lines
from truethrow.balance.log.chain import Chain, Head
from truethrow.balance.log.damage import damaged, missing
from truethrow.balance.log.records import (
    KINDS,
    STATION,
    Acknowledged,
    Aimed,
    Begun,
    Built,
    Closed,
    Confirmed,
    CrankSaid,
    Cut,
    Damaged,
    Drilled,
    Harm,
    LookedAt,
    MassHung,
    Proposed,
    Record,
    Reopened,
    SignedOff,
    Spun,
    Traded,
    WentUnproved,
    again_for,
    own_names,
)

R = TypeVar("R", bound=Record)
TORN = ("torn", "whole")
What: TypeAlias = Literal["torn", "whole", "repeats"] | Harm
# What is ordered, done or signed on the word of a log that is whole; a reading is kept in any case.
_LIFE = (Closed, Reopened)
NEEDS_A_WHOLE_LOG = (Proposed, Traded, Cut, *STATION)


class Note(NamedTuple):
    """What is wrong with one line of a log. number: of the line, or of a book's record, as unit has it; what: torn
    (its writing was broken off), whole (torn behind its last sign), repeats, or what harm came to it; ids: the
    records that are whole in it."""

    number: int
    what: What
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
            case "changed":
                told = "was changed after it was written; it does not count"
            case "misplaced":
                told = "was not written there; it does not count"
            case "missing":
                told = "comes behind records that are missing"
            case _:
                told = f"is damaged; {f'what is whole in it, {ids}, counts' if ids else 'what it said is lost'}"
        return f"{self.unit} {self.number} {told}"


class Log(ABC):
    """The log of one job, as one bench sees it.

    name: what faults and messages call it; job: what commands call its job; unit: what the numbers of its notes
    count; records: what it holds, the first of each id, in its order, with damaged lines in their places and what
    was written again for one right behind it; written: all that was written into it, in the order in which it
    stands there, the first lines of logs (Begun) among it; is_damaged: whether there is a damaged line, or one is
    missing; closed: the record that closed the job, where it is; notes: what is wrong with it;
    in_memory: what is appended is kept here alone. Not for use by two threads at once; for two processes, or two
    logs of one job, there is a lock.

    A subclass says where the records are kept, in two methods:

    - `_write` puts one record there, under a lock that keeps out every other writer of this log;
    - `_read_on` takes up what others wrote.

    Its `__init__` calls this one, then reads all there is and hands each line to `_take`, so that a log once
    opened holds it; so it does with what it reads later. `_known`, the records by id, tells it which it has; it
    changes nothing else of what is here. Where a record is not safe it raises `unsaved`."""

    unit = "line"
    kept = "file"  # a log goes on only where it was begun: elsewhere another one begins
    beside = ""  # the name of the file that it lies beside, for which it is begun where the job has no id yet

    def __init__(self, name: str, bench: str = "bench", by: str = "") -> None:
        self.name = name
        self.job = "JOB"
        self.bench = bench
        self.by = by
        self.records: list[Record] = []
        self.written: list[Record] = []
        self._numbers: list[int] = []  # of the lines of what was written
        self.chain = Chain()
        self.notes: list[Note] = []
        self.is_damaged = False
        self.closed: Closed | None = None
        self._known: dict[str, Record] = {}
        self._untold: list[Record] = []  # others' records that append came across, for the next refresh
        self._session = ""
        self._process = 0
        self._count = 0
        self.in_memory = False
        self._kept_here = False

    def whose(self) -> str:
        """The id of the job whose log this is, as its first line is to have it."""
        return self.name

    @property
    def head(self) -> Head:
        """How far it has come."""
        return self.chain.head

    @property
    def torn_end(self) -> Note | None:
        """What is wrong with its last line, where the writing of that was broken off. Once another record is
        behind it, it is of no more interest: nobody was told that it was safe."""
        last = self.notes[-1] if self.notes else None
        is_end = last and last.what in TORN and last.number >= max(self._numbers[-1:], default=0)
        return last if is_end else None

    @abstractmethod
    def _write(self, record: Record, may_stand: Callable[[], None]) -> list[tuple[int, bytes]]:
        """Write one record; when this returns it is on the disk. Each new line with its number, for append to
        take up; none where the record was known.

        In this order: take the lock, not waiting for ever; take up all that others wrote before; call may_stand,
        and let out whatever it raises, with nothing written; write the lines that `_sealed` makes of it; make them
        safe; give the lock back. The record is added to what is known by append, not here. Its id may be known
        already, from an attempt that failed or went unheard: then it need not be written again, but on return it
        must be as safe as a new one.

        Raises NotSaved (`unsaved`) whenever the record is not known to be safe, also where it may stand after all,
        and where what others wrote cannot be read."""

    @abstractmethod
    def _read_on(self) -> None:
        """Take up what others wrote since. Waits for no lock. Raises BadInput where that cannot be read, or is no
        longer the log that was opened."""

    def next_id(self) -> str:
        """An id that no other record has: to be kept by who may have to append the same reading again."""
        if self._process != os.getpid():  # also in a forked child, which must not go on with its parent's ids
            self._process, self._session, self._count = os.getpid(), os.urandom(6).hex(), 0
        self._count += 1
        return f"{self._session}-{self._count}"

    def append(
        self,
        record: R,
        *,
        id: str | None = None,  # noqa: A002 (the record's own field)
        unless: Callable[[], None] | None = None,
    ) -> R:
        """Write one record, in this bench's name and as of now; when this returns it is on the disk.

        unless: called under the lock, when .records holds all that the log does; what it raises keeps the record
        out. Not called for an id that the log has already: what is written there is written.

        id: from next_id, by who means to try again after a failure. However often one id is written, it is one
        record, the first; it may stand in the log after a failure, since a disk that fails does not say what
        it kept. Raises NotSaved when it is not known to be safe; ValueError for a record that makes no sense,
        or an id that another record has."""
        key = self.next_id() if id is None else id
        made = replace(record, id=key, at=now(), bench=self.bench, by=self.by, raw=b"")
        check(made)

        def may_stand() -> None:
            before = self._known.get(key)
            check_same(made, before)
            if before is None and not isinstance(made, Reopened | Acknowledged):
                self.must_be_open()
            if before is None and isinstance(made, NEEDS_A_WHOLE_LOG):
                self._must_be_whole(made)
            if unless is not None and before is None:
                unless()

        write = self._keep_in_memory if dry_run.is_on() or self.in_memory else self._write
        for number, raw in write(made, may_stand):
            self._take(raw, number)
        self._untold = [other for other in self._untold if other.id != key]
        return cast("R", self._known[key])

    def _keep_in_memory(self, record: Record, may_stand: Callable[[], None]) -> list[tuple[int, bytes]]:
        """What `_write` does, in a dry run or for a look: nothing is written, and nobody else's records are taken
        up behind what is kept here alone."""
        if not self._kept_here:
            self._read_on()
        may_stand()
        made = [] if record.id in self._known else self._sealed(record)
        self._kept_here = True
        if dry_run.is_on():
            dry_run.kept(record.id)
        return list(enumerate(made, start=max(self._numbers[-1:], default=0) + 1))

    def must_be_open(self) -> None:
        """Raise BadInput for a log that was closed and not opened again."""
        if self.closed is not None:
            from truethrow.balance.base.errors import BadInput, Fault  # noqa: PLC0415 (few jobs are closed)

            one = self.closed
            told = f"is {one.how} since {when(one.at)} UTC, by {shown(one.by)}: {shown(one.why)}"
            way = f'open it again first: truethrow reopen {shlex.quote(self.job)} --by INITIALS --why "REASON"'
            raise BadInput([Fault("", told, remedy=way)], f"job {shown_path(self.job)}")

    def must_be_of(self, job: str) -> None:
        """Raise BadInput for a log that was begun for other jobs alone: what another engine's parts weigh must not
        count for this one's. job: the id of the one that it lies beside."""
        begun = [record.job for record in self.written if isinstance(record, Begun)]
        if begun and not {job, self.beside}.intersection(begun):
            told = f"was begun for job {shown(begun[0])}, and lies beside job {shown(job)}"
            back = f'id = "{shown(begun[0])}"'
            way = f"move it away if it is another job's; if this job was renamed, put its id back: {back}"
            raise BadInput([Fault("", told, remedy=way)], self.name)

    def must_be_settled(self) -> None:
        """Raise BadInput for a log with damage of which nobody said what became of it."""
        from truethrow.balance.log.damage import must_be_settled  # noqa: PLC0415 (few logs are damaged)

        must_be_settled(self.records, self.unit, self.job, self.name)

    def _must_be_whole(self, record: Record) -> None:
        """Raise BadInput for a log with damage of which nobody said what became of it, unless this says it."""
        damaged = [line for line in self.records if self.is_damaged and isinstance(line, Damaged)]
        if damaged and again_for(record.id) not in {line.id for line in damaged}:
            self.must_be_settled()

    def refresh(self) -> list[Record]:
        """What others appended since, which .records then holds too. Raises BadInput where the log cannot be
        read, or is no longer the one that was opened."""
        self._read_on()
        fresh, self._untold = self._untold, []
        return fresh

    def _sealed(self, record: Record) -> list[bytes]:
        """The lines by which a record is put behind all that is known: of one that is known already its own, as it
        is, with the first line of its log where that came with it; else sealed by the end of the chain."""
        if (known := self._known.get(record.id)) is not None:
            at = next(at for at, one in enumerate(self.written) if one is known)
            before = [one.raw for one in self.written[max(0, at - 1) : at] if isinstance(one, Begun)]
            return [*before, known.raw]
        return self.chain.sealed(record, self.whose, self.kept)

    def _take(self, raw: bytes, number: int) -> None:
        """Take up one line, without its end."""
        record = self.chain.next_of(raw)
        if record is not None and record.id not in self._known:  # as nearly all are, so first and quickly
            self.written.append(record)
            self._numbers.append(number)
            self._add(record)
        elif record is not None:
            self._note(number, "repeats", (record.id,))
        elif (record := lines.record_in(raw)) is not None:
            self._take_sound(record, number)
        else:
            self._take_damaged(raw, number)

    def _take_sound(self, record: Record, number: int) -> None:
        """Take up a line whose seal fits, with whatever is wrong around it."""
        try:
            link = lines.link_of(record.raw)
        except ValueError:
            self._take_damaged(record.raw, number)
            return
        if (known := self._known.get(record.id)) is not None and known.raw == record.raw:
            if not isinstance(record, Begun):
                self._note(number, "repeats", (record.id,))
            return
        stands = self.chain.fits(record, link)
        if not stands.is_of_it:
            self._take_damaged(record.raw, number, "misplaced")
            return
        if isinstance(record, Begun) and record.format != lines.FORMAT:
            newer = f"{self.unit} {number}: the log is of another truethrow ({shown(record.program)})"
            raise BadInput([Fault("", newer, f"format {lines.FORMAT} of a log")], self.name)
        if stands.missing:
            self._note(number, "missing")
            self._add(missing(link.seal, number))
        if stands.changed is not None:
            self._was_changed(stands.changed)
        self.chain.take(record, link)
        self._stands(record, number)
        if record.id in self._known:
            self._note(number, "repeats", (record.id,))
        elif isinstance(record, Begun):
            self._known[record.id] = record
        else:
            self._add(record)

    def _take_damaged(self, raw: bytes, number: int, harm: Harm = "damaged", ids: tuple[str, ...] = ()) -> None:
        """Take up a line that does not count. ids: of the records that are whole in it."""
        self._note(number, harm, ids)
        if harm == "damaged":
            self.chain.damaged += 1
        line = damaged(raw, number, harm)
        if line.id in self._known:
            self._note(number, "repeats", (line.id,))
        else:
            self._stands(line, number)
            self._add(line)

    def _was_changed(self, record: Record) -> None:
        """Count a record no more: it is not what was written, as the one behind it says."""
        at = next(at for at, one in enumerate(self.written) if one is record)
        line = damaged(record.raw, self._numbers[at], "changed")
        self._note(line.number, line.harm)
        self.written[at] = line
        self._known.pop(record.id, None)
        self._add(line)
        if places := [at for at, one in enumerate(self.records) if one is record]:
            self.records[places[0]] = self.records.pop()  # in its place, by which its order is known

    def _stands(self, record: Record, number: int) -> None:
        self.written.append(record)
        self._numbers.append(number)

    def _note(self, number: int, what: What, ids: tuple[str, ...] = ()) -> None:
        self.notes.append(Note(number, what, ids, self.unit))

    def _add(self, record: Record) -> None:
        """Take up a record whose id is not known yet; the next refresh tells it."""
        self._known[record.id] = record
        self.records.append(record)
        self._untold.append(record)
        if isinstance(record, _LIFE):
            self.closed = record if isinstance(record, Closed) else None
        elif isinstance(record, Damaged):
            self.is_damaged = True
        elif self.is_damaged and again_for(record.id):
            self._put_behind_its_line(record)

    def _put_behind_its_line(self, record: Record) -> None:
        """Take what was written again to the place of the damaged line, where its order matters."""
        damaged, of = (one for one in self.records if isinstance(one, Damaged)), again_for(record.id)
        line = next((one for one in damaged if one.id == of), None)
        if line is not None:
            self.records.remove(record)
            self.records.insert(self.records.index(line) + 1, record)


def check(record: Record) -> None:
    """Keep out what replay could not give back, or would pass over. Raises ValueError."""
    if record.action not in KINDS or isinstance(record, Begun):
        raise ValueError(f"{record.action!r} is no action of the log")
    if not record.id:
        raise ValueError("a record needs an id")
    if found := record.wrong():
        raise ValueError(found)
    if lines.record_in(lines.sealed(record, "0" * 16, 1, lines.FIRST)) != record:
        raise ValueError(f"{record} is no record that could be read back")


def unsaved(told: str, record: Record, *, may_stand: bool = False) -> NotSaved:
    """What is raised for a record that is not known to be safe. told: the log's name, and why; may_stand: it may
    be saved all the same."""
    if may_stand:
        return NotSaved(
            f"{told}; whether the {called(record)} was saved nobody knows: look before you do it again"
        )
    return NotSaved(f"{told}; the {called(record)} is not saved")


def called(record: Record) -> str:
    """What a fault calls a record that is not saved."""
    return _CALLED.get(type(record), "reading")


_CALLED: dict[type[Record], str] = {
    Traded: "trade",
    Cut: "cut",
    Spun: "spin",
    Drilled: "hole",
    Proposed: "proposal",
    MassHung: "test mass",
    WentUnproved: "override",
    Built: "bobweight",
    Aimed: "aim of the holes",
    SignedOff: "sign-off",
    LookedAt: "look at a hole",
    CrankSaid: "crank's mark",
    Closed: "end of the job",
    Reopened: "new start",
    Acknowledged: "acknowledgement",
    Confirmed: "confirmation",
}


def check_same(record: Record, before: Record | None) -> None:
    """Raise ValueError for another record under an id that is taken: replay keeps the first of an id, so it would
    be lost without a word. The same record made again may have another time, other initials, another batch."""
    if before and _said(before) != _said(record):
        raise ValueError(f"the id {record.id} belongs to another record")


def _said(record: Record) -> tuple[object, ...]:
    own = ((name, getattr(record, name)) for name in own_names(type(record)))
    return type(record), *(value for name, value in own if name not in ("typed", "batch"))


def now() -> str:
    return datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def when(at: str) -> str:
    """A record's time as it is told: in UTC, to the minute."""
    return at[:16].replace("T", " ")
