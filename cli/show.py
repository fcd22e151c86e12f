"""What every command shares on the screen: the console, a heading, a table, and the faults on their way out.

On a terminal the tables have rules and a little colour (none with NO_COLOR); in a pipe they are plain columns
that other tools can cut. No state is told by colour alone.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rich.console import Console
    from rich.text import Text

FINE, OUTSIDE, BAD_INPUT = 0, 1, 2

_VERDICT_STYLES = {"OUTSIDE": "bold red", "too close to call": "yellow", "inside": "green"}


def console() -> Console:
    from rich.console import Console  # noqa: PLC0415

    terminal = sys.stdout.isatty()
    return Console(highlight=False, markup=False, emoji=False, width=None if terminal else 10_000)


def heading(out: Console, text: str) -> None:
    out.print()
    out.print(text, style="bold" if out.is_terminal else None, soft_wrap=True)


def line(out: Console, text: str, style: str | None = None) -> None:
    """One sentence: wrapped at words on a terminal, one line in a pipe."""
    out.print(text, style=style, soft_wrap=not out.is_terminal)


def table(out: Console, columns: Sequence[str], rows: Sequence[Sequence[str]], left: int = 1) -> None:
    """A table. left: how many columns from the front hold words; the others hold figures, but for verdicts."""
    from rich import box  # noqa: PLC0415
    from rich.table import Table  # noqa: PLC0415

    made = Table(
        box=box.HORIZONTALS if out.is_terminal else None,
        pad_edge=False,
        show_edge=False,
        header_style="dim" if out.is_terminal else "",
        padding=(0, 2, 0, 0),
    )
    for i, column in enumerate(columns):
        words = i < left or column in ("verdict", "carries")
        made.add_column(column, justify="left" if words else "right", no_wrap=True)
    for row in rows:
        made.add_row(*(_cell(text) for text in row))
    out.print(made)


def verdict(found: str | None) -> str:
    """A verdict as it stands in a table: the one that stops the work is in capitals."""
    return {"outside": "OUTSIDE", None: "no limit"}.get(found, found or "")


def as_json(data: Any) -> None:
    sys.stdout.write(json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False) + "\n")


def _cell(text: str) -> Text:
    from rich.text import Text  # noqa: PLC0415

    return Text(text, style=_VERDICT_STYLES.get(text, ""))
