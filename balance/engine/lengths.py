"""The lengths that a job may leave out: a bobweight and a spread need masses alone.

What those that are not there would tell, and where to fill them in, is said once, here, by whatever needs them.
"""

from __future__ import annotations

from collections.abc import Sequence

from truethrow.balance.base.errors import BadInput, Fault

_PLANES = ("the unbalance in the planes", "the station's sheet", "what shakes")
# What each would tell; in the order in which they are asked for.
TELLS = {
    "stroke": _PLANES,
    "cylinder_spacing": _PLANES,
    "rod_length": ("what to take off a rod", "what shakes"),
}
# A way to say the same of a crank whose throws are not evenly apart.
_OR = {"cylinder_spacing": "cylinder_spacing (or throw_positions)"}


class NotDeclared(BadInput):
    """A figure that rests on lengths which the job does not have. job: as commands are told it."""

    def __init__(self, names: Sequence[str], job: str = "") -> None:
        fault = Fault("engine", f"{listed(names)} missing", remedy=fill_in(names, job))
        super().__init__([fault])


def fill_in(names: Sequence[str], job: str) -> str:
    """What to fill in, and what it would tell."""
    tells = list(dict.fromkeys(told for name in names for told in TELLS[name]))
    keys = listed([_OR.get(name, name) for name in names])
    return f"to see {listed(tells)}, fill in {keys} in [engine]{f' of {job}' if job else ''}"


def listed(names: Sequence[str]) -> str:
    """One, two and three."""
    *most, last = names
    return f"{', '.join(most)} and {last}" if most else last
