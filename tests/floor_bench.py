"""A bench of the floor by itself: what hands do at it, and a scale that says what a test tells it."""

from __future__ import annotations

import queue
import threading
import time
import uuid

from truethrow.cli.floor.bench import Bench, Who
from truethrow.cli.floor.posts import Post
from truethrow.cli.floor.scales import Scales

LONGEST_WAIT_S = 60.0
OWNER = Who("tablet-1", "AB", "bench", "AB")
OTHER = Who("tablet-2", "CD", "bench", "CD")
VIEWER = Who("wall", "EF", "viewer", "EF")


class TalkingScale:
    """A cable whose lines, ten a second by their own times, a test gives it."""

    def __init__(self):
        self.connected = True
        self.closed = False
        self._lines = queue.Queue()
        self._at_s = 0.0

    def send(self, *lines, after_s=0.1):
        self._at_s += after_s - 0.1
        for line in lines:
            self._at_s += 0.1
            self._lines.put((self._at_s, line))

    def get(self, wait_s=0.0):
        try:
            return self._lines.get_nowait()
        except queue.Empty:
            return None

    def close(self):
        self.closed = True


class Hands:
    """A screen at a bench: each thing that it does has an id of its own and names the step that it shows."""

    def __init__(self, bench, who=OWNER):
        self.bench, self.who = bench, who
        self.last = None

    def does(self, action, typed="", **fields):
        state = self.bench.state
        own = {"id": str(uuid.uuid4()), "step": state.step_id, **fields}
        self.last = Post(action=action, typed=typed, **own)
        return self.again()

    def again(self):
        """The same sent once more."""
        return self.bench.ask(self.last, self.who).result(LONGEST_WAIT_S)


def opened(path, scale=None, **options):
    scales = Scales("/dev/scale", lambda profile, job: scale) if scale is not None else Scales()
    return Bench("job", lambda: path, scales, **options)


def looks_on(bench, who=OWNER):
    """A screen that is lit and in front, until its bench is closed; what comes back ends its signs of life."""
    bench.join(who)
    bench.alive(who, bench.state.step_id)
    sleeps = threading.Event()

    def signs():
        while bench.is_alive and not sleeps.wait(0.2):
            bench.alive(who, bench.state.step_id)

    threading.Thread(target=signs, daemon=True).start()
    return sleeps.set


def until(is_so):
    end_s = time.monotonic() + LONGEST_WAIT_S
    while not (found := is_so()):
        assert time.monotonic() < end_s, "it never comes"
        time.sleep(0.01)
    return found
