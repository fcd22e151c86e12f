"""Where a job is: a file with its log beside it, or in the book.

All of the domain reaches a job's text and its log through here, and only here the two are told apart: a file is a
plain Path (``-`` is standard input, which has no log), a job in the book whatever keeps JobInBook's word.
"""

from __future__ import annotations

import contextlib
import shlex
from collections.abc import Iterator, Sequence
from contextlib import AbstractContextManager
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, Protocol, TypeAlias

from truethrow.balance.base import files
from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput, Fault, shown_path

if TYPE_CHECKING:
    from truethrow.balance.log.log import Log

STANDARD_INPUT = Path("-")
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


Place: TypeAlias = Path | JobInBook


def source_of(place: Place) -> str:
    """What faults and messages call a job."""
    return str(place) if isinstance(place, Path) else f"job {place.id}"


def again(place: Place) -> str:
    """How a job is told to the next command."""
    return str(place) if isinstance(place, Path) else place.id


def to_paste(place: Place | None) -> str:
    """A job as the next command is to have it, ready to paste; JOB for one that no command can be told again."""
    return "JOB" if place is None or place == STANDARD_INPUT else shlex.quote(shown_path(again(place)))


def text_of(place: Place) -> str:
    """A job's text. Raises BadInput where it cannot be read."""
    return files.read_text(place) if isinstance(place, Path) else place.text()


def write_text(place: Place, text: str, expected: str, by: str = "") -> None:
    """Put another text in the place of the one expected, which has plain line ends like it; the job keeps its own.
    by: whose it is, which the book keeps. Raises NotSaved where the job was changed meanwhile, or cannot be
    written; it then stands as it was."""
    if isinstance(place, Path):
        files.write_text(place, text.replace("\n", files.line_end(place)), expected=expected)
    else:
        place.write_text(text, expected, by)


@contextlib.contextmanager
def locked(place: Place) -> Iterator[None]:
    """Hold a job against other stations from reading it to writing it anew. In the book only write_text's own
    comparison stands guard, and tells what changed: nothing is locked while somebody thinks. Raises NotSaved,
    BadInput."""
    with files.locked(place) if isinstance(place, Path) else contextlib.nullcontext():
        yield


def must_have_a_log(place: Place) -> None:
    """Raise BadInput for a job that has no place for a log: standard input, or a file that is not there."""
    if not isinstance(place, Path):
        return
    if place == STANDARD_INPUT:
        raise BadInput([Fault("JOB", "standard input has no log beside it", "a file")])
    if not place.exists():
        raise BadInput([Fault("", "no such file")], str(place))


def has_log(place: Place) -> bool:
    """Whether a job has a log that can be opened, be it empty."""
    if not isinstance(place, Path):
        return True
    with contextlib.suppress(OSError):  # a name that is too long with the log's ending has no log
        return place != STANDARD_INPUT and log_path(place).exists()
    return False


def log_name(place: Place) -> str:
    """What faults and messages call a job's log, be it there or not."""
    return str(log_path(place)) if isinstance(place, Path) else f"the log of {source_of(place)}"


def open_log(place: Place, bench: str = "bench", by: str = "", *, damaged: bool = False) -> Log:
    """A job's log; where it has none yet, an empty one, which the first append makes. Raises BadInput; also for
    damage of which nobody said what became of it, unless the caller is the one who tells it (damaged)."""
    log: Log
    if not isinstance(place, Path):
        log = place.open_log(bench, by)
    else:
        from truethrow.balance.log.readinglog import ReadingLog  # noqa: PLC0415 (few jobs have a log)

        log = ReadingLog(log_path(place), bench, by)
    log.job = again(place)
    if log.is_damaged and not damaged:
        log.must_be_settled()
    return log


def issuing(place: Place, outgoing: Sequence[Outgoing], by: str = "") -> AbstractContextManager[None]:
    """While the body writes the files of these documents: the book keeps that they were issued, and by whom, if it
    does; of a job that is a file nothing is kept. Raises NotSaved, BadInput, before anything is written where the
    book can tell so soon."""
    return contextlib.nullcontext() if isinstance(place, Path) else place.issuing(outgoing, by)


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
    if not isinstance(place, Path):
        return Path(file_name(place.id) + ending)
    return Path(ending.lstrip("-")) if place == STANDARD_INPUT else place.with_name(f"{place.stem}{ending}")
