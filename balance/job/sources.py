"""Where a job's readings come from: its tables, the log of the bench, and a weigh sheet; and which are missing.

The log counts before the file, and within each the cylinder's own reading before the one for all. A sheet only
adds to them: nobody knows how old it is, so where it says something else of a part, that is a fault. Readings and
labels of the file are older than the whole log: they go with their parts wherever the log has seated these since,
and are history where a part was cut.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from truethrow.balance.base import fields
from truethrow.balance.base.errors import BadInput, Fault, shown, shown_path
from truethrow.balance.base.fields import Typed, Units, reading_allowed
from truethrow.balance.base.parts import BY_NAME, KINDS, PartKind, label
from truethrow.balance.base.readings import Reading, tidy
from truethrow.balance.base.units import NotAQuantity
from truethrow.balance.engine import engine
from truethrow.balance.job import document as doc
from truethrow.balance.job import weighsheet
from truethrow.balance.job.jobfile import layout_alone, parse_toml
from truethrow.balance.job.weighsheet import WeighSheet
from truethrow.balance.log import replaying
from truethrow.balance.log.place import (
    STANDARD_INPUT,
    Place,
    again,
    has_log,
    must_have_a_log,
    open_log,
    source_of,
    text_of,
)

if TYPE_CHECKING:
    from truethrow.balance.base.naming import Names
    from truethrow.balance.base.trades import Moves
    from truethrow.balance.log.records import Record
    from truethrow.balance.log.replaying import Replay


@dataclass
class Logged(WeighSheet):
    """What the log says, as a sheet; cylinder 0 holds what stands for every cylinder. placed: its readings and
    cuts, where their parts sit now; seats: unit → {cylinder: the cylinder whose part it first was}, of parts
    that moved; cut: cylinder and kind of parts that metal came off, or that are to be weighed again as a line of
    the log was damaged, which are in lost, too; ids: the records of each cylinder and kind."""

    placed: tuple[Record, ...] = ()
    seats: Moves = field(default_factory=dict)
    cut: set[tuple[int, str]] = field(default_factory=set)
    lost: set[tuple[int, str]] = field(default_factory=set)
    ids: dict[tuple[int, str], tuple[str, ...]] = field(default_factory=dict)

    def first(self, cylinder: int, kind: str) -> int:
        """The cylinder under which the job file has a part."""
        if not self.seats:
            return cylinder
        from truethrow.balance.base.trades import first  # noqa: PLC0415 (few logs have seats)

        return first(self.seats, cylinder, kind)


def cylinder_tables(raw: object, readable: Units, faults: list[Fault]) -> dict[int, doc.NumberedParts]:
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
        table = fields.validate(doc.CylinderTable, without_blanks(entry), where, readable, faults)
        if table is not None:
            found.setdefault(table.number, table)
    return found


def without_blanks(entry: object) -> object:
    """A blank reading is none yet: the sheet may have it, and where it has not, it is told as missing."""
    if not isinstance(entry, dict):
        return entry
    return {key: value for key, value in entry.items() if key not in BY_NAME or value not in ("", [])}


def logged(place: Place, readable: Units, made: engine.Engine | None, known: int | None = None) -> Logged:
    """What a job's log of readings says. known: only so many of its records, as it was when a plan was told."""
    logged = Logged()
    if not has_log(place):
        return logged

    try:
        log = open_log(place)
        # Of a file its own name will do: a note stands beside the job that it is of.
        logged.notes += [f"{Path(log.name).name}: {note}" for note in log.notes]
        replay = replaying.replay(log.records[:known])
    except BadInput as error:
        logged.faults += error.faults
        logged.unread = True
        return logged
    zeros = replaying.zeros(log.records[:known])
    logged.seats = replay.seats
    # A plan that was begun rests on what was confirmed before it: no more, once that was canceled.
    struck = (
        {record.of for record in log.records[known:] if record.action == "strike"} if known is not None else set()
    )
    logged.placed = tuple(r for r in replay.placed if not (r.action == "confirm" and r.id in struck))
    logged.faults += odd_moves_and_cuts(replay, made)
    logged.cut = replaying.cut_places(logged.placed)
    logged.lost = replaying.cut_places(one for one in logged.placed if one.action == replaying.VOID)
    if moved := sum(map(len, replay.seats.values())):
        day = replay.seated[-1].at[:10]
        logged.notes.append(f"Parts have traded places, last on {day}: {moved} are not where they were weighed")
    for (number, kind), repeats in replaying.counting(logged.placed).items():
        whose = f"cylinder {number}" if number else "every cylinder"
        where = [f"{whose}, {label(shown(kind))}, record {shown(record.id)}" for record in repeats]
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
        if len(repeats) > fields.MOST_REPEATS:
            found = f"{len(repeats)} readings of one part"
            logged.faults.append(Fault(where[-1], found, f"at most {fields.MOST_REPEATS}"))
        for at, record in zip(where, repeats, strict=True):
            try:
                fields.reading_g(record.grams, "g", readable)
            except NotAQuantity as error:
                logged.faults.append(Fault(at, str(error), reading_allowed(readable)))
        grams = tuple(record.grams for record in repeats if record.grams is not None)
        texts = tuple(record.typed or f"{record.grams!r} g" for record in repeats)
        zero_g = math.fsum(zeros.get(record.id, 0.0) for record in repeats) / len(repeats)
        logged.readings.setdefault(number, {})[kind] = Typed(texts, grams, tidy(zero_g))
        logged.ids[number, kind] = tuple(record.id for record in repeats)
    return logged


