"""What was checked against what: each printed answer that a test holds the program against is a row of one table,
which the handbook prints.

A test makes a row by the fixture `checked` (conftest.py), which holds the figure, too: a row of the table is a
test that passed. The table is a file of the program's, so that the handbook needs no tests; it is made anew by

    .venv/bin/python -m pytest -n 0 tests/published --write-checks

and a test whose rows are not those of the file fails.
"""

from __future__ import annotations

import csv
import io
from pathlib import Path

from truethrow.worksheets.handbook.checks import Check

STORED = Path(__file__).parents[1] / "worksheets" / "handbook" / "checked.csv"
STALE = "checked.csv is stale; run: .venv/bin/python -m pytest -n 0 tests/published --write-checks"


def row(
    test: str,
    source: str,
    page: str,
    given: str,
    what: str,
    printed: str,
    ours: float | str,
    unit: str,
    *,
    within: float,
    from_memory: bool,
) -> Check:
    """Held and made. printed: the answer's own digits, as text; within: how far ours may be from it, and never so
    much that nothing could fail. Raises AssertionError where it is farther."""
    assert all(map(str.strip, (source, page, given, what, printed))), (
        "a row says its source, its page and its input"
    )
    memory = "from memory" if from_memory else ""
    if isinstance(ours, str):
        assert ours == printed, f"{what}: {ours}, printed {printed}"
        return Check(source, page, given, what, printed, ours, "none", unit, memory, test)
    answer = float(printed.replace(" ", ""))
    assert 0 <= within < max(abs(answer), 1.0) / 5, f"{within} is no tolerance for {printed}"
    assert abs(ours - answer) <= within, f"{what}: {ours}, printed {printed}, allowed within {within}"
    places = len(printed.partition(".")[2]) + 2
    shown = round(ours, places) + 0.0
    apart = round(shown - answer, places) + 0.0
    return Check(
        source, page, given, what, printed, f"{shown:.{places}f}", f"{apart:+.{places}f}", unit, memory, test
    )


def stored() -> list[Check]:
    text = STORED.read_text(encoding="utf-8") if STORED.exists() else ""
    return [Check(**line) for line in csv.DictReader(io.StringIO(text))]


def write(rows: list[Check]) -> None:
    """One row a line, in an order of its own: two hands that add rows meet in as few lines as may be."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerows([Check._fields, *sorted(set(rows))])
    STORED.write_text(out.getvalue(), encoding="utf-8")
