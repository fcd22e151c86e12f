"""What must clear over one turn: skirts against counterweights; rods and counterweights against what is around.

By exact kinematics, at rest: no bearing play, no stretch at speed, no rocking piston. Vectors lie in the plane of
rotation, real up, angles in the direction of rotation; below zero is how far one reaches into the other.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np

from truethrow.balance.base.arrays import Complexes, Floats
from truethrow.balance.base.errors import BadInput, Fault
from truethrow.balance.crank.crank import Arc, Crank, Member
from truethrow.balance.engine.engine import Engine
from truethrow.balance.engine.layout import CylinderAt
from truethrow.balance.engine.shaking import crank_angles

if TYPE_CHECKING:
    from truethrow.balance.engine.declared import CircleTable, ClearanceTable, LineTable, RodPointTable

# A turn is looked at in steps of a tenth of a degree, and round every low point in ever finer ones.
STEPS = 3600
ZOOMS, FINE = 5, 41
# Low points of a turn so near the lowest are looked at closely; the distance moves less within a step. [mm]
NEAR_MM = 1.0

Mover = Literal["skirt", "rod", "counterweight"]
Distance = Callable[[Floats], Floats]


class Gap(NamedTuple):
    """The least distance over a turn between two things, and the crank angle at which it comes. mover: what kind
    moves, of which cylinder, or None for a counterweight; what: its name; against: what it comes near."""

    mover: Mover
    what: str
    against: str
    cylinder: int | None
    least_mm: float
    crank_deg: float


class Slider(NamedTuple):
    """Where one cylinder's big end and piston pin are over a turn. (steps,)"""

    big_end: Complexes
    pin: Complexes
    axis: complex


def slider(engine: Engine, place: CylinderAt, crank_rad: Floats) -> Slider:
    """The exact slider-crank of a cylinder: its big end at r·e^i(θ+α), its pin on the bore's axis, a desaxé to the
    side to which the big end moves at the top, a rod's length away.

    Source: any text on slider-crank kinematics, such as Norton, Design of Machinery (from memory). Raises
    NotDeclared for a stroke or a rod length that is not there."""
    throw = next(throw for throw in engine.layout.throws if throw.name == place.throw)
    axis = complex(np.exp(1j * math.radians(engine.layout.banks[place.bank])))
    big_end = engine.throw_radius_mm * np.exp(1j * (crank_rad + math.radians(throw.angle_deg)))
    own = big_end * axis.conjugate()
    up = own.real + np.sqrt(engine.rod_length_mm**2 - (own.imag - engine.desaxe_mm) ** 2)
    return Slider(big_end, (up + 1j * engine.desaxe_mm) * axis, axis)


def gaps(engine: Engine, crank: Crank | None, table: ClearanceTable) -> tuple[Gap, ...]:
    """The least distance of everything that is declared, the least first.

    Raises NotDeclared for a stroke, a rod length or a cylinder spacing that it needs and is not there."""
    weights = tuple(m for m in crank.members if not m.external) if crank else ()
    found = [*_skirts(engine, weights, table), *_rods(engine, table), *_rims(weights, table)]
    return tuple(sorted(found, key=lambda gap: gap.least_mm))


def lowest(distance: Distance) -> tuple[float, float]:
    """The least distance over a turn, and the crank angle at which it comes. [mm, degrees]

    Every low point of the turn's steps that is nearly the lowest is looked at in ever finer steps."""
    step = 2 * math.pi / STEPS
    rad = crank_angles(STEPS)
    told = distance(rad)
    low = (told <= np.roll(told, 1)) & (told <= np.roll(told, -1)) & (told <= told.min() + NEAR_MM)
    best = math.inf, 0.0
    for start in rad[low]:
        at, wide = float(start), step
        for _ in range(ZOOMS):
            near = at + np.linspace(-wide, wide, FINE)
            fine = distance(near)
            least = int(fine.argmin())
            at, wide = float(near[least]), 2 * wide / (FINE - 1)
        # What stays the same over a part of the turn is told where that begins, not by a last bit.
        if fine[least] < best[0] - 1e-9:
            best = float(fine[least]), math.degrees(at) % 360
    return best


