"""Where a job's readings come from: its tables, the log of the bench, and a weigh sheet; and which are missing.

The sheet stands before the log, the log before the file, and within each the cylinder's own reading before the
one for all.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from truethrow.balance import document as doc
from truethrow.balance import engine
from truethrow.balance.document import Typed, Units, reading_allowed
from truethrow.balance.errors import BadInput, Fault, shown
from truethrow.balance.parts import BY_NAME, KINDS, Kind, label
from truethrow.balance.readings import Reading
from truethrow.balance.units import NotAQuantity
from truethrow.balance.weighsheet import WeighSheet


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
        table = doc.validate(doc.CylinderTable, without_blanks(entry), where, readable, faults)
        if table is not None:
            found.setdefault(table.number, table)
    return found


def without_blanks(entry: object) -> object:
    """A blank reading is none yet: the sheet may have it, and where it has not, it is told as missing."""
    if not isinstance(entry, dict):
        return entry
    return {key: value for key, value in entry.items() if key not in BY_NAME or value not in ("", [])}


def logged(path: Path, readable: Units, made: engine.Engine | None) -> WeighSheet:
    """What the log of readings says, as a sheet; cylinder 0 holds what stands for every cylinder."""
    from truethrow.balance.readinglog import ReadingLog, current  # noqa: PLC0415 (few jobs have a log)

    logged = WeighSheet()
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


def parts_of(
    numbers: Iterable[int],
    cylinders: Mapping[int, doc.NumberedParts],
    every: doc.Parts | None,
    log: WeighSheet,
    sheet: WeighSheet,
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


def missing(
    made: engine.Engine,
    raw: dict[str, Any],
    log: WeighSheet,
    sheet: WeighSheet,
    sheet_path: Path | None,
    allowed: str,
) -> list[Fault]:
    """Cylinders that are not there, cylinders that should not be, and parts without a reading.

    A reading that is there but wrong has its fault already, so this goes by what was written."""
    written: dict[int, set[str]] = {number: set(kinds) for number, kinds in sheet.written.items()}
    for entry in raw["cylinder"] if isinstance(raw.get("cylinder"), list) else []:
        number = entry.get("number") if isinstance(entry, dict) else None
        if isinstance(number, int) and 1 <= number <= 99:  # any other has its fault already
            filled = without_blanks(entry)
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


def labels_of(cylinders: Mapping[int, doc.NumberedParts], sheet: WeighSheet) -> dict[int, dict[str, str]]:
    labels: dict[int, dict[str, str]] = {}
    for number in sorted({*cylinders, *sheet.labels}):
        own = cylinders[number].labels.model_dump() if number in cylinders else {}
        own |= sheet.labels.get(number, {})
        labels[number] = {part: text for part, text in own.items() if text}
    return labels
