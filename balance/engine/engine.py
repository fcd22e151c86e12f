"""The engine as declared: its layout and the few lengths that the figures need, with the plain geometry.

Displacement, mean piston speed and piston acceleration are shown with every job, because a slip in the
stroke or the speed shows there first.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

from truethrow.balance.base.amounts import METRIC, ToldIn
from truethrow.balance.base.errors import Fault, shown
from truethrow.balance.base.formulas import omega
from truethrow.balance.engine import plausible, rods
from truethrow.balance.engine.layout import (
    GENERIC,
    CylinderAt,
    Generic,
    Layout,
    Numbering,
    Throw,
    firing_intervals_deg,
    numbered,
    throws,
)
from truethrow.balance.engine.lengths import NotDeclared

if TYPE_CHECKING:
    from truethrow.balance.engine.declared import EngineTable


# What a layout is called that has no name of its own.
DECLARED = "declared"


class Engine(NamedTuple):
    """Layout and lengths of one engine. A length is None where it is not declared, and raises NotDeclared where
    something rests on it: stroke_mm, rod_length_mm, a throw's z_mm.

    spaced: the layout with its throws one apart where their places are not declared, for what only their order
    tells; without: kinds of part that it does not have; desaxe_mm: how far the cylinder axes lie off the crank's,
    positive to the side to which the pin moves at the top; declared_mounts_mm: the front and the rear plane that
    carry it; rods_apart_mm, rod_in_front: how far the two rods of a throw lie apart, and of which bank the front
    one is; None where every rod lies in the middle of its throw; firing_order: for display only."""

    layout: Layout
    spaced: Layout
    layout_name: str
    declared_stroke_mm: float | None = None
    declared_rod_length_mm: float | None = None
    bore_mm: float | None = None
    top_speed_rpm: float | None = None
    without: tuple[str, ...] = ()
    desaxe_mm: float = 0.0
    rod_bolts: int = 2
    firing_order: tuple[int, ...] = ()
    declared_mounts_mm: tuple[float, float] | None = None
    rods_apart_mm: float | None = None
    rod_in_front: str | None = None

    def __repr__(self) -> str:
        lengths = {"stroke": self.declared_stroke_mm, "rod length": self.declared_rod_length_mm}
        said = ", ".join(f"{name} {mm:g} mm" for name, mm in lengths.items() if mm is not None)
        return f"Engine: {self.layout_name}, {len(self.layout.places)} cylinders{said and ', '}{said}"

    @property
    def is_named(self) -> bool:
        """Whether its layout is one of the generic ones, not one that the job declares throw by throw."""
        return self.layout_name != DECLARED

    @property
    def stroke_mm(self) -> float:
        return _declared("stroke", self.declared_stroke_mm)

    @property
    def rod_length_mm(self) -> float:
        return _declared("rod_length", self.declared_rod_length_mm)

    @property
    def throw_radius_mm(self) -> float:
        return self.stroke_mm / 2

    @property
    def known_throw_radius_mm(self) -> float | None:
        """The same, None where no stroke is declared."""
        return None if self.declared_stroke_mm is None else self.declared_stroke_mm / 2

    @property
    def mounts_mm(self) -> tuple[float, float]:
        """As declared, else the outer throws."""
        return self.declared_mounts_mm or self.layout.outer_planes_mm(self.throw_radius_mm)

    @property
    def not_placed(self) -> tuple[str, ...]:
        """The lengths without which there is no unbalance in a plane."""
        return tuple(name for name in self._lacking if name != "rod_length")

    def must_be_whole(self, job: str) -> None:
        """Raise NotDeclared for every length that is not there. job: as commands are told it."""
        if self._lacking:
            raise NotDeclared(self._lacking, job)

    @property
    def _lacking(self) -> tuple[str, ...]:
        lacking = {
            "stroke": self.declared_stroke_mm is None,
            "cylinder_spacing": any(throw.place_mm is None for throw in self.layout.throws),
            "rod_length": self.declared_rod_length_mm is None,
        }
        return tuple(name for name, lacks in lacking.items() if lacks)


def _declared(name: str, length_mm: float | None) -> float:
    if length_mm is None:
        raise NotDeclared([name])
    return length_mm


def displacement_cm3(bore_mm: float, stroke_mm: float, cylinders: int) -> float:
    """Swept volume of an engine, V = n·π/4·b²·s. [cm³] Source: geometry of the cylinder."""
    return cylinders * math.pi / 4 * bore_mm**2 * stroke_mm / 1000


def mean_piston_speed_m_s(stroke_mm: float, speed_rpm: float) -> float:
    """Mean piston speed, 2·s·n. [m/s] Source: Heywood, Internal Combustion Engine Fundamentals, eq. 2.9."""
    return 2 * stroke_mm / 1000 * speed_rpm / 60


def peak_piston_acceleration_m_s2(
    stroke_mm: float, rod_length_mm: float, speed_rpm: float, desaxe_mm: float = 0.0
) -> float:
    """The largest piston acceleration of a turn. [m/s²]

    Without offset, and with a rod of twice the radius or more, it comes at top dead centre and is
    r·ω²·(1 + r/L), exact there; else it is the largest of the exact curve.
    Source: any text on slider-crank kinematics, such as Norton, Design of Machinery (from memory)."""
    r = stroke_mm / 2
    if desaxe_mm or r > rod_length_mm / 2:
        from truethrow.balance.engine import shaking  # noqa: PLC0415 (numpy, for the rare engine of that kind)

        along = shaking.slider_acceleration(shaking.crank_angles(), r / rod_length_mm, desaxe_mm / r)
        return _scaled_m_s2(float(abs(along).max()), r, speed_rpm)
    return _scaled_m_s2(1 + r / rod_length_mm, r, speed_rpm)


def top_acceleration_m_s2(
    stroke_mm: float, rod_length_mm: float, speed_rpm: float, desaxe_mm: float = 0.0
) -> float:
    """Piston acceleration at top dead centre, towards the crank; with a desaxé offset where crank and rod lie in
    one line. [m/s²] Source: as above."""
    r = stroke_mm / 2
    if not desaxe_mm:
        return _scaled_m_s2(1 + r / rod_length_mm, r, speed_rpm)
    from truethrow.balance.engine import shaking  # noqa: PLC0415

    top = shaking.angles([math.asin(desaxe_mm / (r + rod_length_mm))])
    return _scaled_m_s2(float(shaking.slider_acceleration(top, r / rod_length_mm, desaxe_mm / r)[0]), r, speed_rpm)


def _scaled_m_s2(factor: float, radius_mm: float, speed_rpm: float) -> float:
    return radius_mm / 1000 * omega(speed_rpm) ** 2 * factor


def build(table: EngineTable, faults: list[Fault], told_in: ToldIn = METRIC) -> Engine | None:
    """The engine that a job's [engine] table declares, or None with its faults added, in the units of told_in."""
    before = len(faults)
    if table.stroke and table.rod_length and table.stroke / 2 + abs(table.desaxe) >= table.rod_length:
        offset = f" and a desaxe of {told_in.size(table.desaxe)}" if table.desaxe else ""
        wrong = f"{told_in.size(table.stroke)} with a rod of {told_in.size(table.rod_length)}{offset} cannot turn"
        faults.append(Fault("engine, stroke", wrong, "half of it, with the desaxe, less than rod_length"))
    else:
        faults += plausible.strange(table, told_in)
    generic = _generic(table, faults)
    if generic is None:
        return None
    positions = _positions(table, generic, faults, told_in)
    if positions is None:
        return None
    layout = _layout(table, generic, throws(generic.throw_angles_deg, positions), faults, told_in)
    if layout is not None:
        layout = rods.side_by_side(table, layout, faults, told_in)
    if layout is not None and table.firing_order:
        faults += _check_firing(layout, table.firing_order)
    mounts_mm = _mounts(table, faults, told_in)
    if layout is None or len(faults) > before:
        return None
    return Engine(
        layout=layout,
        spaced=_spaced(layout, generic),
        layout_name=table.layout or DECLARED,
        declared_stroke_mm=table.stroke,
        declared_rod_length_mm=table.rod_length,
        bore_mm=table.bore,
        top_speed_rpm=table.top_speed,
        without=tuple(sorted(table.without)),
        desaxe_mm=table.desaxe,
        rod_bolts=table.rod_bolts,
        firing_order=tuple(table.firing_order),
        declared_mounts_mm=mounts_mm,
        rods_apart_mm=table.rods_apart,
        rod_in_front=table.rod_in_front,
    )


