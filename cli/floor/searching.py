"""A matching that is looked for in a process of its own: it takes all of a processor for minutes, and no screen
may wait for it. What is found is proposed in the job's log, as `match` does it.

The process is told to stop on its standard input, and then proposes the best so far, as after Ctrl-C; where that
input ends because the floor is gone, it ends and proposes nothing."""

from __future__ import annotations

import _thread
import contextlib
import json
import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from truethrow.balance.base.errors import TruethrowError
from truethrow.balance.log.place import JobInBook, Snapshot
from truethrow.worksheets.words import build_words as words

if TYPE_CHECKING:
    from truethrow.worksheets.pages.floor.build_state import Search as Shown

SECONDS = 300.0
TELL_S = 0.3
STOP = "stop"
_CHILD = "from truethrow.cli.floor.searching import search; search()"


class Search:
    """One search, from its start to its end. changed: called when there is something new to be seen."""

    def __init__(self, place: Path | JobInBook, by: str, changed: Callable[[], None]) -> None:
        self._changed = changed
        self._said, self._percent = "", 0
        self.is_running = True
        self.ended: tuple[str, ...] = ()  # how, a sentence each; nothing where what it proposed says all
        self._process = subprocess.Popen(
            [sys.executable, "-c", _CHILD, *named(place), by],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            encoding="utf-8",
            start_new_session=True,  # Ctrl-C in the floor's terminal is not meant for it
        )
        self._thread = threading.Thread(target=self._listen, name="search", daemon=True)
        self._thread.start()

    @property
    def shown(self) -> Shown:
        from truethrow.worksheets.pages.floor.build_state import Search as Shown  # noqa: PLC0415

        return Shown(self._said, self._percent)

    def stop(self) -> None:
        """Have it end with the best so far."""
        self._tell(f"{STOP}\n")

    def close(self) -> None:
        """End it, with nothing proposed."""
        with contextlib.suppress(OSError, ValueError):
            assert self._process.stdin
            self._process.stdin.close()
        with contextlib.suppress(subprocess.TimeoutExpired):
            self._process.wait(2.0)
        self._process.kill()
        self._process.wait()
        self._thread.join(2.0)
        assert self._process.stdout
        self._process.stdout.close()

    def _tell(self, text: str) -> None:
        with contextlib.suppress(OSError, ValueError):  # it has just ended
            assert self._process.stdin
            self._process.stdin.write(text)
            self._process.stdin.flush()

    def _listen(self) -> None:
        assert self._process.stdout
        ended: list[str] = [words.SEARCH_FAILED]
        for line in self._process.stdout:
            told = json.loads(line)
            if "ended" in told:
                ended = told["ended"]
            else:
                self._said, self._percent = told["said"], told["percent"]
                self._changed()
        self._process.wait()
        self.ended, self.is_running = tuple(ended), False
        self._changed()


def named(place: Path | JobInBook) -> tuple[str, str]:
    """The job, and the book that it is in, empty for a file."""
    if isinstance(place, Path):
        return str(place), ""
    from truethrow.balance.book.booked import BookedJob  # noqa: PLC0415

    assert isinstance(place, BookedJob)
    return place.id, place.book.address.url.render_as_string(hide_password=False)  # it has none


# What the other process does


_BEGUN = threading.Event()


def search() -> None:
    """Look for a matching of the job that is named on the command line, tell how far it is on standard output, a
    line each, and propose it."""
    job, book, by = sys.argv[1:4]
    threading.Thread(target=_obey, daemon=True).start()
    try:
        ended = _found(placed(job, book), by)
    except TruethrowError as error:
        ended = str(error).splitlines()
    except KeyboardInterrupt:  # before there was anything
        ended = [words.SEARCH_FAILED]
    _say(ended=ended)


def _obey() -> None:
    if sys.stdin.readline().strip() != STOP:
        os._exit(1)
    _BEGUN.wait()  # before that there is nothing that could be proposed
    _thread.interrupt_main()


def placed(job: str, book: str) -> Snapshot:
    if not book:
        return Snapshot(Path(job))
    from truethrow.balance.book.booked import BookedJob  # noqa: PLC0415
    from truethrow.balance.book.open import open_book  # noqa: PLC0415

    return Snapshot(BookedJob(open_book(book, create=False), job))


def _found(place: Snapshot, by: str) -> list[str]:
    """How it ended, a sentence each."""
    from truethrow.balance.matching.match import match  # noqa: PLC0415
    from truethrow.cli.builder.match_command import how_far, proposed  # noqa: PLC0415
    from truethrow.cli.common import worked  # noqa: PLC0415
    from truethrow.worksheets.words import matching_words  # noqa: PLC0415

    told_s = 0.0

    def tell(aim: str, value: float, bound: float) -> None:
        nonlocal told_s
        _BEGUN.set()
        said, part = how_far(aim, value, bound)
        if (now_s := time.monotonic()) - told_s >= TELL_S:
            told_s = now_s
            _say(said=said, percent=int(100 * part))

    result = worked(place, None)
    found = match(result, SECONDS, tell)
    proposed(place, found, by)
    return matching_words.outcome(found)


def _say(**told: Any) -> None:
    sys.stdout.write(json.dumps(told) + "\n")
    sys.stdout.flush()
