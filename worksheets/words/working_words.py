"""The working of a figure: as a hand works it, with the numbers of the job at hand, each reading with where it
comes from and each formula with its source.

Worked in decimals from the readings on, in the unit that is shown. A figure that has more digits than are shown
ends in …, and the next line goes on with all of them; any other is just what is written, so that a hand that adds
up the lines gets the same.
"""

from __future__ import annotations

import math
import shlex
from collections.abc import Iterable, Sequence
from decimal import ROUND_DOWN, Decimal
from pathlib import Path
from typing import Any, NamedTuple

from truethrow.balance.base.errors import BadInput, Fault, printable, shown
from truethrow.balance.base.parts import KINDS, SUMS, label
from truethrow.balance.base.readings import Reading
from truethrow.balance.base.units import LENGTH, MASS, factor
from truethrow.balance.engine.lengths import NotDeclared
from truethrow.balance.job.pads import Pad
from truethrow.balance.result import doubts
from truethrow.balance.result.bobweight import ThrowMass
from truethrow.balance.result.least_metal import falls
from truethrow.balance.result.trim import PartTrim
from truethrow.balance.result.unbalance import PlaneUnbalance, permissible_unbalance_gmm
from truethrow.balance.result.work import Result
from truethrow.worksheets.shown.display import Display

MORE, MINUS = "…", "−"
# What only the division of decimals leaves.
ROUNDING = Decimal("1e-12")
MORE_SAID = f"A figure that ends in {MORE} has more digits; the next line goes on with all of them."
# Beyond the scale's own digits, before a figure is cut off with MORE.
FINER = 3
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


class Figure(NamedTuple):
    """A number of a working, in full; places: to which it is shown at the most; unit: empty for none; least: to
    which it is shown in any case, as a scale shows it."""

    value: Decimal
    places: int
    unit: str = ""
    least: int = 0

    @property
    def digits(self) -> str:
        """As it is written: all its digits, or cut off with MORE."""
        whole = round(self.value, self.places)
        if abs(self.value - whole) < ROUNDING:
            places = max(self.least, _places(whole))
            return f"{whole if whole else abs(whole):.{places}f}".replace("-", MINUS)
        cut = self.value.quantize(Decimal(1).scaleb(-self.places), ROUND_DOWN)
        return f"{cut if cut else abs(cut):f}{MORE}".replace("-", MINUS)

    def __str__(self) -> str:
        return f"{self.digits}{self.unit and ' '}{self.unit}"


class Line(NamedTuple):
    """One line: what, how it is worked out (empty for what is given), what it comes to, and where it comes from: a
    reading its place, a formula its source."""

    what: str
    by: str
    figure: Figure
    comes_from: str = ""

    def __str__(self) -> str:
        how = f" = {self.by}" if self.by else ""
        source = f"   [{self.comes_from}]" if self.comes_from else ""
        return printable(f"{self.what}{how} = {self.figure}{source}")


class Working(NamedTuple):
    """A figure of a job, its lines in the order in which a hand goes, and what they come to in words."""

    of: str
    lines: tuple[Line, ...]
    said: str = ""

    def as_data(self) -> dict[str, Any]:
        lines = [
            {
                "what": line.what,
                "by": line.by,
                "figure": float(line.figure.value),
                "shown": line.figure.digits,
                "unit": line.figure.unit,
                "from": line.comes_from,
            }
            for line in self.lines
        ]
        return {"of": self.of, "lines": lines, "said": self.said}


def names(result: Result) -> list[str]:
    """The figures of a job whose working can be shown, each as it is asked for."""
    throws = [f"bobweight {throw.throw.name}" for throw in result.bobweights.throws]
    planes = ["plane front", "plane rear"] if result.left else []
    spreads = (f"spread {label(one.quantity)}" for one in result.spreads)
    return [*throws, "hang", *planes, *spreads, *_cuts(result)]


def _cuts(result: Result) -> dict[str, PartTrim]:
    """The parts to trim, each as it is asked for, by its own name and no number that can mean two; none while
    readings are to be looked at again."""
    try:
        parts = result.trim.parts if result.trim else ()
    except NotDeclared:
        return {}
    return {f"cut {result.job.names.typed(one.part, one.cylinder)}": one for one in parts}


