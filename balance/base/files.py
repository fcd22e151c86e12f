"""Reading what a shop really hands over, and writing so that nothing is ever half written."""

from __future__ import annotations

import codecs
import contextlib
import errno
import os
import shlex
import stat
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import NamedTuple

from truethrow.balance.base import dry_run
from truethrow.balance.base.errors import BadInput, Fault, NotSaved, reason, shown_path
from truethrow.balance.base.flushing import to_disk
from truethrow.balance.base.waiting import Wait, told

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

LARGEST_BYTES = 4_000_000
# Windows gives these names to devices, in any folder and with any ending; a job goes from one shop to another.
_DEVICES = frozenset(
    {"CON", "PRN", "AUX", "NUL", *(f"{port}{n}" for port in ("COM", "LPT") for n in range(1, 10))}
)
LONGEST_WAIT_S = 8.0  # with all else within ten seconds

BYTE_ORDER_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)


def read_text(path: Path | KeptText) -> str:
    """The text of a job file or a sheet; ``-`` is standard input. UTF-8, or UTF-16 with its mark.

    Raises BadInput for anything that is no text file of a sensible size."""
    if isinstance(path, KeptText):
        return path.text
    source = str(path)
    try:
        raw = _read_bytes(path)
    except OSError as error:
        raise BadInput([Fault("", reason(error))], source) from None
    if len(raw) > LARGEST_BYTES:
        size = max(_size(path, raw) / 1e6, LARGEST_BYTES / 1e6)
        raise BadInput(
            [Fault("", f"more than {size:.0f} MB is no job or weigh sheet", f"{LARGEST_BYTES / 1e6:.0f} MB")],
            source,
        )
    mark, encoding = next((m for m in BYTE_ORDER_MARKS if raw.startswith(m[0])), (b"", "utf-8"))
    try:
        text = raw[len(mark) :].decode(encoding)
    except UnicodeDecodeError as error:
        raise BadInput([Fault(f"byte {error.start + 1}", "not text", "UTF-8 text")], source) from None
    if "\0" in text:
        raise BadInput([Fault(f"character {text.index(chr(0)) + 1}", "not text", "UTF-8 text")], source)
    return text.replace("\r\n", "\n").replace("\r", "\n")


class KeptText(NamedTuple):
    """What is read as a file's text is, and is kept elsewhere. name: how a command names it."""

    name: str
    text: str

    def __str__(self) -> str:
        return self.name


def line_end(path: Path) -> str:
    """The line end that a file uses, by its first line; LF where it has none or cannot be read."""
    if not path.is_file():
        return "\n"
    with contextlib.suppress(OSError), path.open("rb") as file:
        if file.readline(LARGEST_BYTES).endswith(b"\r\n"):
            return "\r\n"
    return "\n"


def write_text(path: Path, text: str, expected: str | None = None) -> None:
    """Write a whole file or nothing: a new file beside the old one, flushed to the disk, then renamed.

    expected: the text the file must still hold (as read_text gives it), so that a change made meanwhile is
    not overwritten. Line ends are written as given. Raises NotSaved; the old file then stands untouched."""
    _write(path, text.encode("utf-8"), expected)


def write_bytes(path: Path, content: bytes) -> None:
    """As write_text, for what is no text."""
    _write(path, content, None)


def _write(path: Path, content: bytes, expected: str | None) -> None:
    target = Path(os.path.realpath(path))
    name = shown_path(path)
    stands = _looked_at(target, name)
    if stands is not None and not stat.S_ISREG(stands.st_mode):
        raise NotSaved("is no plain file; nothing was written", name)
    if stands is not None and stands.st_nlink > 1:  # the others would keep the old text
        apart, own = shlex.quote(f"{target}.own"), shlex.quote(str(target))
        way = f"give it a file of its own first: cp {own} {apart} && mv {apart} {own}"
        raise NotSaved(f"has another name elsewhere, a hard link; nothing was written; {way}", name)
    if target.name.partition(".")[0].strip().upper() in _DEVICES:
        raise NotSaved("is the name of a device on Windows; pick another name; nothing was written", name)
    if expected is not None and read_text(target) != expected:
        raise NotSaved("changed by someone else meanwhile; nothing was written", name)
    if dry_run.is_on():
        dry_run.not_written(str(path), content)
        return
    try:
        handle, temporary = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name[:32]}.")
    except FileNotFoundError:
        raise NotSaved("no such folder; nothing was written", name) from None
    except OSError as error:
        raise NotSaved(f"{reason(error)}; nothing was written", name) from None
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(content)
            out.flush()
            to_disk(out.fileno())
        Path(temporary).chmod(_mode_for(target))
        Path(temporary).replace(target)
        flush_folder(target.parent)
    except OSError as error:
        with contextlib.suppress(OSError):
            Path(temporary).unlink()
        # Windows does not let go of a file that another program shows.
        shows = sys.platform == "win32" and isinstance(error, PermissionError)
        why = "is open in another program; close it there" if shows else reason(error)
        raise NotSaved(f"{why}; nothing was written", name) from None


