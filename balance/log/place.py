"""Where a job is: a file with its log beside it, or in the book.

All of the domain reaches a job's text and its log through here, and only here the two are told apart: a file is a
plain Path (``-`` is standard input, which has no log), a job in the book whatever keeps JobInBook's word. A
command takes a Snapshot of either, so that all that it works out is of one moment.
"""

from __future__ import annotations

import contextlib
import os
import shlex
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, Protocol, TypeAlias

from truethrow.balance.base import dry_run, files
from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput, Fault, shown_path

if TYPE_CHECKING:
    from truethrow.balance.log.log import Log

STANDARD_INPUT = Path("-")
A_BENCH = "bench"  # one that gives no name
# Of the name of a file in bytes, without its ending: there is room for any ending of ours.
LONGEST_NAME = 150
_IN_NAMES = " ._-+()="


class Outgoing(NamedTuple):
    """A document made of a job. kind: station sheet, say; raw: its bytes; job_digest: of the job as it was; name:
    of the file that it goes to."""

    kind: str
    raw: bytes
    job_digest: str
    name: str


class JobInBook(Protocol):
    """A job that lives in the book. Each call looks at the book as it is then."""

    @property
    def id(self) -> str:
        """What it is called in the book, and on the command line."""

    def text(self) -> str:
        """The job's text, with plain line ends, as files.read_text gives a file's. Raises BadInput."""

    def write_text(self, text: str, expected: str, by: str = "") -> None:
        """Put another text in the place of the one expected (as text() gave it), with the line ends that the job
        has. by: whose it is. Raises NotSaved, saying what changed, where the job does not say that any more; it
        then stands as it is."""

    def open_log(self, bench: str = "bench", by: str = "") -> Log:
        """The job's log, its name as log_name gives it; an empty one where nothing is recorded. Raises
        BadInput."""

    def issuing(self, outgoing: Sequence[Outgoing], by: str = "") -> AbstractContextManager[None]:
        """Keep that documents were issued, by whom, once the body has written them; nothing where it raises.
        Raises NotSaved, BadInput."""


class Snapshot:
    """One look at a job, for one command: its text and its log are read once, whoever asks for them. What the
    command itself writes is in it. What others write meanwhile is taken up under the lock of whatever it writes
    (write_text's comparison, Log.append), and nowhere else.

    in_memory: what is recorded is in this look alone, and nothing is written: to see what would be refused, and
    what would come of it."""

    def __init__(self, of: Path | JobInBook, *, in_memory: bool = False) -> None:
        self.of, self.in_memory = of, in_memory
        self._text: str | None = None
        self._log: Log | None = None

    @property
    def text(self) -> str:
        """As text_of has it. Raises BadInput."""
        if self._text is None:
            self._text = _text_of(self.of)
        return self._text

    def wrote(self, text: str) -> None:
        """Take up a text that was written in the place of the one before."""
        self._text = text

    def log(self, bench: str, by: str) -> Log:
        """The job's log, from now on in this bench's name and by these initials, where they are given. Raises
        BadInput."""
        if self._log is None:
            self._log = _open_log(self.of, bench, by, lambda: self.text)
            self._log.in_memory = self.in_memory
        self._log.bench, self._log.by = bench or self._log.bench, by or self._log.by
        return self._log

    @property
    def torn_end(self) -> str:
        """What is wrong with the last line of its log, as far as anybody has read that; empty where nothing is."""
        note = self._log.torn_end if self._log else None
        return f"{shown_path(log_name(self.of))}: {note}" if note else ""

    def look_anew(self) -> None:
        """Forget what was read: what is read next is as it is then. Not in a dry run: what it would have written
        is here alone."""
        if not (self.in_memory or dry_run.is_on()):
            self._text = self._log = None

    @property
    def has_records(self) -> bool:
        """Whether its log holds anything, be it on the disk or not."""
        return self._log is not None and bool(self._log.records)


Place: TypeAlias = Path | JobInBook | Snapshot


