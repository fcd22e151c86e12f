"""Revisions of a station's profile: a name for what it means for reading, and what an edit of it changed.

Only the instrument counts: drills, slugs, plates and steps may change from one day to the next, and no reading
means anything else for it.
"""

from __future__ import annotations

import hashlib

from truethrow.balance.station.spin import Instrument, plain

LETTERS = 8
AS_IT_WAS = "nothing of it in the profile"


def read_as(made: Instrument) -> str:
    """How a reading is understood: two profiles read alike where this is the same."""
    radius = "" if made.radius_mm is None else f" at {made.radius_mm:.9g} mm"
    said = {name: value for name, value in _fields(made).items() if name not in ("unit", "radius")}
    sure = " ".join(said[name] for name in ("amount_uncertainty", "angle_uncertainty", "floor"))
    if made.reads_divisions:
        return f"divisions, sure to {sure}"
    return f"{plain(made.unit)}{radius}, sense {said['sense']}, zero {said['zero']}, sure to {sure}"


def revision(made: Instrument) -> str:
    """The name of a profile's revision."""
    return hashlib.sha256(read_as(made).encode()).hexdigest()[:LETTERS]


def changes(was: Instrument, now: Instrument) -> tuple[str, ...]:
    """What an edit changed, by the profile's own fields: ``zero 0 → 40``."""
    before, after = _fields(was), _fields(now)
    return tuple(f"{name} {before[name]} → {after[name]}" for name in before if before[name] != after[name])


def what_changed(was: Instrument, now: Instrument) -> str:
    """What an edit changed, in words; of a station that was changed without one, that."""
    return ", ".join(changes(was, now)) or AS_IT_WAS


def number(value: float) -> str:
    """A number as exactly as two are held against each other."""
    return f"{round(value, 6) + 0.0:.15g}"


def _fields(made: Instrument) -> dict[str, str]:
    """The fields of a profile's [spin] that say how it reads, as they are told."""
    return {
        "unit": plain(made.unit),
        "radius": "none" if made.radius_mm is None else f"{made.radius_mm:.9g} mm",
        "sense": "with" if made.with_rotation else "against",
        "zero": number(made.zero_deg % 360),
        "amount_uncertainty": f"{number(100 * made.amount_part)} %",
        "angle_uncertainty": f"{number(made.angle_deg)} deg",
        "floor": f"{number(made.floor_gmm)} {'divisions' if made.reads_divisions else 'g·mm'}",
    }
