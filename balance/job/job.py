"""The job: one engine's rotating assembly, read from its document, checked as a whole, and frozen.

Everything that is wrong with a job file and its weigh sheet comes back in one answer. The file itself is
only ever read here; enter.py writes it.
"""

from __future__ import annotations

import hashlib
import json
import shlex
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from truethrow.balance.base import fields
from truethrow.balance.base.amounts import SHOW, ToldIn
from truethrow.balance.base.errors import BadInput, Fault, or_by_catalog, printable, shown, shown_path
from truethrow.balance.base.fields import Units, reading_allowed
from truethrow.balance.base.parts import KINDS, label, weighed_by
from truethrow.balance.base.readings import Certainty, Reading, Scale, certainty, decimals
from truethrow.balance.base.told import rounded, table
from truethrow.balance.engine import declared, engine
from truethrow.balance.engine.layout import Layout
from truethrow.balance.engine.lengths import NotDeclared
from truethrow.balance.job import document as doc
from truethrow.balance.job import plausible_masses, sheet_against, sources, weighsheet
from truethrow.balance.job.about import About, about_of
from truethrow.balance.job.boxes import Box, OffBox, boxes_of, off_boxes
from truethrow.balance.job.jobfile import (
    TABLES,
    bare_units,
    layout_alone,
    limits_of,
    parse_toml,
    reach,
    scale_of,
    scale_unit,
)
from truethrow.balance.job.logged import Logged, logged
from truethrow.balance.job.missing import missing
from truethrow.balance.job.pads import Pad, _assumed, pads_of
from truethrow.balance.job.settled import past_weighings, settled
from truethrow.balance.log.place import (
    Place,
    log_name,
    must_have_a_log,
    source_of,
    text_of,
    to_paste,
)
from truethrow.balance.log.records import Cut

if TYPE_CHECKING:
    from truethrow.balance.base.naming import Names
    from truethrow.balance.crank.crank import Crank
    from truethrow.balance.job.grinding import Ground


# What stands for a reading of a part that is not there: any mass, as nothing is told by it.
ABSENT_G = 1.0


class Station(NamedTuple):
    """The balancing station's planes, and what the crank may keep of unbalance there: by a balance quality
    grade (ISO 21940-11), or by the shop's own limit for each plane. planes_mm: the front one, the rear one and the
    centre of mass; None where neither [station] nor the throws' places say where they are; bearings_mm: of the
    crank, front and rear, which the grade's tolerance then belongs to; None where nobody says."""

    planes_mm: tuple[float, float, float] | None
    crank_mass_g: float | None = None
    grade_mm_s: float | None = None
    limit_gmm: float | None = None
    bearings_mm: tuple[float, float] | None = None

    @property
    def front_plane_mm(self) -> float:
        """As the two below; raises NotDeclared."""
        return self._planes_mm()[0]

    @property
    def rear_plane_mm(self) -> float:
        return self._planes_mm()[1]

    @property
    def centre_of_mass_mm(self) -> float:
        return self._planes_mm()[2]

    def _planes_mm(self) -> tuple[float, float, float]:
        if self.planes_mm is None:
            raise NotDeclared(["cylinder_spacing"])
        return self.planes_mm


