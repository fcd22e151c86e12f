"""Revisions of a station's profile: a name for what it means for reading, and what an edit of it changed.

Only the instrument counts: drills, slugs, plates and steps may change from one day to the next, and no reading
means anything else for it.
"""

from __future__ import annotations

import hashlib

from truethrow.balance.base.amounts import ToldIn
from truethrow.balance.station.spin import Instrument, plain

LETTERS = 8
# The units in which two are held against each other.
ALIKE = ToldIn()
AS_IT_WAS = "nothing of it in the profile"


def read_as(made: Instrument, told_in: ToldIn = ALIKE) -> str:
    """How a reading is understood: two profiles read alike where this is the same, told in the same units."""
    said = _fields(made, told_in)
    radius = "" if made.radius_mm is None else f" at {said['radius']}"
    sure = " ".join(said[name] for name in ("amount_uncertainty", "angle_uncertainty", "floor"))
    if made.reads_divisions:
        return f"divisions, sure to {sure}"
    return f"{plain(made.unit)}{radius}, sense {said['sense']}, zero {said['zero']}, sure to {sure}"


def revision(made: Instrument) -> str:
    """The name of a profile's revision."""
    return hashlib.sha256(read_as(made).encode()).hexdigest()[:LETTERS]


def changes(was: Instrument, now: Instrument, told_in: ToldIn = ALIKE) -> tuple[str, ...]:
    """What an edit changed, by the profile's own fields: ``zero 0 → 40``."""
    alike, told = [_fields(one, ALIKE) for one in (was, now)], [_fields(one, told_in) for one in (was, now)]
    differ = [name for name in alike[0] if alike[0][name] != alike[1][name]]
    return tuple(f"{name} {told[0][name]} → {told[1][name]}" for name in differ)


def what_changed(was: Instrument, now: Instrument, told_in: ToldIn = ALIKE) -> str:
    """What an edit changed, in words; of a station that was changed without one, that."""
    return ", ".join(changes(was, now, told_in)) or AS_IT_WAS


def number(value: float) -> str:
    """A number as exactly as two are held against each other."""
    return f"{round(value, 6) + 0.0:.15g}"


def _fields(made: Instrument, told_in: ToldIn) -> dict[str, str]:
    """The fields of a profile's [spin] that say how it reads, as they are told."""
    return {
        "unit": plain(made.unit),
        "radius": "none" if made.radius_mm is None else _length(made.radius_mm, told_in),
        "sense": "with" if made.with_rotation else "against",
        "zero": number(made.zero_deg % 360),
        "amount_uncertainty": f"{number(100 * made.amount_part)} %",
        "angle_uncertainty": f"{number(made.angle_deg)} deg",
        "floor": f"{number(made.floor_gmm)} divisions" if made.reads_divisions else _unbalance(made, told_in),
    }


def _length(mm: float, told_in: ToldIn) -> str:
    return f"{mm:.9g} mm" if told_in == ALIKE else str(told_in.size(mm))


def _unbalance(made: Instrument, told_in: ToldIn) -> str:
    return f"{number(made.floor_gmm / told_in.unbalance_gmm)} {told_in.unbalance_unit}"
