"""The crank's layout: where the throws are, and which cylinder hangs on which, in which bank.

Angle 0 is throw 1 at the top and the crank turns in the positive direction; z counts rearwards from the
front throw. A bank's axis is measured from the vertical, positive in the direction of rotation: on an engine
that turns clockwise as seen from its front, the left bank (seen from the driver's trade) is the positive one.
A split pin is two throws at one place, told apart by a letter: 1a, 1b.
"""

from __future__ import annotations

import cmath
import difflib
import math
from collections.abc import Mapping, Sequence
from typing import Literal, NamedTuple

from truethrow.balance.engine.lengths import NotDeclared

Numbering = Literal["alternating", "by-bank"]
# complete: one half of the reciprocating mass cancels the first order; itself: nothing of it is there to cancel;
# partly: what turns against the crank stays; useless: only that is there.
Sense = Literal["complete", "itself", "partly", "useless"]
# Below this part of what one cylinder makes, a sum of phasors is rounding.
NOTHING = 1e-9
# So many names are hints enough.
FEW = 4


class Throw(NamedTuple):
    """One crankpin: its name, its angle and its place along the crank, None where that is not declared."""

    name: str
    angle_deg: float
    place_mm: float | None

    @property
    def z_mm(self) -> float:
        """Raises NotDeclared."""
        if self.place_mm is None:
            raise NotDeclared(["cylinder_spacing"])
        return self.place_mm


class CylinderAt(NamedTuple):
    """Where a cylinder sits: its number, the name of its throw, its bank, and how far its rod lies behind the
    middle of the throw: of two rods side by side half of what they are apart, the front one ahead by as much."""

    cylinder: int
    throw: str
    bank: str
    behind_mm: float = 0.0


class Layout(NamedTuple):
    """Throws front to rear, cylinders by number, and the axis of each bank."""

    throws: tuple[Throw, ...]
    places: tuple[CylinderAt, ...]
    banks: Mapping[str, float]

    def cylinders_on(self, throw: Throw) -> tuple[int, ...]:
        return tuple(place.cylinder for place in self.places if place.throw == throw.name)

    @property
    def cylinders(self) -> tuple[int, ...]:
        return tuple(place.cylinder for place in self.places)

    @property
    def rods_mm(self) -> tuple[float, ...]:
        """Where the rod of each cylinder lies along the crank, in the order of places. Raises NotDeclared."""
        throw_mm = {throw.name: throw.z_mm for throw in self.throws}
        return tuple(throw_mm[place.throw] + place.behind_mm for place in self.places)

    @property
    def middle_mm(self) -> float:
        """Midway between the outer throws."""
        z = [throw.z_mm for throw in self.throws]
        return (min(z) + max(z)) / 2

    def __repr__(self) -> str:
        angles = " ".join(f"{throw.angle_deg:g}°" for throw in self.throws)
        axes = ", ".join(f"{bank} {axis:g}°" for bank, axis in self.banks.items())
        return f"Layout: {len(self.places)} cylinders, throws at {angles}, banks {axes}"

    def outer_planes_mm(self, throw_radius_mm: float) -> tuple[float, float]:
        """The front and the rear of the outer throws. One throw has no length: planes a throw's radius to either
        side keep what is divided between them defined."""
        z = [throw.z_mm for throw in self.throws]
        beyond = throw_radius_mm if max(z) == min(z) else 0.0
        return min(z) - beyond, max(z) + beyond


class Generic(NamedTuple):
    """A layout by its geometry alone. throw_angles_deg: one entry a throw, two angles for a split pin;
    positions: each throw's place along the crank, in cylinder spacings, evenly one by one without it;
    banks: name → axis; own_pins: the cylinders of a pair have a throw each, one behind the other."""

    description: str
    throw_angles_deg: tuple[float | tuple[float, ...], ...]
    banks: Mapping[str, float]
    positions: tuple[float, ...] | None = None
    own_pins: bool = False

    @property
    def pin_a_cylinder(self) -> bool:
        """Whether every bank has its own pin: split throws, or throws of their own."""
        return self.own_pins or any(isinstance(entry, tuple) for entry in self.throw_angles_deg)


_LINE = {"line": 0.0}


def _vee(angle_deg: float) -> dict[str, float]:
    return {"left": angle_deg / 2, "right": -angle_deg / 2}