def _looked_at(target: Path, name: str) -> os.stat_result | None:
    """What stands at a path, None where nothing does. Raises NotSaved for a path that no file can have."""
    try:
        return target.lstat()
    except (FileNotFoundError, NotADirectoryError):
        return None
    except OSError as error:
        raise NotSaved(f"{reason(error)}; nothing was written", name) from None


@contextlib.contextmanager
def locked(path: Path) -> Iterator[None]:
    """Hold a file against other stations from reading it to writing it anew. Raises NotSaved where another holds
    it for too long, BadInput where it cannot be opened.

    The lock is on the file itself; write_text puts another file in its place, so whoever waited looks again
    whether what it holds is still the file of that name. On Windows, where an open file cannot be replaced, it is
    on one beside it, which stays."""
    must_be_a_file(path)
    if dry_run.is_on():
        yield
        return
    if sys.platform == "win32":
        with _locked_beside(path):
            yield
        return
    while True:
        try:
            handle = os.open(path, os.O_RDONLY)
        except OSError as error:
            raise BadInput([Fault("", reason(error))], str(path)) from None
        try:
            _wait_for(handle, path)
            if _is_still(handle, path):
                yield
                return
        finally:
            os.close(handle)


@contextlib.contextmanager
def _locked_beside(path: Path) -> Iterator[None]:
    try:
        handle = os.open(path.with_name(f".{path.name}.lock"), os.O_RDWR | os.O_CREAT)
    except OSError as error:
        raise BadInput([Fault("", reason(error))], str(path)) from None
    try:
        _wait_for(handle, path)
        yield
    finally:
        os.close(handle)


def _take_lock(handle: int) -> None:
    if sys.platform == "win32":
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
    else:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)


def _wait_for(handle: int, path: Path) -> None:
    """Take the lock of a file. Not waiting for ever: another program may hold it all day."""
    wait = Wait(f"another program to let go of {shown_path(path)}", LONGEST_WAIT_S)
    while True:
        try:
            _take_lock(handle)
        except (BlockingIOError, PermissionError):
            if wait.is_over():
                held = f"held by another program for {LONGEST_WAIT_S:g} s; nothing was written"
                raise NotSaved(held, shown_path(path)) from None
            time.sleep(0.01)
        else:
            return


def must_be_a_file(path: Path) -> None:
    """Raise BadInput for a pipe or a device, before it is opened: whoever reads one waits for whoever writes. A
    path at which there is nothing, or a folder, is told by what opens it."""
    with contextlib.suppress(OSError):
        mode = path.stat().st_mode
        if not stat.S_ISREG(mode) and not stat.S_ISDIR(mode):
            raise BadInput([Fault("", "is a pipe or a device", "a file")], str(path))


def _is_still(handle: int, path: Path) -> bool:
    try:
        return os.path.samestat(os.fstat(handle), path.stat())
    except OSError:
        return False


def must_not_stand(paths: Iterable[Path]) -> None:
    """Raise NotSaved where one of several files to be made is there already, before any of them is written."""
    for path in paths:
        if os.path.lexists(path):
            raise NotSaved("already exists; pick another name", shown_path(path))


def create_text(path: Path, text: str) -> None:
    """Write a file that must not be there yet. Raises NotSaved when it is."""
    must_not_stand([path])
    write_text(path, text)


def _read_bytes(path: Path) -> bytes:
    if str(path) == "-":
        with told("standard input to end"):
            return sys.stdin.buffer.read(LARGEST_BYTES + 1)
    if (kept := dry_run.content(str(path))) is not None:
        return kept
    must_be_a_file(path)
    with path.open("rb") as file:
        return file.read(LARGEST_BYTES + 1)


def _size(path: Path, raw: bytes) -> int:
    with contextlib.suppress(OSError):
        return max(path.stat().st_size, len(raw))
    return len(raw)


def _mode_for(target: Path) -> int:
    try:
        return stat.S_IMODE(target.stat().st_mode)
    except OSError:
        return new_mode()


SHARED = "TRUETHROW_SHARED"


def new_mode(*, folder: bool = False) -> int:
    """Who may do what with a file, or a folder, that is made: its owner alone, since jobs name customers; where
    the shop shares (TRUETHROW_SHARED is set), whoever the system's own mask lets."""
    if not os.environ.get(SHARED):
        return 0o700 if folder else 0o600
    mask = os.umask(0)
    os.umask(mask)
    return (0o777 if folder else 0o666) & ~mask


def private_folder(path: Path) -> None:
    """Make a folder, and those above it that are not there; one that is there stays as it is. Raises OSError."""
    missing = [one for one in (path, *path.parents) if not one.exists()]
    for one in reversed(missing):
        with contextlib.suppress(FileExistsError):
            one.mkdir()
            one.chmod(new_mode(folder=True))
    if not path.is_dir():
        raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR), str(path))


def made_private(path: Path) -> Path:
    """A new, empty file that its owner alone may read, for others to fill. Raises OSError."""
    os.close(os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL, new_mode()))
    path.chmod(new_mode())
    return path


def flush_folder(folder: Path) -> None:
    """Have a rename in a folder reach the disk too; some file systems and systems cannot."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
