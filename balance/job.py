"""The job: one engine's rotating assembly, read from its document, checked as a whole, and frozen.

Everything that is wrong with a job file and its weigh sheet comes back in one answer. The file itself is
only ever read here; enter.py writes it.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any, NamedTuple

from truethrow.balance import document as doc
from truethrow.balance import engine, files, units, weighsheet
from truethrow.balance.beside import log_path
from truethrow.balance.document import Typed, Units, reading_allowed
from truethrow.balance.errors import BadInput, Fault, shown
from truethrow.balance.layout import Layout
from truethrow.balance.parts import BY_NAME, KINDS, Kind, label
from truethrow.balance.readings import Reading, Scale
from truethrow.balance.units import LENGTH, MASS, NotAQuantity

# Without limits of its own a pad gives no more than this: common practice, no source. A pin is not ground.
DEFAULT_PAD_G = {"piston": 2.0, "pin": 0.0, "big_end": 3.0, "small_end": 2.0}
# Where a rod's pads lie when the job does not say, as multiples of the centre distance: common practice,
# no source.
DEFAULT_PAD_AT = {"big_end": -0.30, "small_end": 1.15}


TABLES = (
    "job",
    "engine",
    "scale",
    "bench",
    "bobweight",
    "limits",
    "trim",
    "station",
    "every_cylinder",
    "cylinder",
)


class Pad(NamedTuple):
    """A place where metal may come off: kind it belongs to, most_g it can give, and, on a rod, its place
    along the centre line from the big-end centre (at_mm)."""

    kind: str
    most_g: float
    at_mm: float | None = None


class Station(NamedTuple):
    """The balancing station's planes, and what the crank may keep of unbalance there: by a balance quality
    grade (ISO 21940-11), or by the shop's own limit for each plane."""

    front_plane_mm: float
    rear_plane_mm: float
    centre_of_mass_mm: float
    crank_mass_g: float | None = None
    grade_mm_s: float | None = None
    limit_gmm: float | None = None


@dataclass(frozen=True)
class Job:
    """One engine job, in g, mm, degrees and r/min."""

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
    hang: str | float
    limits_g: Mapping[str, float]
    pads: tuple[Pad, ...]
    pads_assumed: tuple[str, ...]
    station: Station
    digest: str = field(default="", compare=False)
    notes: tuple[str, ...] = field(default=(), compare=False)

    @property
    def layout(self) -> Layout:
        return self.engine.layout

    def readings(self) -> list[Reading]:
        """Every reading once, also one that stands for all cylinders."""
        return list(dict.fromkeys(r for parts in self.parts.values() for r in parts.values()))


def load(path: Path, sheet_path: Path | None = None) -> Job:
    """Read a job file, the log of readings beside it and, if given, the weigh sheet that holds its readings.

    A reading in the sheet stands before those in the log, and these before one in the job file. Raises
    BadInput with every fault found."""
    text = files.read_text(path)
    return build(text, str(path), sheet_path, _log_beside(path))


