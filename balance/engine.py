"""The engine as declared: its layout and the few lengths that the figures need, with the plain geometry.

Displacement, mean piston speed and piston acceleration are shown with every job, because a slip in the
stroke or the speed shows there first.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

from truethrow.balance.errors import Fault, shown
from truethrow.balance.layout import GENERIC, Generic, Layout, Numbering, Place, Throw, numbered, throws

if TYPE_CHECKING:
    from truethrow.balance.document import EngineTable

STANDARD_GRAVITY_M_S2 = 9.80665


class Engine(NamedTuple):
    """Layout and lengths of one engine. without: kinds of part that it does not have."""

    layout: Layout
    layout_name: str
    stroke_mm: float
    rod_length_mm: float
    bore_mm: float | None = None
    top_speed_rpm: float | None = None
    without: tuple[str, ...] = ()

    @property
    def throw_radius_mm(self) -> float:
        return self.stroke_mm / 2


def displacement_cm3(bore_mm: float, stroke_mm: float, cylinders: int) -> float:
    """Swept volume of an engine, V = n·π/4·b²·s. [cm³] Source: geometry of the cylinder."""
    return cylinders * math.pi / 4 * bore_mm**2 * stroke_mm / 1000


def mean_piston_speed_m_s(stroke_mm: float, speed_rpm: float) -> float:
    """Mean piston speed, 2·s·n. [m/s] Source: Heywood, Internal Combustion Engine Fundamentals, eq. 2.9."""
    return 2 * stroke_mm / 1000 * speed_rpm / 60


def peak_piston_acceleration_m_s2(stroke_mm: float, rod_length_mm: float, speed_rpm: float) -> float:
    """Piston acceleration at top dead centre, r·ω²·(1 + r/L), the largest of the turn. [m/s²]

    Exact there for a slider-crank without offset: both harmonics, and all higher ones, are in phase.
    Source: any text on slider-crank kinematics, such as Norton, Design of Machinery (from memory)."""
    r = stroke_mm / 2 / 1000
    omega = speed_rpm * 2 * math.pi / 60
    return r * omega**2 * (1 + stroke_mm / 2 / rod_length_mm)


def build(table: EngineTable, faults: list[Fault]) -> Engine | None:
    """The engine that a job's [engine] table declares, or None with its faults added."""
    before = len(faults)
    if table.stroke >= 2 * table.rod_length:
        found = f"{table.stroke:g} mm with a rod of {table.rod_length:g} mm cannot turn"
        faults.append(Fault("engine, stroke", found, "less than twice rod_length"))
    generic = _generic(table, faults)
    if generic is None:
        return None
    found_throws = _throws(table, generic, faults)
    layout = _layout(table, generic, found_throws, faults) if found_throws else None
    if layout is None or len(faults) > before:
        return None
    return Engine(
        layout=layout,
        layout_name=table.layout or "declared",
        stroke_mm=table.stroke,
        rod_length_mm=table.rod_length,
        bore_mm=table.bore,
        top_speed_rpm=table.top_speed,
        without=tuple(table.without),
    )


def _generic(table: EngineTable, faults: list[Fault]) -> Generic | None:
    """The named layout, with whatever the table declares in its place."""
    if table.layout is None:
        if table.throw_angles is None:
            faults.append(Fault("engine, layout", "missing", "a layout's name, or throw_angles"))
            return None
        named = Generic("declared", (), {"line": 0.0})
    else:
        named = GENERIC[table.layout]
    angles = named.throw_angles_deg
    if table.throw_angles is not None:
        angles = tuple(tuple(entry) if isinstance(entry, list) else entry for entry in table.throw_angles)
    positions = named.positions if table.throw_angles is None else None
    return Generic(named.description, angles, table.banks or named.banks, positions)


