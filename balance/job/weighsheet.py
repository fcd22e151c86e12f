"""The weigh sheet that a machinist really has: CSV, or a table pasted from a spreadsheet.

Comma, semicolon or tab between the columns; decimal point or decimal comma; columns found by name, in any
order, with the unit in the heading if the writer put it there. Either one row a cylinder, or one row a
reading (columns cylinder, part, reading). A column, or such a row, that comes again repeats the reading.
"""

from __future__ import annotations

import csv
import difflib
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Literal, NamedTuple

from truethrow.balance.base import files
from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.base.fields import (
    LONGEST_LABEL,
    MOST_CYLINDERS,
    MOST_REPEATS,
    Typed,
    Units,
    reading_allowed,
    reading_g,
)
from truethrow.balance.base.parts import BY_NAME, KINDS, label
from truethrow.balance.base.units import NotAQuantity
from truethrow.balance.job.sheet_numbers import NOTHING, TwoWays, as_number, decimal_marks, several

LABELS = ("piston", "pin", "rings", "rod")


class Role(NamedTuple):
    """What a column holds. of: of which kind it weighs, of which part it is the label, empty where that is not
    said."""

    what: Literal["", "cylinder", "part", "reading", "unit", "note", "weighed", "label", "bank", "together"]
    of: str = ""

    @property
    def said(self) -> str:
        return f"{self.of} {self.what}" if self.what == "label" and self.of else self.what


HEADINGS = {
    **{name: Role("weighed", kind.name) for kind in KINDS for name in (kind.label, *kind.also_called)},
    **dict.fromkeys(
        (
            "cylinder",
            "cyl",
            "cylinder no",
            "cylinder number",
            "cylinder #",
            "no",
            "#",
            "cyl #",
            "cyl no",
            "hole",
        ),
        Role("cylinder"),
    ),
    **dict.fromkeys(("part", "kind", "what"), Role("part")),
    **dict.fromkeys(("reading", "mass", "weight", "value"), Role("reading")),
    "unit": Role("unit"),
    **dict.fromkeys(("note", "notes", "remark", "remarks", "date", "time", "by"), Role("note")),
    **{
        f"{part} {word}": Role("label", part) for part in LABELS for word in ("label", "#", "no", "number", "mark")
    },
}
_HEADING_UNIT = re.compile(r"^(.*?)[\s,]*[\[(]?\s*\b(g|kg|mg|oz|lbs?|grams?|ounces?)\b\s*[\])]?\s*$", re.I)
_UNIT_WORDS = {"gram": "g", "grams": "g", "ounce": "oz", "ounces": "oz", "lbs": "lb"}
LONGEST_HEADING = 80
# Every part twenty times, each under a heading of its own, is a fifth of these.
MOST_COLUMNS = 1000
LONGEST_ROW = 200_000
_CYLINDER = re.compile(r"(?:cyl(?:inder)?\.?|hole|no\.?)?\s*#?\s*0*([1-9]\d?)(?:\.0?)?", re.I)
# What the row below the last cylinder is called that a spreadsheet worked out.
_OF_ALL = frozenset({"avg", "average", "averages", "mean", "means", "ave"})
# Columns that are set apart by spaces alone.
GAPS = " {2,}"
MOST_ROWS = MOST_CYLINDERS * MOST_REPEATS * len(KINDS)
_HEADING_WITHIN_ROWS = 20


@dataclass
class WeighSheet:
    """What a sheet says: readings and labels by cylinder, and everything that is wrong with it.

    written: the kinds that a cylinder has in the sheet, fit to be read or not; unread: the sheet as a whole
    could not be read, so that nothing can be said to be missing from it; notes: what is worth telling."""

    unread: bool = False
    written: dict[int, set[str]] = field(default_factory=dict)
    readings: dict[int, dict[str, Typed]] = field(default_factory=dict)
    labels: dict[int, dict[str, str]] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


class Column(NamedTuple):
    role: Role
    heading: str
    unit: str