@dataclass(frozen=True)
class Job:
    """One engine job, in g, mm, degrees and r/min.

    traded: unit (piston, pin, locks, rings, rod) → {cylinder: the cylinder whose part it first was}, of parts that
    sit elsewhere than first weighed; ground: what the pads gave, where metal came off;
    crank: where the balancing station may take metal off, as declared; clearance: what must clear; name: how
    the job is told to the next command; sheet: the weigh sheet that was given with it; about: what no figure
    depends on; replaced: readings of the job file in whose place others of the bench count; past: parts
    weighed more than once as they were before a cut, for what that says of the scale; head: how far its log
    has come, as that is printed; waiting: the parts that have no reading yet, of a job that was asked for as
    far as it goes; in_log: cylinder and kind of what has a reading in the log, where it can be canceled,
    each with its records (cylinder 0: for all of them); in_sheet: the same of what the weigh sheet says;
    scale_unit: what its scale shows masses in; boxes: what [estimate] says of each kind of part, weighed or
    not."""

    id: str
    title: str
    mass_unit: str
    length_unit: str
    engine: engine.Engine
    scale: Scale
    parts: Mapping[int, Mapping[str, Reading]]
    labels: Mapping[int, Mapping[str, str]]
    share: float
    oil_g: tuple[float, ...]
    hang: doc.Hang
    limits_g: Mapping[str, float]
    pads: tuple[Pad, ...]
    pads_assumed: tuple[str, ...]
    match: doc.MatchTable
    station: Station
    digest: str = field(default="", compare=False)
    notes: tuple[str, ...] = field(default=(), compare=False)
    traded: Mapping[str, Mapping[int, int]] = field(default_factory=dict, compare=False)
    ground: Ground | None = field(default=None, compare=False)
    crank: Crank | None = field(default=None, compare=False)
    clearance: declared.ClearanceTable | None = field(default=None, compare=False)
    about: About = field(default=About(), compare=False)
    name: str = field(default="JOB", compare=False)
    sheet: str = field(default="", compare=False)
    replaced: tuple[sources.Replaced, ...] = field(default=(), compare=False)
    past: tuple[Reading, ...] = field(default=(), compare=False)
    head: str = field(default="", compare=False)
    waiting: tuple[Fault, ...] = field(default=(), compare=False)
    in_log: Mapping[tuple[int, str], tuple[str, ...]] = field(default_factory=dict, compare=False)
    in_sheet: frozenset[tuple[int, str]] = field(default=frozenset(), compare=False)
    scale_unit: str = field(default="g", compare=False)
    boxes: Mapping[str, Box] = field(default_factory=dict, compare=False)

    def told_in(self, show: str | None = None) -> ToldIn:
        """The units of what is said of it: its own, or those of a name in SHOW."""
        mass, length = SHOW[show] if show else (self.mass_unit, self.length_unit)
        return ToldIn(self.scale_unit, mass, length)

    def __repr__(self) -> str:
        count = len(self.layout.places)
        waits = f", {len(self.waiting)} readings still missing" if self.waiting else ""
        estimated = f", estimates for {', '.join(map(label, self.estimated))}" if self.estimated else ""
        return printable(f"Job {self.id}: {self.engine.layout_name}, {count} cylinders{estimated}{waits}")

    def _repr_html_(self) -> str:
        kinds = [kind.name for kind in KINDS if any(kind.name in own for own in self.parts.values())]
        places = decimals(self.scale.resolution_g)

        def read(own: Mapping[str, Reading], kind: str) -> str | None:
            if (reading := own.get(kind)) is None:
                return None
            finer = 0 if len(reading.repeats_g) == 1 else 1
            return f"{rounded(reading.mean_g, places + finer)}{' (estimated)' if reading.estimate else ''}"

        rows = [[number, *(read(own, kind) for kind in kinds)] for number, own in self.parts.items()]
        return table(f"{self!r} [g]", ["cylinder", *map(label, kinds)], rows)

    @property
    def layout(self) -> Layout:
        return self.engine.layout

    @property
    def has_parts(self) -> bool:
        """Whether any part was weighed; without, it is a crank and the bobweights that it is to hang."""
        return any(self.parts.values())

    @property
    def names(self) -> Names:
        """What its parts are called."""
        from truethrow.balance.base.naming import Names  # noqa: PLC0415 (not every command names a part)

        return Names(self.layout.cylinders, self.labels, self.traded)

    def readings(self) -> list[Reading]:
        """Every reading once, also one that stands for all cylinders."""
        return list(dict.fromkeys(r for parts in self.parts.values() for r in parts.values()))

    @property
    def estimated(self) -> dict[str, tuple[int, ...]]:
        """The kinds of part that nobody weighed yet, each with its cylinders, where estimates stand for them."""
        found: dict[str, list[int]] = {}
        for number, parts in self.parts.items():
            for kind, reading in parts.items():
                if reading.estimate is not None:
                    found.setdefault(kind, []).append(number)
        return {kind: tuple(numbers) for kind, numbers in found.items()}

    @property
    def weighed(self) -> Job:
        """The job with its readings alone."""
        parts = {n: {k: r for k, r in own.items() if r.estimate is None} for n, own in self.parts.items()}
        return replace(self, parts=parts)

    @property
    def off_boxes(self) -> tuple[OffBox, ...]:
        """What was weighed, and is none of the box that [estimate] says it is of."""
        cut = self.ground.given_g if self.ground else ()
        return off_boxes(self.boxes, self.parts, self.scale.resolution_g, cut)

    def certainty(self) -> Certainty:
        """How sure its readings are."""
        return certainty(self.scale, (*self.readings(), *self.past))


