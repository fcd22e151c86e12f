"""The log of a job's readings: one line a reading, only ever appended to, safe once append has returned.

The file stands beside the job (launch.toml → launch.readings.jsonl). It is JSON Lines in plain ASCII; each line
ends with a checksum of the text before it, so that a torn or damaged line is known for what it is:

    {"id":"5f0c31-1","at":"2025-03-01T09:12:44.031Z","bench":"b","action":"read","cylinder":3,…,"crc":"9a3e71c4"}

A reading is one write at the end of the file, then a flush to the disk, under a lock. Whatever breaks off in
between, a kill or a full disk, leaves at most a torn last line: nobody was told that it is safe, and it stays
where it is, a line of its own. A reading is mended by another line (a strike), never by changing one.

Readings belong to their part. The log says also where the parts sit (a seat moves them) and where metal came
off (a cut makes the part's earlier readings history), so what counts is a replay of all of it, in order.

Only light modules of the standard library are imported here: the bench starts with this.
"""

from __future__ import annotations

import contextlib
import errno
import itertools
import json
import math
import os
import stat
import sys
import time
import zlib
from collections.abc import Callable, Iterable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from truethrow.balance.errors import BadInput, Fault, NotSaved, reason, shown, shown_path

if TYPE_CHECKING:
    from truethrow.balance.seats import Moves

# At the balancing station: a spin, a hole done, a test mass, a sign-off. They leave the readings as they are.
STATION_ACTIONS = ("spin", "hole", "test", "sign")
ACTIONS = ("read", "strike", "skip", "zero", "reference", "propose", "seat", "cut", *STATION_ACTIONS)
# In a replay: a cut that was struck out after its part had been weighed again.
UNCUT = "uncut"
# The pads at which a cut may be.
CUT_AT = ("piston", "pin", "big_end", "small_end")
LARGEST_BYTES = 500_000_000  # two million readings; what is larger is no log, and would fill the memory
LONGEST_WAIT_S = 10.0

_SEAL = b',"crc":"%08x"}'
_SEAL_LENGTH = len(_SEAL % 0)
_START = b'{"id":"'  # cannot stand inside a line's own texts: there each quote has a backslash before it


class Record(NamedTuple):
    """One line. at: UTC; by: initials, may be empty; cylinder: 0 = the reading stands for every cylinder;
    kind: of a cut, its pad, of a hole, its kind, of a test mass, its plane, of a spin, whether it was turned;
    grams: of a cut, what was asked for there; typed: the reading as it came, the moves of seats, or what the
    balancing station did (balancing.py); of: the id that a strike takes out, the proposal that a seat accepts, the
    spin that a hole, a test mass or a sign-off belongs to, or the digest of the job that a proposal was made for
    or that was spun; why: in the words of the bench."""

    id: str
    at: str
    bench: str
    by: str
    action: str
    cylinder: int | None
    kind: str
    grams: float | None
    typed: str
    of: str
    why: str


class Replay(NamedTuple):
    """What the records say, all of them taken in order. placed: the readings and cuts that stand, in their order,
    each with the cylinder in which its part sits now, and as UNCUT the cuts that were struck out after a new
    weighing; seats: unit → {cylinder: the cylinder whose part it first was}, of parts that moved; seated: the
    seats that stand."""

    placed: tuple[Record, ...]
    seats: Moves
    seated: tuple[Record, ...]


