"""A simulated scale on a pseudo-terminal, with a person who puts loads on it and lifts them off.

`Pan` writes the script, line by line, with the time of each and no clock: feed it straight into a Settler.
`SimulatedScale` plays the script on a pseudo-terminal, in step with who reads it; as a program of its own it
prints the port and plays it by the clock on the wall:

    python tests/simulated_scale.py --speed 5 538.4 171.2 452.3
"""

from __future__ import annotations

import argparse
import contextlib
import fcntl
import math
import os
import random
import struct
import sys
import tempfile
import termios
import threading
import time
import tty
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

if TYPE_CHECKING:
    from truethrow.cli.weighing.serialport import Port

Fault = Literal["garbage", "half", "flood", "unit", "overload", "negative", "cable"]
LONGEST_HOLD_S = 120.0
LONGEST_WAIT_S = 300.0  # only so that what never comes does not hang the tests


def _decimals(step: float) -> int:
    return max(0, -math.floor(math.log10(step) + 1e-9))


# Each style: (grams, step, moving) → a line without its end.
STYLES: dict[str, Callable[[float, float, bool], str]] = {
    "plain": lambda g, d, _: f"{g:.{_decimals(d)}f} g",
    "bare": lambda g, d, _: f"{g:.{_decimals(d)}f}",
    "padded": lambda g, d, _: f"{'-' if g < 0 else '+'}{abs(g):9.{_decimals(d)}f}  g",
    "leading": lambda g, d, moving: f"{'US' if moving else 'ST'},{g:+09.{_decimals(d)}f} g",
    "trailing": lambda g, d, moving: f"{g:9.{_decimals(d)}f} g {'U' if moving else 'S'}",
    "words": lambda g, d, moving: f"{g:.{_decimals(d)}f} g {'unstable' if moving else 'stable'}",
    "query": lambda g, d, moving: f"{'?' if moving else ' '} {g:.{_decimals(d)}f} g",
    "comma": lambda g, d, _: f"{g:.{_decimals(d)}f} G".replace(".", ","),
    "kilograms": lambda g, d, _: f"{g / 1000:.{_decimals(d / 1000)}f} kg",
}


class Step(NamedTuple):
    """At this time [s] these bytes leave the scale, or its cable is pulled out or put back."""

    at_s: float
    data: bytes = b""
    cable: Literal["", "out", "in"] = ""