def load(
    place: Place,
    sheet_path: Path | None = None,
    *,
    known: int | None = None,
    absent: tuple[str, int] | None = None,
    partly: bool = False,
    given: bool = False,
    estimated: bool = False,
) -> Job:
    """Read a job, its log of readings and, if given, the weigh sheet that holds its readings.

    A reading in the log counts before one in the job file; one in the sheet that is another than theirs is a
    fault. known: the job as it was when the log had so many records; absent: a part (rod, 3) that need not be
    weighed, where it is not ABSENT_G stands for each of its readings; partly: as far as it is weighed, what is not
    in its waiting; given: also a job that has no part at all, where it says what mass to hang: a number on a tag;
    estimated: with what its [estimate] has in the place of readings that nobody took yet, for what is planned
    before anything is cut or hung. Raises BadInput with every fault found."""
    text, source = text_of(place), source_of(place)
    return build(
        text,
        source,
        sheet_path,
        place,
        known=known,
        absent=absent,
        partly=partly,
        given=given,
        estimated=estimated,
    )


def build(
    document: str | dict[str, Any],
    source: str = "",
    sheet_path: Path | None = None,
    log_of: Place | None = None,
    *,
    known: int | None = None,
    absent: tuple[str, int] | None = None,
    partly: bool = False,
    given: bool = False,
    estimated: bool = False,
) -> Job:
    """A job from the text of its file, or from the tables that such a text would give, which it takes apart; as
    load, with the log of log_of, if given."""
    raw = parse_toml(document, source) if isinstance(document, str) else document
    _refuse_candidates(raw, source)
    faults: list[Fault] = []
    bare = bare_units(raw)
    faults += [Fault(shown(key), fields.unknown_key(key, list(TABLES))) for key in raw if key not in TABLES]
    tables = _tables(raw, bare, faults)
    made = tables.engine
    readable = reach(bare, tables.scale)
    placed = made or layout_alone(raw.get("engine"), faults)
    sheet = _sheet(sheet_path, readable)
    job_id = tables.head.id if tables.head else ""
    log = logged(log_of, readable, placed, known, job_id) if log_of is not None else Logged()
    sheet.faults += sheet_against.outdated(sheet.written, sheet.labels, log.traded, log.cut, log.job)
    if "every_cylinder" in raw:
        raw["every_cylinder"] = sources.without_blanks(raw["every_cylinder"])
    every = fields.table_in(raw, "every_cylinder", doc.EveryCylinderTable, readable, faults)
    cylinders = sources.cylinder_tables(raw.get("cylinder", []), readable, faults)
    faults += [replace(fault, source=str(sheet_path)) for fault in sheet.faults]
    if log_of is not None:
        faults += [replace(fault, source=log_name(log_of)) for fault in log.faults]
    if absent is not None:
        _stand_in(absent, raw, log, sheet)
    if estimated and tables.estimate and placed:
        _stand_for_all(tables.estimate, placed, raw, log, sheet)
    by_tag = given and _is_by_tag(raw, tables.bobweight, log, sheet)
    if placed and not (by_tag or sheet.unread or log.unread):  # one fault then, not one for every part it may hold
        unseen = missing(placed, raw, log, sheet, sheet_path, reading_allowed(readable))
        faults += map(or_by_catalog, unseen) if estimated else unseen
        faults += [
            replace(fault, source=str(sheet_path))
            for fault in sheet_against.contradicted(placed, cylinders, every, log, sheet, log_of)
        ]
    if made:
        faults += _across(made, tables.bobweight, tables.trim, tables.station, bare.told_in)
        if tables.crank is not None and made.top_speed_rpm is not None:
            _not_too_fast(tables.crank, made.top_speed_rpm, faults)
    if tables.scale and tables.limits:
        faults += _finer_than_scale(tables.limits, tables.scale, bare.told_in)
    if tables.scale:
        faults += _from_nothing(tables.scale)
    waiting = tuple(fault for fault in faults if fault.to_weigh) if partly else ()
    if len(faults) > len(waiting):
        raise BadInput([fault for fault in faults if fault not in waiting], source)
    assert made  # every fault is out
    older = sources.older_parts(made.layout.cylinders, cylinders, every, log)
    labels = sources.labels_of(sources.labels_in(raw), log, sheet)
    assert tables.engine_table and tables.bobweight and tables.station
    weighed = sources.parts_of(older, log, sheet)
    if not waiting and (
        faults := plausible_masses.strange(
            made, weighed, tables.engine_table, tables.bobweight, tables.station, bare.told_in
        )
    ):
        raise BadInput(faults, source)
    job = replace(
        _made(tables, older, labels, log, sheet),
        name=to_paste(log_of),
        sheet="" if sheet_path is None else shlex.quote(shown_path(sheet_path)),
        waiting=waiting,
        scale_unit=scale_unit(raw, tables.bench, (*log.as_typed, *_typed_in(sheet))),
    )
    return _with_digest(_with_ground(job, log, older))