def _star(cylinders: int) -> dict[str, float]:
    return {str(i + 1): i * 360 / cylinders for i in range(cylinders)}


_OPPOSED = _vee(180)
_FIVE_PAIRS = (0, 144, 288, 72, 216)

# The split of a pin has a right way round: an even-firing V6 has its six top dead centres in three equal pairs
# 120 degrees apart, which the tests hold.
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
    "v6-60-shared": Generic("60-degree V6, shared pins, uneven firing", (0, 120, 240), _vee(60)),
    "v6-60-even": Generic(
        "60-degree V6, pins split 60 degrees, even firing", ((0, 60), (120, 180), (240, 300)), _vee(60)
    ),
    "v6-90-shared": Generic("90-degree V6, shared pins, uneven firing", (0, 120, 240), _vee(90)),
    "v6-90-even": Generic(
        "90-degree V6, pins split 30 degrees, even firing", ((0, 30), (120, 150), (240, 270)), _vee(90)
    ),
    "v8-90-crossplane": Generic("90-degree V8, cross-plane crank", (0, 90, 270, 180), _vee(90)),
    "v8-90-flatplane": Generic("90-degree V8, flat crank", (0, 180, 180, 0), _vee(90)),
    "v10-72": Generic("72-degree V10, even firing", _FIVE_PAIRS, _vee(72)),
    "v10-90": Generic("90-degree V10, shared pins, uneven firing", _FIVE_PAIRS, _vee(90)),
    "v12-60": Generic("60-degree V12", (0, 120, 240, 240, 120, 0), _vee(60)),
    "opposed-2": Generic("opposed two, a throw each", (0, 180), _OPPOSED, (0, 0.3), own_pins=True),
    "opposed-4": Generic(
        "opposed four, a throw each", (0, 180, 180, 0), _OPPOSED, (0, 0.2, 1, 1.2), own_pins=True
    ),
    "opposed-6": Generic(
        "opposed six, a throw each",
        (0, 180, 120, 300, 240, 60),
        _OPPOSED,
        (0, 0.3, 1, 1.3, 2, 2.3),
        own_pins=True,
    ),
    "radial-3": Generic("radial three, all rods on one pin", (0,), _star(3)),
    "radial-5": Generic("radial five, all rods on one pin", (0,), _star(5)),
    "radial-7": Generic("radial seven, all rods on one pin", (0,), _star(7)),
    "radial-9": Generic("radial nine, all rods on one pin", (0,), _star(9)),
}


def generic_layout(name: str, spacing_mm: float = 1.0) -> Layout:
    """A layout of the library at a cylinder spacing, numbered alternating. Raises KeyError for no such name."""
    generic = GENERIC[name]
    positions = generic.positions or range(len(generic.throw_angles_deg))
    placed = throws(generic.throw_angles_deg, [p * spacing_mm for p in positions])
    return Layout(
        placed,
        numbered(placed, list(generic.banks), generic.pin_a_cylinder, "alternating"),
        dict(generic.banks),
    )


def first_order(layout: Layout) -> tuple[complex, complex, complex, complex]:
    """What equal reciprocating masses leave of the first order, over m·r·ω²: force turning with the crank, force
    against it, and the same two of the couple, times the unit of z, about the middle (see shaking.inherent). Every
    rod is taken in the middle of its throw: what bobweights do hangs there."""
    throw, middle_mm = {t.name: t for t in layout.throws}, layout.middle_mm
    sums = [0j, 0j, 0j, 0j]
    for place in layout.places:
        alpha, psi = math.radians(throw[place.throw].angle_deg), math.radians(layout.banks[place.bank])
        halves = cmath.exp(1j * alpha) / 2, cmath.exp(-1j * (alpha - 2 * psi)) / 2
        arm = throw[place.throw].z_mm - middle_mm
        sums = [sums[0] + halves[0], sums[1] + halves[1], sums[2] + arm * halves[0], sums[3] + arm * halves[1]]
    return sums[0], sums[1], sums[2], sums[3]