def _plain(asked: str) -> str:
    """A figure as it is asked for, however it is spaced and capitalized."""
    return " ".join(asked.lower().replace("_", " ").split())


def working(result: Result, figure: str, show: Display) -> Working:
    """The working of one figure. Raises BadInput for one that this job does not have."""
    made = _Made(result, show)
    asked = _plain(figure)
    what, _, which = asked.partition(" ")
    cuts = {_plain(name): part for name, part in _cuts(result).items()} if what == "cut" else {}
    if not result.job.has_parts:
        raise BadInput([Fault("", "no part of this job was weighed: there is nothing to add up")])
    if asked not in map(_plain, names(result)):
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
    return made.spread(which)


class _Made:
    """The workings of one job, in one unit."""

    def __init__(self, result: Result, show: Display) -> None:
        self.result, self.job, self.show = result, result.job, show
        self.one_g, self.one_mm = float(factor(show.mass_unit, MASS)), float(factor(show.length_unit, LENGTH))

    def bobweight(self, throw: ThrowMass) -> Working:
        lines = list(self._of_throw(throw))
        return Working(f"bobweight of throw {throw.throw.name}", tuple(lines), f"{BOBWEIGHT}. {BOBWEIGHT_SOURCE}")

    def _of_throw(self, throw: ThrowMass) -> Iterable[Line]:
        share = _number(self.job.share)
        yield Line("share", "", share, "job file, [bobweight]")
        added = []
        for number in throw.cylinders:
            turning, along = yield from self._cylinder(number)
            adds = self._mass(turning.value + share.value * along.value)
            by = f"{turning.digits} + {share.digits} × {along.digits}"
            yield Line(f"cylinder {number} adds", by, adds)
            added.append(adds)
        oil = self._grams(throw.oil_g)
        yield Line("oil", "", oil, "job file, [bobweight]")
        yield Line(f"bobweight {throw.throw.name}", _sum([*added, oil]), self._bobweight(throw))

    def _cylinder(self, number: int) -> Any:
        """The lines of what turns and of what goes up and down, with both sums as what is returned."""
        sums = []
        for motion in ("rotating", "reciprocating"):
            terms = []
            for kind in KINDS:
                if kind.name in SUMS[motion] and kind.name in self.job.parts[number]:
                    terms.append((yield from self._reading(number, kind.name)))
            total = self._mass(sum((term.value for term in terms), Decimal(0)))
            yield Line(f"cylinder {number}, {motion}", _sum(terms), total)
            sums.append(total)
        return sums

    def _reading(self, number: int, kind: str) -> Any:
        """The lines of one part, with its mass as what is returned."""
        reading = self.job.parts[number][kind]
        part = self.job.names.said(kind, number)
        each = [self._grams(grams) for grams in reading.repeats_g]
        if len(each) == 1:
            yield Line(part, "", each[0], origin(self.result, number, reading))
            return each[0]
        mean = self._mass(sum((one.value for one in each), Decimal(0)) / len(each))
        by = f"({_sum(each)}) / {len(each)}"
        yield Line(part, by, mean, origin(self.result, number, reading))
        return mean

    def hang(self) -> Working:
        weights = self.result.bobweights
        lines = list(self._each_bobweight())
        if weights.rule == "mean":
            each = [self._bobweight(throw) for throw in weights.throws]
            mean = self._mass(sum((one.value for one in each), Decimal(0)) / len(each))
            lines.append(Line("mean", f"({_sum(each)}) / {len(each)}", mean))
            lines.append(Line("hang", f"{mean.digits} {TO_STEP}", self._grams(weights.hung_g or 0.0)))
        return Working("what to hang", (*lines, *self._each_off()))

    def _each_bobweight(self) -> Iterable[Line]:
        for throw in self.result.bobweights.throws:
            asked = f"truethrow working {self.job.name} bobweight {throw.throw.name}"
            yield Line(f"bobweight {throw.throw.name}", "", self._bobweight(throw), asked)

    def _each_off(self) -> Iterable[Line]:
        """What hangs on each throw, where that is its own, and what it is off by."""
        rule = self.result.bobweights.rule
        for throw in self.result.bobweights.throws:
            hung = self._grams(throw.hung_g)
            if rule != "mean":
                why = {"own": f"its bobweight {TO_STEP}", "none": "hang nothing"}.get(
                    rule, "job file, [bobweight]"
                )
                yield Line(f"hang on throw {throw.throw.name}", "", hung, why)
            by = f"{self._bobweight(throw).digits} − {hung.digits}"
            yield Line(f"throw {throw.throw.name} is off by", by, self._off(throw))

    def _off(self, throw: ThrowMass) -> Figure:
        return self._mass(self._bobweight(throw).value - self._grams(throw.hung_g).value)

    def plane(self, name: str) -> Working:
        """One plane: what each throw is off by, at its radius and its angle, as far as it acts there."""
        station, stroke = self.job.station, self._length(self.job.engine.stroke_mm)
        found = self.result.cost.front if name == "front" else self.result.cost.rear
        radius = self._length(self.job.engine.throw_radius_mm)
        front, rear = self._length(station.front_plane_mm), self._length(station.rear_plane_mm)
        lines = list(self._each_bobweight())
        if self.result.bobweights.rule == "mean":
            asked = f"truethrow working {self.job.name} hang"
            lines.append(Line("hang", "", self._grams(self.result.bobweights.hung_g or 0.0), asked))
        lines += [
            *self._each_off(),
            Line("stroke", "", stroke, "job file, [engine]"),
            Line("throw radius", f"{stroke.digits} / 2", radius),
            Line("front plane at", "", front, "job file, [station], else the outer throws"),
            Line("rear plane at", "", rear, "job file, [station], else the outer throws"),
        ]
        parts: list[tuple[Figure, float]] = []
        for throw in self.result.bobweights.throws:
            off, z = self._off(throw), self._length(throw.throw.z_mm)
            lines.append(Line(f"throw {throw.throw.name} lies at", "", z, "job file, [engine]"))
            far, near = (rear, z) if name == "front" else (z, front)
            part = _part((far.value - near.value) / (rear.value - front.value))
            by = f"({_signed(far)} − {_signed(near)}) / ({_signed(rear)} − {_signed(front)})"
            lines.append(Line(f"throw {throw.throw.name}, its part in this plane", by, part))
            amount = self._gmm(off.value * radius.value * part.value)
            by = f"{_signed(off)} × {radius.digits} × {_signed(part)}"
            lines.append(Line(f"throw {throw.throw.name}, at {throw.throw.angle_deg:g}°", by, amount))
            parts.append((amount, throw.throw.angle_deg))
        parts += self._rods(name, radius, front, rear, lines)
        return Working(f"unbalance in the {name} plane", (*lines, *self._vector(parts, found)), PLANE_SOURCE)

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
            way = self._length(place.behind_mm if plane == "rear" else -place.behind_mm)
            what = f"rod {place.cylinder} lies {which} the middle of its throw by"
            lines.append(Line(what, "", way, "job file, [engine] rods_apart, half of it"))
            amount = self._gmm(adds.value * radius.value * way.value / (rear.value - front.value))
            by = f"{adds.digits} × {radius.digits} × {_signed(way)} / ({_signed(rear)} − {_signed(front)})"
            lines.append(Line(f"rod {place.cylinder}, at {angle_deg[place.throw]:g}°", by, amount, RODS_SOURCE))
            parts.append((amount, angle_deg[place.throw]))
        return parts

    def _adds(self, number: int) -> Figure:
        """What a cylinder adds to the bobweight of its throw."""
        parts = self.job.parts[number]
        turning, along = (
            self._mass(sum((self._mean(parts[kind]) for kind in SUMS[motion] if kind in parts), Decimal(0)))
            for motion in ("rotating", "reciprocating")
        )
        return self._mass(turning.value + _number(self.job.share).value * along.value)

    def _vector(self, parts: Sequence[tuple[Figure, float]], found: PlaneUnbalance) -> Iterable[Line]:
        sums = []
        for what, wave, word in (("up", math.cos, "cos"), ("across", math.sin, "sin")):
            values = [(amount, angle, _part(_exact(wave(math.radians(angle))))) for amount, angle in parts]
            by = " + ".join(f"{_signed(amount)} × {_signed(part)}" for amount, _, part in values)
            total = self._gmm(sum((amount.value * part.value for amount, _, part in values), Decimal(0)))
            yield Line(f"{what} (each × {word} of its angle)", by, total)
            sums.append(total)
        up, across = sums
        amount = self._gmm(_exact(math.hypot(up.value, across.value)))
        yield Line("unbalance", f"√({_signed(up)}² + {_signed(across)}²)", amount)
        degrees = Figure(_exact(found.angle_deg), 1, "°")
        yield Line("at", f"the angle whose sine and cosine are as {_signed(across)} to {_signed(up)}", degrees)
        unsure = self._gmm(_exact(found.expanded_gmm / self.one_g / self.one_mm))
        yield Line("±", "", unsure, SURE)
        if found.permissible_gmm is not None:
            limit = self._gmm(_exact(found.permissible_gmm / self.one_g / self.one_mm))
            yield from self._allowed(found.plane, limit)
            yield _judged(amount, unsure, limit, found.verdict)

    def _allowed(self, plane: str, limit: Figure) -> Iterable[Line]:
        station, speed_rpm = self.job.station, self.job.engine.top_speed_rpm
        if station.limit_gmm is not None or station.grade_mm_s is None:
            yield Line("allowed", "", limit, "job file, [station] limit")
            return
        assert station.crank_mass_g is not None and speed_rpm is not None
        kg, grade, rpm = (_number(value) for value in (station.crank_mass_g / 1000, station.grade_mm_s, speed_rpm))
        whole_gmm = permissible_unbalance_gmm(station.crank_mass_g / 1000, station.grade_mm_s, speed_rpm)
        whole = Figure(_exact(whole_gmm), 2, "g·mm")
        by = f"1000 × {kg.digits} × {grade.digits} / (2π × {rpm.digits} / 60)"
        yield Line("allowed for the whole crank", by, whole, ALLOWED_SOURCE)
        yield Line(f"allowed in the {plane} plane", "", limit, SPLIT_SOURCE)

    def spread(self, name: str) -> Working:
        spread = next(one for one in self.result.spreads if label(one.quantity) == name)
        lines: list[Line] = []
        ends = []
        for end in (spread.heaviest, spread.lightest):
            if spread.quantity == "bobweight":
                throw = next(one for one in self.result.bobweights.throws if one.throw.name == end)
                asked = f'truethrow working {self.job.name} "bobweight {end}"'
                ends.append(self._bobweight(throw))
                lines.append(Line(f"bobweight {end}", "", ends[-1], asked))
                continue
            terms = []
            for kind in SUMS[spread.quantity]:
                if kind in self.job.parts[int(end)]:
                    made = self._reading(int(end), kind)
                    terms.append(_taken(made, lines))
            ends.append(self._mass(sum((term.value for term in terms), Decimal(0))))
            if len(terms) > 1:
                lines.append(Line(f"cylinder {end}, {name}", _sum(terms), ends[-1]))
        apart = self._mass(ends[0].value - ends[1].value)
        lines.append(Line("spread", f"{ends[0].digits} − {ends[1].digits}", apart))
        unsure = self._grams(spread.expanded_g)
        lines.append(Line("±", "", unsure, SURE))
        if spread.limit_g is not None:
            limit = self._grams(spread.limit_g)
            lines.append(Line("limit", "", limit, "job file, [limits]"))
            lines.append(_judged(apart, unsure, limit, spread.verdict))
        return Working(f"spread of {name}", tuple(lines), "Spread = heaviest − lightest")

    def cut(self, part: PartTrim) -> Working:
        """What comes off one part, and what the scale should then show."""
        lines: list[Line] = []
        read = {kind: _taken(self._reading(part.cylinder, kind), lines) for kind in part.expected_g}
        off = [(cut.pad, self._grams(cut.grams)) for cut in part.cuts]
        for pad, grams in off:
            lines.append(Line(f"take off at the {label(pad.kind)}", "", grams, CUT_SOURCE))
        for kind, before in read.items():
            left, told = before.value, before.digits
            for pad, grams in off:
                fall = self._fall(pad, kind, lines)
                left, told = left - grams.value * fall.value, f"{told} − {grams.digits} × {_signed(fall)}"
            name = self.job.names.said(kind, part.cylinder)
            after = self._mass(left)
            lines.append(Line(f"{name}, afterwards", told, after))
            should = self._grams(part.expected_g[kind])
            lines.append(Line(f"{name}, the scale should show", f"{after.digits} {TO_STEP}", should))
        return Working(f"cut of {self.job.names.said(part.part, part.cylinder)}", tuple(lines))

    def _fall(self, pad: Pad, kind: str, lines: list[Line]) -> Figure:
        """By how much one gram taken at a pad lowers a reading."""
        fall = _part(_exact(falls(self.job, pad, 1.0)[kind]))
        what = f"a gram off the {label(pad.kind)} lowers the {label(kind)} reading by"
        if pad.at_mm is None:
            return fall
        if self.job.ground and pad.kind in self.job.ground.responses:
            lines.append(Line(what, "", fall, LEARNED))
            return fall
        at, length = self._length(pad.at_mm), self._length(self.job.engine.rod_length_mm)
        ratio = f"{_signed(at)} / {length.digits}"
        lines.append(Line(what, ratio if kind == "small_end" else f"1 − {ratio}", fall, LEVER_SOURCE))
        return fall

    def _bobweight(self, throw: ThrowMass) -> Figure:
        adds = (self._adds(number).value for number in throw.cylinders)
        return self._mass(sum(adds, Decimal(0)) + self._grams(throw.oil_g).value)

    def _mean(self, reading: Reading) -> Decimal:
        each = [self._grams(grams).value for grams in reading.repeats_g]
        return sum(each, Decimal(0)) / len(each)

    def _grams(self, grams: float) -> Figure:
        """A mass as it is given: what binary fractions keep from its own decimals is put right."""
        return self._mass(_exact(grams / self.one_g))

    def _mass(self, value: Decimal) -> Figure:
        return Figure(value, self.show.places + FINER, self.show.mass_unit, self.show.places)

    def _length(self, mm: float) -> Figure:
        return Figure(_exact(mm / self.one_mm), FINER, self.show.length_unit)

    def _gmm(self, value: Decimal) -> Figure:
        # In the units of the lines that it is made of, whatever unbalance is asked for in elsewhere.
        return Figure(value, FINER, f"{self.show.mass_unit}·{self.show.length_unit}")


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


