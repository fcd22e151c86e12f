"""The bobweight of a matched set as a hand adds it up.

A line a part, times how many are on a throw, times the share of what goes up and down."""

from __future__ import annotations

from typing import NamedTuple

from truethrow.balance.base.parts import KINDS
from truethrow.balance.base.readings import tidy
from truethrow.balance.result.work import Result


class Line(NamedTuple):
    """What one kind of part adds to the bobweight of a throw. share: of what goes up and down, 1 of what turns."""

    kind: str
    grams: float
    times: int
    share: float

    @property
    def adds_g(self) -> float:
        return tidy(self.grams * self.times * self.share)


def tally(result: Result) -> tuple[Line, ...]:
    """The lines of one throw of a job whose cylinders are all alike, what turns first; with its oil they add up to
    the bobweight."""
    job, throw = result.job, result.bobweights.throws[0]
    parts, times = job.parts[throw.cylinders[0]], len(throw.cylinders)
    return tuple(
        Line(kind.name, parts[kind.name].mean_g, times, share)
        for motion, share in (("rotating", 1.0), ("reciprocating", job.share))
        for kind in KINDS
        if kind.motion == motion and kind.name in parts
    )
