"""The crank as the balancing station sees it: where it has metal that may come off, and what is there already.

A counterweight is a sector of a ring: an arc, from → to in the direction of rotation, between two radii, of
one thickness. An external plane, a damper or a flexplate, is a ring of places at one radius.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable
from typing import Annotated, Literal, NamedTuple

from pydantic import Field, PlainValidator

from truethrow.balance.base.amounts import METRIC, Amount, ToldIn
from truethrow.balance.base.digits import digits
from truethrow.balance.base.errors import Fault, printable, shown
from truethrow.balance.base.fields import (
    Angle,
    Length,
    PartName,
    Position,
    Speed,
    Table,
    Unbalance,
    number_within,
    one_of,
    quantity_within,
)
from truethrow.balance.base.units import UNBALANCE
from truethrow.balance.crank.holes import (
    COMMON_POINT_DEG,
    FLAT_DEG,
    SHARPEST_POINT_DEG,
    Hole,
    axial_centroid_mm,
    axial_hole,
    cone_height_mm,
    ground_arc,
    radial_hole,
)
from truethrow.balance.crank.offset import COUNTED, Offset, from_arbor, polar

# [g/cm³] Source: handbook values (from memory).
DENSITY_G_CM3 = {"steel": 7.85, "iron": 7.2}
# Least metal between two holes and to any face: cautious. Common practice, no source.
DEFAULT_WALL_MM = 3.0

Face = Literal["front", "rear"]
_FACES = ("front", "rear", "none")
_Density = Annotated[float | None, PlainValidator(number_within(0.5, 25))]


class HoleTable(Table):
    """A hole that is there: from the rim (radial), or parallel to the crank at a radius (axial). offset: of its
    axis (radial) or its middle (axial) from the middle of what it is in, along the crank."""

    kind: Annotated[str, PlainValidator(one_of("radial", "axial"))]
    angle: Angle
    diameter: Length
    depth: Length
    radius: Length | None = None
    offset: Position = 0.0
    point: Annotated[float | None, PlainValidator(number_within(SHARPEST_POINT_DEG, FLAT_DEG))] = None


class ArcTable(Table):
    start: Angle = Field(alias="from")
    to: Angle


class CounterweightTable(Table):
    """at: z of its middle; from, to: its arc, in the direction of rotation; inner_radius: no metal is taken below
    it (fillets, oil ways); bore: the face that an axial bore can start from, "none" where neighbours hide both."""

    name: PartName
    at: Position
    thickness: Length
    outer_radius: Length
    inner_radius: Length
    start: Angle = Field(alias="from")
    to: Angle
    bore: Annotated[str | None, PlainValidator(one_of(*_FACES))] = None
    hole: list[HoleTable] = Field(default_factory=list)


_Amount = Annotated[float, PlainValidator(quantity_within(UNBALANCE, 0, 1e9, zero=True))]


class OffsetTable(Table):
    """A member's own unbalance as its maker tells it, or as a run on an arbor reads it; angle: from its keyway or
    dowel."""

    unbalance: _Amount
    angle: Angle = 0.0


class MakersOffsetTable(OffsetTable):
    """uncertainty: of the vector, as far as it may be off in any direction."""

    uncertainty: _Amount


class ArborTable(Table):
    """Two runs on an arbor, the member turned half a turn on it between them. counted: what both angles are
    counted from; straight: with both marks in line; uncertainty: of one run."""

    counted: Annotated[str, PlainValidator(one_of(*COUNTED))]
    straight: OffsetTable
    turned: OffsetTable
    uncertainty: Unbalance


class ExternalTable(Table):
    """A damper, a flexplate, a clutch cover. radius: of the circle that its holes lie on; arc: where it may be
    drilled, all round without any; bore: the face that is drilled, the one away from the crank without it; drill:
    whether its maker lets it be drilled; keyway: where its keyway or dowel sits on the crank, from throw 1;
    one_way: it fits the crank in no other way; offset, arbor: its own unbalance, as it came to this job; fastest:
    its maker's limit; replaces: the member that it is to be made equal to, and is not on the crank
    yet; gone: it came off for good, and the log has spins with it on, or holes in it."""

    name: PartName
    at: Position
    radius: Length
    thickness: Length
    deepest: Length | None = None
    density: _Density = None
    bore: Annotated[str | None, PlainValidator(one_of("front", "rear"))] = None
    drill: bool = True
    keyway: Angle | None = None
    one_way: bool = False
    offset: MakersOffsetTable | None = None
    arbor: ArborTable | None = None
    fastest: Speed | None = None
    replaces: PartName | None = None
    gone: bool = False
    arc: list[ArcTable] = Field(default_factory=list)
    hole: list[HoleTable] = Field(default_factory=list)


class CrankTable(Table):
    """material or density, in g/cm³; wall: least metal between two holes and to any face or end of an arc;
    deepest_radial, deepest_axial: of any hole, to its tip."""

    material: Annotated[str, PlainValidator(one_of(*DENSITY_G_CM3))] = "steel"
    density: _Density = None
    wall: Length = DEFAULT_WALL_MM
    deepest_radial: Length | None = None
    deepest_axial: Length | None = None
    counterweight: list[CounterweightTable] = Field(default_factory=list)
    external: list[ExternalTable] = Field(default_factory=list)


class Arc(NamedTuple):
    """From an angle on, so far in the direction of rotation; 360 degrees have no ends."""

    from_deg: float
    span_deg: float

    @property
    def middle_deg(self) -> float:
        return (self.from_deg + self.span_deg / 2) % 360

    def holds(self, angle_deg: float) -> bool:
        return (angle_deg - self.from_deg) % 360 <= self.span_deg

    def overlaps(self, other: Arc) -> bool:
        return (other.from_deg - self.from_deg) % 360 < self.span_deg or (
            self.from_deg - other.from_deg
        ) % 360 < other.span_deg


class Member(NamedTuple):
    """What metal may come off: a counterweight, drilled from its rim and bored from a face that can be reached,
    or an external plane, drilled along the crank on one circle (pitch_mm)."""

    name: str
    z_mm: float
    thickness_mm: float
    outer_mm: float
    inner_mm: float
    arcs: tuple[Arc, ...]
    density_g_mm3: float
    bore: Face | None
    deepest_radial_mm: float
    deepest_axial_mm: float
    pitch_mm: float | None = None
    holes: tuple[Hole, ...] = ()
    keyway_deg: float | None = None
    one_way: bool = False
    offset: Offset | None = None
    fastest_rpm: float | None = None
    replaces: str = ""

    def __repr__(self) -> str:
        return printable(f"Member: {self.name} at {self.z_mm:g} mm, {len(self.holes)} holes")

    @property
    def external(self) -> bool:
        return self.pitch_mm is not None

    def below_face_mm(self, down_mm: float) -> float:
        """z of what lies so deep below the face that is bored."""
        half_mm = self.thickness_mm / 2
        return self.z_mm - half_mm + down_mm if self.bore == "front" else self.z_mm + half_mm - down_mm

    def bored_from(self, hole: Hole) -> Face | None:
        """From which face a bore of it along the crank is made: the one that it is nearer to, its own where it
        goes through the middle; None for what is no such bore."""
        if hole.kind not in ("axial", "slug"):
            return None
        if abs(hole.z_mm - self.z_mm) < 1e-6:
            return self.bore
        return "front" if hole.z_mm < self.z_mm else "rear"


class Crank(NamedTuple):
    """The members front to rear, and the least wall that a hole may leave. waiting: members that are to replace
    one of these, and are not on the crank; gone: those that came off for good."""

    members: tuple[Member, ...]
    wall_mm: float = DEFAULT_WALL_MM
    waiting: tuple[Member, ...] = ()
    gone: tuple[Member, ...] = ()

    def __repr__(self) -> str:
        return printable(f"Crank: {', '.join(member.name for member in self.members)}")

    @property
    def externals(self) -> tuple[Member, ...]:
        """What is mounted on the crank and can be taken off again."""
        return tuple(member for member in self.members if member.external)

    def only(self, mounted: Iterable[str]) -> Crank:
        """The crank with these of its members that can be taken off, and no other."""
        names = set(mounted)
        return self._replace(members=tuple(one for one in self.members if not one.external or one.name in names))

    def member(self, name: str) -> Member:
        return next(member for member in (*self.members, *self.gone) if member.name == name)

    def alone(self, mounted: Iterable[str]) -> Crank:
        """These of its members that can be taken off, without the counterweights."""
        names = set(mounted)
        return self._replace(members=tuple(one for one in self.members if one.name in names))


def to_depth(member: Member, hole: Hole, depth_mm: float, told_in: ToldIn = METRIC) -> Hole:
    """The same operation on the same member to another depth: what it takes, and where along the crank that acts.
    told_in: the units of a fault. Raises ValueError for a depth that the member has not, and for a slug, which is
    as long as it is."""
    if hole.kind == "slug":
        raise ValueError("a slug is as long as it is")
    density, z_mm = member.density_g_mm3, hole.z_mm
    most_mm = member.thickness_mm if hole.kind == "axial" else member.outer_mm - member.inner_mm
    if hole.kind == "radial":  # its point takes metal below its full diameter
        most_mm -= cone_height_mm(hole.diameter_mm, hole.point_deg)
    if not 0 < depth_mm <= most_mm + 1e-9:
        raise ValueError(f"{told_in.size(depth_mm)} deep is out of reach, {told_in.most(most_mm)} at most")
    if hole.kind == "radial":
        removed = radial_hole(density, hole.radius_mm, hole.diameter_mm, depth_mm, hole.point_deg)
    elif hole.kind == "axial":
        drill = hole.diameter_mm, depth_mm, hole.point_deg, member.thickness_mm
        removed = axial_hole(density, hole.radius_mm, *drill)
        z_mm = member.below_face_mm(axial_centroid_mm(*drill))
    else:
        removed = ground_arc(density, hole.radius_mm, member.thickness_mm, hole.arc_deg, depth_mm)
    return hole._replace(depth_mm=depth_mm, z_mm=z_mm, removes_gmm=removed.unbalance_gmm, mass_g=removed.mass_g)


def crank_of(
    table: CrankTable, faults: list[Fault], middle_mm: float = 0.0, told_in: ToldIn = METRIC
) -> Crank | None:
    """The crank of a checked table, or None with what no table can know added to the faults. middle_mm: z of the
    middle of its throws, which tells front from rear where there are no counterweights; told_in: the units of a
    fault."""
    before = len(faults)
    density = (table.density or DENSITY_G_CM3[table.material]) / 1000
    _names_once(table, faults)
    members = [_counterweight(table, one, density, faults, told_in) for one in table.counterweight]
    members += [_external(table, one, density, middle_mm, faults, told_in) for one in table.external]
    _apart([member for member in members if not member.external], faults)
    if not members:
        faults.append(Fault("crank", "has nothing to drill", "at least one counterweight or external plane"))
    if len(faults) > before:
        return None
    off = {one.name for one in table.external if one.gone}
    there = [one for one in members if not one.replaces and one.name not in off]
    return Crank(
        tuple(sorted(there, key=lambda member: member.z_mm)),
        table.wall,
        tuple(one for one in members if one.replaces and one.name not in off),
        tuple(one for one in members if one.name in off),
    )


def _counterweight(
    table: CrankTable, one: CounterweightTable, density: float, faults: list[Fault], told_in: ToldIn
) -> Member:
    where = f"counterweight {one.name}"
    if one.inner_radius >= one.outer_radius:
        allowed = f"below the outer radius, {told_in.size(one.outer_radius)}"
        faults.append(Fault(f"{where}, inner_radius", str(told_in.size(one.inner_radius)), allowed))
    member = Member(
        one.name,
        one.at,
        one.thickness,
        one.outer_radius,
        one.inner_radius,
        (_arc(one.start, one.to, where, faults),),
        density,
        _bore(table, one),
        table.deepest_radial or math.inf,
        table.deepest_axial or math.inf,
    )
    return _with_holes(member, one.hole, where, faults, told_in)


def _bore(table: CrankTable, one: CounterweightTable) -> Face | None:
    """As declared; else the first counterweight from the front and the last from the rear, whose faces no
    neighbour hides. Common practice, no source."""
    if one.bore is not None:
        return None if one.bore == "none" else _face(one.bore)
    z = [other.at for other in table.counterweight]
    if one.at == min(z):
        return "front"
    return "rear" if one.at == max(z) else None


def _face(name: str) -> Face:
    return "front" if name == "front" else "rear"


def _external(
    table: CrankTable,
    one: ExternalTable,
    density: float,
    middle_mm: float,
    faults: list[Fault],
    told_in: ToldIn,
) -> Member:
    where = f"external {one.name}"
    arcs = [_arc(arc.start, arc.to, f"{where}, arc {n}", faults) for n, arc in enumerate(one.arc, start=1)]
    for (n, arc), (m, other) in itertools.combinations(enumerate(arcs, start=1), 2):
        if arc.overlaps(other):
            faults.append(Fault(f"{where}, arc {m}", f"overlaps arc {n}", "arcs apart from each other"))
    weights = [other.at for other in table.counterweight]
    ahead = one.at <= ((min(weights) + max(weights)) / 2 if weights else middle_mm)
    member = Member(
        one.name,
        one.at,
        one.thickness,
        math.inf,
        0.0,
        (tuple(arcs) or (Arc(0.0, 360.0),)) if one.drill else (),
        one.density / 1000 if one.density else density,
        _face(one.bore) if one.bore else ("front" if ahead else "rear"),
        0.0,
        one.deepest or math.inf,
        one.radius,
        keyway_deg=None if one.keyway is None else one.keyway % 360,
        one_way=one.one_way,
        offset=_offset(one, where, faults),
        fastest_rpm=one.fastest,
        replaces=_replaced(table, one, where, faults),
    )
    return _with_holes(member, one.hole, where, faults, told_in)


def _offset(one: ExternalTable, where: str, faults: list[Fault]) -> Offset | None:
    """A member's own unbalance, tied to throw 1 by its keyway."""
    if one.offset is None and one.arbor is None:
        return None
    if one.offset is not None and one.arbor is not None:
        faults.append(Fault(where, "has offset and arbor, which say the same twice", "one of the two"))
        return None
    if one.keyway is None:
        allowed = "where its keyway or dowel sits on the crank, in degrees from throw 1"
        faults.append(Fault(f"{where}, keyway", "missing", allowed))
        return None
    if one.offset is not None:
        told = one.offset
        return Offset(polar(told.unbalance, one.keyway + told.angle), told.uncertainty, "maker")
    assert one.arbor
    straight, turned = (polar(run.unbalance, run.angle) for run in (one.arbor.straight, one.arbor.turned))
    own, _ = from_arbor(straight, turned, one.arbor.counted)
    # Half the sum of two runs that are each so sure.
    return Offset(own * polar(1.0, one.keyway), one.arbor.uncertainty / math.sqrt(2), "arbor")


