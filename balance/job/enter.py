"""Enter a weigh sheet into a job file: readings fill blanks, and what stands there is never overwritten.

The file keeps its comments, its order and its numbers as typed; a new number is written as the sheet has it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from truethrow.balance.base import fields, files
from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.base.fields import Typed, Units
from truethrow.balance.base.parts import BY_NAME, UNIT_OF, weighed_by
from truethrow.balance.job import document as doc
from truethrow.balance.job import sheet_against, weighsheet
from truethrow.balance.job.jobfile import bare_units, layout_alone, parse_toml, reach
from truethrow.balance.log.place import (
    Place,
    has_log,
    locked,
    log_name,
    must_have_a_log,
    open_log,
    source_of,
    text_of,
    to_paste,
    write_text,
)

if TYPE_CHECKING:
    from truethrow.balance.base.naming import Part


class Entered(NamedTuple):
    """What came of a sheet. new: readings that filled blanks; labels: labels that did; known: readings that the
    job file has already; cut, moved: the parts that these are of which were cut since, or sit elsewhere by now;
    notes: what else is worth telling of the sheet."""

    new: int
    labels: int
    known: int
    cut: tuple[Part, ...] = ()
    moved: tuple[Part, ...] = ()
    notes: tuple[str, ...] = ()


def enter(place: Place, sheet_path: Path, by: str = "") -> Entered:
    """Write a sheet's readings and labels into a job; what came of it.

    Raises BadInput with every fault of the sheet, and every reading and label that contradicts one already in
    the file, or is of a part that changed trades or was cut since; NotSaved if the job cannot be written or was
    changed meanwhile. Either way it stands as it was."""
    must_have_a_log(place)
    # The sheet may be pasted at leisure, so it is read before the job is held against other stations.
    pasted = files.read_text(sheet_path)
    with locked(place):
        return _enter(place, pasted, str(sheet_path), by)


def _enter(place: Place, pasted: str, sheet_name: str, by: str) -> Entered:
    text = text_of(place)
    raw = parse_toml(text, source_of(place))
    faults: list[Fault] = []
    units = _units(raw, faults)
    sheet = weighsheet.in_text(pasted, sheet_name, units)
    named = _standing_labels(raw, faults)
    faults = [replace(fault, source=source_of(place)) for fault in faults]
    faults += sheet.faults
    faults += _strangers(raw, sheet)
    standing = _standing(raw, units)
    fresh: dict[int, dict[str, Typed]] = {}
    known: list[tuple[int, str]] = []
    for number, kinds in sheet.readings.items():
        for kind, typed in kinds.items():
            before = standing.get((number, kind))
            if before is None:
                fresh.setdefault(number, {})[kind] = typed
            elif before.grams != typed.grams:
                where = f"cylinder {number}, {BY_NAME[kind].label}"
                wrong = f"the sheet reads {', '.join(typed.texts)}, the job file {', '.join(before.texts)}"
                faults.append(Fault(where, wrong, "one of them; mend the other by hand"))
            else:
                known.append((number, kind))
    labels: dict[int, dict[str, str]] = {}
    for number, own in sheet.labels.items():
        for part, label in own.items():
            there = named.get((number, part), "")
            if not there:
                labels.setdefault(number, {})[part] = label
            elif there != label:
                where = f"cylinder {number}, {part} label"
                wrong = f"the sheet has {shown(label)!r}, the job file {shown(there)!r}"
                faults.append(Fault(where, wrong, "one of them; mend the other by hand"))
    faults += _too_late(place, fresh, labels)
    if faults:
        raise BadInput(faults, sheet_name)
    if fresh or labels:
        write_text(place, entered(text, fresh, labels, source_of(place)), text, by)
    cut, moved = _since(place, known)
    return Entered(
        sum(map(len, fresh.values())), sum(map(len, labels.values())), len(known), cut, moved, tuple(sheet.notes)
    )


def _since(place: Place, known: Sequence[tuple[int, str]]) -> tuple[tuple[Part, ...], tuple[Part, ...]]:
    """Of the parts that these readings are of, as the sheet has them, those that were cut since, and those that
    sit elsewhere by now."""
    if not known or not has_log(place):
        return (), ()
    from truethrow.balance.job.sources import names_of  # noqa: PLC0415 (few jobs have a log)
    from truethrow.balance.log.replaying import cut_places, replay  # noqa: PLC0415

    names, cut = names_of(place), cut_places(replay(open_log(place).records, log_name(place)).placed)
    units = {(number, UNIT_OF.get(kind, kind)) for number, kind in known}
    kinds = dict.fromkeys(UNIT_OF.get(kind, kind) for _, kind in known)
    every = (names.part(unit, seat) for unit in kinds for seat in names.cylinders)
    parts = [part for part in every if (part.weighed_in, part.kind) in units]
    is_cut = (part for part in parts if any((part.cylinder, kind) in cut for kind in weighed_by(part.kind)))
    return tuple(is_cut), tuple(part for part in parts if part.has_moved)


def entered(
    text: str,
    readings: Mapping[int, Mapping[str, Typed]],
    labels: Mapping[int, Mapping[str, str]],
    source: str = "",
) -> str:
    """The text of a job file with readings and labels put in. Raises BadInput where the cylinders are written
    as one inline list, to which no table can be added."""
    import tomlkit  # noqa: PLC0415 (only a command that writes needs it)
    from tomlkit.items import AoT  # noqa: PLC0415

    document = tomlkit.parse(text)
    if "cylinder" not in document:
        document.add("cylinder", tomlkit.aot())
    tables: Any = document["cylinder"]
    if not isinstance(tables, AoT):
        raise BadInput([Fault("cylinder", "written as one inline list", "tables [[cylinder]]")], source)
    for number in sorted({*readings, *(n for n, named in labels.items() if named)}):
        table = next((entry for entry in tables if entry.get("number") == number), None)
        if table is None:
            table = tomlkit.table()
            table["number"] = number
            tables.append(table)
            table = tables[-1]
        for kind, typed in readings.get(number, {}).items():
            _put(table, kind, _value(typed))
        named = labels.get(number, {})
        if named and "labels" not in table:
            _put(table, "labels", tomlkit.inline_table())
        for part, label in named.items():
            _put(table["labels"], part, label)
    return tomlkit.dumps(document)


def _units(raw: dict[str, Any], faults: list[Fault]) -> Units:
    bare = bare_units(raw)
    scale = fields.validate(doc.ScaleTable, raw.get("scale", {}), "scale", bare, faults)
    return reach(bare, scale)


def _strangers(raw: dict[str, Any], sheet: weighsheet.WeighSheet) -> list[Fault]:
    """Cylinders of the sheet that the job's layout does not have, as far as the job says which it has."""
    made = layout_alone(raw.get("engine"), [])
    if made is None:
        return []
    known = ", ".join(map(str, made.layout.cylinders))
    strange = sorted(sheet.written.keys() - set(made.layout.cylinders))
    return [Fault(f"cylinder {number}", "not in this layout", known) for number in strange]


