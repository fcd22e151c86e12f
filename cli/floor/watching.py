"""What is recorded in the shop's jobs, by whichever bench or command: found by looking at their logs twenty times
a second, told to the board and to whoever is at the job's bench.

One thread looks, and tells each record once; another works out where the jobs that changed are by now, which takes
longer, and never keeps the first one waiting."""

from __future__ import annotations

import contextlib
import threading
import time
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from truethrow.balance.base.amounts import METRIC
from truethrow.balance.base.errors import TruethrowError
from truethrow.balance.job.history import events_of
from truethrow.balance.job.jobfile import parse_toml, told_in_at
from truethrow.balance.job.sources import labels_in
from truethrow.balance.log.log import Log
from truethrow.balance.log.place import Snapshot, has_log, open_log, text_of
from truethrow.balance.log.records import Begun, Record
from truethrow.cli.common import today
from truethrow.cli.floor.by_hand import told_of
from truethrow.cli.floor.rows import look_at
from truethrow.worksheets.pages.floor.state import Board, BoardRow
from truethrow.worksheets.words import history_words

if TYPE_CHECKING:
    from truethrow.cli.floor.shop import Mark, Shop

LOOK_S = 0.05
# A machine that is busy with where the jobs are is not to be so for more than a third of the time.
REST = 2.0
# After so long a log that could not be read is tried again.
AGAIN_S = 1.0


class Told:
    """The records of one job, as far as they were told. records: all but those that begin a log, numbered from
    1 in the order in which they were written."""

    def __init__(self, log: Log) -> None:
        self._log = log
        self.records = [record for record in log.written if not isinstance(record, Begun)]

    def fresh(self) -> list[tuple[int, Record]]:
        """What was recorded since, with its numbers. Raises BadInput."""
        self._log.refresh()
        before = len(self.records)
        self.records = [record for record in self._log.written if not isinstance(record, Begun)]
        return list(enumerate(self.records[before:], start=before + 1))


