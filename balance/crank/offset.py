"""The offset of a damper or a flexplate: an unbalance of its own, which part of the crank's balance hangs on.

Its angle is counted from the member's keyway or dowel, in the direction of rotation; where that sits on the crank
ties it to throw 1. Its maker tells it; or two runs on an arbor do, the member turned half a turn on it between
them.
"""

from __future__ import annotations

import cmath
import math
from typing import Literal, NamedTuple

Source = Literal["maker", "arbor"]
# What the angles of the two runs on an arbor are counted from.
COUNTED = ("arbor", "member")


class Offset(NamedTuple):
    """gmm: as a vector from throw 1, at the member's own place along the crank; expanded_gmm: its ± (k = 2)."""

    gmm: complex
    expanded_gmm: float
    source: Source


def from_arbor(straight: complex, turned: complex, counted: str) -> tuple[complex, complex]:
    """The member's own unbalance and the arbor's, from a run and another with the member turned half a turn on the
    arbor. straight, turned: in one unit, both counted from the arbor or both from the member; at the straight run
    the two marks are in line. Raises ValueError for another word than arbor or member.

    Counted from the arbor, what belongs to the member changes its sign, so half the difference is the member's and
    half the sum the arbor's; counted from the member, the reverse. Source: statics; ISO 21940-14, index balancing
    (from memory)."""
    if counted not in COUNTED:
        raise ValueError(f"counted from {counted!r}, not from arbor or member")
    half_sum, half_difference = (straight + turned) / 2, (straight - turned) / 2
    return (half_difference, half_sum) if counted == "arbor" else (half_sum, half_difference)


def polar(unbalance_gmm: float, angle_deg: float) -> complex:
    """A vector from its amount and its angle."""
    return cmath.rect(unbalance_gmm, math.radians(angle_deg))