def _is_by_tag(
    raw: Mapping[str, Any], bobweight: doc.BobweightTable | None, log: Logged, sheet: weighsheet.WeighSheet
) -> bool:
    """Whether a job says what mass to hang, and nothing of the parts that it stands for. What is wrong with its
    [bobweight] has a fault of its own."""
    if bobweight is not None and isinstance(bobweight.hang, str):
        return False
    return not (raw.get("cylinder") or raw.get("every_cylinder") or log.written or log.cut or sheet.written)


def _stand_in(absent: tuple[str, int], raw: Mapping[str, Any], log: Logged, sheet: weighsheet.WeighSheet) -> None:
    """Readings of a part that is not there, where it has none that counts."""
    unit, number = absent
    every = raw.get("every_cylinder")
    for_all = {*(every if isinstance(every, dict) else ()), *log.readings.get(0, {})}
    for kind in weighed_by(unit):
        in_file = kind in sources.written_in(raw).get(log.first(number, kind), set()) or kind in for_all
        is_read = kind in log.readings.get(number, {}) or kind in sheet.readings.get(number, {})
        if not is_read and (not in_file or (number, kind) in log.cut):
            sheet.readings.setdefault(number, {})[kind] = fields.Typed(("",), (ABSENT_G,))
            sheet.written.setdefault(number, set()).add(kind)


def _stand_for_all(
    table: fields.Table, placed: engine.Engine, raw: Mapping[str, Any], log: Logged, sheet: weighsheet.WeighSheet
) -> None:
    """Estimates in the place of what has no reading that counts, cylinder by cylinder."""
    every = raw.get("every_cylinder")
    for_all = {*(every if isinstance(every, dict) else ()), *log.readings.get(0, {})}
    in_file = sources.written_in(raw)
    for number in placed.layout.cylinders:
        waits = [
            kind.name
            for kind in KINDS
            if kind.motion != "check"
            and kind.name not in placed.without
            and kind.name not in log.readings.get(number, {})
            and kind.name not in sheet.written.get(number, set())
            and ((number, kind.name) in log.cut or kind.name not in for_all)
            and (
                (number, kind.name) in log.cut or kind.name not in in_file.get(log.first(number, kind.name), set())
            )
        ]
        for kind, typed in sources.estimated(table, number, waits).items():
            sheet.readings.setdefault(number, {})[kind] = typed
            sheet.written.setdefault(number, set()).add(kind)


class _Tables(NamedTuple):
    """The tables of a job file that hold no reading; None where they have a fault."""

    head: doc.JobTable | None
    about: doc.AboutTable | None
    scale: doc.ScaleTable | None
    engine_table: declared.EngineTable | None
    engine: engine.Engine | None
    bobweight: doc.BobweightTable | None
    limits: doc.LimitsTable | None
    trim: doc.TrimTable | None
    station: doc.StationTable | None
    match: doc.MatchTable | None
    bench: doc.BenchTable | None
    crank: Crank | None
    clearance: declared.ClearanceTable | None
    estimate: fields.Table | None


def _refuse_candidates(raw: Mapping[str, Any], source: str) -> None:
    """Raises BadInput for a file of candidates, which lacks all that a job has."""
    if "candidates" in raw and "job" not in raw:
        remedy = f"run: truethrow candidates {shlex.quote(source) if source else 'FILE'}"
        raise BadInput([Fault("", "a file of candidates, no job", remedy=remedy)], source)