def _spaced(layout: Layout, generic: Generic) -> Layout:
    """The same layout, each throw in its place along the crank in spacings where it has none of its own; rods then
    in the middle of their throw, as a spacing says nothing of how far they are from it."""
    if all(throw.place_mm is not None for throw in layout.throws):
        return layout
    count = len(generic.throw_angles_deg)
    evenly = throws(generic.throw_angles_deg, [float(p) for p in generic.positions or range(count)])
    return layout._replace(throws=evenly, places=tuple(p._replace(behind_mm=0.0) for p in layout.places))


def _check_firing(layout: Layout, order: list[int]) -> list[Fault]:
    """A firing order that this crank cannot fire in, or fires unevenly where the crank of the other hand would
    fire it evenly: then the throws' angles are that one's, and every angle of a correction with them."""
    found, impossible = _misfire(layout, order)
    other = layout._replace(throws=tuple(t._replace(angle_deg=-t.angle_deg % 360) for t in layout.throws))
    if found and not _misfire(other, order)[0]:
        angles = ", ".join(f"{t.angle_deg:g}" for t in other.throws)
        found += f"; the crank of the other hand, throw_angles = [{angles}], fires it evenly"
    elif not impossible:  # even, or an engine that fires unevenly on either hand
        return []
    return [Fault("engine, firing_order", found, "an order that this crank can fire in")]