def build(text: str, source: str = "", sheet_path: Path | None = None, readings_path: Path | None = None) -> Job:
    """A job from the text of its file; as load, with the log of readings at readings_path, if given."""
    raw = parse_toml(text, source)
    faults: list[Fault] = []
    bare = bare_units(raw)
    faults += [Fault(shown(key), doc.unknown_key(key, list(TABLES))) for key in raw if key not in TABLES]

    def table(model: type[doc.T], name: str, using: Units = bare, *, needed: bool = False) -> doc.T | None:
        if name not in raw and needed:
            faults.append(Fault(name, "missing", f"a table [{name}]"))
            return None
        if name not in raw:
            return doc.empty(model)
        return doc.validate(model, raw[name], name, using, faults)

    head = table(doc.JobTable, "job", needed=True)
    scale_table = table(doc.ScaleTable, "scale", needed=True)
    readable = reach(bare, scale_table)
    engine_table = table(doc.EngineTable, "engine", needed=True)
    made = engine.build(engine_table, faults) if engine_table else None
    bobweight = table(doc.BobweightTable, "bobweight")
    limits = table(doc.LimitsTable, "limits")
    trim = table(doc.TrimTable, "trim")
    station = table(doc.StationTable, "station")
    table(doc.BenchTable, "bench")
    sheet = weighsheet.WeighSheet()
    if sheet_path is not None:
        try:
            sheet = weighsheet.read(sheet_path, readable)
        except BadInput as error:
            sheet.faults += error.faults
            sheet.unread = True
    placed = made or layout_alone(raw.get("engine"), faults)
    log = _logged(readings_path, readable, placed) if readings_path else weighsheet.WeighSheet()
    if "every_cylinder" in raw:
        raw["every_cylinder"] = _without_blanks(raw["every_cylinder"])
    every = table(doc.EveryCylinderTable, "every_cylinder", readable)
    cylinders = _cylinders(raw.get("cylinder", []), readable, faults)
    faults += [replace(fault, source=str(sheet_path)) for fault in sheet.faults]
    faults += [replace(fault, source=str(readings_path)) for fault in log.faults]
    if placed and not (sheet.unread or log.unread):  # one fault then, not one more for every part it may hold
        faults += _missing(placed, raw, log, sheet, sheet_path, reading_allowed(readable))
    if made:
        faults += _across(made, bobweight, trim, station)
    if scale_table and limits:
        faults += _finer_than_scale(limits, scale_table)
    if faults:
        raise BadInput(faults, source)
    assert head and made and scale_table and bobweight and limits and trim and station  # every fault is out
    job = Job(
        id=head.id,
        title=head.title,
        mass_unit=head.mass_unit,
        length_unit=head.length_unit,
        engine=made,
        scale=_scale(scale_table),
        parts=_parts(made.layout.cylinders, cylinders, every, log, sheet),
        labels=_labels(cylinders, sheet),
        share=bobweight.share,
        oil_g=_oil(bobweight, made),
        hang=bobweight.hang,
        limits_g={name: value for name, value in limits.model_dump().items() if value is not None},
        pads=_pads(trim, made.rod_length_mm),
        pads_assumed=_assumed(trim),
        station=_station(station, made),
        notes=tuple(log.notes),
    )
    return _with_digest(job)


def load_engine(path: Path) -> engine.Engine:
    """The engine alone of a job file, whose readings may still be blank. Raises BadInput."""
    source = str(path)
    raw = parse_toml(files.read_text(path), source)
    faults: list[Fault] = []
    table = doc.validate(doc.EngineTable, raw.get("engine", {}), "engine", bare_units(raw), faults)
    made = engine.build(table, faults) if table else None
    if made is None:
        raise BadInput(faults, source)
    return made


def _log_beside(path: Path) -> Path | None:
    found = log_path(path)
    with contextlib.suppress(OSError):  # a name that is too long with the log's ending has no log
        return found if str(path) != "-" and found.exists() else None
    return None


def parse_toml(text: str, source: str) -> dict[str, Any]:
    """The document's tables, every number exact. Raises BadInput."""
    try:
        return tomllib.loads(text, parse_float=_exact)
    except RecursionError:
        raise BadInput([Fault("", "nested too deep", "a job file in TOML")], source) from None
    except ValueError as error:
        raise BadInput([Fault("", f"not TOML: {str(error).lower()}")], source) from None


def _exact(number: str) -> Decimal:
    try:
        return Decimal(number)
    except InvalidOperation:  # an exponent beyond what Decimal itself can hold; no field takes an infinity
        return Decimal("inf")


def bare_units(raw: Mapping[str, Any]) -> Units:
    """The unit of a bare number, needed before the tables are checked; a wrong one is a fault of [job]."""
    head = raw.get("job")
    head = head if isinstance(head, dict) else {}

    def unit(key: str, dimension: units.Dimension) -> str:
        named = head.get(key, dimension.inside)
        try:
            units.factor(named, dimension) if isinstance(named, str) else None
        except NotAQuantity:
            return dimension.inside
        return named if isinstance(named, str) else dimension.inside

    return Units(unit("mass_unit", MASS), unit("length_unit", LENGTH))


def reach(bare: Units, scale: doc.ScaleTable | None) -> Units:
    """The same units with what the scale can read, where its table is sound."""
    if scale is None:
        return bare
    return Units(bare.mass, bare.length, scale.resolution, scale.capacity or doc.HEAVIEST_G)