def _tables(raw: Mapping[str, Any], bare: Units, faults: list[Fault]) -> _Tables:
    def table(name: str, model: type[fields.T], *, needed: bool = False) -> fields.T | None:
        return fields.table_in(raw, name, model, bare, faults, needed=needed)

    head = table("job", doc.JobTable, needed=True)
    about = table("about", doc.AboutTable)
    scale = table("scale", doc.ScaleTable, needed=True)
    engine_table = table("engine", declared.EngineTable, needed=True)
    made = engine.build(engine_table, faults, bare.told_in) if engine_table else None
    bobweight = table("bobweight", doc.BobweightTable)
    limits = table("limits", doc.LimitsTable)
    trim = table("trim", doc.TrimTable)
    station = table("station", doc.StationTable)
    match = table("match", doc.MatchTable)
    bench = table("bench", doc.BenchTable)
    crank = _crank(raw["crank"], bare, made, faults) if "crank" in raw else None
    clearance = table("clearance", declared.ClearanceTable) if "clearance" in raw else None
    estimate = table("estimate", doc.EstimatesTable) if "estimate" in raw else None
    return _Tables(
        head,
        about,
        scale,
        engine_table,
        made,
        bobweight,
        limits,
        trim,
        station,
        match,
        bench,
        crank,
        clearance,
        estimate,
    )


def _sheet(path: Path | None, readable: Units) -> weighsheet.WeighSheet:
    """The weigh sheet, as far as it can be read."""
    if path is None:
        return weighsheet.WeighSheet()
    try:
        return weighsheet.read(path, readable)
    except BadInput as error:
        return weighsheet.WeighSheet(faults=list(error.faults), unread=True)


def _typed_in(sheet: weighsheet.WeighSheet) -> list[str]:
    """The readings of a weigh sheet, as they came; what stands for a part that was not weighed is none."""
    every = (typed for own in sheet.readings.values() for typed in own.values() if typed.estimate is None)
    return [text for typed in every for text in typed.texts if text]


def _made(
    tables: _Tables,
    older: Mapping[int, Mapping[str, Reading]],
    labels: Mapping[int, Mapping[str, str]],
    log: Logged,
    sheet: weighsheet.WeighSheet,
) -> Job:
    """The job of tables without a fault."""
    head, made, bobweight, trim = tables.head, tables.engine, tables.bobweight, tables.trim
    assert head and tables.about and made and tables.scale and bobweight and tables.limits
    assert trim and tables.match and tables.station
    scale, pads = scale_of(tables.scale), pads_of(trim, made.declared_rod_length_mm)
    return Job(
        id=head.id,
        title=head.title,
        mass_unit=head.mass_unit,
        length_unit=head.length_unit,
        engine=made,
        scale=scale,
        parts=settled(older, log, sheet, scale, pads, made.declared_rod_length_mm),
        labels=labels,
        share=bobweight.share,
        oil_g=_oil(bobweight, made),
        hang=bobweight.hang,
        limits_g=limits_of(tables.limits),
        pads=pads,
        pads_assumed=_assumed(trim),
        match=tables.match,
        station=_station(tables.station, made),
        notes=(*log.notes, *sheet.notes),
        replaced=sources.replaced(older, log),
        traded=log.traded,
        crank=tables.crank,
        clearance=tables.clearance,
        about=about_of(tables.about),
        past=past_weighings(older, log),
        in_log=log.ids,
        in_sheet=frozenset((number, kind) for number, own in sheet.written.items() for kind in own),
        head=log.head,
        boxes=boxes_of(tables.estimate),
    )


def _not_too_fast(crank: Crank, top_speed_rpm: float, faults: list[Fault]) -> None:
    """No damper or flexplate turns faster than its maker lets it."""
    for one in (*crank.externals, *crank.waiting):
        if one.fastest_rpm is not None and top_speed_rpm > one.fastest_rpm:
            wrong = f"{one.fastest_rpm:g} r/min, and the engine turns {top_speed_rpm:g}"
            faults.append(
                Fault(f"external {one.name}, fastest", wrong, "a member made for the engine's top_speed")
            )


def _crank(raw: object, bare: Units, made: engine.Engine | None, faults: list[Fault]) -> Crank | None:
    from truethrow.balance.crank.crank import CrankTable, crank_of  # noqa: PLC0415 (only the balancing station has it)

    table = fields.validate(CrankTable, raw, "crank", bare, faults)
    is_placed = made is not None and "cylinder_spacing" not in made.not_placed
    if table is None:
        return None
    return crank_of(table, faults, made.layout.middle_mm if made and is_placed else 0.0, bare.told_in)


