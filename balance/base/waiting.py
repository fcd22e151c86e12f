"""A wait that has an end, and that is told: for what, and until when.

What is waited for is told once it took a second, by whoever has a screen (`telling`)."""

from __future__ import annotations

import contextlib
import time
from collections.abc import Callable, Iterator

QUIET_S = 1.0  # a shorter wait is not worth a line

_tell: Callable[[str], object] | None = None
_told: set[str] = set()


def telling(tell: Callable[[str], object]) -> None:
    """Have waits told from now on, each once. tell: takes the line, in any thread."""
    global _tell  # noqa: PLW0603 (one screen has a process)
    _tell = tell
    _told.clear()


def _say(what: str, longest_s: float | None) -> None:
    if _tell is not None and what not in _told:
        _told.add(what)
        at_most = "" if longest_s is None else f", {longest_s:g} s at most"
        _tell(f"waiting for {what}{at_most} (Ctrl-C ends it)")


class Wait:
    """One wait, from now on. what: for what; longest_s: until when. Ask is_over again and again, with a short
    sleep in between, so that Ctrl-C comes through."""

    def __init__(self, what: str, longest_s: float) -> None:
        self._what, self._longest_s = what, longest_s
        self.again()

    def again(self) -> None:
        """Begin anew: something came."""
        self._since = time.monotonic()

    def is_over(self) -> bool:
        """Whether it took too long by now."""
        gone_s = time.monotonic() - self._since
        if gone_s >= QUIET_S:
            _say(self._what, self._longest_s)
        return gone_s > self._longest_s


@contextlib.contextmanager
def told(what: str, longest_s: float | None = None) -> Iterator[None]:
    """The same of a wait that somebody else does, and ends. longest_s: None where nobody ends it."""
    import threading  # noqa: PLC0415 (few commands wait so)

    timer = threading.Timer(QUIET_S, _say, (what, longest_s))
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()
