"""The kinds of part that are weighed, and how each moves.

A new kind is one more row of KINDS: the job file, the weigh sheet, the bobweight, the spreads and the blank
job all read this table.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

Motion = Literal["reciprocating", "rotating", "check"]
Way = Literal["pan", "support"]


class PartKind(NamedTuple):
    """One kind of weighed part. name: its key in files; also_called: other headings in weigh sheets."""

    name: str
    label: str
    motion: Motion
    also_called: tuple[str, ...] = ()


_PISTON = ("bare piston", "pistons", "piston bare")
_PIN = ("piston pin", "wrist pin", "gudgeon pin", "pins", "wrist pins")
_LOCKS = ("pin locks", "clips", "circlips", "lock pair", "pin clips", "retainers", "lock")
_RINGS = ("ring set", "ring pack", "ring")
_SMALL_END = ("rod small end", "little end", "rod small", "small", "pin end", "wrist pin end")
_BIG_END = ("rod big end", "rod big", "big", "crank end", "journal end", "large end")
_BEARINGS = ("bearing pair", "bearing shells", "shells", "rod bearings", "rod bearing", "bearing", "brgs", "brg")
_ROD_TOTAL = ("total", "whole rod", "rod weight", "total rod", "rod")
KINDS = (
    PartKind("piston", "piston", "reciprocating", _PISTON),
    PartKind("pin", "pin", "reciprocating", _PIN),
    PartKind("locks", "locks", "reciprocating", _LOCKS),
    PartKind("rings", "rings", "reciprocating", _RINGS),
    PartKind("small_end", "small end", "reciprocating", _SMALL_END),
    PartKind("big_end", "big end", "rotating", _BIG_END),
    PartKind("bearings", "bearings", "rotating", _BEARINGS),
    # The rod weighed in one go: no part of a bobweight, it only has to agree with its two ends.
    PartKind("rod_total", "rod total", "check", _ROD_TOTAL),
)
BY_NAME = {kind.name: kind for kind in KINDS}
# Where a rod is weighed, each on its own.
ENDS = ("big_end", "small_end")
# How a part is weighed: on the pan; or one end of a rod, the other hanging on a support.
WAYS: tuple[Way, ...] = ("pan", "support")


def way_of(kind: str) -> Way:
    """How a kind of part is weighed."""
    return "support" if kind in ENDS else "pan"


# What a limit may be set on, as a sum of kinds within one cylinder.
SUMS: dict[str, tuple[str, ...]] = {
    **{kind.name: (kind.name,) for kind in KINDS if kind.motion != "check"},
    "both_ends": ENDS,
    "rotating": tuple(kind.name for kind in KINDS if kind.motion == "rotating"),
    "reciprocating": tuple(kind.name for kind in KINDS if kind.motion == "reciprocating"),
}


def label(name: str) -> str:
    """A kind or a sum of kinds as it is said aloud."""
    return name.replace("_", " ")


# The pads at which a cut may be.
CUT_AT = ("piston", "pin", "big_end", "small_end")


def moved_by_cut(pad: str) -> tuple[str, ...]:
    """The kinds of reading that a cut at a pad changes."""
    return UNITS[UNIT_OF[pad]] if pad in CUT_AT else ()


# What can change places, and the kinds of reading that go along.
UNITS: dict[str, tuple[str, ...]] = {
    "piston": ("piston",),
    "pin": ("pin",),
    "locks": ("locks",),
    "rings": ("rings",),
    "rod": ("big_end", "small_end", "rod_total"),
}


UNIT_OF = {kind: unit for unit, kinds in UNITS.items() for kind in kinds}


# The kinds of reading that a cut lowers.
CUTTABLE = tuple(dict.fromkeys(kind for pad in CUT_AT for kind in UNITS[UNIT_OF[pad]]))


def weighed_by(unit: str) -> tuple[str, ...]:
    """The readings that say what a part weighs: its kinds but for a check such as the rod in one go. A kind that
    is of no unit stands for itself."""
    return tuple(kind for kind in UNITS.get(unit, (unit,)) if BY_NAME[kind].motion != "check")