class Cell(NamedTuple):
    """One reading as it stands in the sheet, in its row; part: as a fault names it. A sheet of loose parts has no
    cylinders: there it is the row."""

    cylinder: int
    kind: str
    text: str
    unit: str
    row: int
    part: str


def read(path: Path, document: Units) -> WeighSheet:
    """Read a sheet. Faults inside it are collected, not raised, so that they can be told with the job's.

    document: the unit of a bare number and the reach of the scale. Raises BadInput only where there is no
    sheet to read: not a text file, no heading row."""
    return in_text(files.read_text(path), str(path), document)


def in_text(text: str, source: str, document: Units) -> WeighSheet:
    """The same, from its text. source: what faults call it."""
    must_not_be_too_wide(text, source)
    sheet = WeighSheet()
    if (found := _across(text)) is not None:
        take(_cells_across(*found, sheet), document, sheet)
        return sheet
    rows = rows_of(text, source, sheet)
    header_row, header = next(rows, (0, []))
    if sheet.unread:
        return sheet
    columns = columns_of(header, header_row, sheet.faults)
    per_reading = any(c.role.what == "part" for c in columns)
    _check_header(columns, per_reading, header_row, sheet.faults)
    if sheet.faults:
        sheet.unread = True
        return sheet
    cells: list[Cell] = []
    seen: dict[int, int] = {}
    for count, (number, row) in enumerate(rows, start=1):
        if count > MOST_ROWS:
            sheet.faults = [in_row(number, "", "goes on", f"a weigh sheet of at most {MOST_ROWS} rows")]
            sheet.unread = True
            return sheet
        named = under(columns, row, number, sheet.faults)
        if named is None:
            if (cylinder := _cylinder([*zip(columns, row, strict=False)], number, [])) is not None:
                sheet.written.setdefault(cylinder, set()).update(BY_NAME)  # nothing is missing from it
            continue
        if (worked_out := _text_of(named, "cylinder")).lower().rstrip(".:") in _OF_ALL:
            sheet.notes.append(f"row {number} of the weigh sheet, {worked_out}, is no cylinder: left out")
            continue
        cylinder = _cylinder(named, number, sheet.faults)
        if cylinder is None:
            continue
        if per_reading:
            cells += _reading_row(named, cylinder, number, sheet.faults)
        elif cylinder in seen:
            wrong = f"{cylinder} is in row {seen[cylinder]}, too"
            remedy = "a second reading goes into a second column of its part; else leave one row out"
            sheet.faults.append(replace(in_row(number, "cylinder", wrong), remedy=remedy))
        else:
            seen[cylinder] = number
            sheet.written.setdefault(cylinder, set())
            cells += _cylinder_row(named, cylinder, number)
            sheet.labels[cylinder] = _labels(named, number, sheet.faults)
    take(cells, document, sheet)
    sheet.faults.sort(key=lambda fault: fault.row)
    return sheet


def must_not_be_too_wide(text: str, source: str) -> None:
    """Raise BadInput for a row that no sheet has, before anything is read out of it."""
    for number, line in enumerate(text.split("\n"), start=1):
        if len(line) > LONGEST_ROW:
            wrong = f"{len(line)} characters in one row"
            raise BadInput([in_row(number, "", wrong, f"at most {LONGEST_ROW}")], source)


def in_row(row: int, what: str, found: str, allowed: str = "") -> Fault:
    """A fault of a sheet's row. what: in it, empty for the row as a whole."""
    return Fault(f"row {row}, {what}" if what else f"row {row}", found, allowed, row=row)


