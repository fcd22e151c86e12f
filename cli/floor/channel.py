"""What is said to all screens that listen, from any thread, in order. A screen that does not keep up is let go: it
comes back by itself and catches up, so that nobody waits for it."""

from __future__ import annotations

import asyncio
import json
import threading
from collections.abc import AsyncIterator
from typing import Any, NamedTuple

MOST_WAITING = 400
BEAT_S = 1.0


class Event(NamedTuple):
    """kind: its name; text: as it goes over the line; number: of the record that it brings, 0 for none; to_eyes:
    what those are told instead who may only look, empty where it is the same."""

    kind: str
    text: bytes
    number: int = 0
    to_eyes: bytes = b""


def event(kind: str, data: Any, number: int | None = None) -> bytes:
    """An event as a browser reads it. number: its id, by which a screen that was away says how far it had come."""
    head = f"id: {number}\n" if number is not None else ""
    return f"event: {kind}\n{head}data: {json.dumps(data, separators=(',', ':'))}\n\n".encode()


BEAT = event("beat", {})
RETRY = b"retry: 500\n\n"


class Channel:
    """One subject, such as the board, or a bench."""

    def __init__(self) -> None:
        self._loop: asyncio.AbstractEventLoop | None = None
        self._lock = threading.Lock()
        self._listeners: set[asyncio.Queue[Event | None]] = set()

    def say(self, *events: Event) -> None:
        with self._lock:
            if not self._listeners or self._loop is None or self._loop.is_closed():
                return
        self._loop.call_soon_threadsafe(self._deliver, events)

    def _deliver(self, events: tuple[Event, ...]) -> None:
        for listener in list(self._listeners):
            for one in events:
                if listener.qsize() >= MOST_WAITING:
                    self.leave(listener)
                    listener.put_nowait(None)
                    break
                listener.put_nowait(one)

    def join(self) -> asyncio.Queue[Event | None]:
        """What is said from now on; None at the end. In the loop that it is heard in."""
        self._loop = asyncio.get_running_loop()
        listener: asyncio.Queue[Event | None] = asyncio.Queue()
        with self._lock:
            self._listeners.add(listener)
        return listener

    def leave(self, listener: asyncio.Queue[Event | None]) -> None:
        with self._lock:
            self._listeners.discard(listener)

    @property
    def count(self) -> int:
        """How many listen."""
        return len(self._listeners)

    def end(self) -> None:
        """The same as close, from any thread."""
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self.close)

    def close(self) -> None:
        """Ends all streams. In the loop's own thread."""
        for listener in list(self._listeners):
            self.leave(listener)
            listener.put_nowait(None)


async def said(listener: asyncio.Queue[Event | None]) -> AsyncIterator[Event]:
    """What a listener hears, and a beat each second, by which a screen knows that its line is there."""
    loop = asyncio.get_running_loop()
    due_s = loop.time()
    while True:
        if (now_s := loop.time()) >= due_s:
            due_s = now_s + BEAT_S
            yield Event("beat", BEAT)
        try:
            one = listener.get_nowait()
        except asyncio.QueueEmpty:
            try:
                one = await asyncio.wait_for(listener.get(), due_s - now_s)
            except TimeoutError:
                continue
        if one is None:
            return
        yield one