def layout_alone(raw: object, faults: list[Fault]) -> engine.Engine | None:
    """The cylinders of an engine whose table has other faults, so that what is wrong with its layout, and
    missing readings, are told with them."""
    if not isinstance(raw, dict):
        return None
    named = (
        "layout",
        "numbering",
        "first_bank",
        "throw_angles",
        "throw_positions",
        "banks",
        "cylinders",
        "without",
    )
    bare = {key: raw[key] for key in (*named, "without") if key in raw}
    lengths = {"stroke": 1, "rod_length": 1, "cylinder_spacing": 1}
    own: list[Fault] = []
    table = doc.validate(doc.EngineTable, bare | lengths, "engine", Units(), [])
    made = engine.build(table, own) if table else None
    faults += [fault for fault in own if fault not in faults]
    return made


def _cylinders(raw: object, readable: Units, faults: list[Fault]) -> dict[int, doc.NumberedParts]:
    """The [[cylinder]] tables by number; each is checked alone, so that one bad one hides no other."""
    if not isinstance(raw, list):
        faults.append(Fault("cylinder", f"{shown(raw)} is not a list", "tables [[cylinder]]"))
        return {}
    found: dict[int, doc.NumberedParts] = {}
    seen: set[object] = set()
    for position, entry in enumerate(raw, start=1):
        number = entry.get("number") if isinstance(entry, dict) else None
        where = f"cylinder {shown(number)}" if number is not None else f"cylinder table {position}"
        if isinstance(number, int) and number in seen:
            faults.append(Fault(where, "stands twice", "one table a cylinder"))
        seen.add(number if isinstance(number, int) else None)
        table = doc.validate(doc.CylinderTable, _without_blanks(entry), where, readable, faults)
        if table is not None:
            found.setdefault(table.number, table)
    return found


def _without_blanks(entry: object) -> object:
    """A blank reading is none yet: the sheet may have it, and where it has not, it is told as missing."""
    if not isinstance(entry, dict):
        return entry
    return {key: value for key, value in entry.items() if key not in BY_NAME or value not in ("", [])}


def _logged(path: Path, readable: Units, made: engine.Engine | None) -> weighsheet.WeighSheet:
    """What the log of readings says, as a sheet; cylinder 0 holds what stands for every cylinder."""
    from truethrow.balance.readinglog import ReadingLog, current  # noqa: PLC0415 (few jobs have a log)

    logged = weighsheet.WeighSheet()
    try:
        log = ReadingLog(path)
        records = log.records
        logged.notes += [f"{path.name}: {note}" for note in log.notes]
    except BadInput as error:
        logged.faults += error.faults
        logged.unread = True
        return logged
    for (number, kind), repeats in current(records).items():
        place = f"cylinder {number}" if number else "every cylinder"
        where = [f"{place}, {label(shown(kind))}, record {shown(record.id)}" for record in repeats]
        found = allowed = ""
        if kind not in BY_NAME:
            found, allowed = "no part", ", ".join(BY_NAME)
        elif made and number and number not in made.layout.cylinders:
            found, allowed = "not in this layout", ", ".join(map(str, made.layout.cylinders))
        elif made and kind in made.without:
            found = "the engine is declared without it"
        if found:
            logged.faults += [Fault(at, found, allowed) for at in where]
            continue
        logged.written.setdefault(number, set()).add(kind)
        if len(repeats) > doc.MOST_REPEATS:
            found = f"{len(repeats)} readings of one part"
            logged.faults.append(Fault(where[-1], found, f"at most {doc.MOST_REPEATS}"))
        for at, record in zip(where, repeats, strict=True):
            try:
                doc.reading_g(record.grams, "g", readable)
            except NotAQuantity as error:
                logged.faults.append(Fault(at, str(error), reading_allowed(readable)))
        grams = tuple(record.grams for record in repeats if record.grams is not None)
        texts = tuple(record.typed or f"{record.grams!r} g" for record in repeats)
        logged.readings.setdefault(number, {})[kind] = Typed(texts, grams)
    return logged


def _parts(
    numbers: Iterable[int],
    cylinders: Mapping[int, doc.NumberedParts],
    every: doc.Parts | None,
    log: weighsheet.WeighSheet,
    sheet: weighsheet.WeighSheet,
) -> dict[int, dict[str, Reading]]:
    """Every cylinder's readings. The later source stands before the earlier one, and within each source the
    cylinder's own reading before the one for all: what the bench weighed last is not passed over in silence."""

    def readings(number: int | None, typed: Mapping[str, Typed]) -> dict[str, Reading]:
        return {kind: Reading(number, kind, t.grams, t.texts) for kind, t in typed.items()}

    in_file = readings(None, every.readings() if every else {})
    in_log = readings(None, log.readings.get(0, {}))
    return {
        number: in_file
        | readings(number, cylinders[number].readings() if number in cylinders else {})
        | in_log
        | readings(number, log.readings.get(number, {}))
        | readings(number, sheet.readings.get(number, {}))
        for number in numbers
    }