def rows_of(
    text: str, source: str, sheet: WeighSheet, key: str = "cylinder", headings: Mapping[str, Role] = HEADINGS
) -> Iterator[tuple[int, list[str]]]:
    """The heading row, told by its column key, then every row that says anything, each with its number in the
    file. A row that is no CSV is a fault of the sheet and ends it."""
    lines = text.split("\n")
    start, delimiter = _find_heading(lines, key, headings)
    if start is None:
        raise BadInput([Fault("", "no heading row", f"a row of headings, one of them {key}")], source)
    if delimiter == GAPS:
        lines, delimiter = [re.sub(GAPS, "\t", line.strip()) for line in lines], "\t"
    reader = csv.reader(lines[start:], delimiter=delimiter, strict=True)
    read = 0
    try:
        for row in reader:
            read = reader.line_num
            if len(row) > MOST_COLUMNS:
                wrong = f"{len(row)} columns"
                raise BadInput([in_row(start + read, "", wrong, f"at most {MOST_COLUMNS}")], source)
            if any(cell.strip() for cell in row) and not _is_remark(row[0]):
                yield start + read, row
    except csv.Error as error:
        # Where the row starts: an unclosed quote is found at the end of the file only.
        sheet.faults.append(in_row(start + read + 1, "", str(error), "every quote closed"))
        sheet.unread = True


def under(
    columns: list[Column], row: list[str], number: int, faults: list[Fault]
) -> list[tuple[Column, str]] | None:
    """Each column with its cell of a row; None, with the fault, for a row that goes on beyond the headings."""
    if len(row) > len(columns) and any(cell.strip() for cell in row[len(columns) :]):
        wrong = f"{len(row)} columns under {len(columns)} headings"
        allowed = "decimal commas only with ; or tab between the columns, or in quotes"
        faults.append(in_row(number, "", wrong, allowed))
        return None
    return [(column, row[i].strip() if i < len(row) else "") for i, column in enumerate(columns)]


def _find_heading(lines: list[str], key: str, headings: Mapping[str, Role]) -> tuple[int | None, str]:
    """The first line with a column key, and the mark that parts its columns."""
    for number, line in enumerate(lines[:_HEADING_WITHIN_ROWS]):
        for delimiter in ("\t", ";", ",", "|", GAPS):
            cells = re.split(delimiter, line.strip()) if delimiter == GAPS else line.split(delimiter)
            if _is_remark(cells[0]):
                continue
            roles = [headings.get(_plain(cell), Role("")).what for cell in cells]
            if key in roles and len(roles) > 1:
                return number, delimiter
    return None, ","


def _is_remark(first: str) -> bool:
    """Whether a row is a remark: # and words. # alone is a heading, and #3 a cylinder."""
    return re.match(r"\s*#\s*[^\s\d]", first) is not None


def _plain(heading: str) -> str:
    bare = re.sub(r"[\s_-]+", " ", heading.strip().strip('"').strip()).lower().removesuffix(".")
    return re.sub(r"(?<=\w) (?:wt|weight|mass)\.?$", "", bare.replace(".#", " #").replace("cyl. ", "cyl "))


def columns_of(
    header: list[str], row: int, faults: list[Fault], headings: Mapping[str, Role] = HEADINGS
) -> list[Column]:
    return [_column(heading, row, i, faults, headings) for i, heading in enumerate(header, start=1)]


def _column(heading: str, row: int, at: int, faults: list[Fault], headings: Mapping[str, Role]) -> Column:
    # "piston 2" is the second reading of the piston; the unit may stand behind the name: "pin [oz]", "pin_g".
    name = _plain(heading[:LONGEST_HEADING])
    unit = ""
    if name not in headings and (found := _HEADING_UNIT.match(name)):
        name = found[1].strip()
        unit = _UNIT_WORDS.get(found[2].lower(), found[2].lower())
    numberless = re.sub(r" \d+$", "", name)
    role = headings.get(name) or headings.get(numberless)
    if role is None and name:
        close = difflib.get_close_matches(name, list(headings), n=1)
        hint = f" (did you mean {close[0]}?)" if close else ""
        faults.append(in_row(row, f"column {at}", f"{shown(heading.strip())!r} is no known heading{hint}"))
    return Column(role or Role(""), heading.strip(), unit)