def _skirts(engine: Engine, weights: tuple[Member, ...], table: ClearanceTable) -> list[Gap]:
    """Each piston's skirt against the counterweights that turn below it."""
    if table.skirt_below_pin is None or not weights:
        return []
    half, along = _skirt_mm(engine, table)
    found = []
    for place, z_mm in zip(engine.layout.places, engine.layout.rods_mm, strict=True):
        for member in weights:
            if abs(z_mm - member.z_mm) < (along + member.thickness_mm) / 2:
                least, at = lowest(_over_rim(engine, place, member, half, table.skirt_below_pin))
                found.append(Gap("skirt", "skirt", member.name, place.cylinder, least, at))
    return found


def _skirt_mm(engine: Engine, table: ClearanceTable) -> tuple[float, float]:
    """Half the skirt's width across the bore, and its length along the crank. Raises NotDeclared."""
    wide, along = table.skirt_width or engine.bore_mm, table.skirt_along or engine.bore_mm
    if wide is None or along is None:
        raise BadInput(
            [Fault("engine, bore", "missing", "the bore, or skirt_width and skirt_along in [clearance]")]
        )
    return wide / 2, along


def _over_rim(engine: Engine, place: CylinderAt, member: Member, half_mm: float, below_mm: float) -> Distance:
    arc = member.arcs[0]

    def distance(rad: Floats) -> Floats:
        own = slider(engine, place, rad)
        # Seen from the counterweight, its middle at angle 0.
        turned = np.exp(-1j * (rad + math.radians(arc.middle_deg)))
        edge = (own.pin - below_mm * own.axis) * turned
        return skirt_to_rim(edge, own.axis * turned, half_mm, member.outer_mm, math.radians(arc.span_deg) / 2)

    return distance


def skirt_to_rim(edge: Complexes, axis: Complexes, half_mm: float, rim_mm: float, half_rad: float) -> Floats:
    """From a skirt, a block as wide as twice half_mm whose lower edge has its middle at edge and that goes on
    along axis, to a sector about the origin and angle 0, of radius rim_mm and half-angle half_rad. [mm]"""
    across = 1j * axis
    shift = -(edge * across.conjugate()).real  # from the edge's middle to its point nearest to the origin
    nearest = edge + np.clip(shift, -half_mm, half_mm) * across
    found = point_to_sector(nearest, rim_mm, half_rad)
    for end in (-half_mm, half_mm):
        found = np.minimum(found, point_to_sector(edge + end * across, rim_mm, half_rad))
    if half_rad < math.pi:
        for side in (-half_rad, half_rad):
            corner = (rim_mm * np.exp(1j * side) - edge) * axis.conjugate()
            found = np.minimum(found, _to_block(corner, half_mm))
    return found


def point_to_sector(point: Complexes, rim_mm: float, half_rad: float) -> Floats:
    """From points to a sector about the origin and angle 0; below zero inside, by the nearest way out. [mm]"""
    radius, angle = np.abs(point), np.abs(np.angle(point))
    beyond: Floats = radius - rim_mm
    if half_rad >= math.pi:
        return beyond
    # Beside it the nearest is the straight side, from the origin to the rim's end.
    own = radius * np.exp(1j * (angle - half_rad))
    side = np.abs(own - np.clip(own.real, 0.0, rim_mm))
    found: Floats = np.where(angle <= half_rad, np.maximum(beyond, -side), side)
    return found


def _to_block(point: Complexes, half_mm: float) -> Floats:
    """From points to a block from 0 upwards, of half a width to either side; below zero inside."""
    across, below = np.abs(point.imag) - half_mm, -point.real
    outside = np.hypot(np.maximum(across, 0.0), np.maximum(below, 0.0))
    found: Floats = np.where((across < 0) & (below < 0), np.maximum(across, below), outside)
    return found


