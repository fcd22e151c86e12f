"""What a log holds together by: each record comes after the seal of the one before it.

A job's log is a chain of records with an id of its own, which its first line (Begun) says. It goes on only where
it was begun, in its file or in one book. Whoever writes elsewhere, or finds two logs of one job that were put
together, begins another one, which joins the ends of all that are there; so whatever was written before is held by
what comes after it, and an event is the log's id and a number.

Only light modules of the standard library are imported here: every log is opened with this.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterable
from hashlib import sha256
from typing import NamedTuple

from truethrow.balance.base.program import version
from truethrow.balance.log.lines import DIGITS, FIRST, FORMAT, SEAL_LENGTH, Link, link_of, record_of, sealed
from truethrow.balance.log.records import Begun, Damaged, Record

SHORT = 8


class Head(NamedTuple):
    """How far a log has come. seal: of its last sound record, empty where it has none; records: so many were
    written into it up to there, not counting those that begin a log."""

    seal: str = ""
    records: int = 0

    def __str__(self) -> str:
        """As it is printed, for a hand to copy: 9a3e-71c4-128; nothing of a log that has no record."""
        return f"{self.seal[: SHORT // 2]}-{self.seal[SHORT // 2 : SHORT]}-{self.records}" if self.seal else ""

    @classmethod
    def parse(cls, text: str) -> Head | None:
        """A head as it was printed, in whatever letters and with whatever between its groups; None for any other
        text. Its seal is the beginning of one."""
        found = _PRINTED.fullmatch(text.strip().lower())
        return cls(found[1] + found[2], int(found[3])) if found else None


_PRINTED = re.compile(r"([0-9a-f]{4})[-. /]?([0-9a-f]{4})[-. /]([0-9]{1,9})")


class End(NamedTuple):
    """The last sound record of one log, and its number there."""

    n: int
    seal: str
    record: Record


class Fits(NamedTuple):
    """How a sound line stands behind those before it. is_of_it: whether it was written there; missing: how many
    records before it are not there any more; changed: the one before it that is not what was written, if one
    is."""

    is_of_it: bool
    missing: int = 0
    changed: Record | None = None


class Chain:
    """The chain of a job's records, as far as it was followed.

    log, n, seal, record: of the last sound record; damaged: so many lines were damaged, each of which may have
    been any log's."""

    def __init__(self) -> None:
        self.log, self.n, self.seal = "", 0, ""
        self.record: Record | None = None
        self.damaged = 0
        self._seen = 0  # damaged lines before the last sound record
        self._others: dict[str, tuple[End, int]] = {}  # the end of each other log, and what was damaged before it
        self._begun: dict[str, Begun] = {}
        self._joined: dict[str, str] = {}  # log → its last seal that another one joined
        self._job = ""

    def copy(self) -> Chain:
        made = Chain.__new__(Chain)
        made.__dict__.update(self.__dict__)
        made._others, made._begun, made._joined = dict(self._others), dict(self._begun), dict(self._joined)
        return made

    @property
    def ends(self) -> dict[str, tuple[End, int]]:
        """The end of each log, and how many lines were damaged before it."""
        if self.record is None:
            return {}
        return self._others | {self.log: (End(self.n, self.seal, self.record), self._seen)}

    @property
    def head(self) -> Head:
        return Head(self.seal, sum(end.n for end, _ in self.ends.values()))

    def next_of(self, raw: bytes) -> Record | None:
        """The record of a line that is the next one of the log at hand, taken up; None for any other. Nearly all
        lines are, so this is quick."""
        seal = sha256(raw[:-SEAL_LENGTH]).hexdigest()[:DIGITS]
        try:
            text = raw.decode("ascii")
        except UnicodeDecodeError:
            return None
        end = f',"n":{self.n + 1},"log":"{self.log}","after":"{self.seal}","seal":"{seal}"}}'
        if not text.endswith(end):
            return None
        record = record_of(raw, text[: -len(end)] + "}")
        if record is None or type(record) is Begun:
            return None
        self.n += 1
        self.seal = seal
        self.record = record
        self._seen = self.damaged
        return record

    def fits(self, record: Record, link: Link) -> Fits:
        """Whether a sound line stands where it was written, and what is wrong before it."""
        ends = self.ends
        lost = self.damaged - self._seen
        if isinstance(record, Begun):
            is_new = link.log not in ends and (link.n, link.after) == (0, FIRST)
            if not is_new or (self._job and record.job != self._job):
                return Fits(False)
            gone = set(record.joins) - {end.seal for end, _ in ends.values()}
            return Fits(True, missing=max(0, len(gone) - lost))
        if link.log not in ends:
            # Without its first line a log can only stand at the very start; else it is another job's.
            return Fits(link.n > 0 and not ends, missing=max(0, link.n - self.damaged))
        end, seen = ends[link.log]
        between = link.n - end.n - 1
        if between < 0:
            return Fits(False)
        if between == 0:
            return Fits(True, changed=None if link.after == end.seal else end.record)
        return Fits(True, missing=max(0, between - (self.damaged - seen)))

    def take(self, record: Record, link: Link) -> None:
        """Go on with a record that fits."""
        if self.record is not None and link.log != self.log:
            self._others[self.log] = (End(self.n, self.seal, self.record), self._seen)
            self._others.pop(link.log, None)
        if isinstance(record, Begun):
            self._job = self._job or record.job
            self._begun[link.log] = record
            for log, (end, _) in self.ends.items():
                if end.seal in record.joins:
                    self._joined[log] = end.seal
        self.log, self.n, self.seal, self.record = link.log, link.n, link.seal, record
        self._seen = self.damaged

    def sealed(self, record: Record, whose: Callable[[], str], kept: str) -> list[bytes]:
        """The lines by which a record is put behind all that there is: its own, and before it, where none goes on
        here, the first line of another log. whose: gives the id of the job whose log it is; kept: where."""
        loose = [end.seal for log, (end, _) in self.ends.items() if self._joined.get(log) != end.seal]
        begun = self._begun.get(self.log)
        if begun is not None and begun.kept == kept and loose == [self.seal]:
            return [sealed(record, self.log, self.n + 1 + self.damaged - self._seen, self.seal)]
        log = os.urandom(8).hex()
        job = self._job or whose()  # a job may be called otherwise by now; its log is the same
        begun = Begun(FORMAT, version(), job, kept, tuple(loose), id=f"{log}-0", at=record.at, bench=record.bench)
        first = sealed(begun, log, 0, FIRST)
        return [first, sealed(record, log, 1, link_of(first).seal)]


def since(written: Iterable[Record], head: Head) -> int | None:
    """How many records a log has behind one whose head was printed; None where it has no such record, or another
    number of records before it: what was written up to there is not what is there now."""
    chain, found = Chain(), None
    for record in written:
        if isinstance(record, Damaged):
            chain.damaged += 1
            continue
        chain.take(record, link_of(record.raw))
        if chain.seal.startswith(head.seal) and chain.head.records == head.records:
            found = head.records
    return None if found is None else chain.head.records - found


def beside(written: Iterable[Record], head: Head) -> int | None:
    """How many records came in before one whose head was printed that were not there then: it is of a copy that
    went on by itself and was taken in later. None where the log has no such record, or none before it that is
    new."""
    chain = Chain()
    for record in written:
        if isinstance(record, Damaged):
            chain.damaged += 1
            continue
        chain.take(record, link_of(record.raw))
        if chain.seal.startswith(head.seal) and chain.head.records > head.records:
            return chain.head.records - head.records
    return None