def replay(records: Iterable[Record], source: str = "") -> Replay:
    """Where everything stands after the last record. source: the log's name, for a fault of it.

    A strike takes out a reading or a cut before it, or puts the parts of a seat back; one of an unknown id, or
    of one struck already, does nothing. With a cut that is struck out the readings before it count again, but
    never beside those that were taken between the cut and the strike: who struck out the cut may have been wrong
    about the metal, and a mean of before and after is nobody's mass. Raises BadInput for a seat that stands and
    makes no sense."""
    placed: dict[str, Record] = {}
    seated: dict[str, Record] = {}
    seats: Moves = {}
    nonsense: dict[str, Fault] = {}
    for record in records:
        if record.action in ("read", "cut"):
            if record.cylinder is not None and record.grams is not None:
                placed[record.id] = record
        elif record.action == "strike":
            _strike_out(placed, record.of)
            nonsense.pop(record.of, None)
            if struck := seated.pop(record.of, None):
                seats = _seat(placed, seats, struck, back=True)
        elif record.action == "seat":
            try:
                seats = _seat(placed, seats, record)
                seated[record.id] = record
            except ValueError as error:
                nonsense[record.id] = Fault(f"seat, record {shown(record.id)}", str(error))
    if nonsense:
        raise BadInput(nonsense.values(), source)
    return Replay(tuple(placed.values()), seats, tuple(seated.values()))


def _strike_out(placed: dict[str, Record], key: str) -> None:
    struck = placed.get(key)
    if struck is None or struck.action == UNCUT:
        return
    if struck.action == "cut":
        later = itertools.islice(placed.values(), list(placed).index(key) + 1, None)
        kinds = moved_by_cut(struck.kind)
        if any(r.action == "read" and r.cylinder == struck.cylinder and r.kind in kinds for r in later):
            placed[key] = struck._replace(action=UNCUT)
            return
    del placed[key]


def _seat(placed: dict[str, Record], seats: Moves, seat: Record, *, back: bool = False) -> Moves:
    """Move what is placed as a seat says, or back again; the seats after it. What stands for every cylinder
    stays. Raises ValueError for moves that make no sense."""
    from truethrow.balance.seats import UNIT_OF, after, inverse, parse  # noqa: PLC0415 (few logs have seats)

    moves = inverse(parse(seat.typed)) if back else parse(seat.typed)
    for key, record in placed.items():
        to = moves.get(UNIT_OF.get(record.kind, ""), {}).get(record.cylinder or 0)
        if to is not None:
            placed[key] = record._replace(cylinder=to)
    return after(seats, moves)


def counting(placed: Iterable[Record]) -> dict[tuple[int, str], tuple[Record, ...]]:
    """The readings that count, of each cylinder and kind, in order: those after the last cut on their part, and
    those before one that was struck out as long as there are none after it."""
    found: dict[tuple[int, str], list[Record]] = {}
    uncut: set[tuple[int, str]] = set()
    for record in placed:
        assert record.cylinder is not None
        if record.action == "cut":
            for kind in moved_by_cut(record.kind):
                found.pop((record.cylinder, kind), None)
        elif record.action == UNCUT:
            uncut |= {(record.cylinder, kind) for kind in moved_by_cut(record.kind)}
        else:
            place = record.cylinder, record.kind
            if place in uncut:
                uncut.discard(place)
                found.pop(place, None)
            found.setdefault(place, []).append(record)
    return {key: tuple(records) for key, records in found.items()}


def cut_places(placed: Iterable[Record]) -> set[tuple[int, str]]:
    """Each cylinder and kind on whose part metal came off: no reading from before the log counts there."""
    cuts = (record for record in placed if record.action == "cut")
    return {(record.cylinder or 0, kind) for record in cuts for kind in moved_by_cut(record.kind)}


def moved_by_cut(pad: str) -> tuple[str, ...]:
    """The kinds of reading that a cut at a pad changes."""
    from truethrow.balance.seats import UNIT_OF, UNITS  # noqa: PLC0415 (few logs have cuts)

    return UNITS[UNIT_OF[pad]] if pad in CUT_AT else ()


def current(records: Iterable[Record]) -> dict[tuple[int, str], tuple[Record, ...]]:
    """The readings of each cylinder and kind that count, in order, where the parts sit now; cylinder 0 stands
    for all. Raises BadInput for a seat that stands and makes no sense."""
    return counting(replay(records).placed)