def _at(place: Place) -> Path | JobInBook:
    return place.of if isinstance(place, Snapshot) else place


def is_file(name: str) -> bool:
    """Whether a word names a file, or standard input; any other is an id of the book. A folder
    is none: many a shop has one for each job, named like it."""
    has_separator = any(separator in name for separator in (os.sep, os.altsep) if separator)
    if name == "-" or has_separator or name.lower().endswith(".toml"):
        return True
    # os.path asks without raising: a name that no folder takes is no file.
    return os.path.exists(name) and not os.path.isdir(name)  # noqa: PTH110, PTH112


def is_standard_input(place: Place) -> bool:
    """Whether a job comes through a pipe, and so has no log and no name."""
    return _at(place) == STANDARD_INPUT


def source_of(place: Place) -> str:
    """What faults and messages call a job."""
    at = _at(place)
    return str(at) if isinstance(at, Path) else f"job {at.id}"


def again(place: Place) -> str:
    """How a job is told to the next command."""
    at = _at(place)
    return str(at) if isinstance(at, Path) else at.id


def folder_of(place: Place) -> Path | None:
    """The folder that a job's file lies in; None of what is no file."""
    at = _at(place)
    return at.parent if isinstance(at, Path) and not is_standard_input(at) else None


def file_of(place: Place) -> Path | None:
    """The job's own file; None of what is no file."""
    at = _at(place)
    return at if isinstance(at, Path) and not is_standard_input(at) else None


def is_in_book(place: Place) -> bool:
    """Whether a job is one of the book, rather than a file."""
    return not isinstance(_at(place), Path)


def in_its_folder(place: Place) -> str:
    """How a job is told to the next command on paper, which knows no folder: ready to paste where the job lies."""
    at = _at(place)
    return to_paste(Path(at.name) if isinstance(at, Path) else at)


def to_paste(place: Place | None) -> str:
    """A job as the next command is to have it, ready to paste; JOB for one that no command can be told again."""
    return "JOB" if place is None or is_standard_input(place) else shlex.quote(shown_path(again(place)))


def text_of(place: Place) -> str:
    """A job's text. Raises BadInput where it cannot be read."""
    return place.text if isinstance(place, Snapshot) else _text_of(place)


def _text_of(at: Path | JobInBook) -> str:
    return files.read_text(at) if isinstance(at, Path) else at.text()


def write_text(place: Place, text: str, expected: str, by: str = "") -> None:
    """Put another text in the place of the one expected, which has plain line ends like it; the job keeps its own.
    by: whose it is, which the book keeps. Raises NotSaved where the job was changed meanwhile, or cannot be
    written; it then stands as it was. Raises BadInput for a job that is closed."""
    if has_log(place):
        open_log(place, damaged=True).must_be_open()
    at = _at(place)
    if isinstance(at, Path):
        files.write_text(at, text.replace("\n", files.line_end(at)), expected=expected)
    else:
        at.write_text(text, expected, by)
        dry_run.not_written(source_of(at), text.encode())
    if isinstance(place, Snapshot):
        place.wrote(text)


@contextlib.contextmanager
def locked(place: Place) -> Iterator[None]:
    """Hold a job against other stations from reading it to writing it anew; what was read of it before is
    forgotten. In the book only write_text's own comparison stands guard, and tells what changed: nothing is locked
    while somebody thinks. Raises NotSaved, BadInput."""
    at = _at(place)
    with files.locked(at) if isinstance(at, Path) else contextlib.nullcontext():
        if isinstance(place, Snapshot):
            place.look_anew()
        yield


def must_have_a_log(place: Place) -> None:
    """Raise BadInput for a job that has no place for a log: standard input, or a file that is not there."""
    at = _at(place)
    if is_standard_input(at):
        raise BadInput([Fault("JOB", "standard input has no log beside it", "a file")])
    if isinstance(at, Path) and not at.exists():
        raise BadInput([Fault("", "no such file")], str(at))