def odd_moves_and_cuts(replay: Replay, made: engine.Engine | None) -> list[Fault]:
    """Seats and cuts in the log that this engine cannot have."""
    faults: list[Fault] = []
    cylinders = made.layout.cylinders if made else ()
    for seat in replay.seated:
        from truethrow.balance.base.trades import parse, strange  # noqa: PLC0415 (few logs have seats)

        if made and (fault := strange(parse(seat.typed), cylinders)):
            faults.append(replace(fault, where=f"seat, record {shown(seat.id)}, {fault.where}"))
    for cut in replay.placed:
        if cut.action == "cut":
            from truethrow.balance.base.parts import CUT_AT  # noqa: PLC0415

            where = f"cut, cylinder {cut.cylinder}, {label(shown(cut.kind))}, record {shown(cut.id)}"
            if cut.kind not in CUT_AT:
                faults.append(Fault(where, "no pad", ", ".join(CUT_AT)))
            elif made and cut.cylinder not in cylinders:
                faults.append(Fault(where, "not in this layout", ", ".join(map(str, cylinders))))
            elif cut.grams is None or cut.grams <= 0:
                faults.append(Fault(where, f"{cut.grams} g is no cut", "grams above zero"))
    return faults


def outdated(
    written: Mapping[int, Iterable[str]],
    labels: Mapping[int, Iterable[str]],
    seats: Moves,
    cut: Collection[tuple[int, str]],
) -> list[Fault]:
    """What a weigh sheet cannot say any more: it is about the parts where they were, and as they were. written,
    labels: what it says of each cylinder."""
    entries = {(number, kind): True for number, kinds in written.items() for kind in kinds}
    for number, parts in labels.items():
        entries |= {(number, part): False for part in parts if (number, part) not in entries}
    if not entries or not (seats or cut):
        return []
    from truethrow.balance.base.trades import first  # noqa: PLC0415 (few logs have seats or cuts)

    faults = []
    for (number, name), is_reading in sorted(entries.items()):
        found = ""
        if first(seats, number, name) != number:
            found = "parts have changed seats since the sheet was written"
        elif is_reading and (number, name) in cut:
            found = "cut since, as the log has it"
        if found:
            faults.append(Fault(f"cylinder {number}, {label(name)}", found, "weigh it again with truethrow weigh"))
    return faults


def contradicted(
    made: engine.Engine,
    cylinders: Mapping[int, doc.NumberedParts],
    every: doc.Parts | None,
    log: Logged,
    sheet: WeighSheet,
    place: Place | None,
) -> list[Fault]:
    """Where a weigh sheet says something else of a part than the log or the job file, a line for each, and what to
    do then. The same readings in another order, or in another unit, are the same."""
    in_file = labels_of({n: table.labels.model_dump() for n, table in cylinders.items()}, log, WeighSheet())
    job = "JOB" if place is None or place == STANDARD_INPUT else shown_path(again(place))
    faults: list[Fault] = []
    logged = filed = False
    without = parts_of(older_parts(made.layout.cylinders, cylinders, every, log), log, WeighSheet())
    for number, kinds in sorted(sheet.readings.items()):
        for kind, typed in kinds.items():
            other = without.get(number, {}).get(kind)
            if log.first(number, kind) != number or (number, kind) in log.cut:
                continue  # it is outdated, and told so
            if other is None or sorted(map(tidy, typed.grams)) == sorted(map(tidy, other.repeats_g)):
                continue
            is_logged = kind in log.readings.get(number, {}) or kind in log.readings.get(0, {})
            if is_logged:
                records = log.ids.get((number, kind)) or log.ids.get((0, kind), ())
                whose = f"the log {', '.join(other.typed)} (record {', '.join(map(shown, records))})"
            else:
                whose = f"the job file {', '.join(other.typed)}"
            logged, filed = logged or is_logged, filed or not is_logged
            found = f"the sheet reads {', '.join(typed.texts)}, {whose}"
            faults.append(Fault(f"cylinder {number}, {label(kind)}", found))
    for number, labels in sorted(sheet.labels.items()):
        for part, text in labels.items():
            there = in_file.get(number, {}).get(part) if log.first(number, part) == number else ""
            if there and text and text != there:
                found = f"the sheet has {shown(text)!r}, the job file {shown(there)!r}"
                faults.append(Fault(f"cylinder {number}, {part} label", found))
                filed = True
    if faults:
        right = [f"cancel the log's reading: truethrow strike {job} RECORD --why TEXT"] if logged else []
        right += ["mend the job file by hand"] if filed else []
        found = (
            "the sheet may be the older one: leave it out if it is; if it is right, "
            f"{'; '.join(right)}; if nobody knows, weigh again without the sheet: truethrow weigh {job}"
        )
        faults.append(Fault("", found))
    return faults


