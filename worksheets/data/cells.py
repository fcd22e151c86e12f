"""Rows as CSV (RFC 4180) that no spreadsheet takes for a formula, whatever it cuts them at.

Every cell is in quotes. A spreadsheet with decimal commas cuts a line at its semicolons and lets the quotes of a
cell that does not start the line be, so each piece of a text is guarded: one that would be a formula gets an
apostrophe in front, and loses it when it is read back.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence

# Where a cell may start: at the start of a text, and behind whatever some spreadsheet cuts at. Blanks, and the
# quotes that it was written in, may come before the character by which it is a formula.
_START = r"(^|[;,|\t\r\n])"
_NEW_FORMULA = re.compile(_START + r"""(?=[\s"]*[=+\-@'＝＋－＠]|\t|\r)""")
_GUARD = re.compile(_START + "'")


def guarded(text: str) -> str:
    """A text of which no piece is a formula to a spreadsheet."""
    return _NEW_FORMULA.sub(r"\1'", text)


def unguarded(text: str) -> str:
    """The text again that was guarded."""
    return _GUARD.sub(r"\1", text)


def to_csv(rows: Iterable[Sequence[object]]) -> str:
    """Rows as text, every cell in quotes, lines ended by CR LF as RFC 4180 has it."""
    out = io.StringIO()
    csv.writer(out, quoting=csv.QUOTE_ALL).writerows(rows)
    return out.getvalue()