def has_log(place: Place) -> bool:
    """Whether a job has a log that can be opened, be it empty."""
    at = _at(place)
    if not isinstance(at, Path) or (isinstance(place, Snapshot) and place.has_records):
        return True
    with contextlib.suppress(OSError):  # a name that is too long with the log's ending has no log
        return not is_standard_input(at) and log_path(at).exists()
    return False


def log_name(place: Place) -> str:
    """What faults and messages call a job's log, be it there or not."""
    at = _at(place)
    return str(log_path(at)) if isinstance(at, Path) else f"the log of {source_of(at)}"


def open_log(place: Place, bench: str = "", by: str = "", *, damaged: bool = False) -> Log:
    """A job's log; where it has none yet, an empty one, which the first append makes. Raises BadInput; also for
    damage of which nobody said what became of it, unless the caller is the one who tells it (damaged)."""
    if isinstance(place, Snapshot):
        log = place.log(bench, by)
    else:
        log = _open_log(place, bench, by, lambda: text_of(place))
    log.job = again(place)
    if log.is_damaged and not damaged:
        log.must_be_settled()
    return log


def _open_log(at: Path | JobInBook, bench: str, by: str, text: Callable[[], str]) -> Log:
    if not isinstance(at, Path):
        return at.open_log(bench or A_BENCH, by)
    from truethrow.balance.log.readinglog import ReadingLog  # noqa: PLC0415 (few jobs have a log)

    log = ReadingLog(log_path(at), bench or A_BENCH, by)
    log.job_id = lambda: _id_in(text)
    return log


def _id_in(text: Callable[[], str]) -> str:
    """The id that a job's text gives it, empty where that cannot be told."""
    import tomllib  # noqa: PLC0415 (only where a log begins)

    try:
        said = tomllib.loads(text()).get("job", {}).get("id", "")
    except (BadInput, ValueError, AttributeError):
        return ""
    return said if isinstance(said, str) else ""


def issuing(place: Place, outgoing: Sequence[Outgoing], by: str = "") -> AbstractContextManager[None]:
    """While the body writes the files of these documents: the book keeps that they were issued, and by whom, if it
    does; of a job that is a file nothing is kept. Raises NotSaved, BadInput, before anything is written where the
    book can tell so soon."""
    at = _at(place)
    return contextlib.nullcontext() if isinstance(at, Path) else at.issuing(outgoing, by)


def file_name(job_id: str) -> str:
    """What a file of a job of the book is called, without an ending: by its id, a letter that not every file's
    name can have as % and its bytes; one that is too long is cut, with a checksum. No two ids have the same."""
    name = "".join(letter if letter.isalnum() or letter in _IN_NAMES else _quoted(letter) for letter in job_id)
    if name.strip(". ") != name:
        name = "".join(_quoted(letter) if letter in ". " else letter for letter in name)
    raw = name.encode(errors="surrogatepass")
    return name if len(raw) <= LONGEST_NAME else f"{raw[:LONGEST_NAME].decode(errors='ignore')}{mark_of(job_id)}"


def mark_of(job_id: str) -> str:
    """What tells a file's name from another where its letters do not."""
    import hashlib  # noqa: PLC0415 (few names need it)

    return f"~{hashlib.sha256(job_id.encode(errors='surrogatepass')).hexdigest()[:12]}"


def _quoted(letter: str) -> str:
    return "".join(f"%{byte:02x}" for byte in letter.encode(errors="surrogatepass"))


def output_path(place: Place, ending: str) -> Path:
    """Where a file made of a job goes unless it is told otherwise: beside its file, for a job of the book into the
    folder at hand; named like the job, but for standard input by the ending alone. ending: -station.csv."""
    at = _at(place)
    if not isinstance(at, Path):
        return Path(file_name(at.id) + ending)
    return Path(ending.lstrip("-")) if is_standard_input(at) else at.with_name(f"{at.stem}{ending}")
