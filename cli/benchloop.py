"""The bench at work: lines of the scale, keys of the machinist and the session brought together. No screen.

Every acceptance goes through accept(), which keeps the id of a reading that did not reach the disk, so that
trying again can never make two of it.
"""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable
from typing import TYPE_CHECKING

from truethrow.balance.errors import TruethrowError
from truethrow.balance.parts import label
from truethrow.balance.readinglog import Record
from truethrow.balance.scalefeed import Event, Profile, Settler, Trouble, read_line
from truethrow.balance.session import Refused, Session, Taken

if TYPE_CHECKING:
    from truethrow.cli.serialport import Port

REFRESH_S = 1.0
MESSAGES = 4


class BenchLoop:
    """One bench. live: what the scale last said; held: a reading that waits for Enter; flags: what looks
    wrong; messages: what happened last, newest at the end; taken: the last reading that is on the disk."""

    def __init__(self, session: Session, profile: Profile, port: Port | None = None) -> None:
        self.session = session
        self.profile = profile
        self.port = port
        self.settler = Settler(profile)
        self.live: Event | None = None
        self.held: Event | None = None
        self.flags: tuple[str, ...] = ()
        self.messages: deque[str] = deque(session.log.notes, MESSAGES)
        self.taken: Taken | None = None
        self._pending: tuple[object, str] | None = None
        self._refreshed_s = time.monotonic()

    def poll(self, wait_s: float = 0.0) -> None:
        """Work through whatever the scale has sent; waits so long for the first of it."""
        if time.monotonic() - self._refreshed_s > REFRESH_S:
            self._refreshed_s = time.monotonic()
            self._guarded(self.session.refreshed)
        if self.port is None:
            if wait_s:
                time.sleep(wait_s)
            return
        item = self.port.get(wait_s)
        while item is not None:
            at_s, said = item
            self._hear(said, at_s)
            item = self.port.get()

    def enter(self, typed: str = "") -> bool:
        """Take what was typed, else what waits for Enter, else what rests on the scale; whether it is saved."""
        if typed:
            return self.accept(typed)
        if self.held is not None:
            return self.accept(self.held.typed)
        if self.live is not None and self.live.stable and self.live.state != "empty":
            self.settler.taken()
            return self.accept(self.live.typed)
        self.say("nothing rests on the scale; type the number, or wait until it is steady")
        return False

    def accept(self, typed: str) -> bool:
        """Take a reading for the step at hand; whether it is on the disk."""
        wanted = (self.session.step, typed)
        if self._pending is None or self._pending[0] != wanted:
            self._pending = (wanted, self.session.log.next_id())
        try:
            self.taken = self.session.take(typed, self._pending[1])
        except Refused as error:
            self._pending = None
            self.say(f"refused: {error}")
            return False
        except TruethrowError as error:
            self.say(f"NOT SAVED: {error}")
            return False
        self._pending = None
        self.held, self.flags = None, self.taken.flags
        return True

    def strike(self, why: str) -> None:
        self._guarded(lambda: self.say(f"struck out: {_named(self.session.strike(why))}"))
        self.taken = None
        self.settler.rearm()

    def again(self) -> None:
        self._guarded(self.session.again)
        self.settler.rearm()

    def skip(self) -> None:
        self._guarded(self.session.skip)

    def back(self) -> None:
        self._guarded(self.session.back)

    def go(self, cylinder: int, kind: str) -> None:
        self._guarded(lambda: self.session.go(cylinder, kind))

    def say(self, text: str) -> None:
        if not self.messages or self.messages[-1] != text:
            self.messages.append(text)

    def _hear(self, said: str | Trouble, at_s: float) -> None:
        heard = said if isinstance(said, Trouble) else read_line(said, self.profile)
        if heard is None:
            return
        if isinstance(heard, Trouble):
            self.say(heard.said)
            return
        self.live = self.settler.feed(heard, at_s)
        if self.live.trouble is not None:
            self.say(self.live.trouble.said)
        if self.live.left:
            self.held = None
        step = self.session.step
        if step is not None and step.kind == "zero":
            if self.profile.auto and self.live.stable and self.live.state == "empty":
                self.accept(self.live.typed)
        elif self.live.take:
            self._offer(self.live)
        elif self.live.stable and self.live.state == "stable":
            self.flags = self.session.suspect(self.live.live_g)

    def _offer(self, event: Event) -> None:
        """A reading that the scale says is ready: taken, with a flag if it looks wrong, so that the loads to come
        stay in step with the list. Only what cannot be this part at all waits for Enter."""
        if self.session.step is None:
            return
        if self.session.is_another_part(event.live_g):
            self.flags = self.session.suspect(event.live_g)
            self.held = event
            self.say(
                "this can't be the part asked for: lift it off and put that one on; Enter takes it all the same"
            )
        elif not self.accept(event.typed):
            self.held = event

    def _guarded(self, work: Callable[[], object]) -> None:
        self.held, self.flags = None, ()
        try:
            work()
        except Refused as error:
            self.say(str(error))
        except TruethrowError as error:
            self.say(f"NOT SAVED: {error}")


def _named(record: Record) -> str:
    return f"cylinder {record.cylinder}, {label(record.kind)}"
