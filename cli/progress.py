"""What a command that takes its time shows on standard error: how far it is."""

from __future__ import annotations

import sys
import time
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.progress import Progress

QUIET_S = 1.0  # a shorter wait needs no bar


class Bar:
    """A bar on a terminal, once a second is over; nothing anywhere else. Rich is loaded only where it is shown.

    in_time: whether the part that is done is one of the time, so that percent and what is left to wait can stand
    beside it; else the time that is gone."""

    def __init__(self, *, in_time: bool = True) -> None:
        self._in_time, self._start = in_time, time.monotonic()
        self._shown: Progress | None = None

    def __enter__(self) -> Bar:
        return self

    def __exit__(self, *_: object) -> None:
        if self._shown is not None:
            self._shown.stop()

    def show(self, said: str, part: float | None = None) -> None:
        """What stands before the bar, and the part of it that is full (0 to 1); without one it runs to and fro."""
        if self._shown is None:
            if time.monotonic() - self._start < QUIET_S or not sys.stderr.isatty():
                return
            self._shown = self._begun()
        self._shown.update(
            self._shown.task_ids[0], description=said, completed=part or 0.0, total=None if part is None else 1.0
        )

    def _begun(self) -> Progress:
        from rich.console import Console  # noqa: PLC0415
        from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn  # noqa: PLC0415

        gone = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
        bar = Progress(*(() if self._in_time else gone), console=Console(stderr=True), transient=True)
        bar.add_task("", total=1.0)
        bar.start()
        return bar
