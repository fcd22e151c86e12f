"""Ctrl-C from outside while a command works, once its bar on the terminal says that it has come so far."""

from __future__ import annotations

import os
import pty
import re
import select
import signal
import subprocess
import threading
import time
from pathlib import Path
from typing import NamedTuple

LONGEST_WAIT_S = 300.0  # only so that a command that says nothing does not hang the tests


class Interrupted(NamedTuple):
    """How it ended: its exit status, its standard output, and what the terminal had shown."""

    status: int
    out: str
    shown: re.Match[str]


def once_it_shows(command: list[str], folder: Path, wanted: str) -> Interrupted:
    """Interrupt a command when its standard error, a terminal, shows what matches a regular expression."""
    main_end, terminal = pty.openpty()
    environment = os.environ | {"TERM": "xterm", "COLUMNS": "120"}
    with subprocess.Popen(
        command,
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=terminal,
        text=True,
        env=environment,
        # Tests that run in the background of a shell inherit that Ctrl-C is ignored.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # noqa: PLW1509
    ) as process:
        os.close(terminal)
        try:
            shown = _until(main_end, wanted)
            process.send_signal(signal.SIGINT)
            # A terminal that nobody reads fills up, and then who writes to it waits.
            threading.Thread(target=_drain, args=(main_end,), daemon=True).start()
            out, _ = process.communicate(timeout=LONGEST_WAIT_S)
        finally:
            process.kill()
    return Interrupted(process.returncode, out, shown)


def _until(handle: int, wanted: str) -> re.Match[str]:
    seen, end_s = "", time.monotonic() + LONGEST_WAIT_S
    while time.monotonic() < end_s:
        if select.select([handle], [], [], 1.0)[0]:
            seen += os.read(handle, 65536).decode(errors="replace")
            plain = re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", seen)
            if found := re.search(wanted, plain):
                return found
    raise AssertionError(f"{wanted!r} was never shown: {seen[-2000:]!r}")


def _drain(handle: int) -> None:
    try:
        while os.read(handle, 65536):
            pass
    except OSError:  # how Linux says that the other end is closed
        pass
    os.close(handle)