def _too_late(
    place: Place, fresh: Mapping[int, Mapping[str, Typed]], labels: Mapping[int, Mapping[str, str]]
) -> list[Fault]:
    """New entries for parts that the log has traded elsewhere or cut: the file is older than the log, so they
    would count in the wrong place, or not at all."""
    if not has_log(place):
        return []
    from truethrow.balance.log.replaying import cut_places, replay  # noqa: PLC0415 (few jobs have a log)

    found = replay(open_log(place).records, log_name(place))
    return sheet_against.outdated(fresh, labels, found.traded, cut_places(found.placed), to_paste(place))


def _standing(raw: dict[str, Any], units: Units) -> dict[tuple[int, str], Typed]:
    """The readings that a job file already holds; what cannot be read there is left to the job's own check."""
    found: dict[tuple[int, str], Typed] = {}
    tables = raw.get("cylinder")
    for entry in tables if isinstance(tables, list) else []:
        if not isinstance(entry, dict) or not isinstance(entry.get("number"), int):
            continue
        written = {kind: value for kind, value in entry.items() if kind in BY_NAME and value not in ("", [])}
        for kind, value in written.items():
            table = fields.validate(doc.EveryCylinderTable, {kind: value}, "", units, [])
            found[entry["number"], kind] = table.readings()[kind] if table else Typed((shown(value),), ())
    return found


def _standing_labels(raw: dict[str, Any], faults: list[Fault]) -> dict[tuple[int, str], str]:
    """The labels that a job file already holds. A file whose cylinders are no tables [[cylinder]] cannot be
    added to, which is a fault."""
    tables = raw.get("cylinder", [])
    if not isinstance(tables, list) or not all(isinstance(entry, dict) for entry in tables):
        faults.append(Fault("cylinder", f"{shown(tables)} is no list of tables", "tables [[cylinder]]"))
        return {}
    found: dict[tuple[int, str], str] = {}
    for entry in tables:
        own = entry.get("labels", {})
        if not isinstance(own, dict):
            where = f"cylinder {shown(entry.get('number'))}, labels"
            faults.append(Fault(where, f"{shown(own)} is not a table", "a table of labels"))
        elif isinstance(number := entry.get("number"), int):
            found |= {(number, part): str(label) for part, label in own.items()}
    return found


def _put(table: Any, key: str, value: Any) -> None:
    """Set a key, a new one right behind the last: what stands before the next table stays before it."""
    from tomlkit.items import InlineTable  # noqa: PLC0415

    if key in table or isinstance(table, InlineTable):
        table[key] = value
        return
    trailing = _take_trailing(table)
    table[key] = value
    for item in trailing:
        table.value.body.append((None, item))


def _take_trailing(table: Any) -> list[Any]:
    """What follows a table's last key, from the first blank line on: it belongs to the next table."""
    from tomlkit.items import Whitespace  # noqa: PLC0415

    body = getattr(table.value, "body", [])
    last = max((i for i, (key, _) in enumerate(body) if key is not None), default=-1)
    blanks = (i for i in range(last + 1, len(body)) if isinstance(body[i][1], Whitespace))
    cut = next(blanks, len(body))
    taken = [item for _, item in body[cut:]]
    del body[cut:]
    return taken


def _value(typed: Typed) -> Any:
    import tomlkit  # noqa: PLC0415
    from tomlkit import items  # noqa: PLC0415

    def one(text: str) -> Any:
        if " " in text:
            return tomlkit.string(text)
        number = str(Decimal(text))
        if not set(number) & set(".E"):
            return tomlkit.integer(number)
        return items.Float(float(number), items.Trivia(), number)  # tomlkit.float_ would make 538.40 538.4

    if len(typed.texts) == 1:
        return one(typed.texts[0])
    values = tomlkit.array()
    for text in typed.texts:
        values.append(one(text))
    return values