def _check_header(columns: list[Column], per_reading: bool, row: int, faults: list[Fault]) -> None:
    roles = [c.role for c in columns]
    for role in dict.fromkeys(roles):
        once = role.what not in ("", "weighed", "reading", "note")
        if once and roles.count(role) > 1:
            faults.append(in_row(row, "", f"the heading {role.said} is there twice"))
    # A column that would be passed over is a reading or a label lost, or a unit mistaken.
    apart = [label(role.of) if role.what == "weighed" else role.said for role in roles if role.of]
    has_readings = Role("reading") in roles
    if per_reading and not has_readings:
        faults.append(in_row(row, "", "a sheet with a part column needs a reading column"))
    if per_reading and apart:
        wrong = f"a sheet with a part column has no column {apart[0]}"
        faults.append(in_row(row, "", wrong, "one row a reading, or one row a cylinder"))
    if not per_reading and has_readings:
        faults.append(in_row(row, "", "a sheet with a reading column needs a part column"))
    if not per_reading and not any(role.what == "weighed" for role in roles) and not faults:
        faults.append(in_row(row, "", "no column of readings", ", ".join(k.label for k in KINDS)))


def _text_of(named: list[tuple[Column, str]], what: str) -> str:
    return next(text for column, text in named if column.role.what == what)


def _cylinder(named: list[tuple[Column, str]], row: int, faults: list[Fault]) -> int | None:
    text = _text_of(named, "cylinder")
    if (number := cylinder_in(text)) is None:
        wrong = f"{shown(text)!r} is no cylinder" if text else "blank"
        faults.append(in_row(row, "cylinder", wrong, "1 to 99"))
    return number


def cylinder_in(text: str) -> int | None:
    """The number of a cylinder as a hand writes it: 3, #3, 3., Cyl 3, No. 3, Hole 3."""
    found = _CYLINDER.fullmatch(text.strip())
    return int(found[1]) if found else None


def _reading_row(named: list[tuple[Column, str]], cylinder: int, row: int, faults: list[Fault]) -> Iterator[Cell]:
    by_role = {c.role.what: t for c, t in named}
    readings = [(c.unit, t) for c, t in named if c.role.what == "reading"]
    role = HEADINGS.get(_plain(by_role["part"]), Role(""))
    if role.what != "weighed":
        names = [k.label for k in KINDS]
        close = difflib.get_close_matches(by_role["part"], names, n=1)
        hint = f" (did you mean {close[0]}?)" if close else ""
        wrong = f"{shown(by_role['part'])!r} is no part{hint}"
        faults.append(in_row(row, "part", wrong, ", ".join(names)))
        return
    part = f"cylinder {cylinder}, {label(role.of)}"
    for unit, text in [(u, t) for u, t in readings if t not in NOTHING] or readings[:1]:
        yield Cell(cylinder, role.of, text, by_role.get("unit") or unit, row, part)


def _cylinder_row(named: list[tuple[Column, str]], cylinder: int, row: int) -> Iterator[Cell]:
    unit = next((t for c, t in named if c.role.what == "unit"), "")
    for column, text in named:
        if (
            text not in NOTHING and column.role.what == "weighed"
        ):  # a blank is a reading left out: the job says if it may be
            part = f"cylinder {cylinder}, {label(column.role.of)}"
            yield Cell(cylinder, column.role.of, text, column.unit or unit, row, part)


def _labels(named: list[tuple[Column, str]], row: int, faults: list[Fault]) -> dict[str, str]:
    found: dict[str, str] = {}
    for column, text in named:
        if column.role.what != "label" or not text:
            continue
        if len(text) > LONGEST_LABEL or not text.isprintable():
            allowed = f"printable text, at most {LONGEST_LABEL} characters"
            faults.append(in_row(row, column.role.said, repr(shown(text)), allowed))
        found[column.role.of] = text
    return found


