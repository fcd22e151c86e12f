"""An object in one line, as Python shows it, and as a table in a notebook.

Every figure is rounded here alone, whoever tells it: the screens', too (worksheets/shown/display).
"""

from __future__ import annotations

import html
from collections.abc import Iterable, Sequence
from decimal import ROUND_HALF_UP, Context, Decimal

# Room for every digit of whatever is shown.
_WIDE = Context(prec=400)


def rounded(number: float, places: int) -> str:
    """A number to so many decimal places, as a hand rounds it: a half away from zero. Zero has no sign.

    >>> rounded(1846.25, 1)
    '1846.3'
    """
    # The nanogram first, so that a half left short by binary fractions rounds as the half it is.
    exact = Decimal(repr(round(float(number), 9))).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP, _WIDE)
    return f"{exact if exact else abs(exact):f}"


def table(title: object, heads: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """A table in HTML with its title, every text escaped: a part's label may hold anything."""
    head = "".join(f"<th>{_cell(text)}</th>" for text in heads)
    body = "".join(f"<tr>{''.join(f'<td>{_cell(value)}</td>' for value in row)}</tr>" for row in rows)
    caption = f"<caption>{_cell(title)}</caption>"
    return f"<table>{caption}<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def _cell(value: object) -> str:
    return "" if value is None else html.escape(str(value))
