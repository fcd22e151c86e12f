"""The crank's layout: where the throws are, and which cylinder hangs on which, in which bank.

Angle 0 is throw 1 at the top and the crank turns in the positive direction; z counts rearwards from the
front throw. A bank's axis is measured from the vertical, positive in the direction of rotation: on an engine
that turns clockwise as seen from its front, the left bank (seen from the driver's seat) is the positive one.
A split pin is two throws at one place, told apart by a letter: 1a, 1b.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from typing import Literal, NamedTuple

Numbering = Literal["alternating", "by-bank"]
NUMBERINGS: tuple[Numbering, ...] = ("alternating", "by-bank")


class Throw(NamedTuple):
    """One crankpin: its name, its angle and its place along the crank."""

    name: str
    angle_deg: float
    z_mm: float


class Place(NamedTuple):
    """Where a cylinder sits: its number, the name of its throw, and its bank."""

    cylinder: int
    throw: str
    bank: str


class Layout(NamedTuple):
    """Throws front to rear, cylinders by number, and the axis of each bank."""

    throws: tuple[Throw, ...]
    places: tuple[Place, ...]
    banks: Mapping[str, float]

    def cylinders_on(self, throw: Throw) -> tuple[int, ...]:
        return tuple(place.cylinder for place in self.places if place.throw == throw.name)

    @property
    def cylinders(self) -> tuple[int, ...]:
        return tuple(place.cylinder for place in self.places)


class Generic(NamedTuple):
    """A layout by its geometry alone. throw_angles_deg: one entry a throw, two angles for a split pin;
    positions: each throw's place along the crank, in cylinder spacings; banks: name → axis."""

    description: str
    throw_angles_deg: tuple[float | tuple[float, ...], ...]
    banks: Mapping[str, float]
    positions: tuple[float, ...] | None = None


_LINE = {"line": 0.0}


def _vee(angle_deg: float) -> dict[str, float]:
    return {"left": angle_deg / 2, "right": -angle_deg / 2}


GENERIC: dict[str, Generic] = {
    "inline-1": Generic("single cylinder", (0,), _LINE),
    "inline-2": Generic("in-line two, throws opposite", (0, 180), _LINE),
    "inline-3": Generic("in-line three", (0, 120, 240), _LINE),
    "inline-4": Generic("in-line four, flat crank", (0, 180, 180, 0), _LINE),
    "inline-5": Generic("in-line five", (0, 216, 144, 72, 288), _LINE),
    "inline-6": Generic("in-line six", (0, 120, 240, 240, 120, 0), _LINE),
    "inline-8": Generic("in-line eight", (0, 90, 270, 180, 180, 270, 90, 0), _LINE),
    "vtwin-45": Generic("45-degree V-twin on one pin", (0,), _vee(45)),
    "vtwin-60": Generic("60-degree V-twin on one pin", (0,), _vee(60)),
    "vtwin-90": Generic("90-degree V-twin on one pin", (0,), _vee(90)),
    "v6-90-shared": Generic("90-degree V6, shared pins, uneven firing", (0, 120, 240), _vee(90)),
    "v8-90-crossplane": Generic("90-degree V8, cross-plane crank", (0, 90, 270, 180), _vee(90)),
    "v8-90-flatplane": Generic("90-degree V8, flat crank", (0, 180, 180, 0), _vee(90)),
    "v12-60": Generic("60-degree V12", (0, 120, 240, 240, 120, 0), _vee(60)),
}


def throws(angles_deg: Sequence[float | Sequence[float]], positions_mm: Sequence[float]) -> tuple[Throw, ...]:
    """Throws 1, 2, … from the front; an entry of several angles is a split pin, its parts a, b, …"""
    made: list[Throw] = []
    for number, (entry, z_mm) in enumerate(zip(angles_deg, positions_mm, strict=True), start=1):
        pins = list(entry) if isinstance(entry, Sequence) else [entry]
        letters = [""] if len(pins) == 1 else [chr(ord("a") + i) for i in range(len(pins))]
        made += [Throw(f"{number}{x}", float(a), float(z_mm)) for x, a in zip(letters, pins, strict=True)]
    return tuple(made)


def numbered(
    throws: Sequence[Throw], banks: Sequence[str], split: bool, numbering: Numbering
) -> tuple[Place, ...]:
    """Cylinders on throws by one of the two common schemes, with as many cylinders on a throw as banks.

    alternating: 1, 2 on throw 1, 3, 4 on throw 2, … the first bank named getting the odd ones;
    by-bank: 1 … n along the first bank, n+1 … along the next. With split pins each bank has its own pin."""
    across = len(banks)
    stations = len(throws) // across if split else len(throws)

    def throw_of(station: int, bank: int) -> str:
        return throws[station * across + bank].name if split else throws[station].name

    grid = [(station, bank) for station in range(stations) for bank in range(across)]
    if numbering == "by-bank":
        grid.sort(key=lambda place: (place[1], place[0]))
    return tuple(
        Place(number, throw_of(station, bank), banks[bank])
        for number, (station, bank) in enumerate(grid, start=1)
    )


def closest(name: str) -> str:
    """A hint for a layout's name that is not known."""
    close = difflib.get_close_matches(name, list(GENERIC), n=1, cutoff=0.4)
    return f" (did you mean {close[0]}?)" if close else ""
