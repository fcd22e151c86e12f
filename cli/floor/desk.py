"""A page of one job that is worked out whole, from the job's place, after whatever is recorded in it; and what
hands do there, one thing at a time.

A bench follows a scale and has a thread that never rests (bench.py); a desk only reads what is recorded, so that
it rests until something is."""

from __future__ import annotations

import threading
import time
from collections import Counter
from collections.abc import Callable
from typing import NamedTuple, Protocol

from truethrow.balance.base.errors import NotSaved, TruethrowError
from truethrow.cli.floor.bench import AWAY_S, Who
from truethrow.cli.floor.by_hand import lines_of
from truethrow.cli.floor.channel import Channel, Event, event
from truethrow.cli.floor.posts import Post, keep
from truethrow.worksheets.pages.floor.state import Done

# So often it is looked at what no record tells.
LOOK_S = 1.0


class Shown(NamedTuple):
    """A page's middle by now. head: the number of the log's last record; hands, eyes: as HTML, for those who may
    do something here, and for those who may only look."""

    head: int
    hands: str
    eyes: str


class Work(Protocol):
    """What a desk is for. Its methods are called one at a time."""

    def shown(self) -> Shown:
        """The page by now, whatever is wrong with the job."""

    def do(self, post: Post, who: Who) -> Done:
        """What came of what a hand did. Raises TruethrowError as the command line does."""

    def stamp(self) -> str:
        """What is another text once something has changed that is neither the job's text nor its log."""

    @property
    def is_busy(self) -> bool:
        """Whether something is under way that nobody has to look at."""

    def close(self) -> None: ...


class Desk:
    """A job's desk, from now on to close(). make: takes what is to be called when the page changes by itself."""

    def __init__(self, name: str, make: Callable[[Callable[[], None]], Work]) -> None:
        self.name = name
        self.channel = Channel()
        self._streams: Counter[str] = Counter()
        self._left_s = -AWAY_S
        self._answers: dict[str, Done] = {}
        self._lock = threading.Lock()
        self._wake, self._stop = threading.Event(), threading.Event()
        self.work = make(self.look)
        self.shown, self._stamp = self.work.shown(), self.work.stamp()
        self._thread = threading.Thread(target=self._run, name=f"desk {name}", daemon=True)
        self._thread.start()

    @property
    def is_alive(self) -> bool:
        return self._thread.is_alive()

    @property
    def is_watched(self) -> bool:
        """Whether any screen is here, or was until a moment ago, or something is under way."""
        is_here = self._streams.total() > 0 or time.monotonic() - self._left_s < AWAY_S
        return is_here or self.work.is_busy

    def join(self, who: Who) -> None:
        self._streams[who.device] += 1

    def leave(self, who: Who) -> None:
        self._streams[who.device] -= 1
        self._left_s = time.monotonic()

    def look(self) -> None:
        """Something has changed."""
        self._wake.set()

    def close(self) -> None:
        self._stop.set()
        self._wake.set()
        self._thread.join(5.0)
        self.work.close()

    def ask(self, post: Post, who: Who) -> Done:
        """Have done what a hand did, and the page worked out anew: the same answer for the same id. A refusal is
        an answer, in the words of the command line. Raises NotSaved for what did not reach the disk."""
        with self._lock:
            if (before := self._answers.get(post.id)) is not None:
                return before
            try:
                done = self.work.do(post, who)
            except NotSaved:
                self._tell()
                raise
            except TruethrowError as error:
                done = Done(False, "\n".join(lines_of(error)))
            self._tell()
            if done.question is None:
                keep(self._answers, post.id, done)
            return done

    def _run(self) -> None:
        while not self._stop.is_set():
            is_woken = self._wake.wait(LOOK_S)
            self._wake.clear()
            with self._lock:
                if is_woken or self.work.stamp() != self._stamp:
                    self._tell()

    def _tell(self) -> None:
        """Work the page out, and tell all screens if it has changed."""
        if self._stop.is_set():
            return
        self._stamp = self.work.stamp()
        shown = self.work.shown()
        if shown != self.shown:
            self.shown = shown
            self.channel.say(shown_event(shown))


def shown_event(shown: Shown) -> Event:
    """A page as it goes to all screens: to each what it may see."""
    hands, eyes = (event("state", {"main": html}, shown.head) for html in (shown.hands, shown.eyes))
    return Event("state", hands, to_eyes=eyes)
