"""What every command shares on the screen: the console, a heading, a table, and the faults on their way out.

On a terminal the tables have rules and a little colour (none with NO_COLOR); in a pipe they are plain columns
that other tools can cut. No state is told by colour alone.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rich.console import Console

FINE, OUTSIDE, BAD_INPUT = 0, 1, 2

_STYLES = {"OUTSIDE": "bold red", "too close to call": "yellow", "inside": "green"}
_WORDS = ("verdict", "carries")
_WIDTH = 80  # of a page or a screen that a pipe ends on; a table that just fits there stands closer


class Screen:
    """Where a command's answer goes. Rich is loaded for a terminal only: a pipe gets the same, plain."""

    def __init__(self) -> None:
        self._rich: Console | None = None
        if sys.stdout.isatty():
            from rich.console import Console  # noqa: PLC0415

            self._rich = Console(highlight=False, markup=False, emoji=False)

    def line(self, text: str = "", *, strong: bool = False) -> None:
        """One sentence: wrapped at words on a terminal, one line in a pipe."""
        if self._rich:
            self._rich.print(text, style="bold" if strong else None)
        else:
            sys.stdout.write(f"{text}\n")

    def fits(self, columns: int) -> bool:
        """Whether so many columns stand on one line; in a pipe they always do."""
        return self._rich is None or columns <= self._rich.width

    def raw(self, text: str) -> None:
        """A line of a drawing, never wrapped."""
        if self._rich:
            self._rich.print(text, no_wrap=True, crop=True, overflow="crop")
        else:
            sys.stdout.write(f"{text}\n")

    def heading(self, text: str) -> None:
        self.line()
        self.line(text, strong=True)

    def table(self, columns: Sequence[str], rows: Sequence[Sequence[str]], words: Sequence[str] = _WORDS) -> None:
        """A table: the first column and those named in words stand left, figures right."""
        left = [i == 0 or column in words for i, column in enumerate(columns)]
        if self._rich:
            self._rich_table(columns, rows, left)
            return
        widths = [max(map(len, column)) for column in zip(columns, *rows, strict=True)]
        is_close = sum(widths) + 2 * (len(widths) - 1) > _WIDTH >= sum(widths) + len(widths) - 1
        for row in (columns, *rows):
            cells = (
                text.ljust(width) if is_left else text.rjust(width)
                for text, width, is_left in zip(row, widths, left, strict=True)
            )
            sys.stdout.write((" " if is_close else "  ").join(cells).rstrip() + "\n")

    def _rich_table(self, columns: Sequence[str], rows: Sequence[Sequence[str]], left: Sequence[bool]) -> None:
        from rich import box  # noqa: PLC0415
        from rich.measure import Measurement  # noqa: PLC0415
        from rich.table import Table  # noqa: PLC0415
        from rich.text import Text  # noqa: PLC0415

        assert self._rich is not None
        made = Table(box=box.HORIZONTALS, pad_edge=False, show_edge=False, header_style="dim", padding=(0, 1))
        for column, is_left in zip(columns, left, strict=True):
            made.add_column(column, justify="left" if is_left else "right", no_wrap=True)
        for row in rows:
            made.add_row(*(Text(text, style=_STYLES.get(text, "")) for text in row))
        # A figure is never cut: a screen too narrow for the table breaks its lines instead.
        options = self._rich.options.update(max_width=10_000)
        made.width = Measurement.get(self._rich, options, made).maximum
        self._rich.print(made, crop=False)


def verdict(found: str | None) -> str:
    """A verdict as it stands in a table: the one that stops the work is in capitals."""
    return {"outside": "OUTSIDE", None: "no limit"}.get(found, found or "")


def as_json(data: Mapping[str, Any]) -> None:
    """What a command says, for machines: one object, which begins with its format and the program that made it."""
    from truethrow.balance.base.program import made_by  # noqa: PLC0415

    sys.stdout.write(json.dumps(made_by() | dict(data), indent=2, ensure_ascii=False, allow_nan=False) + "\n")
