"""The working of what the station does: a hole, planned or done, and the sum that is signed, plane by plane."""

from __future__ import annotations

import math
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.correction import apply
from truethrow.balance.correction.room import faces_mm, nearest
from truethrow.balance.correction.walls import TOUCH_MM
from truethrow.balance.crank.crank import DEFAULT_WALL_MM, Arc, Crank, Member
from truethrow.balance.crank.holes import Hole
from truethrow.balance.station import may_go
from truethrow.balance.station.balancing import PLANES, Balancing
from truethrow.balance.station.built import Hung
from truethrow.balance.station.inengine import InEngine
from truethrow.balance.station.stationwork import must_be_shown
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import result_words, working_words
from truethrow.worksheets.words.cautions import DRILL_CAUTION, MEMBER_CAUTION, SIGN_CAUTION, SLUG_CAUTION
from truethrow.worksheets.words.station_words import at, operations, signed_before
from truethrow.worksheets.words.worked_lines import (
    Figure,
    Line,
    Working,
    as_number,
    as_part,
    exactly,
    finer,
    in_product,
    judged,
    taken,
)

# The figures that only a job at the station has.
KINDS = ("hole", "sum")
DENSITY_SOURCE = "job file, [crank] density, else that of its material: handbook values (from memory)"
HOLE_SOURCE = "the metal's first moment about the crank's axis (statics)"
RADIAL_SOURCE = "moment of the hole less D² / 32 of its mouth, where the round rim falls away"
POINT_SOURCE = "machinist handbooks (from memory): D / (2 × tan of half the point's angle)"
CONE_SOURCE = "a cone is a third of its cylinder; its center of mass lies a quarter of its height below its base"
RIM_SOURCE = "mean height of the round rim over the drill, a series"
ARC_SOURCE = "a ring's moment, 2 × sin of half the arc × (outer radius³ − inner radius³) / 3"
SHARE_SOURCE = working_words.PLANE_SOURCE
DEFAULT_WALL_SAID = f"{DEFAULT_WALL_MM:g} mm: cautious (common practice, no source)"
WALL_SOURCE = "beside the drill, at its shoulder"
SPIN_SURE = "of the spin, in the sum's direction: scatter of its runs, and what the profile says of the station"
HANGING_SURE = "of the readings of parts and bobweights, in the sum's direction; truethrow sure tells of what"
MEMBERS_SURE = "of the members that were off"
TOGETHER = "JCGM 100:2008, 5.1.2: in quadrature"
SUM_SAID = "What is signed is what turns in the engine: crank as it was spun, and what hanging leaves"
SUM_NOT_SIGNED = "This sum is what the last spin came to; nothing is signed by it as it is"
NO_VERDICT = "no verdict: read first what is against it"
RECORDED = "log, record"
HOLE_SAID = "A hole takes the density × its volume, at the radius of its center of mass"


def names(state: Balancing) -> list[str]:
    """The figures of a job at the station whose working can be shown, each as it is asked for: the holes of the
    plan by their numbers, as far as the plan itself is shown, what is done by its record."""
    state = may_go.as_it_counts(state)
    planned = [f"hole {one.number}" for one in operations(state)]
    sums = [f"sum {plane}" for plane in PLANES] if state.in_engine else []
    return [*planned, *(f"hole {one.id}" for one in state.drilled), *sums]


def working(state: Balancing, figure: str, show: Display) -> Working:
    """The working of one figure. Raises BadInput for one that this job does not have, and for a hole of a plan
    that is not to be drilled."""
    state = may_go.as_it_counts(state)
    what, _, which = working_words.plain(figure).partition(" ")
    if what == "hole" and which.isdigit() and f"{what} {which}" not in names(state):
        must_be_shown(state)
    if f"{what} {which}" not in names(state):
        raise BadInput([_none(state, figure, what)])
    made = AtStation(state, show)
    if what == "sum":
        assert state.in_engine
        return made.sum_of(state.in_engine[PLANES.index("front" if which == "front" else "rear")])
    if which.isdigit():
        assert state.plan
        planned = next(one for one in operations(state) if str(one.number) == which)
        if planned.record is None:
            crank = apply(state.plan.asked.crank, state.plan.operations)
            return made.hole(planned.hole, crank, f"the plan: truethrow holes {state.called}")
        which = planned.record
    assert state.job.crank
    crank = apply(state.job.crank, [one.hole for one in state.drilled])
    done = next(one for one in state.drilled if one.id == which)
    return made.hole(done.hole, crank, f"{RECORDED} {done.id}")


