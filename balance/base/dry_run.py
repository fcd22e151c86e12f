"""A dry run: all is worked out and told as if it were recorded, and nothing is. Whoever writes asks here: the log
keeps its appends in memory, a file is not written, a transaction of the book is taken back."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator


class _Run:
    is_on = False
    at_the_end: contextlib.ExitStack
    records: list[str]
    files: dict[str, bytes]


_run = _Run()


@contextlib.contextmanager
def running() -> Iterator[None]:
    """While this lasts nothing is recorded or written by this process."""
    with contextlib.ExitStack() as _run.at_the_end:
        _run.is_on, _run.records, _run.files = True, [], {}
        try:
            yield
        finally:
            _run.is_on = False


def is_on() -> bool:
    return _run.is_on


def at_the_end(take_back: Callable[[], object]) -> None:
    """What is to be done once the run is over."""
    _run.at_the_end.callback(take_back)


def kept(record_id: str) -> None:
    """A record was kept in memory alone."""
    _run.records.append(record_id)


def not_written(path: str, content: bytes) -> None:
    """A file was not written, if this is a dry run: what would be in it."""
    if _run.is_on:
        _run.files[path] = content


def content(path: str) -> bytes | None:
    """What would be in a file; None for one that would not be written."""
    return _run.files.get(path) if _run.is_on else None


def records() -> tuple[str, ...]:
    """The ids of the records that would be in the log, in their order."""
    return tuple(dict.fromkeys(_run.records))


def files() -> tuple[str, ...]:
    """The files that would be written."""
    return tuple(_run.files)
