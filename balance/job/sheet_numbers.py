"""The numbers of a weigh sheet as people type them: decimal points or commas, thousands, fractions, pounds and
ounces, and several readings in one cell."""

from __future__ import annotations

import re
from collections.abc import Sequence

from truethrow.balance.base.units import NotAQuantity, split_mixed

# What a hand puts where nothing was weighed.
NOTHING = ("", "-", "–", "—", "n/a")
# None of these weighs a kilogram, so that 3,200 is no 3200 g. Common practice, no source.
LIGHT = ("locks", "rings", "bearings")
LIGHT_G = 1000.0
_NUMBER = re.compile(r"([+-]?[\d.,\s'’]*\d[.,]?(?:[eE][+-]?\d+)?)\s*([^\d\s].*)?", re.S)
_THOUSANDS = re.compile(r"[+-]?\d{1,3}([.,\s'’]\d{3})+")
_GROUPED = re.compile(r"[+-]?[1-9]\d{0,2}([.,])\d{3}")
# Between two readings of one cell: a mark, or a space behind a number that has its decimals.
_BETWEEN = re.compile(
    r"\s*[/|;\n&]\s*|,\s+|(?<=[.,]\d)\s+(?=\d)|(?<=[.,]\d\d)\s+(?=\d)|(?<=[.,]\d{3})\s+(?=\d+[.,])"
)
_READING = re.compile(r"\d+(?:[.,]\d+)?\s*(?:[a-zA-Z]+\.?)?")


class TwoWays(NotAQuantity):
    """A number that may have thousands or decimals, and nothing in its sheet tells which."""

    def __init__(self, typed: object) -> None:
        super().__init__("can be read as thousands or as a decimal", typed)


def several(text: str) -> list[str]:
    """The readings of one cell, in order; a cell that is not several is one, whatever it says."""
    with_fraction = re.search(r"\d\s*/\s*\d", text) and _is_mixed(text)
    pieces = [text] if with_fraction else _BETWEEN.split(text)
    return pieces if len(pieces) > 1 and all(_READING.fullmatch(piece) for piece in pieces) else [text]


def _is_mixed(text: str) -> bool:
    try:
        return split_mixed(text) is not None
    except NotAQuantity:
        return False


def decimal_marks(cells: Sequence[tuple[str, str]], most_g: float) -> set[str]:
    """The marks that a sheet must mean as decimal marks. cells: each with the kind of part that it is of; most_g:
    what its scale reads.

    "1,234" alone tells nothing; "538,4" does, and so do "538,412" on a scale that ends at 3 kg, and "3,200" of
    locks."""
    marks = set()
    for text, kind in cells:
        number = _pieces(text)[0]
        grouped = _GROUPED.fullmatch(number)
        last = max(number.rfind(","), number.rfind("."))
        most = min(most_g, LIGHT_G) if kind in LIGHT else most_g
        if last >= 0 and (not grouped or float(re.sub(r"[.,]", "", number)) > most):
            marks.add(number[last])
    return marks


def as_number(text: str, marks: set[str]) -> tuple[str, str]:
    """A cell as a plain decimal and its unit. Raises NotAQuantity, TwoWays where nothing tells its decimals."""
    if not text:
        raise NotAQuantity("blank")
    if (mixed := split_mixed(text)) is not None:
        return str(mixed[0]), mixed[1]
    number, unit = _pieces(text)
    if re.search(r"\d[\s'’]+\d", number):
        raise NotAQuantity("is more than one number", text)
    grouped = _GROUPED.fullmatch(number)
    if grouped and marks and grouped[1] not in marks:
        return number.replace(grouped[1], ""), unit
    if grouped and (len(marks) > 1 or (grouped[1] == "," and not marks)):
        raise TwoWays(text)
    last = max(number.rfind(","), number.rfind("."))
    if last < 0:
        return number, unit
    if number.count(number[last]) > 1:
        raise NotAQuantity("has two decimal marks", text)
    if re.search("[.,]", number[:last]) and not _THOUSANDS.fullmatch(number[:last]):
        raise NotAQuantity("has two decimal marks", text)
    return f"{re.sub('[.,]', '', number[:last])}.{number[last + 1 :]}", unit


def as_written(text: str) -> str:
    """A quantity as a hand types it alone, as a job file has it. Raises NotAQuantity where it can be read in two
    ways."""
    number, unit = as_number(text.strip(), set())
    return f"{number} {unit}".strip()


def _pieces(text: str) -> tuple[str, str]:
    """Number and unit, as typed but for spaces and quotes between thousands; text that is neither, such as two
    readings in one cell, stays whole."""
    if (written := _NUMBER.fullmatch(text)) is None:
        return text, ""
    if re.search(r"[\s'’]", written[1]) and not _THOUSANDS.fullmatch(re.split("[.,](?=\\d*$)", written[1])[0]):
        return text, ""
    return re.sub(r"[\s'’]", "", written[1]), (written[2] or "").strip()
