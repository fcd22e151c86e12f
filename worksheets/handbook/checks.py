"""What was checked against what: the table that the tests make (checked.csv)."""

from __future__ import annotations

import csv
import io
from importlib import resources
from typing import NamedTuple

from truethrow.worksheets.cards.card import Block, CardTable, Lines
from truethrow.worksheets.handbook.chapter_text import WHOLE

HEADS = ("input", "answer", "printed", "truethrow", "off by")
FROM_MEMORY = "*"
SAID = f"{FROM_MEMORY} from memory: the printed answer, or part of its input, was not seen in print."


class Check(NamedTuple):
    """One printed answer that a test holds the program against, as the test stored it. printed, ours,
    difference: as they are shown; memory: `from memory` where the answer, or part of its input, is;
    test: which one made it."""

    source: str
    page: str
    given: str
    what: str
    printed: str
    ours: str
    difference: str
    unit: str
    memory: str
    test: str


def checks() -> tuple[Check, ...]:
    text = resources.files(__package__).joinpath("checked.csv").read_text(encoding="utf-8")
    return tuple(Check(**line) for line in csv.DictReader(io.StringIO(text)))


def blocks() -> tuple[Block, ...]:
    found = checks()
    sources = dict.fromkeys(one.source for one in found)
    tables = (_table(source, [one for one in found if one.source == source]) for source in sources)
    remembered = sum(bool(one.memory) for one in found)
    told = f"{len(found)} printed answers out of {len(sources)} sources; {remembered} of them {SAID[2:-1]}."
    return (Lines((told, SAID)), *tables)


def _table(source: str, found: list[Check]) -> CardTable:
    rows = []
    before = ""
    for one in found:
        given = f"{one.page}: {one.given}"
        mark = f" {FROM_MEMORY}" if one.memory else ""
        printed = f"{one.printed} {one.unit}".strip() + mark
        rows.append(("the same" if given == before else given, one.what, printed, one.ours, one.difference))
        before = given
    return CardTable("checks", HEADS, tuple(rows), source, wide=0, close=True, most_lines=WHOLE)