def _missing(
    made: engine.Engine,
    raw: dict[str, Any],
    log: weighsheet.WeighSheet,
    sheet: weighsheet.WeighSheet,
    sheet_path: Path | None,
    allowed: str,
) -> list[Fault]:
    """Cylinders that are not there, cylinders that should not be, and parts without a reading.

    A reading that is there but wrong has its fault already, so this goes by what was written."""
    written: dict[int, set[str]] = {number: set(kinds) for number, kinds in sheet.written.items()}
    for entry in raw["cylinder"] if isinstance(raw.get("cylinder"), list) else []:
        number = entry.get("number") if isinstance(entry, dict) else None
        if isinstance(number, int) and 1 <= number <= 99:  # any other has its fault already
            filled = _without_blanks(entry)
            assert isinstance(filled, dict)
            written.setdefault(number, set()).update(filled)
    every = raw.get("every_cylinder")
    everywhere = set(every) if isinstance(every, dict) else set()
    weighed = everywhere | log.written.get(0, set())
    wanted = [kind for kind in KINDS if kind.motion != "check" and kind.name not in made.without]
    cylinders = made.layout.cylinders

    tabled = written.keys() - sheet.written.keys()

    def fault(number: int, found: str, fits: str, kind: Kind | None = None) -> Fault:
        in_sheet = number in sheet.written or (sheet_path is not None and number not in tabled)
        part = f", {kind.label if in_sheet else kind.name}" if kind else ""
        return Fault(f"cylinder {number}{part}", found, fits, str(sheet_path) if in_sheet else "")

    known = ", ".join(map(str, cylinders))
    faults = [fault(n, "not in this layout", known) for n in sorted(written.keys() - set(cylinders))]
    for name in made.without:
        if name in everywhere:
            faults.append(Fault(f"every_cylinder, {name}", "the engine is declared without it"))
    for number in cylinders:
        own = written.get(number, set()) | log.written.get(number, set())
        if not own and number not in written and not {kind.name for kind in wanted} <= weighed:
            faults.append(fault(number, "missing", ""))
            continue
        surplus = [kind for kind in KINDS if kind.name in made.without and kind.name in written.get(number, set())]
        faults += [fault(number, "the engine is declared without it", "", kind) for kind in surplus]
        lacking = [kind for kind in wanted if kind.name not in own | weighed]
        faults += [fault(number, "missing", allowed, kind) for kind in lacking]
    return faults


def _across(
    made: engine.Engine,
    bobweight: doc.BobweightTable | None,
    trim: doc.TrimTable | None,
    station: doc.StationTable | None,
) -> list[Fault]:
    """What one table alone cannot know."""
    faults: list[Fault] = []
    throws = len(made.layout.throws)
    carried = {len(made.layout.cylinders_on(throw)) for throw in made.layout.throws}
    if bobweight and bobweight.hang == "mean" and len(carried) > 1:
        found = "the throws carry different numbers of cylinders, so their mean suits none"
        faults.append(Fault("bobweight, hang", found, '"own", "none" or a mass'))
    if bobweight and isinstance(bobweight.oil, list) and len(bobweight.oil) != throws:
        found = f"{len(bobweight.oil)} values for {throws} throws"
        faults.append(Fault("bobweight, oil", found, f"one value, or {throws}"))
    if trim:
        half = made.rod_length_mm / 2
        counted = f"{half:g} mm, half the rod length, counted from the big-end centre"
        big, small = trim.big_end_pad, trim.small_end_pad
        if big and big.at >= half:
            found = f"{big.at:g} mm is at the small end"
            faults.append(Fault("trim, big_end_pad, at", found, f"below {counted}"))
        if small and small.at <= half:
            found = f"{small.at:g} mm is at the big end"
            faults.append(Fault("trim, small_end_pad, at", found, f"above {counted}"))
    if station:
        planes = _station(station, made)
        if planes.front_plane_mm >= planes.rear_plane_mm:
            found = f"{planes.front_plane_mm:g} mm is not in front of rear_plane, {planes.rear_plane_mm:g} mm"
            faults.append(Fault("station, front_plane", found, "less than rear_plane; z counts rearwards"))
        if station.grade is not None and station.limit is not None:
            faults.append(Fault("station, limit", "stands beside a grade", "one of the two"))
        if station.grade is not None and (station.crank_mass is None or made.top_speed_rpm is None):
            faults.append(Fault("station, grade", "needs crank_mass in [station] and top_speed in [engine]"))
    return faults


