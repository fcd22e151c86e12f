"""The kinds of part that are weighed, and how each moves.

A new kind is one more row of KINDS: the job file, the weigh sheet, the bobweight, the spreads and the blank
job all read this table.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

Motion = Literal["reciprocating", "rotating", "check"]


class Kind(NamedTuple):
    """One kind of weighed part. name: its key in files; also_called: other headings in weigh sheets."""

    name: str
    label: str
    motion: Motion
    also_called: tuple[str, ...] = ()


KINDS = (
    Kind("piston", "piston", "reciprocating", ("bare piston",)),
    Kind("pin", "pin", "reciprocating", ("piston pin", "wrist pin", "gudgeon pin")),
    Kind("locks", "locks", "reciprocating", ("pin locks", "clips", "circlips", "lock pair")),
    Kind("rings", "rings", "reciprocating", ("ring set", "ring pack")),
    Kind("small_end", "small end", "reciprocating", ("rod small end", "little end", "rod small")),
    Kind("big_end", "big end", "rotating", ("rod big end", "rod big")),
    Kind("bearings", "bearings", "rotating", ("bearing pair", "bearing shells", "shells", "rod bearings")),
    # The rod weighed in one go: no part of a bobweight, it only has to agree with its two ends.
    Kind("rod_total", "rod total", "check", ("total", "whole rod", "rod weight")),
)
BY_NAME = {kind.name: kind for kind in KINDS}
# Where a rod is weighed, each on its own.
ENDS = ("big_end", "small_end")

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