def _across(
    made: engine.Engine,
    bobweight: doc.BobweightTable | None,
    trim: doc.TrimTable | None,
    station: doc.StationTable | None,
    told_in: ToldIn,
) -> list[Fault]:
    """What one table alone cannot know."""
    faults: list[Fault] = []
    throws = len(made.layout.throws)
    carried = {len(made.layout.cylinders_on(throw)) for throw in made.layout.throws}
    if bobweight and bobweight.hang == "mean" and len(carried) > 1:
        wrong = "the throws carry different numbers of cylinders, so their mean suits none"
        faults.append(Fault("bobweight, hang", wrong, '"own", "none", a mass, or a list of one a throw'))
    if bobweight and isinstance(bobweight.hang, tuple) and len(bobweight.hang) != throws:
        wrong = f"{len(bobweight.hang)} masses for {throws} throws"
        faults.append(Fault("bobweight, hang", wrong, f"one mass, or {throws}"))
    if bobweight and isinstance(bobweight.oil, list) and len(bobweight.oil) != throws:
        wrong = f"{len(bobweight.oil)} values for {throws} throws"
        faults.append(Fault("bobweight, oil", wrong, f"one value, or {throws}"))
    if trim and made.declared_rod_length_mm is not None:
        half = made.declared_rod_length_mm / 2
        counted = f"{told_in.size(half)}, half the rod length, counted from the big-end center"
        big, small = trim.big_end_pad, trim.small_end_pad
        if big and big.at >= half:
            wrong = f"{told_in.size(big.at)} is at the small end"
            faults.append(Fault("trim, big_end_pad, at", wrong, f"below {counted}"))
        if small and small.at <= half:
            wrong = f"{told_in.size(small.at)} is at the big end"
            faults.append(Fault("trim, small_end_pad, at", wrong, f"above {counted}"))
    if station:
        planes_mm = _station(station, made).planes_mm
        if planes_mm is not None and planes_mm[0] >= planes_mm[1]:
            wrong = f"{told_in.size(planes_mm[0])} is not in front of rear_plane, {told_in.size(planes_mm[1])}"
            faults.append(Fault("station, front_plane", wrong, "less than rear_plane; z counts rearwards"))
        faults += _bearings(station, planes_mm, told_in)
        if station.grade is not None and station.limit is not None:
            faults.append(
                Fault("station, limit", "can't be combined with a grade", remedy="leave one of the two out")
            )
        if station.grade is not None and (station.crank_mass is None or made.top_speed_rpm is None):
            faults.append(Fault("station, grade", "needs crank_mass in [station] and top_speed in [engine]"))
    return faults


def _bearings(
    table: doc.StationTable, planes_mm: tuple[float, float, float] | None, told_in: ToldIn
) -> list[Fault]:
    """The bearings and the centre of mass, where the tolerance of a grade is split by them."""
    bearings = table.front_bearing, table.rear_bearing
    front, rear = bearings
    if (front is None) != (rear is None):
        which = "front_bearing" if front is None else "rear_bearing"
        return [Fault(f"station, {which}", "missing", "front_bearing and rear_bearing, or neither")]
    if front is not None and rear is not None and front >= rear:
        wrong = f"{told_in.size(front)} is not in front of rear_bearing, {told_in.size(rear)}"
        return [Fault("station, front_bearing", wrong, "less than rear_bearing; z counts rearwards")]
    if front is not None and table.limit is not None:
        wrong = "can't be combined with a limit, which is each plane's own"
        return [Fault("station, front_bearing", wrong, "a grade, whose tolerance the bearings share")]
    if table.grade is None or planes_mm is None or planes_mm[0] >= planes_mm[1]:
        return []
    between = planes_mm[:2] if front is None or rear is None else (front, rear)
    if between[0] < planes_mm[2] < between[1]:
        return []
    which = "planes" if front is None else "bearings"
    low, high = map(told_in.size, between)
    ways = f"between the {which}"
    if front is None:
        ways += "; or front_bearing and rear_bearing, which the tolerance belongs to"
    wrong = f"{told_in.size(planes_mm[2])} is not between the {which}, {low} and {high}"
    return [Fault("station, centre_of_mass", wrong, f"{ways}; or a limit instead of the grade")]


def _finer_than_scale(limits: doc.LimitsTable, scale: doc.ScaleTable, told_in: ToldIn) -> list[Fault]:
    return [
        Fault(
            f"limits, {name}",
            f"{told_in.weighed(value)} is finer than the scale",
            f"{told_in.weighed(scale.resolution)}, its step, or more",
        )
        for name, value in limits_of(limits).items()
        if value < scale.resolution
    ]