def older_parts(
    numbers: Iterable[int], cylinders: Mapping[int, doc.NumberedParts], every: doc.Parts | None, log: Logged
) -> dict[int, dict[str, Reading]]:
    """The readings of the job file, each with the cylinder in which its part sits now."""
    for_all = _readings(None, every.readings() if every else {})
    own = {number: table.readings() for number, table in cylinders.items()}
    found: dict[int, dict[str, Reading]] = {}
    for number in numbers:
        firsts = ((kind.name, own.get(log.first(number, kind.name), {}).get(kind.name)) for kind in KINDS)
        found[number] = for_all | _readings(number, {kind: typed for kind, typed in firsts if typed is not None})
    return found


def parts_of(
    older: Mapping[int, Mapping[str, Reading]], log: Logged, sheet: WeighSheet
) -> dict[int, dict[str, Reading]]:
    """Every cylinder's readings. older: those of the job file. The log counts before it, and within each the
    cylinder's own reading before the one for all; the sheet says nothing else than they do. Where metal came off,
    only what the log has of the part itself counts."""
    in_log = _readings(None, log.readings.get(0, {}))

    def uncut(number: int, readings: Mapping[str, Reading]) -> dict[str, Reading]:
        return {kind: reading for kind, reading in readings.items() if (number, kind) not in log.cut}

    return {
        number: _readings(number, sheet.readings.get(number, {}))
        | uncut(number, {**own, **in_log})
        | _readings(number, log.readings.get(number, {}))
        for number, own in older.items()
    }


def _readings(number: int | None, typed: Mapping[str, Typed]) -> dict[str, Reading]:
    return {kind: Reading(number, kind, t.grams, t.texts, t.zero_g) for kind, t in typed.items()}


def written_in(raw: Mapping[str, Any]) -> dict[int, set[str]]:
    """The kinds that each cylinder's table of a job file has, fit to be read or not; a blank is none yet."""
    written: dict[int, set[str]] = {}
    for entry in raw["cylinder"] if isinstance(raw.get("cylinder"), list) else []:
        number = entry.get("number") if isinstance(entry, dict) else None
        if isinstance(number, int) and 1 <= number <= 99:  # any other has its fault already
            filled = without_blanks(entry)
            assert isinstance(filled, dict)
            written.setdefault(number, set()).update(filled)
    return written