def _rods(engine: Engine, table: ClearanceTable) -> list[Gap]:
    """Each rod's declared points, to both sides of its line, against every circle and line."""
    found = []
    for place in engine.layout.places:
        for point in table.rod:
            for against, clear in _surroundings(table):
                sides = _sides_rad(point)
                least, at = min(lowest(_of_rod(engine, place, point, side, clear)) for side in sides)
                found.append(Gap("rod", point.name, against, place.cylinder, least, at))
    return found


def _of_rod(
    engine: Engine, place: CylinderAt, point: RodPointTable, side_rad: float, clear: Callable[[Complexes], Floats]
) -> Distance:
    def distance(rad: Floats) -> Floats:
        own = slider(engine, place, rad)
        line = (own.pin - own.big_end) / engine.rod_length_mm
        return clear(own.big_end + line * _off_line_of_rod(point, side_rad)) - point.radius

    return distance


def _off_line_of_rod(point: RodPointTable, side_rad: float) -> complex:
    """Where a rod's point is, from its big end's middle, seen along the rod."""
    return point.distance * complex(math.cos(side_rad), math.sin(side_rad))


def _sides_rad(point: RodPointTable) -> tuple[float, ...]:
    """To both sides of the rod's line; a point on it has one."""
    at = math.radians(point.angle)
    return (at, -at) if point.angle % 180 else (at,)


def _surroundings(table: ClearanceTable) -> list[tuple[str, Callable[[Complexes], Floats]]]:
    """What is round the crank, by name, with how far points are from it."""
    return [
        *((circle.name, _off_circle(circle)) for circle in table.circle),
        *((line.name, _off_line(line)) for line in table.line),
    ]


def _off_circle(circle: CircleTable) -> Callable[[Complexes], Floats]:
    middle = circle.distance * complex(np.exp(1j * math.radians(circle.angle)))

    def off(at: Complexes) -> Floats:
        clear: Floats = np.abs(at - middle) - circle.radius
        return clear

    return off


def _off_line(line: LineTable) -> Callable[[Complexes], Floats]:
    towards = complex(np.exp(-1j * math.radians(line.angle)))

    def off(at: Complexes) -> Floats:
        clear: Floats = line.distance - (at * towards).real
        return clear

    return off


def _rims(weights: tuple[Member, ...], table: ClearanceTable) -> list[Gap]:
    """Every counterweight's rim against every circle and line, at the crank angle that turns its middle there."""
    around = [(one.name, one.angle, one.distance - one.radius) for one in table.circle]
    around += [(one.name, one.angle, one.distance) for one in table.line]
    return [
        Gap("counterweight", member.name, name, None, clear - member.outer_mm, (angle - arc.middle_deg) % 360)
        for member in weights
        for arc in member.arcs[:1]
        for name, angle, clear in around
    ]


def not_looked_at(engine: Engine, crank: Crank | None, table: ClearanceTable) -> tuple[str, ...]:
    """What a builder would look at and this cannot, as it is not declared."""
    missing = []
    if table.skirt_below_pin is None:
        missing.append("skirts against counterweights: skirt_below_pin in [clearance]")
    elif crank is None or not any(not member.external for member in crank.members):
        missing.append("skirts against counterweights: [[crank.counterweight]]")
    if not table.rod:
        missing.append("rods: [[clearance.rod]]")
    if not table.circle:
        missing.append("the camshaft: [[clearance.circle]]")
    if not table.line:
        missing.append("pan and block: [[clearance.line]]")
    return tuple(missing)


class Scene(NamedTuple):
    """What a drawing of one crank angle needs. [mm] near: the nearest points of the two things, the mover's first;
    big_end, pin, axis: of the cylinder that moves there, None for a counterweight; edge: the two ends of the
    skirt's lower edge; heads: middles and radii of the rod's points; weights: the counterweights' inner and outer
    radius and arc at that angle, those first that the gap is about."""

    near: tuple[complex, complex]
    big_end: complex | None
    pin: complex | None
    axis: complex | None
    edge: tuple[complex, complex] | None
    heads: tuple[tuple[complex, float], ...]
    weights: tuple[tuple[float, float, Arc], ...]


