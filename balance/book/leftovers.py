"""What a command that is killed leaves of a book: noted before it is made, and cleaned away by the next command.

Copies of a book are customers' data. Each that is only half made, or not needed once its command is through, is
noted in a file of its own in the user's data folder, on which the command holds a lock as long as it lives; a note
whose lock is free was left behind. The copy that a restore keeps of the book before it is left over only where the
restore did not come through: the book is then the one that it was copied from (its generation).
"""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import sys
import uuid
from collections.abc import Iterator
from pathlib import Path

from truethrow.balance.base.files import private_folder
from truethrow.balance.base.settings import data_folder

if sys.platform != "win32":
    import fcntl

_BESIDE = ("", "-wal", "-shm", "-journal")


def _folder() -> Path:
    return data_folder() / "unfinished"


@contextlib.contextmanager
def noted(path: Path, book: str = "", generation: str = "") -> Iterator[None]:
    """A note that this file or folder is left over where the command does not come to the end of the block. book,
    generation: of the one that it is a copy of, where it is left over only as long as that stands. Raises
    OSError."""
    private_folder(_folder())
    note = _folder() / uuid.uuid4().hex
    handle = os.open(note, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        _lock(handle, wait=True)
        said = {"path": str(path.absolute()), "book": book, "generation": generation}
        os.write(handle, json.dumps(said).encode())
        yield
    finally:
        note.unlink(missing_ok=True)
        os.close(handle)


def clean(book: str = "", generation: str = "") -> None:
    """Take away what killed commands left. book, generation: of the one that is open. What cannot be taken away is
    tried again by the next command."""
    try:
        notes = sorted(_folder().iterdir())
    except OSError:
        return
    for note in notes:
        with contextlib.suppress(OSError):
            _clean_one(note, book, generation)


def _clean_one(note: Path, book: str, generation: str) -> None:
    handle = os.open(note, os.O_RDWR)
    try:
        _lock(handle)  # BlockingIOError while its command lives
        try:
            said = json.loads(os.read(handle, 100_000))
            path, of_book, of_generation = Path(said["path"]), said["book"], said["generation"]
        except (ValueError, KeyError, TypeError):  # killed before it said anything, and so before it made anything
            note.unlink(missing_ok=True)
            return
        if of_book and of_book != book:
            return
        if not of_book or of_generation == generation:
            remove(path)
        note.unlink(missing_ok=True)
    finally:
        os.close(handle)


def remove(path: Path) -> None:
    """Take a file away, with what SQLite puts beside it, or a folder with all that is in it. Raises OSError."""
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path)
        return
    for ending in _BESIDE:
        path.with_name(path.name + ending).unlink(missing_ok=True)


def _lock(handle: int, *, wait: bool = False) -> None:
    """Take a note's lock. Raises BlockingIOError where another has it and nobody waits for it. Where there are
    none (Windows), a file that is open cannot be taken away."""
    if sys.platform != "win32":
        fcntl.flock(handle, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))
