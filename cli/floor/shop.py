"""Which jobs the floor shows: those of a book, or of a folder; and whether anything was recorded in them, told by
a look that is cheap enough to be taken twenty times a second."""

from __future__ import annotations

import re
import time
from abc import ABC, abstractmethod
from collections.abc import Hashable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from truethrow.balance.base import files
from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput, Fault, shown, shown_path
from truethrow.balance.log.place import JobInBook, file_name, mark_of
from truethrow.cli.in_folder import jobs_in

if TYPE_CHECKING:
    from truethrow.balance.book.opened import Book

# Of a book, so many jobs at the most, those that were worked on last: no board has room for more.
MOST = 100
# What is written into a book's file can be read only once the disk has it: so long after the file was seen to
# change, at the most.
SETTLES_S = 10.0
_SAFE = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}")
_UNSAFE = re.compile(r"[^A-Za-z0-9._-]+")
Mark = Hashable


class Shop(ABC):
    """Jobs, by names that are safe in an address. place: what people call where they are kept."""

    place: str

    @abstractmethod
    def marks(self) -> Mapping[str, Mark]:
        """What of each job changes with whatever is recorded in it or written into its text. Raises BadInput where
        that cannot be told now."""

    @abstractmethod
    def at(self, name: str) -> Path | JobInBook:
        """Where the job of such a name is. Raises BadInput for one that is not there any more."""

    @abstractmethod
    def add(self, job_id: str, text: str, by: str) -> str:
        """Put a new job here, that was found good; its name in addresses. Raises BadInput where it would take the
        place of another; NotSaved."""


class Folder(Shop):
    """The job files of a folder; or one alone."""

    def __init__(self, path: Path) -> None:
        """Raises BadInput where there is no such thing."""
        self.place = shown_path(path)
        self._path = path
        self._of_folder: Mark = None
        self._files: dict[str, Path] = {}
        self._is_folder = path.is_dir()  # once for all: a folder that is away for a moment is none that is a job
        if not path.exists():
            raise BadInput([Fault("", "no such folder or job file")], self.place)
        self.marks()

    def marks(self) -> Mapping[str, Mark]:
        if not self._is_folder:
            self._files = {_safe(self._path.stem): self._path}
        elif (now := _looks(self._path)) != self._of_folder:  # a file came or went, or the folder itself
            self._of_folder = now
            if now is not None:  # of one that is away each job is told to be so
                self._files = {_safe(path.stem): path for path in jobs_in(self._path)}
        return {name: (_looks(path), _looks(log_path(path))) for name, path in self._files.items()}

    def at(self, name: str) -> Path:
        if name not in self._files:
            raise missing(name)
        return self._files[name]

    def add(self, job_id: str, text: str, by: str) -> str:
        if not self._is_folder:
            raise BadInput([Fault("", "this floor is of one job alone")], self.place)
        path = self._path / f"{file_name(job_id)}.toml"
        # A log that is there is another engine's: its readings would count for the new job.
        files.must_not_stand([path, log_path(path)])
        files.create_text(path, text)
        return _safe(path.stem)


class OfBook(Shop):
    """The jobs of a book that were worked on last."""

    def __init__(self, opened: Book) -> None:
        self.place = str(opened.address)
        self._book = opened
        self._seen: Mark = None
        self._changed_s = 0.0
        self._marks: dict[str, Mark] = {}
        self._ids: dict[str, str] = {}

    def marks(self) -> Mapping[str, Mark]:
        file = self._book.address.file
        # Each commit changes the file of an embedded book, or the one beside it; a server is asked.
        seen = (_looks(file), _looks(file.with_name(f"{file.name}-wal"))) if file is not None else None
        if seen != self._seen:
            self._seen, self._changed_s = seen, time.monotonic()
        if seen is None or time.monotonic() - self._changed_s < SETTLES_S:
            rows = self._rows()
            # Put in place at once: who asks for a job meanwhile, in another thread, finds those that were there.
            self._ids = {_safe(job): job for job, *_ in rows}
            self._marks = {_safe(job): tuple(mark) for job, *mark in rows}
        return self._marks

    def _rows(self) -> list[tuple[str, int, int]]:
        from sqlalchemy import select  # noqa: PLC0415 (which no folder needs)

        from truethrow.balance.book.schema import jobs  # noqa: PLC0415

        query = select(jobs.c.id, jobs.c.revision, jobs.c.last_seq).order_by(jobs.c.active_at.desc(), jobs.c.id)
        with self._book.reading() as connection:
            return [(job, revision, last) for job, revision, last in connection.execute(query.limit(MOST))]

    def at(self, name: str) -> JobInBook:
        from truethrow.balance.book.booked import BookedJob  # noqa: PLC0415

        if name not in self._ids:
            raise missing(name)
        return BookedJob(self._book, self._ids[name])

    def add(self, job_id: str, text: str, by: str) -> str:
        import tempfile  # noqa: PLC0415 (a job is taken into a book from a file)

        from truethrow.balance.book import jobs  # noqa: PLC0415

        if jobs.is_there(self._book, job_id):
            raise BadInput([Fault("job, id", f"{shown(job_id)} is in the book already", "another")], self.place)
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "job.toml"
            files.create_text(path, text)
            jobs.add(self._book, jobs.from_file(path), by)
        return _safe(job_id)


def shop_of(named: str | None) -> Shop:
    """The shop that a word on the command line means: a book by its address, else a folder or a job file; without
    one the shop's book. Raises BadInput."""
    if named is not None and "://" not in named:
        return Folder(Path(named))
    from truethrow.balance.book.open import open_book  # noqa: PLC0415

    try:
        return OfBook(open_book(named, create=False))
    except BadInput as error:
        if named is not None or len(error.faults) != 1 or error.faults[0].wrong != "there is no book yet":
            raise
        fault = error.faults[0]
        or_folder = f"{fault.remedy}; or show the job files of a folder: truethrow floor FOLDER"
        raise BadInput([Fault(fault.where, fault.wrong, remedy=or_folder)], error.source) from None


def missing(name: str) -> BadInput:
    return BadInput([Fault(f"job {name[:64]}", "is not open here")])


def _safe(job: str) -> str:
    """A name for a job that an address can have; no two jobs have the same."""
    if _SAFE.fullmatch(job):
        return job
    return f"{_UNSAFE.sub('-', job)[:40]}{mark_of(job)}"


def _looks(path: Path) -> Mark:
    """What of a file or folder changes when it is written."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_ino, found.st_size, found.st_mtime_ns
