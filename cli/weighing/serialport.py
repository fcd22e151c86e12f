"""The scale's cable: a serial port read in the background, line by line, that outlives being pulled out."""

from __future__ import annotations

import contextlib
import errno
import os
import queue
import re
import threading
import time
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import Any
from urllib.parse import urlsplit

from truethrow.balance.base.errors import BadInput, Fault, shown, shown_path
from truethrow.balance.weighing.flood import FloodGuard
from truethrow.balance.weighing.scaleline import (
    LONGEST_LINE,
    Frame,
    ScaleProfile,
    Trouble,
    check_profile,
    read_line,
)

POLL_S = 0.2
RETRY_S = 1.0
HALF_LINE_S = 2.0
MOST_WAITING = 1000
_LOUD_EVERY = 4096
_WHY = {
    errno.ENOENT: "it is not there",
    errno.ENXIO: "it is not there",
    errno.ENODEV: "it is not there",
    errno.EACCES: "this user may not open it",
    errno.EPERM: "this user may not open it",
    errno.EBUSY: "another program uses it",
    errno.EAGAIN: "another program uses it",
}


class _Gone(Exception):
    """The device has gone or does not open. What drivers and the handlers of addresses raise then is not of one
    family (termios.error is no OSError), so whatever comes out of them means this."""

    def __init__(self, error: Exception) -> None:
        super().__init__(str(error))
        self.why = _WHY.get(getattr(error, "errno", None) or 0, "the cable is out or the scale is off")


class Splitter:
    """Bytes into lines, at CR, LF or both; what has no end yet is held back."""

    def __init__(self, profile: ScaleProfile) -> None:
        self._profile = profile
        self._rest = b""
        self._last_s = 0.0
        self._skipping = False
        self._skipped = 0

    def feed(self, data: bytes, now_s: float) -> tuple[list[str], list[Trouble]]:
        """The lines that are complete now, without their ends, and what is wrong with the rest. Call it without
        data too, so that a half line does not wait for ever."""
        if data:
            self._last_s = now_s
        *whole, self._rest = re.split(rb"[\r\n]+", self._rest + data)
        if whole and self._skipping:
            # The tail of a line whose head is given up: well-formed, perhaps, and wrong.
            whole, self._skipping = whole[1:], False
        lines = [line.decode("ascii", "replace") for line in whole if line]
        troubles = self._overlong()
        if self._rest and not self._skipping and now_s - self._last_s > HALF_LINE_S:
            half, self._rest = self._rest.decode("ascii", "replace"), b""
            if isinstance(read_line(half, self._profile), Frame):
                lines.append(half)
            else:
                self._skipping = True
                troubles.append(Trouble("half a line", f"the scale stopped in the middle of {shown(half)!r}"))
        return lines, troubles

    def _overlong(self) -> list[Trouble]:
        """Gives up a line that is too long to be one, and says so again while it goes on."""
        if self._skipping:
            self._skipped, self._rest = self._skipped + len(self._rest), b""
            if self._skipped < _LOUD_EVERY:
                return []
        elif len(self._rest) <= LONGEST_LINE:
            return []
        self._skipping, self._skipped, self._rest = True, 0, b""
        return [Trouble("garbage", "the scale sends bytes without an end of line; check baud and frame")]