class ReadingLog:
    """The log of one job, as one bench sees it.

    records: what the file holds, the first of each id, in its order; notes: what is wrong with it, a sentence
    each. A file that is not there is an empty log; the first append makes it. Opening raises BadInput where
    the file cannot be read. Not for use by two threads at once; two processes, or two logs of one file, are
    what the lock is for."""

    def __init__(self, path: Path, bench: str = "bench", by: str = "") -> None:
        self.path = path
        self.bench = bench
        self.by = by
        self.records: list[Record] = []
        self.notes: list[str] = []
        self._known: dict[str, Record] = {}
        self._untold: list[Record] = []  # others' records that append came across, for the next refresh
        self._file: tuple[int, int] | None = None  # which file it is, to know when another took its place
        self._end = 0  # the file is read up to here, always the start of a line
        self._lines = 0  # so many lines end before that
        self._tail = b""  # the last line as it stood there when last looked at, without a line end
        self._session = ""
        self._process = 0
        self._count = 0
        self._folder_flushed = False
        self._open_and_read(opening=True)
        self._untold.clear()

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

        unless: called under the lock, when .records holds all that the file does; what it raises keeps the record
        out. Not called for an id that the file has already: what is written there is written.

        id: from next_id, by who means to try again after a failure. However often one id is written, it is one
        record, the first; it may stand in the file after a failure, since a disk that fails does not say what
        it kept. Raises NotSaved when it is not known to be safe; ValueError for a record that makes no sense,
        or an id that another record has."""
        record = Record(
            id=self.next_id() if id is None else id,
            at=_now(),
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
        _check(record)
        try:
            handle = os.open(self.path, os.O_RDWR | os.O_APPEND | os.O_CREAT | _FLAGS, 0o666)
            try:
                _lock(handle)
                self._take_up(handle, action)
                _check_same(record, self._known.get(record.id))
                if unless is not None and record.id not in self._known:
                    unless()
                # A torn last line is left as it is; the line end in the same write keeps it apart from ours.
                text = (b"\n" if self._tail else b"") + line(record)
                if (written := os.write(handle, text)) < len(text):
                    raise OSError(errno.ENOSPC, f"only {written} of {len(text)} bytes went in; is the disk full?")
                # Also for an id that stands there already: a flush that failed once may well pass the second
                # time without writing anything, as the system counts the lost pages as clean by then.
                os.fsync(handle)
                self._flush_folder()
            finally:
                os.close(handle)  # the lock goes with it
        except OSError as error:
            raise NotSaved(f"{shown_path(self.path)}: {reason(error)}; {_lost(action)}") from None
        self._lines += 2 if self._tail else 1
        self._end += len(self._tail) + len(text)
        self._tail = b""
        if record.id not in self._known:
            self._add(record)
        self._untold = [other for other in self._untold if other.id != record.id]
        return self._known[record.id]

    def _take_up(self, handle: int, action: str) -> None:
        try:
            self._read(handle, locked=True)
        except BadInput as error:
            raise NotSaved(f"{error}; {_lost(action)}") from None

    def refresh(self) -> list[Record]:
        """What others appended since, which .records then holds too. Raises BadInput where the file cannot be
        read, or is no longer the one that was opened."""
        self._open_and_read()
        fresh, self._untold = self._untold, []
        return fresh

    def _open_and_read(self, *, opening: bool = False) -> None:
        try:
            if not stat.S_ISREG(self.path.stat().st_mode):  # before opening it: a pipe would wait for a writer
                found = "is a folder, not a file" if self.path.is_dir() else "is no file"
                raise BadInput([Fault("", found)], str(self.path))
            handle = os.open(self.path, os.O_RDONLY | _FLAGS)
            try:
                self._read(handle, opening=opening)
            finally:
                os.close(handle)
        except OSError as error:
            if not isinstance(error, FileNotFoundError) or self._file is not None:
                raise BadInput([Fault("", reason(error))], str(self.path)) from None

    def _read(self, handle: int, *, opening: bool = False, locked: bool = False) -> None:
        """Take up what the file holds beyond what is known of it."""
        found = os.fstat(handle)
        file = found.st_dev, found.st_ino
        if (self._file or file) != file or found.st_size < self._end:
            told = "cut short or replaced by another file meanwhile"
            raise BadInput([Fault("", told, "this log as it was; open the job anew")], str(self.path))
        if found.st_size > LARGEST_BYTES:
            size = f"{found.st_size / 1e6:.0f} MB is no log of readings"
            raise BadInput([Fault("", size, f"{LARGEST_BYTES / 1e6:.0f} MB")], str(self.path))
        self._file = file
        raw = _from(handle, self._end)
        *lines, tail = raw.split(b"\n")
        if lines and self._tail and lines[0] != self._tail:
            # The last line was not torn when it was looked at: someone was just writing it.
            self.notes = [note for note in self.notes if not note.startswith(f"line {self._lines + 1} ")]
        for number, text in enumerate(lines, start=self._lines + 1):
            if number > self._lines + 1 or text != self._tail:  # else it was taken up when it was the last
                self._take(text, number)
        if lines:
            self._lines += len(lines)
            self._end += len(raw) - len(tail)
            self._tail = b""
        # A last line without an end may be somebody's write on its way, except where the lock is ours; on
        # opening it is told of all the same, and looked at again when it has its end.
        if (locked or opening) and tail != self._tail:
            self._tail = tail
            self._take(tail, self._lines + 1, torn=True)

    def _take(self, text: bytes, number: int, *, torn: bool = False) -> None:
        """Take up one line. A damaged one may hold whole records all the same, where only its end was hit."""
        if not torn and _sealed(text) and (record := _record(text)) and record.id not in self._known:
            self._add(record)  # as nearly all are, so first and quickly
            self._untold.append(record)
            return
        whole = _sealed(text) or (text.endswith(b"\r") and _sealed(text[:-1]))
        records = [_record(text)] if whole else [_record(piece) for piece in _pieces(text)]
        sound = [record for record in records if record is not None]
        if torn and whole and sound:
            self.notes.append(f"line {number} is torn at its end; its record is whole and counts")
        elif torn:
            self.notes.append(f"line {number} is torn: its writing was broken off; it does not count")
        elif text.strip() and not (whole and sound):
            counts = f"what is whole in it, {', '.join(shown(r.id) for r in sound)}, counts" if sound else ""
            self.notes.append(f"line {number} is damaged; {counts or 'what it said is lost'}")
        for record in sound:
            if record.id in self._known:
                self.notes.append(f"line {number} repeats the id {shown(record.id)}; the first of them counts")
            else:
                self._add(record)
                self._untold.append(record)

    def _add(self, record: Record) -> None:
        self._known[record.id] = record
        self.records.append(record)

    def _flush_folder(self) -> None:
        # The name of a new file must reach the disk too. Not only by who made it: that one may have been
        # killed before it came to this.
        if self._folder_flushed:
            return
        with contextlib.suppress(PermissionError):  # a folder that may not be read; on Windows, any folder
            handle = os.open(self.path.parent, os.O_RDONLY)
            try:
                os.fsync(handle)
            except OSError as error:
                if error.errno not in (errno.EINVAL, errno.ENOTSUP):  # some file systems cannot flush a folder
                    raise
            finally:
                os.close(handle)
        self._folder_flushed = True


def line(record: Record) -> bytes:
    """A record as it stands in the file: what is empty is left out, and the checksum comes last."""
    said = {name: value for name, value in zip(Record._fields, record, strict=True) if value not in ("", None)}
    text = json.dumps({"id": record.id} | said, separators=(",", ":"), allow_nan=False)[:-1].encode("ascii")
    return text + _SEAL % zlib.crc32(text) + b"\n"


def _sealed(text: bytes) -> bool:
    return text[-_SEAL_LENGTH:] == _SEAL % zlib.crc32(text[:-_SEAL_LENGTH])


def _pieces(text: bytes) -> Iterator[bytes]:
    """The whole records inside a damaged line: where the line end was hit, it holds two lines."""
    for rest in text.split(_START)[1:]:
        piece = _START + rest
        end = piece.find(_SEAL[:8])  # the first: inside the record's texts its quotes would have a backslash
        if end > 0 and _sealed(piece[: end + _SEAL_LENGTH]):
            yield piece[: end + _SEAL_LENGTH]


def _refused(constant: str) -> float:
    raise ValueError(f"{constant} is no number of grams")


_decode = json.JSONDecoder(parse_constant=_refused).raw_decode  # a third quicker than decode


def _record(text: bytes) -> Record | None:
    """The record of a line whose checksum fits; None where it is none all the same, by another's hand."""
    try:
        said: dict[str, Any] = _decode(text.decode("ascii"))[0]
        get = said.get
        words = (said["id"], get("at", ""), get("bench", ""), get("by", ""), said["action"])
        more = (get("kind", ""), get("typed", ""), get("of", ""), get("why", ""))
        "".join(words + more)  # a TypeError unless every one of them is a text
        cylinder, grams = get("cylinder"), get("grams")
        if grams is not None:
            grams = float(grams)
            if not math.isfinite(grams):
                return None
        if cylinder is not None and type(cylinder) is not int:
            return None
    except (ValueError, TypeError, KeyError, AttributeError, OverflowError, RecursionError):
        return None
    return Record(*words, cylinder, more[0], grams, *more[1:])