def _replaced(table: CrankTable, one: ExternalTable, where: str, faults: list[Fault]) -> str:
    if one.replaces is None:
        return ""
    others = [other.name for other in table.external if other.name != one.name and other.replaces is None]
    if one.replaces not in others:
        faults.append(
            Fault(f"{where}, replaces", shown(one.replaces), ", ".join(others) or "another member's name")
        )
    return one.replaces


def _arc(from_deg: float, to_deg: float, where: str, faults: list[Fault]) -> Arc:
    span = (to_deg - from_deg) % 360 or (360.0 if to_deg != from_deg else 0.0)
    if span == 0:
        faults.append(
            Fault(f"{where}, to", f"{digits(to_deg)} degrees is where it starts", "an arc above 0 degrees")
        )
    return Arc(from_deg % 360, span)


def _with_holes(
    member: Member, tables: list[HoleTable], where: str, faults: list[Fault], told_in: ToldIn
) -> Member:
    holes = []
    for number, table in enumerate(tables, start=1):
        hole = _hole(member, table, f"{where}, hole {number}", faults, told_in.size)
        if hole is not None:
            holes.append(hole)
    return member._replace(holes=tuple(holes))


def _hole(
    member: Member, table: HoleTable, where: str, faults: list[Fault], told: Callable[[float], Amount]
) -> Hole | None:
    """A hole that is there: inside the metal that holds it, as near as its figures tell. told: a length of a
    fault, with its unit."""
    found: list[Fault] = []
    half_mm, z_mm = table.diameter / 2, member.z_mm + table.offset
    along_mm = half_mm if table.kind == "radial" else table.depth / 2
    if not any(arc.holds(table.angle) for arc in member.arcs):
        found.append(Fault(f"{where}, angle", f"{digits(table.angle)} degrees", "an angle on the arc"))
    if abs(table.offset) + along_mm > member.thickness_mm / 2 + 1e-9:
        allowed = f"inside the thickness, {told(member.thickness_mm)}"
        found.append(Fault(f"{where}, offset", f"the hole ends {told(abs(table.offset) + along_mm)} off", allowed))
    if table.kind == "axial":
        radius_mm = table.radius if table.radius is not None else member.pitch_mm
        if radius_mm is None:
            found.append(Fault(f"{where}, radius", "missing", "the radius that the hole's axis lies on"))
        elif radius_mm + half_mm > member.outer_mm or radius_mm - half_mm <= 0:
            found.append(
                Fault(f"{where}, radius", str(told(radius_mm)), f"inside the rim, {told(member.outer_mm)}")
            )
        point = table.point or FLAT_DEG
        removed = axial_hole(member.density_g_mm3, radius_mm or 1.0, table.diameter, table.depth, point)
    else:
        radius_mm, point = member.outer_mm, table.point or COMMON_POINT_DEG
        if member.external:
            found.append(Fault(f"{where}, kind", "radial", "axial, on a damper or flexplate"))
            radius_mm = member.pitch_mm or 1.0
        elif table.diameter > member.outer_mm:
            found.append(Fault(f"{where}, diameter", str(told(table.diameter)), "smaller than the counterweight"))
        elif table.depth + cone_height_mm(table.diameter, point) > member.outer_mm:
            found.append(Fault(f"{where}, depth", str(told(table.depth)), "short of the crank's axis"))
        removed = radial_hole(member.density_g_mm3, radius_mm, table.diameter, table.depth, point)
    if found:
        faults += found
        return None
    kind: Literal["axial", "radial"] = "axial" if table.kind == "axial" else "radial"
    assert radius_mm is not None
    return Hole(
        member.name,
        kind,
        table.angle % 360,
        radius_mm,
        z_mm,
        table.diameter,
        table.depth,
        removed.unbalance_gmm,
        removed.mass_g,
        point,
    )


def _names_once(table: CrankTable, faults: list[Fault]) -> None:
    names = [one.name for one in table.counterweight] + [one.name for one in table.external]
    for name in dict.fromkeys(names):
        if names.count(name) > 1:
            wrong = f"{name} is there {names.count(name)} times"
            faults.append(Fault("crank", wrong, "a name of its own for each"))


def _apart(members: list[Member], faults: list[Fault]) -> None:
    """No two counterweights of the same metal: overlapping along the crank, round it, and in radius."""
    for one, other in itertools.combinations(members, 2):
        along = abs(one.z_mm - other.z_mm) < (one.thickness_mm + other.thickness_mm) / 2 - 1e-9
        across = one.inner_mm < other.outer_mm and other.inner_mm < one.outer_mm
        if along and across and one.arcs[0].overlaps(other.arcs[0]):
            allowed = "counterweights apart along the crank or round it"
            faults.append(Fault(f"counterweight {other.name}", f"lies in {one.name}", allowed))
