"""The scales whose cables end at this computer: each is at one bench at a time."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from truethrow.balance.weighing.scaleline import ScaleProfile, Trouble


class Cable(Protocol):
    """A port as serialport has it."""

    connected: bool

    def get(self, wait_s: float = 0.0) -> tuple[float, str | Trouble] | None: ...

    def close(self) -> None: ...


class Scales:
    """opens: makes the port of a profile, for the bench of a job. port: the one that stands before that of a job,
    None where nobody named one."""

    def __init__(self, port: str | None = None, opens: Callable[[ScaleProfile, str], Cable] | None = None) -> None:
        self.port = port
        self._opens = opens or _serial
        self._lock = threading.Lock()
        self._held: dict[str, tuple[str, Cable]] = {}

    def holder(self, port: str) -> str:
        """The job whose bench has the scale at a port; empty where none has."""
        with self._lock:
            return self._held.get(port, ("", None))[0]

    def take(self, profile: ScaleProfile, job: str) -> Cable | None:
        """The scale for the bench of a job; None where another's has it. Raises BadInput for what is no port."""
        with self._lock:
            if profile.port in self._held:
                held_by, cable = self._held[profile.port]
                return cable if held_by == job else None
            made = self._opens(profile, job)
            self._held[profile.port] = job, made
            return made

    def give_back(self, job: str) -> None:
        """Close whatever a job's bench has."""
        with self._lock:
            own = [port for port, (held_by, _) in self._held.items() if held_by == job]
            cables = [self._held.pop(port)[1] for port in own]
        for cable in cables:
            cable.close()


def _serial(profile: ScaleProfile, job: str) -> Cable:
    from truethrow.cli.weighing.serialport import Port  # noqa: PLC0415 (a floor without a scale does without it)

    return Port(profile)
