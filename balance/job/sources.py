"""Where a job's readings come from: its tables, the log of the bench, and a weigh sheet; and which are missing.

The log counts before the file, and within each the cylinder's own reading before the one for all. A sheet only
adds to them: nobody knows how old it is, so where it says something else of a part, that is a fault. Readings and
labels of the file are older than the whole log: they go with their parts wherever the log has traded these since,
and are history where a part was cut.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from truethrow.balance.base import fields
from truethrow.balance.base.errors import Fault, shown
from truethrow.balance.base.fields import Typed, Units
from truethrow.balance.base.parts import BY_NAME, KINDS
from truethrow.balance.base.readings import Estimate, Reading, tidy
from truethrow.balance.job import document as doc
from truethrow.balance.job import weighsheet
from truethrow.balance.job.jobfile import layout_alone, parse_toml
from truethrow.balance.job.logged import Logged, logged
from truethrow.balance.job.weighsheet import WeighSheet
from truethrow.balance.log.place import Place, must_have_a_log, source_of, text_of

if TYPE_CHECKING:
    from truethrow.balance.base.naming import Names


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
            faults.append(Fault(where, "is there twice", "one table a cylinder"))
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


def estimated(table: fields.Table, number: int, kinds: Iterable[str]) -> dict[str, Typed]:
    """What stands for readings of a cylinder that nobody took yet, of these kinds as far as they are estimated;
    all of one kind are of one box."""
    found = {kind: getattr(table, kind) for kind in kinds}
    return {
        kind: Typed(("",), (one.about,), estimate=Estimate(one.within, one.scatter, kind))
        for kind, one in found.items()
        if one is not None
    }


class Replaced(NamedTuple):
    """A part of which the bench reads something else than the job file has: the bench's counts. [g]"""

    cylinder: int
    kind: str
    file_g: float
    bench_g: float


def replaced(older: Mapping[int, Mapping[str, Reading]], log: Logged) -> tuple[Replaced, ...]:
    """The readings of the job file in whose place others of the log count. One from before a cut is history, and
    no contradiction."""
    pairs = (
        (number, kind, reading, log.readings.get(number, {}).get(kind))
        for number, own in older.items()
        for kind, reading in own.items()
        if reading.cylinder is not None and (number, kind) not in log.cut
    )
    found = (
        Replaced(number, kind, before.mean_g, tidy(math.fsum(typed.grams) / len(typed.grams)))
        for number, kind, before, typed in pairs
        if typed is not None
    )
    return tuple(one for one in found if one.file_g != one.bench_g)


def _readings(number: int | None, typed: Mapping[str, Typed]) -> dict[str, Reading]:
    return {
        kind: Reading(number, kind, t.grams, t.texts, t.zero_g, estimate=t.estimate) for kind, t in typed.items()
    }


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
    trades = {number for own in log.traded.values() for number in own}
    labels: dict[int, dict[str, str]] = {}
    for number in sorted({*in_file, *trades, *sheet.labels}):
        own = {part: in_file.get(log.first(number, part), {}).get(part, "") for part in weighsheet.LABELS}
        own |= sheet.labels.get(number, {})
        labels[number] = {part: text for part, text in own.items() if text}
    return labels


def names_in(raw: Mapping[str, Any], cylinders: tuple[int, ...], log: Logged, sheet: WeighSheet) -> Names:
    """What the parts of a job are called. raw: its file."""
    from truethrow.balance.base.naming import Names  # noqa: PLC0415 (few commands name a part before the job is built)

    return Names(cylinders, labels_of(labels_in(raw), log, sheet), log.traded)


def names_of(place: Place, sheet_path: Path | None = None) -> Names:
    """What the parts of a job are called, as far as its file tells, and the labels of a weigh sheet: also while
    readings are missing or wrong. Raises BadInput for a file that cannot be read at all, and for standard input,
    which has no log."""
    must_have_a_log(place)
    raw = parse_toml(text_of(place), source_of(place))
    made = layout_alone(raw.get("engine"), [])
    sheet = WeighSheet() if sheet_path is None else weighsheet.read(sheet_path, Units())
    return names_in(raw, made.layout.cylinders if made else (), logged(place, Units(), made), sheet)
