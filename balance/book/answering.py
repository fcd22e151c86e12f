"""A connection to a server that is not waited for without end.

A server that froze, or a line that died in silence, keeps its end of the connection open: TCP sees nothing wrong,
and who waits for an answer waits for ever. Here a connection that was silent for too long is given up."""

from __future__ import annotations

import time
from typing import Any

import psycopg
from psycopg.abc import PQGen

from truethrow.balance.base.waiting import Wait, told

# More than what a lock is waited for (connection.py), which is silence, too; with all else within ten seconds.
LONGEST_SILENCE_S = 9.0
_SERVER = "the book's server to answer"


# So long after it said nothing a server is not called anew: each call would be waited for as long again.
_LEFT_ALONE_S = 5.0
_silent_at = -_LEFT_ALONE_S


class NoAnswer(psycopg.OperationalError):
    """The server said nothing for too long; whether it did what it was asked is not known."""

    def __init__(self) -> None:
        super().__init__(f"the server said nothing for {LONGEST_SILENCE_S:g} s")


class Answering(psycopg.Connection[Any]):
    """Raises NoAnswer once the server was silent for too long; what goes on and on is not silent."""

    def wait(self, gen: PQGen[Any], *given: Any, **more: Any) -> Any:
        global _silent_at  # noqa: PLW0603 (of the one server that a process works with)
        try:
            return super().wait(_heard(gen), *given, **more)
        except NoAnswer:
            _silent_at = time.monotonic()
            self.pgconn.finish()  # also for whoever would roll back: a word more would wait as long again
            raise


def connect(*given: Any, **more: Any) -> Answering:
    """A connection to a server. Raises NoAnswer for one that just now said nothing."""
    if time.monotonic() - _silent_at < _LEFT_ALONE_S:
        raise NoAnswer
    with told(_SERVER, LONGEST_SILENCE_S):
        return Answering.connect(*given, **more)


def _heard(gen: PQGen[Any]) -> PQGen[Any]:
    """The same steps, and a look at how long ago the last one was. psycopg asks ten times a second."""
    try:
        waits_for = next(gen)
        wait = Wait(_SERVER, LONGEST_SILENCE_S)
        while True:
            ready = yield waits_for
            if ready:
                wait.again()
            elif wait.is_over():
                raise NoAnswer
            waits_for = gen.send(ready)
    except StopIteration as ended:
        return ended.value