class Port:
    """A scale's port, read in a thread of its own from here on until close().

    profile: names the port (a device, or loop://, socket://host:port, rfc2217://host:port).
    Raises BadInput, one line, for a profile that is wrong or a name that can be no port. A port that is
    merely not there is a trouble of the cable: it is tried again every second, for ever. now: the clock [s] by
    which it is told when something came; the reader's thread looks at it after every read."""

    def __init__(self, profile: ScaleProfile, now: Callable[[], float] = time.monotonic) -> None:
        wrong = check_profile(profile) or _senseless(profile.port)
        if wrong:
            raise BadInput([Fault("scale", "; ".join(wrong))])
        self._profile = profile
        self._now = now
        self._serial = _pyserial(profile)
        self._name = shown_path(profile.port)
        self._waiting: queue.Queue[tuple[float, str | Trouble]] = queue.Queue(MOST_WAITING)
        self._stop = threading.Event()
        self._missing = ""
        self._tried = threading.Event()
        self.connected = False
        self._thread = threading.Thread(target=self._run, name="scale", daemon=True)
        self._thread.start()

    def get(self, wait_s: float = 0.0) -> tuple[float, str | Trouble] | None:
        """The oldest line or trouble that waits, and when it came [s]; None after wait_s
        without one."""
        try:
            return self._waiting.get(timeout=wait_s) if wait_s > 0 else self._waiting.get_nowait()
        except queue.Empty:
            return None

    def first_try(self) -> str:
        """Waits until the port was tried once; why it did not open, nothing where it did."""
        self._tried.wait()
        return self._missing

    def close(self) -> None:
        """Ends the reading, within a second; more than once does no harm."""
        self._stop.set()
        self._thread.join(1.0)  # an address that does not answer may hold the thread longer; it ends by itself

    def __enter__(self) -> Port:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _run(self) -> None:
        while not self._stop.is_set():
            try:
                self._open()
                self._listen()
            except _Gone as gone:
                self._lost(gone.why)
            finally:
                self.connected = False
                with contextlib.suppress(OSError):
                    self._serial.close()
            self._stop.wait(RETRY_S)

    def _open(self) -> None:
        try:
            self._serial.open()
        except Exception as error:
            raise _Gone(error) from error
        self.connected = True
        self._tried.set()
        if self._missing:
            self._missing = ""
            self._put(self._now(), Trouble("cable", f"the scale at {self._name} is back"))

    def _read(self) -> bytes:
        """What has come, at most POLL_S after now."""
        try:
            return bytes(self._serial.read(max(1, min(self._serial.in_waiting, 4096))))
        except Exception as error:
            raise _Gone(error) from error

    def _listen(self) -> None:
        splitter, guard = Splitter(self._profile), FloodGuard()
        while not self._stop.is_set():
            data = self._read()
            now_s = self._now()
            lines, troubles = splitter.feed(data, now_s)
            for item in guard.sift(lines, now_s):
                self._put(*item)
            for trouble in troubles:
                self._put(now_s, trouble)

    def _lost(self, why: str) -> None:
        """Says that the port is not there: once, and again when the reason is another."""
        if why != self._missing and not self._stop.is_set():
            self._missing = why
            self._tried.set()
            self._put(self._now(), Trouble("cable", f"no scale at {self._name}: {why}; trying again"))

    def _put(self, at_s: float, item: str | Trouble) -> None:
        while True:
            try:
                return self._waiting.put_nowait((at_s, item))
            except queue.Full:
                # Nobody looks: what is new matters more than what is old.
                with contextlib.suppress(queue.Empty):
                    self._waiting.get_nowait()


def _senseless(name: str) -> list[str]:
    """What makes a name no port's at all, as against that of a port that is not there."""
    if not name.strip():
        return ["no port is named"]
    if "://" in name:
        return _senseless_address(name)
    if os.name != "posix":
        return []
    path = Path(name)
    if not path.is_absolute():
        return [f"{shown(name)!r} is no port; allowed: a device such as /dev/ttyUSB0 (on Windows COM3)"]
    with contextlib.suppress(OSError):
        if path.exists() and not path.is_char_device():
            return [f"{shown(name)!r} is no port but a file or a folder"]
    return []


def _senseless_address(name: str) -> list[str]:
    """What the library would find out only on opening, in words that it shares with a cable that is out."""
    try:
        address = urlsplit(name)
        complete = bool(address.hostname and address.port)
    except ValueError:
        complete = False
    if name.startswith(("socket://", "rfc2217://")) and not complete:
        return [f"{shown(name)!r} is no address; allowed: socket://host:port, rfc2217://host:port"]
    return []


def _pyserial(profile: ScaleProfile) -> Any:
    """The port, not yet open. Raises BadInput without pyserial, or for a kind of address that it does not know."""
    try:
        import serial  # noqa: PLC0415 (a bench without a scale does without it)
    except ImportError:
        raise BadInput([Fault("scale", "a serial port needs pyserial, which is not installed")]) from None
    try:
        return serial.serial_for_url(
            profile.port,
            do_not_open=True,
            baudrate=profile.baud,
            bytesize=int(profile.frame[0]),
            parity=profile.frame[1].upper(),
            stopbits=float(profile.frame[2:]),
            timeout=POLL_S,
            exclusive=True,  # two readers of one port get half of its lines each
        )
    except (ValueError, OSError) as error:
        raise BadInput([Fault("scale", f"{shown(profile.port)!r} is no port: {shown(error)}")]) from None