def _finer_than_scale(limits: doc.Table, scale: doc.ScaleTable) -> list[Fault]:
    return [
        Fault(
            f"limits, {name}",
            f"{value:g} g is finer than the scale",
            f"{scale.resolution:g} g, its step, or more",
        )
        for name, value in limits.model_dump().items()
        if value is not None and value < scale.resolution
    ]


def _scale(table: doc.ScaleTable) -> Scale:
    return Scale(table.resolution, table.tared, table.repeatability, table.calibration)


def _labels(cylinders: Mapping[int, doc.NumberedParts], sheet: weighsheet.WeighSheet) -> dict[int, dict[str, str]]:
    labels: dict[int, dict[str, str]] = {}
    for number in sorted({*cylinders, *sheet.labels}):
        own = cylinders[number].labels.model_dump() if number in cylinders else {}
        own |= sheet.labels.get(number, {})
        labels[number] = {part: text for part, text in own.items() if text}
    return labels


def _oil(table: doc.BobweightTable, made: engine.Engine) -> tuple[float, ...]:
    return tuple(table.oil) if isinstance(table.oil, list) else (table.oil,) * len(made.layout.throws)


def _pads(trim: doc.TrimTable, rod_length_mm: float) -> tuple[Pad, ...]:
    pads = []
    for kind in ("piston", "pin"):
        most_g = getattr(trim, kind)
        pads.append(Pad(kind, DEFAULT_PAD_G[kind] if most_g is None else most_g))
    for kind in ("big_end", "small_end"):
        pad = getattr(trim, f"{kind}_pad")
        at_mm = pad.at if pad else DEFAULT_PAD_AT[kind] * rod_length_mm
        pads.append(Pad(kind, pad.most if pad else DEFAULT_PAD_G[kind], at_mm))
    return tuple(pads)


def _assumed(trim: doc.TrimTable) -> tuple[str, ...]:
    names = {"piston": trim.piston, "big_end": trim.big_end_pad, "small_end": trim.small_end_pad}
    return tuple(label(name) for name, declared in names.items() if declared is None)


def _station(table: doc.StationTable, made: engine.Engine) -> Station:
    z = [throw.z_mm for throw in made.layout.throws]
    # One throw has no length: planes a throw's radius to either side keep the division defined.
    beyond = made.stroke_mm / 2 if max(z) == min(z) else 0.0
    front = min(z) - beyond if table.front_plane is None else table.front_plane
    rear = max(z) + beyond if table.rear_plane is None else table.rear_plane
    middle = (front + rear) / 2 if table.centre_of_mass is None else table.centre_of_mass
    return Station(front, rear, middle, table.crank_mass, table.grade, table.limit)


def _with_digest(job: Job) -> Job:
    """The digest of all that the station's sheet depends on. Comments, order and units of a file do not count,
    nor do limits, pads and what the sheet does not show: the sheet hung from is as good as it was."""
    station = job.station
    content = (
        job.id,
        job.title,
        job.layout,
        job.engine.stroke_mm,
        job.scale,
        job.parts,
        job.labels,
        job.share,
        job.oil_g,
        job.hang,
        (station.front_plane_mm, station.rear_plane_mm),
    )
    text = json.dumps(_plain(content), sort_keys=True, separators=(",", ":"))
    # A letter in front: a spreadsheet takes 705104697e661229 for a number.
    return replace(job, digest="t" + hashlib.sha256(text.encode()).hexdigest()[:15])


def _plain(value: object) -> object:
    if isinstance(value, Reading):
        return [value.cylinder, value.kind, *value.repeats_g]
    if isinstance(value, Mapping):
        return {str(key): _plain(inner) for key, inner in value.items()}
    if isinstance(value, tuple):
        return [_plain(inner) for inner in value]
    return value
