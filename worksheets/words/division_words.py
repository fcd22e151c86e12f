"""A station that reads divisions, in sentences."""

from __future__ import annotations

import cmath
import math

from truethrow.balance.station.balancing import Balancing
from truethrow.balance.station.divisions import Ended
from truethrow.balance.station.spinning import Spin

# How the fourth run ended.
ENDED: dict[Ended, str] = {
    "agrees": "Both at once read as foretold: what a division is, the zero and the sense of the angle are proved",
    "mirrored": (
        "Both at once read as foretold on a station that counts its angles AGAINST the rotation: so it is read "
        "from here on, and what three runs alone told was mirrored"
    ),
    "apart": "Both at once do not read as foretold, nor mirrored",
    "unsure": "Both at once would read so either way",
}
HOW_IT_READS = "The station reads divisions at angles of its own: trial masses tell what they are."
UNTOLD = "What the last spin read in g·mm, nobody knows yet: trial masses tell."
TAKE_OFF = "Take the masses off before the next spin."


def polar(value: complex, places: int = 2) -> str:
    """A reading in divisions: ``8.50@60``."""
    return f"{abs(value):.{places}f}@{math.degrees(cmath.phase(value)) % 360:.0f}"


def in_divisions(spin: Spin) -> str:
    """That nobody knows yet what a spin read; empty where somebody does."""
    if spin.is_told:
        return ""
    front, rear = (polar(one) for one in spin.shown)
    return f"Spin {spin.number} read {front} front and {rear} rear, in divisions: what one is, trial masses tell"


def kept(state: Balancing) -> str:
    """That the coefficients are kept, and for what; empty before they are proved."""
    if not (state.reads_divisions and state.is_proved and state.last):
        return ""
    speed = state.last.record.speed_rpm
    at = f"at {speed:g} r/min" if speed else "at this speed"
    return (
        f"The coefficients hold for later spins of this job {at}, with these bobweights and members on, as long "
        "as supports and pickups stay where they are"
    )