def _misfire(layout: Layout, order: list[int]) -> tuple[str, bool]:
    """What keeps an order from firing evenly, if anything, and whether it cannot be fired at all."""
    try:
        intervals = firing_intervals_deg(layout, order)
    except ValueError as error:
        return str(error), True
    if max(intervals) - min(intervals) > 1e-6:
        return f"fires unevenly, {', '.join(f'{i:g}' for i in intervals)} degrees", False
    return "", False


def _mounts(table: EngineTable, faults: list[Fault], told_in: ToldIn) -> tuple[float, float] | None:
    """The planes that carry the engine, as declared."""
    if table.mounts is None:
        return None
    if table.mounts.front >= table.mounts.rear:
        wrong = f"{told_in.size(table.mounts.front)} is not in front of rear, {told_in.size(table.mounts.rear)}"
        faults.append(Fault("engine, mounts, front", wrong, "less than rear; z counts rearwards"))
    return table.mounts.front, table.mounts.rear


def _generic(table: EngineTable, faults: list[Fault]) -> Generic | None:
    """The named layout, with whatever the table declares in its place."""
    if table.layout is None:
        if table.throw_angles is None:
            faults.append(Fault("engine, layout", "missing", "a layout's name, or throw_angles"))
            return None
        named = Generic("declared", (), {"line": 0.0})
    else:
        named = GENERIC[table.layout]
    if table.throw_angles == []:
        faults.append(Fault("engine, throw_angles", "blank", "one angle a throw"))
        return None
    angles = named.throw_angles_deg
    if table.throw_angles is not None:
        angles = tuple(tuple(entry) if isinstance(entry, list) else entry for entry in table.throw_angles)
    own = table.throw_angles is None
    return Generic(
        named.description,
        angles,
        table.banks or named.banks,
        named.positions if own else None,
        named.own_pins and own,
    )


def _positions(
    table: EngineTable, generic: Generic, faults: list[Fault], told_in: ToldIn
) -> list[float | None] | None:
    """The place of each throw along the crank, each None where none is declared; None with its fault where there
    is not one a throw."""
    count = len(generic.throw_angles_deg)
    positions: list[float | None] | None = None if table.throw_positions is None else [*table.throw_positions]
    if positions is None:
        spacing = 0.0 if count == 1 else table.cylinder_spacing
        positions = [None if spacing is None else p * spacing for p in generic.positions or range(count)]
    if len(positions) != count:
        wrong = f"{len(positions)} positions for {count} throws"
        faults.append(Fault("engine, throw_positions", wrong, "one a throw"))
        return None
    places: dict[object, int] = {}
    for number, z_mm in enumerate(positions, start=1):
        if z_mm is not None and (other := places.setdefault(z_mm, number)) != number:
            wrong = f"throws {other} and {number} are at one place, {told_in.size(z_mm)}"
            faults.append(Fault("engine, throw_positions", wrong, "a place of its own for each throw"))
    for number, entry in enumerate(generic.throw_angles_deg, start=1):
        if isinstance(entry, tuple) and len({angle % 360 for angle in entry}) < len(entry):
            wrong = f"throw {number} has two pins at one angle"
            faults.append(Fault("engine, throw_angles", wrong, "different angles for the pins of a split throw"))
    return positions