def take(cells: list[Cell], document: Units, sheet: WeighSheet) -> None:
    """Read the cells into the sheet, its decimal marks told by all of them together."""
    split = [(cell, one) for cell in cells for one in several(cell.text)]
    marks = decimal_marks([(one, cell.kind) for cell, one in split], document.most_g)
    unsure: list[Cell] = []
    for cell, text in split:
        sheet.written.setdefault(cell.cylinder, set()).add(cell.kind)
        try:
            number, own_unit = as_number(text, marks)
            unit = own_unit or cell.unit or document.mass
            grams = reading_g(f"{number} {unit}", unit, document)
        except TwoWays:
            unsure.append(cell._replace(text=text))
            continue
        except NotAQuantity as error:
            sheet.faults.append(in_row(cell.row, cell.part, error.of(text), reading_allowed(document)))
            continue
        typed = number if unit == document.mass else f"{number} {unit}"
        kinds = sheet.readings.setdefault(cell.cylinder, {})
        before = kinds.get(cell.kind, Typed((), ()))
        if len(before.texts) == MOST_REPEATS:
            wrong = f"more than {MOST_REPEATS} readings of one part"
            sheet.faults.append(in_row(cell.row, cell.part, wrong, f"at most {MOST_REPEATS}"))
            continue
        kinds[cell.kind] = Typed((*before.texts, typed), (*before.grams, grams))
    if unsure:
        first, more = unsure[0], f", and {len(unsure) - 1} more like it" if len(unsure) > 1 else ""
        plain = re.sub("[.,]", "", first.text)
        decimal = re.sub(r"[.,](?=\d{3}$)", ".", first.text)
        wrong = f"{shown(first.text)} can be read as thousands or as a decimal{more}"
        sheet.faults.append(in_row(first.row, first.part, wrong, f"{decimal}0 or {plain}"))


def _across(text: str) -> tuple[int, list[list[str]]] | None:
    """A sheet that has its cylinders across: the number of its heading row, and its rows from there on; None for
    one that has them down. Its heading row names cylinders, and something else or nothing before them."""
    lines = text.split("\n")
    for number, line in enumerate(lines[:_HEADING_WITHIN_ROWS]):
        for delimiter in ("\t", ";", ",", "|", GAPS):
            cells = _cells_of(line, delimiter)
            first, named = cells[0], [cylinder_in(cell) for cell in cells[1:] if cell.strip()]
            is_head = len(named) > 1 and None not in named and len({*named}) == len(named)
            if is_head and cylinder_in(first) is None and not _is_remark(first):
                return number + 1, [_cells_of(one, delimiter) for one in lines[number:]]
    return None


def _cells_of(line: str, delimiter: str) -> list[str]:
    if delimiter == GAPS:
        return re.split(GAPS, line.strip()) if line.strip() else [""]
    try:
        return next(csv.reader([line], delimiter=delimiter), None) or [""]
    except csv.Error:  # told where the sheet is read as one that has its cylinders down
        return [line]


def _cells_across(first: int, rows: list[list[str]], sheet: WeighSheet) -> list[Cell]:
    """The readings of such a sheet; its labels, and what is wrong with it, go into the sheet."""
    cylinders = [cylinder_in(cell) for cell in rows[0]]
    cells: list[Cell] = []
    for at in cylinders:
        if at is not None:
            sheet.written.setdefault(at, set())
    for number, row in enumerate(rows[1:], start=first + 1):
        if not any(cell.strip() for cell in row) or _is_remark(row[0]):
            continue
        column = _column(row[0], number, 1, sheet.faults, HEADINGS)
        if not row[0].strip():
            sheet.faults.append(
                in_row(number, "", "names no part", "the part, then what it weighs in each cylinder")
            )
        if len(row) > len(cylinders) and any(cell.strip() for cell in row[len(cylinders) :]):
            wrong = f"{len(row)} columns under {len(cylinders)} headings"
            sheet.faults.append(in_row(number, "", wrong, "decimal commas only with ; or tab between the columns"))
            continue
        for at, text in zip(cylinders, row, strict=False):
            if at is None or text.strip() in NOTHING:
                continue
            if column.role.what == "label":
                sheet.labels.setdefault(at, {})[column.role.of] = text.strip()
            elif column.role.what == "weighed":
                part = f"cylinder {at}, {label(column.role.of)}"
                cells.append(Cell(at, column.role.of, text.strip(), column.unit, number, part))
    return cells