def _none(state: Balancing, figure: str, what: str) -> Fault:
    if what == "sum" and state.last is None:
        return Fault("", "there is no spin yet", remedy=f"spin first; see: truethrow next {state.called}")
    if has := names(state):
        return Fault("figure", f"{shown(figure)!r} has no working here", ", ".join(has))
    return Fault("", "no hole is planned or done yet", remedy=f"run: truethrow holes {state.called}")


def _in_job(member: Member, field: str) -> str:
    """Where the job file says something of a member."""
    return f"job file, [[crank.{'external' if member.external else 'counterweight'}]] {member.name}, {field}"


def _of_it(member: Member, field: str, source: str) -> str:
    """The same of what a record has by itself, as it was when it was written."""
    return source if source.startswith(RECORDED) else _in_job(member, field)


def _cautions(hole: Hole, member: Member) -> tuple[str, ...]:
    """What goes with the making of a hole."""
    slug = (SLUG_CAUTION,) if hole.kind == "slug" else ()
    return (DRILL_CAUTION, *slug, *((MEMBER_CAUTION,) if member.external else ()))


class AtStation(working_words.Made):
    """The workings of one job at the station, in one unit."""

    def __init__(self, state: Balancing, show: Display) -> None:
        super().__init__(state.worked, show)
        self.state = state

    def sum_of(self, found: InEngine) -> Working:
        """What the spin read, what hanging leaves and what members bring, added up, and held to its limit."""
        lines: list[Line] = []
        ways = [taken(self._spin(found), lines), taken(self._hanging(found.plane), lines)]
        if found.members.gmm:
            ways.append(taken(self._members(found), lines))
        up, across = (self.gmm_of(sum((way[axis].value for way in ways), Decimal(0))) for axis in (0, 1))
        for axis, (word, total) in enumerate((("up", up), ("across", across))):
            by = " + ".join(in_product(way[axis]) for way in ways)
            lines.append(Line(f"sum, {word}", by, total))
        lines += self.vector(up, across, found.whole.angle_deg)
        each = [self.unbalance_of(one) for one in found.along_gmm]
        for one, of, source in zip(
            each, ("spin", "hanging", "members"), (SPIN_SURE, HANGING_SURE, MEMBERS_SURE), strict=True
        ):
            if of != "members" or found.members.gmm:
                lines.append(Line(f"± of the {of}", "", one, source))
        counted = each if found.members.gmm else each[:2]
        unsure = self.gmm_of(exactly(math.hypot(*(one.value for one in counted))))
        squares = " + ".join(f"{one.digits}²" for one in counted)
        lines.append(Line("±", f"√({squares})", unsure, TOGETHER))
        limit = self.unbalance_of(found.limit_gmm)
        lines += self.allowed(found.plane, limit)
        last, against = judged(self.size_of(up, across), unsure, limit, found.verdict), self._against()
        lines.append(last._replace(comes_from=NO_VERDICT) if against else last)
        cautions = (SIGN_CAUTION,) if may_go.holds(self.state) else ()
        said = SUM_SAID if not against else SUM_NOT_SIGNED
        return Working(f"the sum in the {found.plane} plane", tuple(lines), said, cautions, against)

    def _against(self) -> tuple[str, ...]:
        """Why nothing is signed by this sum, whatever it comes to: first that it was signed, and is so no more."""
        told_in = self.show.told_in
        void = signed_before(self.state, told_in)
        reasons = (result_words.sentence(one.said(told_in)) for one in may_go.besides_the_sum(self.state))
        return (*((void,) if void else ()), *reasons)

    def _spin(self, found: InEngine) -> Any:
        """The lines of what the last spin read, with what it is up and across as what is returned."""
        spin, instrument = self.state.last, self.state.instrument
        assert spin
        if instrument.reads_divisions or spin.fixture is not None:
            how = "by its trial masses" if instrument.reads_divisions else "less what belongs to the fixture"
            source = f"log, record {spin.id}, {how}: truethrow spins {self.state.called}"
            return (yield from self._given("spin", found.spin.vector_gmm, source))
        one = self.unbalance_of(instrument.gmm)
        one = one._replace(places=one.places + 2)
        where = f" at {self.length_of(instrument.radius_mm)}" if instrument.radius_mm else ""
        yield Line(f"1 {instrument.unit}{where} is", "", one, "station profile, [spin]")
        parts = []
        zero = as_number(instrument.zero_deg)
        for number, run in enumerate(spin.typed.readings, start=1):
            shown_ = run[0 if found.plane == "front" else 1]
            amount, own = Figure(exactly(shown_.amount), 6, "", shown_.places), as_number(shown_.angle_deg)
            read = self.gmm_of(amount.value * one.value)
            source = f"log, record {spin.id}"
            yield Line(f"run {number}, {shown_}", f"{amount.digits} × {one.digits}", read, source)
            counted = (own, zero) if instrument.with_rotation else (zero, own)
            crank = Figure(counted[0].value - counted[1].value, 3, "°")
            sense = "with" if instrument.with_rotation else "against"
            by = f"{counted[0].digits} − {counted[1].digits}"
            yield Line(f"run {number}, from throw 1", by, crank, f'station profile: zero, and sense = "{sense}"')
            parts.append((read, float(crank.value)))
        sums = yield from self.along_axes(parts, "runs, ")
        if len(parts) == 1:
            return sums
        means = []
        for word, total in zip(("up", "across"), sums, strict=True):
            means.append(self.gmm_of(total.value / len(parts)))
            yield Line(f"spin, {word}", f"{in_product(total)} / {len(parts)}", means[-1])
        return means

    def _hanging(self, plane: str) -> Any:
        """The same of what hanging leaves: what each throw carries less what hung on it."""
        lines: list[Line] = []
        off = [taken(self._off_hung(one), lines) for one in self.state.hung]
        parts = self.acting(plane, off, lines)
        sums = taken(self.along_axes(parts, "hanging, "), lines)
        yield from lines
        return sums

    def _off_hung(self, one: Hung) -> Any:
        name = one.throw.throw.name
        if self.job.has_parts:
            carries = self.bobweight_of(one.throw)
            source = f"truethrow working {self.job.name} bobweight {name}"
        else:
            carries, source = self.grams_of(one.throw.bobweight.value_g), "job file, [bobweight]"
        yield Line(f"throw {name} carries", "", carries, source)
        if one.record:
            hung, source = self.grams_of(one.record.grams), f"log, record {one.record.id}: as it was weighed"
        else:
            hung, source = self.grams_of(one.throw.hung_g), "as asked for; nobody weighed it"
        yield Line(f"on throw {name} hung", "", hung, source)
        off = self.mass_of(carries.value - hung.value)
        yield Line(f"throw {name} is off by", f"{carries.digits} − {hung.digits}", off)
        return off

    def _members(self, found: InEngine) -> Any:
        source = "what the members bring that were off at the spin: truethrow spins"
        return (yield from self._given("members", found.members.gmm, source))

    def _given(self, of: str, vector_gmm: complex, source: str) -> Any:
        sums = [self.unbalance_of(vector_gmm.real), self.unbalance_of(vector_gmm.imag)]
        for word, total in zip(("up", "across"), sums, strict=True):
            yield Line(f"{of}, {word}", "", total, source)
        return sums

    def hole(self, hole: Hole, crank: Crank, source: str) -> Working:
        """What one operation takes, of what metal, in which plane, and what it leaves beside it."""
        member = crank.member(hole.member)
        lines = [
            Line("its angle, from throw 1 with rotation", "", Figure(exactly(hole.angle_deg), 3, "°"), source)
        ]
        match hole.kind:
            case "radial":
                taken_ = taken(self._radial(hole, member, source), lines)
            case "grind":
                taken_ = taken(self._ground(hole, member, source), lines)
            case "took" | "added":
                taken_ = taken(self._moved(hole, source), lines)
            case _:
                taken_ = taken(self._axial(hole, member, source), lines)
        lines += self._in_planes(hole, taken_, source)
        if hole.kind not in ("took", "added"):
            lines += self._walls(hole, crank, member)
        place = at(self.state.instrument, hole.angle_deg)
        return Working(
            f"hole in {hole.member}, at {place}",
            tuple(lines),
            f"{HOLE_SAID}. {HOLE_SOURCE[0].upper()}{HOLE_SOURCE[1:]}",
            _cautions(hole, member),
        )

    def _metal(self, member: Member) -> Figure:
        density = exactly(member.density_g_mm3 / self.one_g * self.one_mm**3)
        return Figure(density, 9, f"{self.show.mass_unit}/{self.show.length_unit}³")

    def _density_source(self, member: Member) -> str:
        """A member's own, or that of the crank, which all counterweights have."""
        crank = self.job.crank
        if not member.external or crank is None:
            return DENSITY_SOURCE
        of_crank = {one.density_g_mm3 for one in crank.members if not one.external}
        own = _in_job(member, "density")
        return own if of_crank and member.density_g_mm3 not in of_crank else f"{own}, else: {DENSITY_SOURCE}"

    def _drill(self, hole: Hole, member: Member, source: str) -> Any:
        """The lines of what every drilled hole has: metal, drill, depth, area and point."""
        density, drill, deep = self._metal(member), self.length_of(hole.diameter_mm), self.length_of(hole.depth_mm)
        yield Line("density", "", density, self._density_source(member))
        yield Line("drill", "", drill, source)
        yield Line("depth of the full diameter", "", deep, source)
        area = Figure(
            exactly(math.pi * float(drill.value) ** 2 / 4), finer(self.one_mm**2, 4), f"{self.show.length_unit}²"
        )
        yield Line("area of the drill", f"{drill.digits}² × π / 4", area)
        tangent = as_part(exactly(math.tan(math.radians(hole.point_deg / 2)))) if hole.point_deg < 180 else None
        if tangent is None:
            return density, drill, deep, area, None
        yield Line(
            f"tangent of half its angle, of its angle {hole.point_deg:g}°",
            "",
            tangent,
            source if source.startswith(RECORDED) else "station profile, [[drill]]",
        )
        point = self.length_of(0)._replace(value=drill.value / (2 * tangent.value))
        yield Line("height of its point", f"{drill.digits} / (2 × {tangent.digits})", point, POINT_SOURCE)
        return density, drill, deep, area, point

    def _radial(self, hole: Hole, member: Member, source: str) -> Any:
        density, drill, deep, area, point = yield from self._drill(hole, member, source)
        rim = self.length_of(hole.radius_mm)
        yield Line("rim", "", rim, _of_it(member, "outer_radius", source))
        d, r, h, a = (one.value for one in (drill, rim, deep, area))
        takes = self.gmm_of(density.value * a * (r * h - h**2 / 2 - d**2 / 32))
        mouth = f"{rim.digits} × {deep.digits} − {deep.digits}² / 2 − {drill.digits}² / 32"
        yield Line(
            "its full diameter takes", f"{density.digits} × {area.digits} × ({mouth})", takes, RADIAL_SOURCE
        )
        whole = takes
        if point is not None:
            c = point.value
            cone = self.gmm_of(density.value * a * c / 3 * (r - h - c / 4))
            middle = f"({rim.digits} − {deep.digits} − {point.digits} / 4)"
            by = f"{density.digits} × {area.digits} × {point.digits} / 3 × {middle}"
            yield Line("its point takes", by, cone, CONE_SOURCE)
            whole = self.gmm_of(takes.value + cone.value)
            yield Line("the hole takes", f"{takes.digits} + {cone.digits}", whole)
        q = as_part((d / (2 * r)) ** 2)
        yield Line("half the drill by the rim, squared", f"({drill.digits} / (2 × {rim.digits}))²", q)
        mean = self._long(r * (1 - q.value / 8 - q.value**2 / 64 - 5 * q.value**3 / 1024))
        series = f"1 − {q.digits} / 8 − {q.digits}² / 64 − 5 × {q.digits}³ / 1024"
        yield Line("mean height of the rim", f"{rim.digits} × ({series})", mean, RIM_SOURCE)
        third = f" + {point.digits} / 3" if point is not None else ""
        metal = self._metal_off(density.value * a * (mean.value - r + h + (point.value / 3 if point else 0)))
        by = f"{density.digits} × {area.digits} × ({mean.digits} − {rim.digits} + {deep.digits}{third})"
        yield Line("metal off", by, metal)
        return whole

    def _axial(self, hole: Hole, member: Member, source: str) -> Any:
        """A bore along the crank, with a slug in it or without."""
        density, _, deep, area, point = yield from self._drill(hole, member, source)
        radius = self.length_of(hole.radius_mm)
        yield Line("radius of its axis", "", radius, source)
        third = f" + {point.digits} / 3" if point is not None else ""
        bored = self._metal_off(density.value * area.value * (deep.value + (point.value / 3 if point else 0)))
        yield Line("the bore takes", f"{density.digits} × {area.digits} × ({deep.digits}{third})", bored)
        off = self.grams_of(hole.mass_g)
        if hole.kind == "slug":
            slug = self._metal_off(bored.value - off.value)
            yield Line("the slug weighs", "", slug, "its size × its density (ASTM B777), or as it was weighed")
            off = self._metal_off(bored.value - slug.value)
            yield Line("metal off", f"{bored.digits} − {slug.digits}", off)
        elif hole.tip_mm > member.thickness_mm:
            beyond = self._metal_off(bored.value - off.value)
            yield Line("of it beyond the back face", "", beyond, "the part of the point that leaves the metal")
            off = self._metal_off(bored.value - beyond.value)
            yield Line("metal off", f"{bored.digits} − {beyond.digits}", off)
        else:
            off = bored
        whole = self.gmm_of(off.value * radius.value)
        yield Line("the hole takes", f"{in_product(off)} × {radius.digits}", whole)
        return whole

    def _ground(self, hole: Hole, member: Member, source: str) -> Any:
        density, rim, deep = self._metal(member), self.length_of(hole.radius_mm), self.length_of(hole.depth_mm)
        thick = self.length_of(member.thickness_mm)
        yield Line("density", "", density, self._density_source(member))
        yield Line("rim", "", rim, _of_it(member, "outer_radius", source))
        yield Line("thickness", "", thick, _in_job(member, "thickness"))
        yield Line("ground deep", "", deep, source)
        sine = as_part(exactly(math.sin(math.radians(hole.arc_deg / 2))))
        yield Line(f"sine of half its arc, of its angle {hole.arc_deg:g}°", "", sine, source)
        floor = self._long(rim.value - deep.value)
        yield Line("ground to radius", f"{rim.digits} − {deep.digits}", floor)
        moment = density.value * thick.value * 2 * sine.value * (rim.value**3 - floor.value**3) / 3
        whole = self.gmm_of(moment)
        cubes = f"({rim.digits}³ − {floor.digits}³) / 3"
        by = f"{density.digits} × {thick.digits} × 2 × {sine.digits} × {cubes}"
        yield Line("the arc takes", by, whole, ARC_SOURCE)
        return whole

    def _moved(self, hole: Hole, source: str) -> Any:
        off, radius = self.grams_of(hole.mass_g), self.length_of(hole.radius_mm)
        yield Line("came off" if hole.kind == "took" else "came off (below zero: put on)", "", off, source)
        yield Line("at radius", "", radius, source)
        whole = self.gmm_of(off.value * radius.value)
        yield Line("it takes", f"{in_product(off)} × {radius.digits}", whole)
        return whole

    def _in_planes(self, hole: Hole, takes: Figure, source: str) -> Iterable[Line]:
        station = self.job.station
        front, rear = self.length_of(station.front_plane_mm), self.length_of(station.rear_plane_mm)
        z = self.length_of(hole.z_mm)
        lines = [
            Line("it acts along the crank at", "", z, source),
            Line("front plane at", "", front, "job file, [station], else the outer throws"),
            Line("rear plane at", "", rear, "job file, [station], else the outer throws"),
        ]
        for plane in PLANES:
            part = self.part_of(plane, z, front, rear, f"its part in the {plane} plane", lines, SHARE_SOURCE)
            amount = self.gmm_of(takes.value * part.value)
            by = f"{in_product(takes)} × {in_product(part)}"
            lines.append(Line(f"it takes from the {plane} plane", by, amount))
        return lines

    def _walls(self, hole: Hole, crank: Crank, member: Member) -> Iterable[Line]:
        """What is left beside it: to the faces, to the end of its arc, to the nearest other hole."""
        walls: list[Figure] = []
        if hole.kind != "grind":
            if hole.kind == "radial":
                walls.append(self.length_of(faces_mm(member, hole)))
                half, off = self.length_of(member.thickness_mm), self.length_of(abs(hole.z_mm - member.z_mm))
                yield Line("thickness", "", half, _in_job(member, "thickness"))
                yield Line("off the middle of it by", "", off, f"{_in_job(member, 'at')}, and where the hole is")
                drill = self.length_of(hole.diameter_mm)
                by = f"{half.digits} / 2 − {off.digits} − {drill.digits} / 2"
                yield Line("wall to the faces", by, walls[0], WALL_SOURCE)
            else:
                walls += yield from self._beyond_bore(hole, member)
        arc = next((one for one in member.arcs if (hole.angle_deg - one.from_deg) % 360 <= one.span_deg), None)
        if arc is not None and arc.span_deg < 360 and hole.kind != "grind":
            walls.append((yield from self._to_end(hole, arc, member)))
        if near := nearest(crank, hole):
            other, wall_mm = near
            walls.append(self.length_of(wall_mm))
            source = "shortest way between both drills' axes, less half of each diameter"
            yield Line(f"wall to the hole at {other.angle_deg:g}°", "", walls[-1], source)
        if walls:
            least = min(walls, key=lambda one: one.value)
            yield Line("least wall", "", least, self._wall_source(crank))

    def _wall_source(self, crank: Crank) -> str:
        source = f"at least {self.length_of(crank.wall_mm)}: job file, [crank] wall"
        return source if crank.wall_mm != DEFAULT_WALL_MM else f"{source}; without one, {DEFAULT_WALL_SAID}"

    def _beyond_bore(self, hole: Hole, member: Member) -> Any:
        """The lines of the walls of a bore along the crank: outside it, to the rim, and behind its tip, unless it
        is right through; both as what is returned."""
        walls = []
        if not member.external:
            rim, radius = self.length_of(member.outer_mm), self.length_of(hole.radius_mm)
            drill = self.length_of(hole.diameter_mm)
            yield Line("outer radius", "", rim, _in_job(member, "outer_radius"))
            walls.append(self._long(rim.value - radius.value - drill.value / 2))
            by = f"{rim.digits} − {radius.digits} − {drill.digits} / 2"
            yield Line("wall to the rim", by, walls[-1], WALL_SOURCE)
        if member.thickness_mm - hole.tip_mm > TOUCH_MM:
            thick, deep = self.length_of(member.thickness_mm), self.length_of(hole.depth_mm)
            point = self._long(exactly((hole.tip_mm - hole.depth_mm) / self.one_mm))
            yield Line("thickness", "", thick, _in_job(member, "thickness"))
            by = f"{thick.digits} − {deep.digits}" + (f" − {point.digits}" if point.value else "")
            walls.append(self._long(thick.value - deep.value - point.value))
            yield Line("wall behind its tip", by, walls[-1], "its depth, and the height of its point")
        return walls

    def _to_end(self, hole: Hole, arc: Arc, member: Member) -> Any:
        after = (hole.angle_deg - arc.from_deg) % 360
        away = min(after, arc.span_deg - after)
        degrees = Figure(exactly(away), 3, "°")
        ends = f"{_in_job(member, 'from and to')}, and where the hole is"
        yield Line("from the nearer end of its arc", "", degrees, ends)
        sine = as_part(exactly(math.sin(math.radians(min(away, 90.0)))))
        yield Line("sine of its angle", "", sine, "a table of sines")
        radius, deep, drill = (self.length_of(one) for one in (hole.radius_mm, hole.depth_mm, hole.diameter_mm))
        low = self._long(radius.value - deep.value) if hole.kind == "radial" else radius
        if hole.kind == "radial":
            yield Line("its shoulder at radius", f"{radius.digits} − {deep.digits}", low)
        wall = self._long(low.value * sine.value - drill.value / 2)
        by = f"{low.digits} × {sine.digits} − {drill.digits} / 2"
        yield Line("wall to the end of the arc", by, wall, WALL_SOURCE)
        return wall

    def _long(self, value: Decimal) -> Figure:
        return Figure(value, finer(self.one_mm, 4), self.show.length_unit)

    def _metal_off(self, value: Decimal) -> Figure:
        return Figure(value, finer(self.one_g, 4), self.show.mass_unit)