def _layout(
    table: EngineTable, generic: Generic, throws: tuple[Throw, ...], faults: list[Fault], told_in: ToldIn
) -> Layout | None:
    banks = list(generic.banks)
    if table.first_bank is not None:
        if table.first_bank not in banks:
            wrong = f"{shown(table.first_bank)!r} is no bank"
            faults.append(Fault("engine, first_bank", wrong, ", ".join(banks)))
            return None
        banks.sort(key=lambda bank: bank != table.first_bank)
    if table.cylinders is not None:
        places = _declared_places(table, throws, banks, faults)
    else:
        split = any(isinstance(entry, tuple) for entry in generic.throw_angles_deg)
        if split and any(
            not isinstance(entry, tuple) or len(entry) != len(banks) for entry in generic.throw_angles_deg
        ):
            wrong = "split pins do not match the banks"
            faults.append(Fault("engine, throw_angles", wrong, "one angle a bank, or a map engine.cylinders"))
            return None
        numbering: Numbering = "by-bank" if table.numbering == "by-bank" else "alternating"
        places = numbered(throws, banks, generic.pin_a_cylinder, numbering)
    # Else they have a fault of their own, or none is declared.
    if len({throw.place_mm for throw in throws} - {None}) == len(generic.throw_angles_deg):
        _check_places(places, throws, generic.banks, table.bore, faults, told_in)
    return Layout(throws, places, dict(generic.banks))


def _check_places(
    places: tuple[CylinderAt, ...],
    throws: tuple[Throw, ...],
    banks: Mapping[str, float],
    bore_mm: float | None,
    faults: list[Fault],
    told_in: ToldIn,
) -> None:
    """Two cylinders of one axis need room for both along the crank: a bore's, or at the least another place."""
    z_mm = {throw.name: throw.z_mm for throw in throws}
    axes: dict[float, list[tuple[float, int]]] = {}
    for place in places:
        axes.setdefault(banks.get(place.bank, 0.0) % 360, []).append((z_mm.get(place.throw, 0.0), place.cylinder))
    for axis, row in axes.items():
        row.sort()
        for (z, one), (further, other) in itertools.pairwise(row):
            if further - z < (bore_mm or 1e-6):
                apart = f"{told_in.size(further - z)} apart" if further > z else "at one place"
                wrong = f"cylinders {one} and {other} of the axis at {axis:g}° are {apart}"
                allowed = (
                    f"a bore, {told_in.size(bore_mm)}, apart"
                    if bore_mm and further > z
                    else "one cylinder at one place"
                )
                faults.append(Fault("engine", wrong, allowed))


def _declared_places(
    table: EngineTable, throws: tuple[Throw, ...], banks: list[str], faults: list[Fault]
) -> tuple[CylinderAt, ...]:
    assert table.cylinders is not None
    names = [throw.name for throw in throws]
    places: list[CylinderAt] = []
    for key, entry in table.cylinders.items():
        where = f"engine, cylinders, {shown(key)}"
        if not re.fullmatch("[1-9][0-9]?", key):  # not 01: it would be cylinder 1 once more
            faults.append(Fault(where, "is no cylinder number", "1 to 99"))
            continue
        if entry.throw not in names:
            faults.append(Fault(f"{where}, throw", f"{shown(entry.throw)!r} is no throw", ", ".join(names)))
        if entry.bank not in banks:
            faults.append(Fault(f"{where}, bank", f"{shown(entry.bank)!r} is no bank", ", ".join(banks)))
        places.append(CylinderAt(int(key), entry.throw, entry.bank))
    for name in names:
        if not any(place.throw == name for place in places):
            faults.append(Fault("engine, cylinders", f"no cylinder on throw {name}"))
    return tuple(sorted(places, key=lambda place: place.cylinder))