def _check(record: Record) -> None:
    """Keep out what replay could not give back, or would pass over."""
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
    if record.action == "cut" and (not record.cylinder or (record.grams or 0) <= 0 or record.kind not in CUT_AT):
        raise ValueError("a cut needs a cylinder, a pad and grams, else it is no cut")
    if record.action in ("propose", "seat"):
        from truethrow.balance.seats import parse  # noqa: PLC0415 (few logs have seats)

        parse(record.typed)
        if not record.of:
            raise ValueError(f"a {record.action} needs what it is of")
    if record.action in STATION_ACTIONS and not (record.typed and record.of):
        raise ValueError(f"a {record.action} needs what was done, and what it is of")


def _lost(action: str) -> str:
    named = {name: name for name in ("seat", "cut", "spin", "hole")}
    named |= {"propose": "proposal", "test": "test mass", "sign": "sign-off"}
    return f"the {named.get(action, 'reading')} is not saved"


def _check_same(record: Record, before: Record | None) -> None:
    # Replay keeps the first of an id: another reading under it would be lost without a word.
    if before and _said(before) != _said(record):
        raise ValueError(f"the id {record.id} belongs to another record")


def _said(record: Record) -> tuple[object, ...]:
    done = record.typed if record.action in ("propose", "seat", *STATION_ACTIONS) else ""
    return record.action, record.cylinder, record.kind, record.grams, record.of, done


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _from(handle: int, start: int) -> bytes:
    os.lseek(handle, start, os.SEEK_SET)
    pieces = []
    while piece := os.read(handle, 1 << 24):
        pieces.append(piece)
    return b"".join(pieces)


def _lock(handle: int) -> None:
    """Wait for the log's lock, not for ever: a bench that hangs must not hang the other one."""
    until = time.monotonic() + LONGEST_WAIT_S
    while not _try_lock(handle):
        if time.monotonic() > until:
            raise OSError(errno.EAGAIN, f"locked by another bench for {LONGEST_WAIT_S:g} s")
        time.sleep(0.002)


if sys.platform == "win32":
    import msvcrt

    _FLAGS = os.O_BINARY | os.O_NOINHERIT

    def _try_lock(handle: int) -> bool:
        # Windows locks bytes, and against reading too: one far behind any that the file will ever have.
        os.lseek(handle, LARGEST_BYTES * 2, os.SEEK_SET)
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except PermissionError:
            return False
        return True

else:
    import fcntl

    _FLAGS = os.O_CLOEXEC

    def _try_lock(handle: int) -> bool:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True