def _from_nothing(scale: doc.ScaleTable) -> list[Fault]:
    return [
        Fault(
            f"scale, {name}_from", f"says how well a {name} is known that is not there", f"with {name} beside it"
        )
        for name in ("repeatability", "rod_end_repeatability")
        if getattr(scale, f"{name}_from") is not None and getattr(scale, name) is None
    ]


def _oil(table: doc.BobweightTable, made: engine.Engine) -> tuple[float, ...]:
    return tuple(table.oil) if isinstance(table.oil, list) else (table.oil,) * len(made.layout.throws)


def _station(table: doc.StationTable, made: engine.Engine) -> Station:
    bearings = table.front_bearing, table.rear_bearing
    both = None if bearings[0] is None or bearings[1] is None else (bearings[0], bearings[1])
    return Station(_planes_mm(table, made), table.crank_mass, table.grade, table.limit, both)


def _planes_mm(table: doc.StationTable, made: engine.Engine) -> tuple[float, float, float] | None:
    """The station's planes and the crank's centre of mass, each as declared, else by the outer throws."""
    front, rear = table.front_plane, table.rear_plane
    if front is None or rear is None:
        if made.not_placed and (len(made.layout.throws) == 1 or "cylinder_spacing" in made.not_placed):
            return None
        outer = made.layout.outer_planes_mm(0.0 if made.declared_stroke_mm is None else made.throw_radius_mm)
        front, rear = outer[0] if front is None else front, outer[1] if rear is None else rear
    # The crank's own: the planes are the shop's, and say nothing of where its mass is.
    middle = (front + rear) / 2 if "cylinder_spacing" in made.not_placed else made.layout.middle_mm
    return front, rear, middle if table.centre_of_mass is None else table.centre_of_mass


def _with_ground(job: Job, log: Logged, older: Mapping[int, Mapping[str, Reading]]) -> Job:
    """The job with what its pads gave, where metal came off."""
    if not any(isinstance(record, Cut) for record in log.placed):
        return job
    from truethrow.balance.job.grinding import ground  # noqa: PLC0415 (few jobs have been ground)

    found = ground(job.pads, job.engine.declared_rod_length_mm, log.placed, older, job.certainty())
    parts = {
        number: {
            kind: r._replace(settled="twice") if (number, kind) in found.explained and not r.settled else r
            for kind, r in own.items()
        }
        for number, own in job.parts.items()
    }
    return replace(job, parts=parts, ground=found)


def _with_digest(job: Job) -> Job:
    """The digest of all that the station's sheet depends on. Comments, order and units of a file do not count,
    nor do limits, pads and what the sheet does not show: the sheet hung from is as good as it was."""
    station = job.station
    content = (
        job.id,
        job.title,
        job.layout,
        job.engine.declared_stroke_mm,
        job.scale,
        job.parts,
        job.labels,
        job.share,
        job.oil_g,
        job.hang,
        station.planes_mm and station.planes_mm[:2],
    )
    text = json.dumps(_plain(content), sort_keys=True, separators=(",", ":"))
    # A letter in front: a spreadsheet takes 705104697e661229 for a number.
    return replace(job, digest="t" + hashlib.sha256(text.encode()).hexdigest()[:15])


def _plain(value: object) -> object:
    if isinstance(value, Reading):
        known = [value.cylinder, value.kind, *value.repeats_g]
        return known if value.estimate is None else [*known, list(value.estimate)]
    if isinstance(value, Mapping):
        return {str(key): _plain(inner) for key, inner in value.items()}
    if isinstance(value, tuple):
        return [_plain(inner) for inner in value]
    return value


def own_readings(place: Place, *, known: int | None = None, given: bool = False) -> Job:
    """The job with its own readings alone, as accepting and grinding need it. known, given: as job.load has
    them."""
    must_have_a_log(place)
    try:
        return load(place, known=known, given=given)
    except BadInput as error:
        if not any(fault.to_weigh and fault.to_weigh.why == "missing" for fault in error.faults):
            raise
        enter = f"first enter the sheet that has them: truethrow enter {to_paste(place)} SHEET"
        sheet = Fault("", "readings are missing", remedy=enter)
        raise BadInput([sheet, *error.faults], error.source) from None