class Pan:
    """The script of one weighing session.

    loads: in grams, one after the other. hold_s: a load stays until the display has rested for so long (within
    one step). drift_g: how far zero wanders with each load. bounce: a load swings before it rests. faults: by the
    load's index, from 0, what goes wrong while it is on the pan (negative: before it). lifted: when given, the
    load stays until this says so, as by a person who waits for the beep, but at least hold_s. again: asked when a
    load was lifted, whether it is put on once more."""

    def __init__(
        self,
        loads: Sequence[float],
        *,
        lines_per_s: float = 10,
        step: float = 0.1,
        seed: int = 0,
        drift_g: float = 0.0,
        bounce: bool = True,
        noise: bool = True,
        hold_s: float = 1.2,
        empty_s: float = 0.6,
        style: str = "plain",
        end: bytes = b"\r\n",
        faults: Mapping[int, Sequence[Fault]] | None = None,
        lifted: Callable[[], bool] | None = None,
        again: Callable[[], bool] = lambda: False,
    ) -> None:
        self._loads, self._lines_per_s, self._step = loads, lines_per_s, step
        self._random = random.Random(seed)
        self._drift_g, self._bounce, self._noise = drift_g, bounce, noise
        self._hold_s, self._empty_s = hold_s, empty_s
        self._style, self._end = STYLES[style], end
        self._faults = faults or {}
        self._lifted, self._again = lifted, again
        self._at_s = self._zero_g = 0.0

    def script(self) -> Iterator[Step]:
        self._at_s = self._zero_g = 0.0
        yield from self._rest_empty()
        for index, load in enumerate(self._loads):
            faults = self._faults.get(index, ())
            if "negative" in faults:
                yield from self._negative()
            yield from self._weigh(load, faults)
            while self._again():
                yield from self._weigh(load, ())

    def _weigh(self, load: float, faults: Sequence[Fault]) -> Iterator[Step]:
        yield from self._put_on(load)
        yield from self._hold(load, faults)
        yield from self._lift(load)
        self._zero_g += self._drift_g
        yield from self._rest_empty()

    def _line(self, grams: float, *, moving: bool = False) -> Step:
        shown_g = round(round((grams + self._zero_g) / self._step) * self._step, 9)
        return self._send(self._style(shown_g, self._step, moving).encode() + self._end)

    def _send(self, data: bytes, seconds: float | None = None) -> Step:
        self._at_s += 1 / self._lines_per_s if seconds is None else seconds
        return Step(self._at_s, data)

    def _flutter(self) -> float:
        """A step up or down, now and then."""
        return self._random.choice((-1, 1)) * self._step if self._noise and self._random.random() < 0.1 else 0.0

    def _rest_empty(self) -> Iterator[Step]:
        for _ in range(max(2, round(self._empty_s * self._lines_per_s))):
            yield self._line(self._flutter())

    def _negative(self) -> Iterator[Step]:
        """Somebody tared with a tool on the pan and took the tool away; then tares again, to a minus zero."""
        for _ in range(max(4, round(self._lines_per_s))):
            yield self._line(-37.0)
        yield self._send(self._style(0.0, self._step, False).replace("0", "-0", 1).encode() + self._end)
        yield from self._rest_empty()

    def _put_on(self, load: float) -> Iterator[Step]:
        yield self._line(load * self._random.uniform(0.1, 0.9), moving=True)
        if not self._bounce:
            return
        started_s, swing = self._at_s, load * self._random.uniform(-0.5, 0.3)
        settling_s, turns_per_s = self._random.uniform(0.05, 0.1), self._random.uniform(2, 5)
        while True:
            t = self._at_s - started_s
            left = swing * math.exp(-t / settling_s)
            if abs(left) < self._step / 2:
                return
            yield self._line(load + left * math.cos(math.tau * turns_per_s * t), moving=True)

    def _hold(self, load: float, faults: Sequence[Fault]) -> Iterator[Step]:
        restless_s = self._random.choice((0.0, 0.0, 0.5, 1.0))
        started_s = rested_s = self._at_s
        spread: list[float] = []
        waiting = [fault for fault in faults if fault != "negative"]
        while True:
            held_s, noise = self._at_s - started_s, 0.0
            if held_s < restless_s:
                noise = self._flutter()
            if waiting and held_s >= 0.6 * self._hold_s:
                yield from self._go_wrong(waiting.pop(0), load)
                continue
            yield self._line(load + noise)
            spread.append(noise)
            if max(spread) - min(spread) > 1.5 * self._step:
                spread, rested_s = [noise], self._at_s
            if waiting or self._at_s - rested_s < self._hold_s:
                continue
            if self._lifted is None or self._lifted() or held_s > LONGEST_HOLD_S:
                return

    def _lift(self, load: float) -> Iterator[Step]:
        yield self._line(load * self._random.uniform(0.3, 0.8), moving=True)
        if self._bounce:
            yield self._line(-min(5.0, 0.05 * load), moving=True)

    def _go_wrong(self, fault: Fault, load: float) -> Iterator[Step]:
        shown = self._style(load, self._step, False).encode()
        match fault:
            case "garbage":
                yield self._send(bytes(self._random.choice((0, 7, 200, 255, 65)) for _ in range(12)) + self._end)
            case "half":  # the tail of a line is lost, then the head of one
                yield self._send(shown[: len(shown) // 2] + self._end)
                yield self._send(shown[len(shown) // 2 :] + self._end)
            case "unit":
                yield self._send(f"{load:.0f} pcs".encode() + self._end)
            case "overload":
                yield self._send(b"  OL  g" + self._end)
            case "flood":
                for _ in range(400):
                    yield self._send(shown + self._end, 0.0005)
            case "cable":
                yield Step(self._at_s, cable="out")
                self._at_s += 1.0
                yield Step(self._at_s, cable="in")


class SimulatedScale:
    """A Pan on a pseudo-terminal, with a clock of its own, `now`, for whoever reads it: what is sent next, and
    with it the clock, waits until the other end has taken up all that came before. `port` is a link that outlives
    the cable being pulled; `wait_for_lift`: each load stays until lift() is called. pan: what else a Pan takes."""

    def __init__(self, loads: Sequence[float], *, wait_for_lift: bool = False, **pan: Any) -> None:
        self._lift = self._again = False
        self._pan = Pan(loads, lifted=self._lifted if wait_for_lift else None, again=self._once_more, **pan)
        self._folder = tempfile.TemporaryDirectory(prefix="scale-")
        self.port = str(Path(self._folder.name) / "scale")
        self._master = self._slave = -1
        self._at_s = 0.0
        self._looked = 0
        self._look = threading.Condition()
        self.lost_bytes = 0
        self.plug_in()

    def __enter__(self) -> SimulatedScale:
        return self

    def __exit__(self, *_: object) -> None:
        self.pull_out()
        self._folder.cleanup()

    def now(self) -> float:
        """The scale's time [s]."""
        with self._look:
            self._looked += 1
            self._look.notify_all()
            return self._at_s

    def lift(self, *, again: bool = False) -> None:
        """The person has heard the beep; or is to lift the load off and put it on again."""
        self._lift, self._again = True, again

    def pull_out(self) -> None:
        for end in (self._master, self._slave):
            with contextlib.suppress(OSError):
                os.close(end)
        self._master = self._slave = -1
        Path(self.port).unlink(missing_ok=True)

    def plug_in(self) -> None:
        self._master, self._slave = os.openpty()
        tty.setraw(self._slave)  # otherwise what the scale sends is echoed and its line ends are changed
        os.set_blocking(self._master, False)
        Path(self.port).symlink_to(os.ttyname(self._slave))

    def write(self, data: bytes) -> None:
        """Bytes from outside the script. As on a real line, what nobody reads in time is lost."""
        try:
            self.lost_bytes += len(data) - os.write(self._master, data)
        except BlockingIOError:
            self.lost_bytes += len(data)

    def send(self, data: bytes, at_s: float) -> None:
        """Bytes at a time, taken up by a Port that tells the time by now()."""
        with self._look:
            self._at_s = at_s
        self.write(data)
        until(lambda: not struct.unpack("i", fcntl.ioctl(self._slave, termios.FIONREAD, bytes(4)))[0])
        with self._look:
            # The first look may belong to the read that took up the last bytes, the second only to one after it.
            seen = self._looked + 2
            assert self._look.wait_for(lambda: self._looked >= seen, LONGEST_WAIT_S), "nobody reads the scale"

    def played(self, port: Port) -> Iterator[None]:
        """The script, step by step, each once the port has taken it up. The load lies until a cable that was
        pulled out is back."""
        until(lambda: port.connected)
        for step in self._pan.script():
            if step.cable == "out":
                self.pull_out()
                until(lambda: not port.connected)
            elif step.cable == "in":
                self.plug_in()
                until(lambda: port.connected)
            else:
                self.send(step.data, step.at_s)
            yield

    def play(self, speed: float) -> None:
        """The script by the clock on the wall."""
        began_s = time.monotonic()
        for step in self._pan.script():
            time.sleep(max(0.0, began_s + step.at_s / speed - time.monotonic()))
            if step.cable == "out":
                self.pull_out()
            elif step.cable == "in":
                self.plug_in()
            else:
                self.write(step.data)

    def _lifted(self) -> bool:
        lifted, self._lift = self._lift, False
        return lifted

    def _once_more(self) -> bool:
        again, self._again = self._again, False
        return again


def until(is_so: Callable[[], bool]) -> None:
    """Wait for something that another thread or the system does."""
    end_s = time.monotonic() + LONGEST_WAIT_S
    while not is_so():
        assert time.monotonic() < end_s, "it never was so"
        time.sleep(0.0005)


def main() -> None:
    asked = argparse.ArgumentParser(description="A simulated scale; prints its port and weighs the loads.")
    asked.add_argument("loads", nargs="+", type=float, metavar="GRAMS")
    asked.add_argument("--speed", type=float, default=1.0)
    asked.add_argument("--style", choices=sorted(STYLES), default="plain")
    asked.add_argument("--seed", type=int, default=0)
    asked.add_argument("--hold", type=float, default=1.2, metavar="S")
    asked.add_argument("--delay", type=float, default=2.0, metavar="S", help="before the first line")
    given = asked.parse_args()
    with SimulatedScale(given.loads, style=given.style, seed=given.seed, hold_s=given.hold) as scale:
        sys.stdout.write(scale.port + "\n")
        sys.stdout.flush()
        time.sleep(given.delay)
        scale.play(given.speed)
        time.sleep(1.0)


if __name__ == "__main__":
    main()
