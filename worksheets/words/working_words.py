"""The working of a figure: as a hand works it, with the numbers of the job at hand, each reading with where it
comes from and each formula with its source.

Worked in decimals from the readings on, in the unit that is shown.
"""

from __future__ import annotations

import math
import shlex
from collections.abc import Iterable, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.base.parts import KINDS, SUMS, label
from truethrow.balance.base.readings import Reading
from truethrow.balance.engine.lengths import NotDeclared
from truethrow.balance.job.pads import Pad
from truethrow.balance.result import doubts
from truethrow.balance.result.bobweight import ThrowMass
from truethrow.balance.result.least_metal import falls
from truethrow.balance.result.spread import Spread
from truethrow.balance.result.trim import PartTrim
from truethrow.balance.result.unbalance import permissible_unbalance_gmm
from truethrow.balance.result.work import Result
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import unsure_words
from truethrow.worksheets.words.worked_lines import (
    Figure,
    InUnits,
    Line,
    Working,
    added_up,
    as_number,
    as_part,
    exactly,
    in_product,
    judged,
    taken,
)

BOBWEIGHT = "bobweight = sum of (rotating + share × reciprocating) over the cylinders of the throw + oil"
BOBWEIGHT_SOURCE = "By definition: what turns with the throw, and the share of what goes up and down"
TO_STEP = "to the nearest step of the scale, a half to the even one"
PLANE_SOURCE = "Statics, moments about the other plane (ISO 21940-11:2016 calls it the dynamic unbalance)"
RODS_SOURCE = "statics: the rod is not where the bobweight hangs, the moment of the way between"
ALLOWED_SOURCE = "ISO 21940-11:2016, 1000 × m × G / Ω with Ω = 2π × n / 60"
SPLIT_SOURCE = "ISO 21940-11:2016, 6.2 (from memory), and statics for planes beyond the bearings"
CUT_SOURCE = "trim: the least metal in whole steps of the scale, which a solver finds and proves; no hand formula"
LEVER_SOURCE = "statics of a rod on two supports, moments about either; the place counts from the big end's center"
LEARNED = "what this pad gave so far, by the weighings after its cuts"
SURE = "of all readings behind it; truethrow sure tells what it is made of"
VERDICT_SAID = (
    "Inside: even with its ± no more than the limit. Outside: even less its ± more than it. Between them, or "
    "where part of the ± is only assumed: too close to call"
)


def names(result: Result) -> list[str]:
    """The figures of a job whose working can be shown, each as it is asked for."""
    throws = [f"bobweight {throw.throw.name}" for throw in result.bobweights.throws]
    planes = ["plane front", "plane rear"] if result.left else []
    spreads = (f"spread {label(one.quantity)}" for one in result.spreads)
    verdicts = (f"verdict {label(one.quantity)}" for one in result.spreads if one.limit_g is not None)
    return [*throws, "hang", *planes, *spreads, *verdicts, *_cuts(result)]


def _cuts(result: Result) -> dict[str, PartTrim]:
    """The parts to trim, each as it is asked for, by its own name and no number that can mean two; none while
    readings are to be looked at again."""
    try:
        parts = result.trim.parts if result.trim else ()
    except NotDeclared:
        return {}
    return {f"cut {result.job.names.typed(one.part, one.cylinder)}": one for one in parts}


def plain(asked: str) -> str:
    """A figure as it is asked for, however it is spaced and capitalized."""
    return " ".join(asked.lower().replace("_", " ").split())


def working(result: Result, figure: str, show: Display) -> Working:
    """The working of one figure. Raises BadInput for one that this job does not have."""
    made = Made(result, show)
    asked = plain(figure)
    what, _, which = asked.partition(" ")
    cuts = {plain(name): part for name, part in _cuts(result).items()} if what == "cut" else {}
    if not result.job.has_parts:
        raise BadInput([Fault("", "no part of this job was weighed: there is nothing to add up")])
    if asked not in map(plain, names(result)):
        if what == "plane" and result.left is None and which in ("front", "rear"):
            raise NotDeclared(result.job.engine.not_placed, result.job.name)
        if what == "cut" and result.is_held:
            raise BadInput(doubts.faults(result))
        raise BadInput([Fault("figure", f"{shown(figure)!r} has no working here", ", ".join(names(result)))])
    match what:
        case "bobweight":
            return made.bobweight(next(one for one in result.bobweights.throws if one.throw.name.lower() == which))
        case "hang":
            return made.hang()
        case "plane":
            return made.plane(which)
        case "cut":
            return made.cut(cuts[asked])
        case "verdict":
            return made.verdict(which)
    return made.spread(which)