def rods_couple(layout: Layout) -> complex:
    """What rods off the middle of their throw add to the first order's couple of equal reciprocating masses: it
    turns against the crank, over m·r·ω² times the unit of z (the second half of first_order, with an arm of its
    own). What turns with the crank cancels in every pair."""
    angle_deg = {throw.name: throw.angle_deg for throw in layout.throws}
    return sum(
        place.behind_mm
        / 2
        * cmath.exp(-1j * (math.radians(angle_deg[place.throw]) - 2 * math.radians(layout.banks[place.bank])))
        for place in layout.places
    )


def sense_of_bobweights(layout: Layout) -> Sense:
    """What bobweights can do on a layout with equal masses."""
    force_with, force_against, couple_with, couple_against = map(abs, first_order(layout))
    reach = max(1.0, *(abs(t.z_mm) for t in layout.throws))
    forward = force_with > NOTHING or couple_with > NOTHING * reach
    backward = force_against > NOTHING or couple_against > NOTHING * reach
    if forward:
        return "partly" if backward else "complete"
    return "useless" if backward else "itself"


def firing_intervals_deg(layout: Layout, order: Sequence[int]) -> tuple[float, ...]:
    """Crank degrees from each firing to the next, for a four-stroke engine. Raises ValueError for an order that
    this crank cannot fire in.

    Cylinder i is at the top when the crank has turned to ψ − α; one cycle of all is two turns."""
    if sorted(order) != list(layout.cylinders):
        raise ValueError(f"{', '.join(map(str, order))} does not name every cylinder once")
    angle = {throw.name: throw.angle_deg for throw in layout.throws}
    top = {p.cylinder: (layout.banks[p.bank] - angle[p.throw]) % 360 for p in layout.places}
    following = [*order[1:], order[0]]
    intervals = [round((top[b] - top[a]) % 360, 9) or 360.0 for a, b in zip(order, following, strict=True)]
    if round(sum(intervals), 6) == 360:
        # One wait is a turn longer; the shortest, so that the firing is as even as this crank lets it be.
        intervals[intervals.index(min(intervals))] += 360
    if round(sum(intervals), 6) != 720:
        raise ValueError(f"one round takes {sum(intervals):g} degrees, not the 720 of a four-stroke engine")
    return tuple(intervals)


def throws(
    angles_deg: Sequence[float | Sequence[float]], positions_mm: Sequence[float | None]
) -> tuple[Throw, ...]:
    """Throws 1, 2, … from the front; an entry of several angles is a split pin, its parts a, b, …"""
    made: list[Throw] = []
    for number, (entry, z_mm) in enumerate(zip(angles_deg, positions_mm, strict=True), start=1):
        pins = list(entry) if isinstance(entry, Sequence) else [entry]
        letters = [""] if len(pins) == 1 else [chr(ord("a") + i) for i in range(len(pins))]
        place_mm = None if z_mm is None else float(z_mm)
        made += [Throw(f"{number}{x}", float(a), place_mm) for x, a in zip(letters, pins, strict=True)]
    return tuple(made)


def numbered(
    throws: Sequence[Throw], banks: Sequence[str], pin_a_cylinder: bool, numbering: Numbering
) -> tuple[CylinderAt, ...]:
    """Cylinders on throws by one of the two common schemes, with as many cylinders on a throw as banks.

    alternating: 1, 2 on throw 1, 3, 4 on throw 2, … the first bank named getting the odd ones;
    by-bank: 1 … n along the first bank, n+1 … along the next. With a pin a cylinder (split throws, or throws
    of their own) the pins of a pair follow one another."""
    across = len(banks)
    stations = len(throws) // across if pin_a_cylinder else len(throws)

    def throw_of(station: int, bank: int) -> str:
        return throws[station * across + bank].name if pin_a_cylinder else throws[station].name

    grid = [(station, bank) for station in range(stations) for bank in range(across)]
    if numbering == "by-bank":
        grid.sort(key=lambda place: (place[1], place[0]))
    return tuple(
        CylinderAt(number, throw_of(station, bank), banks[bank])
        for number, (station, bank) in enumerate(grid, start=1)
    )


def closest(name: str) -> str:
    """A hint for a layout's name that is not known."""
    begun = [one for one in GENERIC if name and one.startswith(name.lower())]
    close = begun or difflib.get_close_matches(name, list(GENERIC), n=1, cutoff=0.4)
    return f" (did you mean {' or '.join(close[:FEW])}?)" if close else ""
