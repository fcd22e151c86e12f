"""The sentences of the sum on paper: what a matched set makes on each throw."""

from __future__ import annotations

from truethrow.balance.base.parts import BY_NAME

ASKED = {
    "piston": "Piston",
    "pin": "Pin",
    "locks": "Locks, both of one pin (0 if there are none)",
    "rings": "Rings of one piston (0 if there are none)",
    "small_end": "Rod, small end",
    "big_end": "Rod, big end",
    "bearings": "Rod bearing, both shells (0 if there are none)",
}
NEXT_SAVE = "To keep it as a job, add: --save my.toml"
SAVE_AS = "Keep it as a job, in which file (Enter: no)"


def each_throw(count: int, cylinders: int) -> str:
    one = "one cylinder" if cylinders == 1 else f"{cylinders} cylinders"
    return f"The throw carries {one}." if count == 1 else f"Each of the {count} throws carries {one}."


def option(kind: str) -> str:
    """``--small-end``"""
    return f"--{kind.replace('_', '-')}"


def says(kind: str) -> str:
    return BY_NAME[kind].label