def _throws(table: EngineTable, generic: Generic, faults: list[Fault]) -> tuple[Throw, ...]:
    count = len(generic.throw_angles_deg)
    positions = table.throw_positions
    if positions is None:
        if table.cylinder_spacing is None and count > 1:
            faults.append(Fault("engine, cylinder_spacing", "missing", "a length, or throw_positions"))
            return ()
        spacing = table.cylinder_spacing or 0.0
        positions = [p * spacing for p in generic.positions or range(count)]
    if len(positions) != count:
        found = f"{len(positions)} positions for {count} throws"
        faults.append(Fault("engine, throw_positions", found, "one a throw"))
        return ()
    places: dict[object, int] = {}
    for number, z_mm in enumerate(positions, start=1):
        if (other := places.setdefault(z_mm, number)) != number:
            found = f"throws {other} and {number} are at one place, {z_mm:g} mm"
            faults.append(Fault("engine, throw_positions", found, "a place of its own for each throw"))
    for number, entry in enumerate(generic.throw_angles_deg, start=1):
        if isinstance(entry, tuple) and len({angle % 360 for angle in entry}) < len(entry):
            found = f"throw {number} has two pins at one angle"
            faults.append(
                Fault("engine, throw_angles", found, "different angles for the pins of a split throw")
            )
    return throws(generic.throw_angles_deg, positions)


def _layout(
    table: EngineTable, generic: Generic, throws: tuple[Throw, ...], faults: list[Fault]
) -> Layout | None:
    banks = list(generic.banks)
    if table.first_bank is not None:
        if table.first_bank not in banks:
            found = f"{shown(table.first_bank)!r} is no bank"
            faults.append(Fault("engine, first_bank", found, ", ".join(banks)))
            return None
        banks.sort(key=lambda bank: bank != table.first_bank)
    if table.cylinders is not None:
        places = _declared_places(table, throws, banks, faults)
    else:
        split = any(isinstance(entry, tuple) for entry in generic.throw_angles_deg)
        if split and any(
            not isinstance(entry, tuple) or len(entry) != len(banks) for entry in generic.throw_angles_deg
        ):
            found = "split pins do not match the banks"
            faults.append(Fault("engine, throw_angles", found, "one angle a bank, or a map engine.cylinders"))
            return None
        numbering: Numbering = "by-bank" if table.numbering == "by-bank" else "alternating"
        places = numbered(throws, banks, split, numbering)
    return Layout(throws, places, dict(generic.banks))


def _declared_places(
    table: EngineTable, throws: tuple[Throw, ...], banks: list[str], faults: list[Fault]
) -> tuple[Place, ...]:
    assert table.cylinders is not None
    names = [throw.name for throw in throws]
    places: list[Place] = []
    taken: dict[tuple[str, str], str] = {}
    number_ok: Callable[[str], bool] = lambda key: key.isascii() and key.isdigit() and 1 <= int(key) <= 99  # noqa: E731
    for key, entry in table.cylinders.items():
        where = f"engine, cylinders, {shown(key)}"
        if not number_ok(key):
            faults.append(Fault(where, "is no cylinder number", "1 to 99"))
            continue
        if entry.throw not in names:
            faults.append(Fault(f"{where}, throw", f"{shown(entry.throw)!r} is no throw", ", ".join(names)))
        if entry.bank not in banks:
            faults.append(Fault(f"{where}, bank", f"{shown(entry.bank)!r} is no bank", ", ".join(banks)))
        other = taken.setdefault((entry.throw, entry.bank), key)
        if other != key:
            found = (
                f"shares throw {shown(entry.throw)} and bank {shown(entry.bank)} with cylinder {shown(other)}"
            )
            faults.append(Fault(where, found, "one cylinder at one place"))
        places.append(Place(int(key), entry.throw, entry.bank))
    for name in names:
        if not any(place.throw == name for place in places):
            faults.append(Fault("engine, cylinders", f"no cylinder on throw {name}"))
    return tuple(sorted(places, key=lambda place: place.cylinder))