def scene(engine: Engine, crank: Crank | None, table: ClearanceTable, gap: Gap) -> Scene:
    """The turn at a gap's least distance."""
    members = [member for member in crank.members if not member.external] if crank else []
    named = {"skirt": gap.against, "counterweight": gap.what}.get(gap.mover)
    weights = tuple(
        (m.inner_mm, m.outer_mm, Arc((m.arcs[0].from_deg + gap.crank_deg) % 360, m.arcs[0].span_deg))
        for m in members
        if m.name == named
    )
    if gap.mover == "counterweight":
        return Scene(_rim_points(table, gap, weights[0][1]), None, None, None, None, (), weights)
    place = next(place for place in engine.layout.places if place.cylinder == gap.cylinder)
    own = slider(engine, place, np.array([math.radians(gap.crank_deg)]))
    big_end, pin = complex(own.big_end[0]), complex(own.pin[0])
    heads = _heads(engine, table, big_end, pin)
    edge = None
    if table.skirt_below_pin is not None:
        half, _ = _skirt_mm(engine, table)
        middle = pin - table.skirt_below_pin * own.axis
        edge = middle - half * 1j * own.axis, middle + half * 1j * own.axis
    if gap.mover == "rod":
        near = _head_points(table, gap, heads)
    else:
        assert edge
        near = _edge_points(edge, weights[0], gap.least_mm)
    return Scene(near, big_end, pin, own.axis, edge, heads, weights)


def _heads(
    engine: Engine, table: ClearanceTable, big_end: complex, pin: complex
) -> tuple[tuple[complex, float], ...]:
    line = (pin - big_end) / engine.rod_length_mm
    return tuple(
        (big_end + line * _off_line_of_rod(point, side), point.radius)
        for point in table.rod
        for side in _sides_rad(point)
    )


def _head_points(
    table: ClearanceTable, gap: Gap, heads: tuple[tuple[complex, float], ...]
) -> tuple[complex, complex]:
    def pair(head: tuple[complex, float]) -> tuple[complex, complex]:
        return _towards(table, gap.against, *head)

    return min(map(pair, heads), key=lambda two: abs(abs(two[0] - two[1]) - abs(gap.least_mm)))


def _towards(table: ClearanceTable, against: str, at: complex, radius: float) -> tuple[complex, complex]:
    """The nearest points of a circle and of what is round the crank, by its name."""
    for circle in table.circle:
        if circle.name == against:
            middle = circle.distance * complex(np.exp(1j * math.radians(circle.angle)))
            way = (middle - at) / abs(middle - at)
            return at + radius * way, middle - circle.radius * way
    line = next(line for line in table.line if line.name == against)
    way = complex(np.exp(1j * math.radians(line.angle)))
    return at + radius * way, at + (line.distance - (at * way.conjugate()).real) * way


def _rim_points(table: ClearanceTable, gap: Gap, rim_mm: float) -> tuple[complex, complex]:
    return _towards(table, gap.against, 0j, rim_mm)


def _edge_points(
    edge: tuple[complex, complex], weight: tuple[float, float, Arc], least_mm: float
) -> tuple[complex, complex]:
    """The nearest points of a skirt's lower edge and of a rim, the latter by points a thousandth of it apart;
    where they overlap, the rim inside the skirt and where it would have to come out."""
    _, rim_mm, arc = weight
    rim = rim_mm * np.exp(1j * np.radians(arc.from_deg + arc.span_deg * np.linspace(0, 1, 1001)))
    along = (edge[1] - edge[0]) / abs(edge[1] - edge[0])
    own = (rim - edge[0]) * np.conj(along)  # along the edge, and up from it to the piston's side
    foot = edge[0] + np.clip(own.real, 0, abs(edge[1] - edge[0])) * along
    apart = np.abs(rim - foot)
    if least_mm < 0:
        is_inside = (own.real >= 0) & (own.real <= abs(edge[1] - edge[0])) & (own.imag < 0)
        apart = np.where(is_inside, np.abs(apart + least_mm), rim_mm + apart)
    least = int(apart.argmin())
    return complex(foot[least]), complex(rim[least])