def missing(
    made: engine.Engine,
    raw: dict[str, Any],
    log: Logged,
    sheet: WeighSheet,
    sheet_path: Path | None,
    allowed: str,
) -> list[Fault]:
    """Cylinders that are not there, cylinders that should not be, and parts without a reading.

    A reading that is there but wrong has its fault already, so this goes by what was written."""
    written: dict[int, set[str]] = {number: set(kinds) for number, kinds in sheet.written.items()}
    in_file = written_in(raw)
    for number, kinds in in_file.items():
        written.setdefault(number, set()).update(kinds)
    every = raw.get("every_cylinder")
    everywhere = set(every) if isinstance(every, dict) else set()
    weighed = everywhere | log.written.get(0, set())
    wanted = [kind for kind in KINDS if kind.motion != "check" and kind.name not in made.without]
    cylinders = made.layout.cylinders

    tabled = written.keys() - sheet.written.keys()

    def fault(
        number: int, found: str, fits: str, kind: PartKind | None = None, *, to_weigh: Literal["", "missing"] = ""
    ) -> Fault:
        in_sheet = number in sheet.written or (sheet_path is not None and number not in tabled)
        part = f", {kind.label if in_sheet else kind.name}" if kind else ""
        return Fault(f"cylinder {number}{part}", found, fits, str(sheet_path) if in_sheet else "", to_weigh)

    known = ", ".join(map(str, cylinders))
    faults = [fault(n, "not in this layout", known) for n in sorted(written.keys() - set(cylinders))]
    for name in made.without:
        if name in everywhere:
            faults.append(Fault(f"every_cylinder, {name}", "the engine is declared without it"))
    for number in cylinders:
        here = {kind.name for kind in KINDS if kind.name in in_file.get(log.first(number, kind.name), set())}
        own = here | sheet.written.get(number, set()) | log.written.get(number, set())
        if not own and number not in written and not {kind.name for kind in wanted} <= weighed:
            faults.append(fault(number, "missing", "", to_weigh="missing"))
            continue
        surplus = [kind for kind in KINDS if kind.name in made.without and kind.name in written.get(number, set())]
        faults += [fault(number, "the engine is declared without it", "", kind) for kind in surplus]
        fresh = sheet.written.get(number, set()) | log.written.get(number, set())
        unweighed = [kind.name for kind in wanted if (number, kind.name) in log.cut and kind.name not in fresh]
        faults += _cut_since(number, unweighed, raw, cylinders, log, sheet)
        for kind in wanted:
            if kind.name not in unweighed and kind.name not in own | weighed:
                faults.append(fault(number, "missing", allowed, kind, to_weigh="missing"))
    return faults


def _cut_since(
    number: int,
    kinds: Collection[str],
    raw: Mapping[str, Any],
    cylinders: tuple[int, ...],
    log: Logged,
    sheet: WeighSheet,
) -> list[Fault]:
    """A line for each part that was cut, or is to be weighed again for another reason, and was not since."""
    if not kinds:
        return []
    from truethrow.balance.base.parts import UNIT_OF  # noqa: PLC0415 (few logs have cuts)

    names = names_in(raw, cylinders, log, sheet)
    lost = {UNIT_OF.get(kind, kind) for kind in kinds if (number, kind) in log.lost}
    units = dict.fromkeys(UNIT_OF.get(kind, kind) for kind in kinds)
    whys = {unit: "a line of the log about it was damaged" if unit in lost else "cut since" for unit in units}
    return [
        Fault(names.said(unit, number), f"{why}; weigh it again", "truethrow weigh JOB", to_weigh="again")
        for unit, why in whys.items()
    ]


def labels_in(raw: Mapping[str, Any]) -> dict[int, dict[str, str]]:
    """The labels of a job file, by the cylinder under which it has them; those that are wrong have their fault
    already."""
    found: dict[int, dict[str, str]] = {}
    for entry in raw["cylinder"] if isinstance(raw.get("cylinder"), list) else []:
        if isinstance(entry, dict) and isinstance(number := entry.get("number"), int):
            table = fields.validate(doc.LabelTable, entry.get("labels", {}), "", Units(), [])
            found.setdefault(number, table.model_dump() if table else {})
    return found


def labels_of(
    in_file: Mapping[int, Mapping[str, str]], log: Logged, sheet: WeighSheet
) -> dict[int, dict[str, str]]:
    """Every cylinder's labels: those of the job file go with their parts, the sheet adds to them."""
    seated = {number for own in log.seats.values() for number in own}
    labels: dict[int, dict[str, str]] = {}
    for number in sorted({*in_file, *seated, *sheet.labels}):
        own = {part: in_file.get(log.first(number, part), {}).get(part, "") for part in weighsheet.LABELS}
        own |= sheet.labels.get(number, {})
        labels[number] = {part: text for part, text in own.items() if text}
    return labels


def names_in(raw: Mapping[str, Any], cylinders: tuple[int, ...], log: Logged, sheet: WeighSheet) -> Names:
    """What the parts of a job are called. raw: its file."""
    from truethrow.balance.base.naming import Names  # noqa: PLC0415 (few commands name a part before the job is built)

    return Names(cylinders, labels_of(labels_in(raw), log, sheet), log.seats)


def names_of(place: Place) -> Names:
    """What the parts of a job are called, as far as its file tells: also while readings are missing or wrong.
    Raises BadInput for a file that cannot be read at all, and for standard input, which has no log."""
    must_have_a_log(place)
    raw = parse_toml(text_of(place), source_of(place))
    made = layout_alone(raw.get("engine"), [])
    return names_in(raw, made.layout.cylinders if made else (), logged(place, Units(), made), WeighSheet())