class Watch:
    """The shop, watched from start() to close(), once it was looked at. board: as it is by now; tell: takes the
    name of a job and what was recorded in it; tell_board: takes the board, when it changed; benches: tells who
    weighs at a job; touched: takes the name of a job in which anything changed, before that is read."""

    def __init__(
        self,
        shop: Shop,
        tell: Callable[[str, list[dict[str, Any]]], None],
        tell_board: Callable[[Board], None],
        benches: Callable[[str], str] = lambda name: "",
        touched: Callable[[str], None] = lambda name: None,
    ) -> None:
        self._shop, self._tell, self._tell_board, self._benches = shop, tell, tell_board, benches
        self._touched = touched
        self._marks: Mapping[str, Mark] = {}
        self._told: dict[str, Told] = {}
        self._found: dict[str, BoardRow | None] = {}
        self._dirty: dict[str, None] = {}
        self._again: dict[str, float] = {}
        self._wake = threading.Condition()
        self._stop = threading.Event()
        self._now = threading.Event()
        self._threads: list[threading.Thread] = []
        self._fault = ""
        self._name = Path(shop.place).name or shop.place  # no folder, which says nothing at a bench
        self.board = Board(self._name)

    def look(self) -> None:
        """The first look, before start(). Raises BadInput where the shop cannot be read."""
        self._look()
        self._work()

    def start(self) -> None:
        """Go on looking, in threads of its own."""
        for name, work in (("watch", self._looking), ("board", self._working)):
            self._threads.append(threading.Thread(target=work, name=name, daemon=True))
            self._threads[-1].start()

    def close(self) -> None:
        self._stop.set()
        self._now.set()
        with self._wake:
            self._wake.notify_all()
        for thread in self._threads:
            thread.join(2.0)

    def look_now(self) -> None:
        """Something was recorded here: sooner than the next look would find it."""
        self._now.set()

    def look_again(self, name: str) -> None:
        """Who is at a job's bench has changed."""
        with self._wake:
            self._dirty[name] = None
            self._wake.notify_all()

    def records_since(self, name: str, number: int) -> list[dict[str, Any]]:
        """What was recorded in a job behind a number, as it is told; the last numbers of what was not."""
        told = self._told.get(name)
        return [] if told is None else self._in_words(name, told, list(enumerate(told.records, start=1))[number:])

    def head(self, name: str) -> int:
        """The number of a job's last record."""
        told = self._told.get(name)
        return len(told.records) if told is not None else 0

    def _looking(self) -> None:
        while not self._stop.is_set():
            self._now.wait(LOOK_S)
            self._now.clear()
            try:
                self._look()
                fault = ""
            except TruethrowError as error:
                fault = told_of(error)
            if fault != self._fault:
                self._fault = fault
                self.look_again("")

    def _look(self) -> None:
        marks, now_s = self._shop.marks(), time.monotonic()
        changed = [name for name, mark in marks.items() if self._marks.get(name) != mark]
        changed += [name for name, due_s in self._again.items() if due_s <= now_s and name not in changed]
        gone = self._marks.keys() - marks.keys()
        self._marks = dict(marks)
        for name in gone:
            self._touched(name)
        for name in changed:
            self._again.pop(name, None)
            self._touched(name)
            try:
                self._read(name)
            except TruethrowError:  # the board says why
                self._again[name] = now_s + AGAIN_S
        if changed or gone:
            with self._wake:
                self._dirty.update(dict.fromkeys([*changed, *gone]))
                self._wake.notify_all()

    def _read(self, name: str) -> None:
        """Tell what is new in one job's log. Of a log that was there before this looked first, and of one that
        another took the place of, what was told is not told again."""
        place = self._shop.at(name)
        if (told := self._told.get(name)) is None:
            if has_log(place):
                self._told[name] = Told(open_log(place, damaged=True))
                if name in self._found:  # its first record has come
                    self._tell(name, self.records_since(name, 0))
            return
        try:
            fresh = told.fresh()
        except TruethrowError:
            anew = self._told[name] = Told(open_log(place, damaged=True))
            known = {record.id for record in told.records}
            fresh = [(at, record) for at, record in enumerate(anew.records, start=1) if record.id not in known]
            told = anew
        if fresh:
            self._tell(name, self._in_words(name, told, fresh))

    def _in_words(self, name: str, told: Told, fresh: list[tuple[int, Record]]) -> list[dict[str, Any]]:
        labels: dict[int, dict[str, str]] = {}
        told_in = METRIC
        with contextlib.suppress(TruethrowError):  # what is recorded is told of a job whose text is broken, too
            labels = labels_in(parse_toml(text_of(self._shop.at(name)), name))
            told_in = told_in_at(self._shop.at(name))
        said = {id(event.record): history_words.told(event, told_in) for event in events_of(told.records, labels)}
        return [
            {
                "job": name,
                "number": number,
                "id": record.id,
                "action": record.action,
                "said": said.get(id(record), ""),
                "by": record.by,
                "bench": record.bench,
                "at": record.at,
            }
            for number, record in fresh
        ]

    def _working(self) -> None:
        while not self._stop.is_set():
            with self._wake:
                while not self._dirty and not self._stop.is_set():
                    self._wake.wait(1.0)
            began_s = time.monotonic()
            self._work()
            self._stop.wait(REST * (time.monotonic() - began_s))

    def _work(self) -> None:
        """Look at the jobs that changed, and tell the board if it has."""
        with self._wake:
            dirty, self._dirty = list(self._dirty), {}
        for name in dirty:
            if name not in self._marks:
                self._found.pop(name, None)
                self._told.pop(name, None)
                continue
            self._found[name] = look_at(partial(self._at, name), name, self._benches(name))
        board = self._as_board()
        if board != self.board:
            self.board = board
            self._tell_board(board)

    def _at(self, name: str) -> Snapshot:
        return Snapshot(self._shop.at(name))

    def _as_board(self) -> Board:
        rows = tuple(row for name in self._marks if (row := self._found.get(name)) is not None)
        return Board(
            place=self._name,
            rows=rows,
            head=sum(len(told.records) for told in self._told.values()),
            late=tuple(row.job for row in rows if row.due and row.due < today()),
            faults=(self._fault,) if self._fault else (),
        )
