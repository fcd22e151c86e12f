"""Enter a weigh sheet into a job file: readings fill blanks, and what stands there is never overwritten.

The file keeps its comments, its order and its numbers as typed; a new number is written as the sheet has it.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

from truethrow.balance import document as doc
from truethrow.balance import files, weighsheet
from truethrow.balance.document import Typed, Units
from truethrow.balance.errors import BadInput, Fault
from truethrow.balance.job import bare_units, parse_toml, reach
from truethrow.balance.parts import BY_NAME


def enter(job_path: Path, sheet_path: Path) -> int:
    """Write a sheet's readings and labels into a job file; the number of readings that were new.

    Raises BadInput with every fault of the sheet and every reading that contradicts one already in the file;
    NotSaved if the file cannot be written or was changed meanwhile. Either way the file stands as it was."""
    text = files.read_text(job_path)
    raw = parse_toml(text, str(job_path))
    faults: list[Fault] = []
    units = _units(raw, faults)
    sheet = weighsheet.read(sheet_path, units)
    faults += sheet.faults
    standing = _standing(raw, units)
    fresh: dict[int, dict[str, Typed]] = {}
    for number, kinds in sheet.readings.items():
        for kind, typed in kinds.items():
            before = standing.get((number, kind))
            if before is None:
                fresh.setdefault(number, {})[kind] = typed
            elif before.grams != typed.grams:
                where = f"cylinder {number}, {BY_NAME[kind].label}"
                found = f"the sheet reads {', '.join(typed.texts)}, the job file {', '.join(before.texts)}"
                faults.append(Fault(where, found, "one of them; mend the other by hand"))
    if faults:
        raise BadInput(faults, str(sheet_path))
    if fresh or any(sheet.labels.values()):
        files.write_text(job_path, entered(text, fresh, sheet.labels), expected=text)
    return sum(len(kinds) for kinds in fresh.values())


def entered(
    text: str, readings: Mapping[int, Mapping[str, Typed]], labels: Mapping[int, Mapping[str, str]]
) -> str:
    """The text of a job file with readings and labels put in."""
    import tomlkit  # noqa: PLC0415 (only a command that writes needs it)

    document = tomlkit.parse(text)
    if "cylinder" not in document:
        document.add("cylinder", tomlkit.aot())
    tables: Any = document["cylinder"]
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
            table["labels"][part] = label
    return tomlkit.dumps(document)


def _units(raw: dict[str, Any], faults: list[Fault]) -> Units:
    bare = bare_units(raw)
    scale = doc.validate(doc.ScaleTable, raw.get("scale", {}), "scale", bare, faults)
    return reach(bare, scale)


def _standing(raw: dict[str, Any], units: Units) -> dict[tuple[int, str], Typed]:
    """The readings that a job file already holds; what cannot be read there is left to the job's own check."""
    found: dict[tuple[int, str], Typed] = {}
    tables = raw.get("cylinder")
    for entry in tables if isinstance(tables, list) else []:
        if not isinstance(entry, dict) or not isinstance(entry.get("number"), int):
            continue
        written = {kind: value for kind, value in entry.items() if kind in BY_NAME and value not in ("", [])}
        table = doc.validate(doc.CylinderTable, {"number": entry["number"], **written}, "", units, [])
        for kind, value in written.items():
            unreadable = Typed((str(value),), ())
            found[entry["number"], kind] = table.readings()[kind] if table else unreadable
    return found


def _put(table: Any, key: str, value: Any) -> None:
    """Set a key, a new one right behind the last: a blank line before the next table stays before it."""
    if key in table:
        table[key] = value
        return
    trailing = _take_trailing_space(table)
    table[key] = value
    for space in trailing:
        table.value.body.append((None, space))


def _take_trailing_space(table: Any) -> list[Any]:
    from tomlkit.items import Whitespace  # noqa: PLC0415

    body = getattr(table.value, "body", None)
    taken: list[Any] = []
    while body and body[-1][0] is None and isinstance(body[-1][1], Whitespace):
        taken.insert(0, body.pop()[1])
    return taken


def _value(typed: Typed) -> Any:
    import tomlkit  # noqa: PLC0415

    def one(text: str) -> Any:
        if " " in text:
            return tomlkit.string(text)
        number = str(Decimal(text))
        return tomlkit.float_(number) if set(number) & set(".E") else tomlkit.integer(number)

    if len(typed.texts) == 1:
        return one(typed.texts[0])
    values = tomlkit.array()
    for text in typed.texts:
        values.append(one(text))
    return values
