"""The log of a job in a file: one line a record, only ever appended to, safe once append has returned.

The file lies beside the job (launch.toml → launch.readings.jsonl). It is JSON Lines in plain ASCII; each line
ends with its place in the chain and its seal (lines.py), so that a torn or damaged line is known for what it is,
and one that was taken out, put elsewhere or changed is missed:

    {"id":"5f0c31-1","at":"2025-03-01T09:12:44.031Z","bench":"b","action":"read","cylinder":3,…,"seal":"9a3e71c4…"}

A reading is one write at the end of the file, then a flush to the disk, under a lock. Whatever breaks off in
between, a kill or a full disk, leaves at most a torn last line: nobody was told that it is safe, and it stays
where it is, a line of its own; the next record has the number that it would have had. A reading is mended by
another line (a strike), never by changing one.

Only light modules of the standard library are imported here: the bench starts with this.
"""

from __future__ import annotations

import codecs
import contextlib
import errno
import os
import stat
import sys
import time
from collections.abc import Callable
from pathlib import Path

from truethrow.balance.base.beside import log_stem
from truethrow.balance.base.errors import BadInput, Fault, reason, shown_path
from truethrow.balance.base.files import new_mode
from truethrow.balance.base.flushing import to_disk
from truethrow.balance.base.waiting import Wait
from truethrow.balance.log.lines import is_torn, pieces, record_in
from truethrow.balance.log.log import Log, unsaved
from truethrow.balance.log.records import Harm, Record

LARGEST_BYTES = 500_000_000  # two million readings; what is larger is no log, and would fill the memory
LONGEST_WAIT_S = 8.0  # with all else within ten seconds


class ReadingLog(Log):
    """The log of one job in a file, as one bench sees it.

    A file that is not there is an empty log; the first append makes it. Opening raises BadInput where the file
    cannot be read."""

    def __init__(self, path: Path, bench: str = "bench", by: str = "") -> None:
        super().__init__(str(path), bench, by)
        self.path = path
        self.beside = log_stem(path)
        self._file: tuple[int, int] | None = None  # which file it is, to know when another took its place
        self._end = 0  # the file is read up to here, always the start of a line
        self._lines = 0  # so many lines end before that
        self._tail = b""  # the last line as it stood there when last looked at, without a line end
        self._folder_flushed = False
        self.job_id: Callable[[], str] = lambda: ""  # of the job whose file the log lies beside
        self._open_and_read(opening=True)
        self._untold.clear()

    def whose(self) -> str:
        return self.job_id() or self.beside

    def _write(self, record: Record, may_stand: Callable[[], None]) -> list[tuple[int, bytes]]:
        try:
            handle = os.open(self.path, os.O_RDWR | os.O_APPEND | os.O_CREAT | _FLAGS, new_mode())
            try:
                self._lock(handle)
                self._take_up(handle, record)
                may_stand()
                is_known = record.id in self._known
                lines = self._sealed(record)
                # A torn last line is left as it is; the line end in the same write keeps it apart from ours.
                text = (b"\n" if self._tail else b"") + b"".join(line + b"\n" for line in lines)
                if (written := os.write(handle, text)) < len(text):
                    raise OSError(errno.ENOSPC, f"only {written} of {len(text)} bytes went in; is the disk full?")
                # Also for an id that stands there already: a flush that failed once may well pass the second
                # time without writing anything, as the system counts the lost pages as clean by then.
                to_disk(handle)
                self._flush_folder()
            finally:
                os.close(handle)  # the lock goes with it
        except OSError as error:
            raise unsaved(f"{shown_path(self.path)}: {reason(error)}", record) from None
        first = self._lines + (2 if self._tail else 1)
        self._lines = first + len(lines) - 1
        self._end += len(self._tail) + len(text)
        self._tail = b""
        return [] if is_known else list(enumerate(lines, start=first))

    def _lock(self, handle: int) -> None:
        """Wait for the log's lock, not for ever: a bench that hangs must not hang the other one."""
        wait = Wait(f"another bench to let go of {shown_path(self.path)}", LONGEST_WAIT_S)
        while not _try_lock(handle):
            if wait.is_over():
                raise OSError(errno.EAGAIN, f"locked by another bench for {LONGEST_WAIT_S:g} s")
            time.sleep(0.002)

    def _take_up(self, handle: int, record: Record) -> None:
        try:
            self._read(handle, locked=True)
        except BadInput as error:
            raise unsaved(str(error), record) from None

    def _read_on(self) -> None:
        self._open_and_read()

    def _open_and_read(self, *, opening: bool = False) -> None:
        try:
            if not stat.S_ISREG(self.path.stat().st_mode):  # before opening it: a pipe would wait for a writer
                wrong = "is a folder, not a file" if self.path.is_dir() else "is no file"
                raise BadInput([Fault("", wrong)], str(self.path))
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
        if self._end == 0 and raw.startswith(codecs.BOM_UTF8):  # an editor put it there, and changed nothing by it
            self._end, raw = len(codecs.BOM_UTF8), raw.removeprefix(codecs.BOM_UTF8)
        *lines, tail = raw.split(b"\n")
        if lines and self._tail and lines[0] != self._tail:
            # The last line was not torn when it was looked at: someone was just writing it.
            self.notes = [note for note in self.notes if note.number != self._lines + 1]
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
            self._take_last(tail, self._lines + 1)

    def _take_damaged(self, raw: bytes, number: int, harm: Harm = "damaged", ids: tuple[str, ...] = ()) -> None:
        """Take up a line that does not count. Where only its end was hit, it holds whole records all the same."""
        if raw.endswith(b"\r") and record_in(raw[:-1]) is not None:
            self._take(raw[:-1], number)
            return
        if not raw.strip():
            return
        sound = [one for one in map(record_in, pieces(raw)) if one is not None] if harm == "damaged" else []
        if not sound and is_torn(raw):  # another writer's line end came behind what was broken off
            self._note(number, "torn")
            return
        super()._take_damaged(raw, number, harm, ids=tuple(record.id for record in sound))
        for record in sound:
            self._take(record.raw, number)

    def _take_last(self, text: bytes, number: int) -> None:
        """Take up a last line without an end, whose writing may have been broken off."""
        is_whole = record_in(text) is not None
        self._note(number, "whole" if is_whole else "torn")
        for piece in [text] if is_whole else pieces(text):
            self._take(piece, number)

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


def _from(handle: int, start: int) -> bytes:
    os.lseek(handle, start, os.SEEK_SET)
    pieces = []
    while piece := os.read(handle, 1 << 16):
        pieces.append(piece)
    return b"".join(pieces)


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