def _judged(found: Figure, unsure: Figure, limit: Figure, verdict: str | None) -> Line:
    """A verdict, by the end of the ± that tells it."""
    outside = verdict == "outside"
    sign, edge = ("−", found.value - unsure.value) if outside else ("+", found.value + unsure.value)
    figure = found._replace(value=edge)
    against = "more" if edge > limit.value else "no more"
    what = f"{verdict}: {figure.digits} is {against} than {limit.digits}"
    if verdict == "too close to call" and edge <= limit.value:
        what = f"{verdict}: part of the ± is only assumed"
    end = "least" if outside else "most"
    return Line(f"{end} that it may be", f"{found.digits} {sign} {unsure.digits}", figure, what)


def _taken(made: Any, lines: list[Line]) -> Figure:
    """The lines of a reading, put behind these; its mass."""
    while True:
        try:
            lines.append(next(made))
        except StopIteration as ended:
            figure: Figure = ended.value
            return figure


def _sum(figures: Sequence[Figure]) -> str:
    return " + ".join(figure.digits for figure in figures)


def _signed(figure: Figure) -> str:
    """A figure as it stands in a product."""
    return f"({figure.digits})" if figure.digits.startswith(MINUS) else figure.digits


def _number(value: float) -> Figure:
    exact = _exact(value)
    return Figure(exact, _places(exact))


def _part(value: Decimal) -> Figure:
    return Figure(value, 6)


def _exact(value: float) -> Decimal:
    return Decimal(repr(round(value, 9)))


def _places(value: Decimal) -> int:
    return max(0, -int(value.normalize().as_tuple().exponent))