class Made(InUnits):
    """The workings of one job, in one unit."""

    def __init__(self, result: Result, show: Display) -> None:
        super().__init__(show)
        self.result, self.job = result, result.job

    def bobweight(self, throw: ThrowMass) -> Working:
        lines = list(self._of_throw(throw))
        return Working(f"bobweight of throw {throw.throw.name}", tuple(lines), f"{BOBWEIGHT}. {BOBWEIGHT_SOURCE}")

    def _of_throw(self, throw: ThrowMass) -> Iterable[Line]:
        share = as_number(self.job.share)
        yield Line("share", "", share, "job file, [bobweight]")
        added = []
        for number in throw.cylinders:
            turning, along = yield from self._cylinder(number)
            adds = self.mass_of(turning.value + share.value * along.value)
            by = f"{turning.digits} + {share.digits} × {along.digits}"
            yield Line(f"cylinder {number} adds", by, adds)
            added.append(adds)
        oil = self.grams_of(throw.oil_g)
        yield Line("oil", "", oil, "job file, [bobweight]")
        yield Line(f"bobweight {throw.throw.name}", added_up([*added, oil]), self.bobweight_of(throw))

    def _cylinder(self, number: int) -> Any:
        """The lines of what turns and of what goes up and down, with both sums as what is returned."""
        sums = []
        for motion in ("rotating", "reciprocating"):
            terms = []
            for kind in KINDS:
                if kind.name in SUMS[motion] and kind.name in self.job.parts[number]:
                    terms.append((yield from self._reading(number, kind.name)))
            total = self.mass_of(sum((term.value for term in terms), Decimal(0)))
            yield Line(f"cylinder {number}, {motion}", added_up(terms), total)
            sums.append(total)
        return sums

    def _reading(self, number: int, kind: str) -> Any:
        """The lines of one part, with its mass as what is returned."""
        reading = self.job.parts[number][kind]
        part = self.job.names.said(kind, number)
        each = [self.grams_of(grams) for grams in reading.repeats_g]
        if len(each) == 1:
            yield Line(part, "", each[0], origin(self.result, number, reading))
            return each[0]
        mean = self.mass_of(sum((one.value for one in each), Decimal(0)) / len(each))
        by = f"({added_up(each)}) / {len(each)}"
        yield Line(part, by, mean, origin(self.result, number, reading))
        return mean

    def hang(self) -> Working:
        weights = self.result.bobweights
        lines = list(self._each_bobweight())
        if weights.rule == "mean":
            each = [self.bobweight_of(throw) for throw in weights.throws]
            mean = self.mass_of(sum((one.value for one in each), Decimal(0)) / len(each))
            lines.append(Line("mean", f"({added_up(each)}) / {len(each)}", mean))
            lines.append(Line("hang", f"{mean.digits} {TO_STEP}", self.grams_of(weights.hung_g or 0.0)))
        return Working("what to hang", (*lines, *self._each_off()))

    def _each_bobweight(self) -> Iterable[Line]:
        for throw in self.result.bobweights.throws:
            asked = f"truethrow working {self.job.name} bobweight {throw.throw.name}"
            yield Line(f"bobweight {throw.throw.name}", "", self.bobweight_of(throw), asked)

    def _each_off(self) -> Iterable[Line]:
        """What hangs on each throw, where that is its own, and what it is off by."""
        rule = self.result.bobweights.rule
        for throw in self.result.bobweights.throws:
            hung = self.grams_of(throw.hung_g)
            if rule != "mean":
                why = {"own": f"its bobweight {TO_STEP}", "none": "hang nothing"}.get(
                    rule, "job file, [bobweight]"
                )
                yield Line(f"hang on throw {throw.throw.name}", "", hung, why)
            by = f"{self.bobweight_of(throw).digits} − {hung.digits}"
            yield Line(f"throw {throw.throw.name} is off by", by, self._off(throw))

    def _off(self, throw: ThrowMass) -> Figure:
        return self.mass_of(self.bobweight_of(throw).value - self.grams_of(throw.hung_g).value)

    def plane(self, name: str) -> Working:
        """One plane: what each throw is off by, at its radius and its angle, as far as it acts there."""
        found = self.result.cost.front if name == "front" else self.result.cost.rear
        lines = list(self._each_bobweight())
        if self.result.bobweights.rule == "mean":
            asked = f"truethrow working {self.job.name} hang"
            lines.append(Line("hang", "", self.grams_of(self.result.bobweights.hung_g or 0.0), asked))
        lines += self._each_off()
        parts = self.acting(name, [self._off(throw) for throw in self.result.bobweights.throws], lines)
        up, across = taken(self.along_axes(parts), lines)
        lines += self.vector(up, across, found.angle_deg)
        unsure = self.unbalance_of(found.expanded_gmm)
        lines.append(Line("±", "", unsure, SURE))
        if found.permissible_gmm is not None:
            limit = self.unbalance_of(found.permissible_gmm)
            lines += self.allowed(found.plane, limit)
            lines.append(judged(self.size_of(up, across), unsure, limit, found.verdict))
        return Working(f"unbalance in the {name} plane", tuple(lines), PLANE_SOURCE)

    def acting(self, name: str, off: Sequence[Figure], lines: list[Line]) -> list[tuple[Figure, float]]:
        """What each throw, off by so much, and each rod beside its throw bring to a plane, and at which angle."""
        station, stroke = self.job.station, self.length_of(self.job.engine.stroke_mm)
        radius = self.length_of(self.job.engine.throw_radius_mm)
        front, rear = self.length_of(station.front_plane_mm), self.length_of(station.rear_plane_mm)
        lines += [
            Line("stroke", "", stroke, "job file, [engine]"),
            Line("throw radius", f"{stroke.digits} / 2", radius),
            Line("front plane at", "", front, "job file, [station], else the outer throws"),
            Line("rear plane at", "", rear, "job file, [station], else the outer throws"),
        ]
        parts: list[tuple[Figure, float]] = []
        for throw, own in zip(self.job.layout.throws, off, strict=True):
            z = self.length_of(throw.z_mm)
            lines.append(Line(f"throw {throw.name} lies at", "", z, "job file, [engine]"))
            part = self.part_of(name, z, front, rear, f"throw {throw.name}, its part in this plane", lines)
            amount = self.gmm_of(own.value * radius.value * part.value)
            by = f"{in_product(own)} × {radius.digits} × {in_product(part)}"
            lines.append(Line(f"throw {throw.name}, at {throw.angle_deg:g}°", by, amount))
            parts.append((amount, throw.angle_deg))
        return parts + self._rods(name, radius, front, rear, lines)

    def part_of(
        self, name: str, z: Figure, front: Figure, rear: Figure, what: str, lines: list[Line], source: str = ""
    ) -> Figure:
        """How much of what is at a place along the crank acts in a plane."""
        far, near = (rear, z) if name == "front" else (z, front)
        part = as_part((far.value - near.value) / (rear.value - front.value))
        by = f"({in_product(far)} − {in_product(near)}) / ({in_product(rear)} − {in_product(front)})"
        lines.append(Line(what, by, part, source))
        return part

    def _rods(
        self, plane: str, radius: Figure, front: Figure, rear: Figure, lines: list[Line]
    ) -> list[tuple[Figure, float]]:
        """What rods side by side bring to a plane."""
        if self.job.engine.rods_apart_mm is None:
            return []
        angle_deg = {throw.name: throw.angle_deg for throw in self.job.layout.throws}
        which = "behind" if plane == "rear" else "ahead of"
        parts = []
        for place in self.job.layout.places:
            adds = self._adds(place.cylinder)
            lines.append(Line(f"cylinder {place.cylinder} adds", "", adds, f"bobweight {place.throw}"))
            way = self.length_of(place.behind_mm if plane == "rear" else -place.behind_mm)
            what = f"rod {place.cylinder} lies {which} the middle of its throw by"
            lines.append(Line(what, "", way, "job file, [engine] rods_apart, half of it"))
            amount = self.gmm_of(adds.value * radius.value * way.value / (rear.value - front.value))
            between = f"({in_product(rear)} − {in_product(front)})"
            by = f"{adds.digits} × {radius.digits} × {in_product(way)} / {between}"
            lines.append(Line(f"rod {place.cylinder}, at {angle_deg[place.throw]:g}°", by, amount, RODS_SOURCE))
            parts.append((amount, angle_deg[place.throw]))
        return parts

    def _adds(self, number: int) -> Figure:
        """What a cylinder adds to the bobweight of its throw."""
        parts = self.job.parts[number]
        turning, along = (
            self.mass_of(sum((self._mean(parts[kind]) for kind in SUMS[motion] if kind in parts), Decimal(0)))
            for motion in ("rotating", "reciprocating")
        )
        return self.mass_of(turning.value + as_number(self.job.share).value * along.value)

    def along_axes(self, parts: Sequence[tuple[Figure, float]], of: str = "") -> Any:
        """The lines of vectors added up, along throw 1 and across it, with both sums as what is returned."""
        sums = []
        for what, wave, word in (("up", math.cos, "cos"), ("across", math.sin, "sin")):
            values = [(amount, as_part(exactly(wave(math.radians(angle))))) for amount, angle in parts]
            by = " + ".join(f"{in_product(amount)} × {in_product(part)}" for amount, part in values)
            total = self.gmm_of(sum((amount.value * part.value for amount, part in values), Decimal(0)))
            yield Line(f"{of}{what} (each × {word} of its angle)", by, total)
            sums.append(total)
        return sums

    def vector(self, up: Figure, across: Figure, angle_deg: float) -> Iterable[Line]:
        """How large an unbalance is, and where."""
        yield Line("unbalance", f"√({in_product(up)}² + {in_product(across)}²)", self.size_of(up, across))
        by = f"the angle whose sine and cosine are as {in_product(across)} to {in_product(up)}"
        yield Line("at", by, Figure(exactly(angle_deg), 1, "°"))

    def size_of(self, up: Figure, across: Figure) -> Figure:
        return self.gmm_of(exactly(math.hypot(up.value, across.value)))

    def allowed(self, plane: str, limit: Figure) -> Iterable[Line]:
        station, speed_rpm = self.job.station, self.job.engine.top_speed_rpm
        if station.limit_gmm is not None or station.grade_mm_s is None:
            yield Line("allowed", "", limit, "job file, [station] limit")
            return
        assert station.crank_mass_g is not None and speed_rpm is not None
        given = station.crank_mass_g / 1000, station.grade_mm_s, speed_rpm
        kg, grade, rpm = (as_number(value) for value in given)
        whole_gmm = permissible_unbalance_gmm(station.crank_mass_g / 1000, station.grade_mm_s, speed_rpm)
        # Converted, a hand needs more of it.
        whole = Figure(exactly(whole_gmm), 2 if limit.unit == "g·mm" else 5, "g·mm")
        by = f"1000 × {kg.digits} × {grade.digits} / (2π × {rpm.digits} / 60)"
        yield Line("allowed for the whole crank", by, whole, ALLOWED_SOURCE)
        if limit.unit != whole.unit:
            each = f"{as_number(self.one_g).digits} × {as_number(self.one_mm).digits}"
            own = self.unbalance_of(whole_gmm)
            yield Line(f"that in {own.unit}", f"{whole.digits} / ({each})", own)
        yield Line(f"allowed in the {plane} plane", "", limit, SPLIT_SOURCE)

    def spread(self, name: str) -> Working:
        spread = next(one for one in self.result.spreads if label(one.quantity) == name)
        lines: list[Line] = []
        apart = taken(self._apart(spread, name), lines)
        unsure = self.grams_of(spread.expanded_g)
        lines.append(Line("±", "", unsure, SURE))
        if spread.limit_g is not None:
            limit = self.grams_of(spread.limit_g)
            lines.append(Line("limit", "", limit, "job file, [limits]"))
            lines.append(judged(apart, unsure, limit, spread.verdict))
        return Working(f"spread of {name}", tuple(lines), "Spread = heaviest − lightest")

    def _apart(self, spread: Spread, name: str) -> Any:
        """The lines of a spread, which is what is returned."""
        ends = []
        for end in (spread.heaviest, spread.lightest):
            if spread.quantity == "bobweight":
                throw = next(one for one in self.result.bobweights.throws if one.throw.name == end)
                asked = f'truethrow working {self.job.name} "bobweight {end}"'
                ends.append(self.bobweight_of(throw))
                yield Line(f"bobweight {end}", "", ends[-1], asked)
                continue
            terms = []
            for kind in SUMS[spread.quantity]:
                if kind in self.job.parts[int(end)]:
                    terms.append((yield from self._reading(int(end), kind)))
            ends.append(self.mass_of(sum((term.value for term in terms), Decimal(0))))
            if len(terms) > 1:
                yield Line(f"cylinder {end}, {name}", added_up(terms), ends[-1])
        apart = self.mass_of(ends[0].value - ends[1].value)
        yield Line("spread", f"{ends[0].digits} − {ends[1].digits}", apart)
        return apart

    def verdict(self, name: str) -> Working:
        """A spread held to its limit, with its ± worked out from what the scale is known to do."""
        spread = next(one for one in self.result.spreads if label(one.quantity) == name)
        lines: list[Line] = []
        apart = taken(self._apart(spread, name), lines)
        unsure = taken(unsure_words.unsure(self, self.result.certainty, spread.apart), lines)
        assert spread.limit_g is not None
        limit = self.grams_of(spread.limit_g)
        lines.append(Line("limit", "", limit, "job file, [limits]"))
        lines.append(judged(apart, unsure, limit, spread.verdict))
        return Working(f"verdict on the spread of {name}", tuple(lines), VERDICT_SAID)

    def cut(self, part: PartTrim) -> Working:
        """What comes off one part, and what the scale should then show."""
        lines: list[Line] = []
        read = {kind: taken(self._reading(part.cylinder, kind), lines) for kind in part.expected_g}
        off = [(cut.pad, self.grams_of(cut.grams)) for cut in part.cuts]
        for pad, grams in off:
            lines.append(Line(f"take off at the {label(pad.kind)}", "", grams, CUT_SOURCE))
        for kind, before in read.items():
            left, told = before.value, before.digits
            for pad, grams in off:
                fall = self._fall(pad, kind, lines)
                left, told = left - grams.value * fall.value, f"{told} − {grams.digits} × {in_product(fall)}"
            name = self.job.names.said(kind, part.cylinder)
            after = self.mass_of(left)
            lines.append(Line(f"{name}, afterwards", told, after))
            should = self.grams_of(part.expected_g[kind])
            lines.append(Line(f"{name}, the scale should show", f"{after.digits} {TO_STEP}", should))
        return Working(f"cut of {self.job.names.said(part.part, part.cylinder)}", tuple(lines))

    def _fall(self, pad: Pad, kind: str, lines: list[Line]) -> Figure:
        """By how much one gram taken at a pad lowers a reading."""
        fall = as_part(exactly(falls(self.job, pad, 1.0)[kind]))
        what = f"a gram off the {label(pad.kind)} lowers the {label(kind)} reading by"
        if pad.at_mm is None:
            return fall
        if self.job.ground and pad.kind in self.job.ground.responses:
            lines.append(Line(what, "", fall, LEARNED))
            return fall
        at, length = self.length_of(pad.at_mm), self.length_of(self.job.engine.rod_length_mm)
        ratio = f"{in_product(at)} / {length.digits}"
        lines.append(Line(what, ratio if kind == "small_end" else f"1 − {ratio}", fall, LEVER_SOURCE))
        return fall

    def bobweight_of(self, throw: ThrowMass) -> Figure:
        adds = (self._adds(number).value for number in throw.cylinders)
        return self.mass_of(sum(adds, Decimal(0)) + self.grams_of(throw.oil_g).value)

    def _mean(self, reading: Reading) -> Decimal:
        each = [self.grams_of(grams).value for grams in reading.repeats_g]
        return sum(each, Decimal(0)) / len(each)


def origin(result: Result, number: int, reading: Reading) -> str:
    """Where a reading of a cylinder comes from."""
    job, kind = result.job, reading.kind
    if reading.estimate is not None:
        return "job file, [estimate]: nobody weighed it"
    for whose in (number, 0):
        if (ids := job.in_log.get((whose, kind))) and (whose or reading.cylinder is None):
            return f"log, record{'s' if len(ids) > 1 else ''} {', '.join(ids)}"
    if reading.cylinder is None:
        return "job file, [every_cylinder]"
    if (number, kind) in job.in_sheet:
        return f"weigh sheet {Path(shlex.split(job.sheet)[0]).name}"
    return f"job file, cylinder {job.names.part(kind, number).weighed_in}"
