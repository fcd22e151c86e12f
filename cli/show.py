"""What every command shares on the screen: the console, a heading, a table, and the faults on their way out.

On a terminal the tables have rules and a little colour (none with NO_COLOR); in a pipe they are plain columns
that other tools can cut. No state is told by colour alone.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, NoReturn

import typer

from truethrow.balance.base import dry_run
from truethrow.cli import fit

if TYPE_CHECKING:
    from rich.console import Console

FINE, OUTSIDE, BAD_INPUT = 0, 1, 2

_STYLES = {"OUTSIDE": "bold red", "too close to call": "yellow", "inside": "green"}
_WORDS = ("verdict", "carries")
_USUAL = 80
_GAP = 2  # blanks between two columns


class Screen:
    """Where a command's answer goes. Rich is loaded for a terminal only: a pipe gets the same, plain."""

    def __init__(self) -> None:
        self._width = fit.room()
        self._rich: Console | None = None
        if sys.stdout.isatty():
            from rich.console import Console  # noqa: PLC0415

            self._rich = Console(highlight=False, markup=False, emoji=False)

    def line(self, text: str = "", *, strong: bool = False) -> None:
        """One sentence: broken at words on a terminal, with its commands ready to paste; one line in a pipe."""
        for part in fit.sentence(text, self._width):
            self._write(part, "bold" if strong else None)

    def fits(self, columns: int) -> bool:
        """Whether so many columns fit on one line; a pipe is as wide as the usual screen to a drawing."""
        return columns <= (self._width or _USUAL)

    def raw(self, text: str) -> None:
        """A line of a drawing, never broken."""
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
        widths = [max(map(len, column)) for column in zip(columns, *rows, strict=True)]
        closest = sum(widths) + len(widths) - 1
        # Where it just fits a page or a screen that a pipe ends on, a table is closer.
        gap = 1 if closest <= (self._width or _USUAL) < closest + (len(widths) - 1) * (_GAP - 1) else _GAP
        for i, (head, *made) in enumerate(fit.tables(columns, rows, left, self._width, gap)):
            if i:
                self.line()
            for text in head.lines(gap):
                self._write(text, "dim")
            if self._rich:
                self._write("─" * max(len(line) for row in (head, *made) for line in row.lines(gap)))
            for row in made:
                self._row(row, gap)

    def _row(self, row: fit.Row, gap: int) -> None:
        if not self._rich or not any(text in _STYLES for text in row.texts):
            for text in row.lines(gap):
                self._write(text)
            return
        from rich.text import Text  # noqa: PLC0415

        for parts in zip(*row.cells, strict=True):
            line = Text()
            for i, (part, text) in enumerate(zip(parts, row.texts, strict=True)):
                line.append(" " * gap if i else "").append(part, style=_STYLES.get(text, ""))
            line.rstrip()
            self._rich.print(line, soft_wrap=True)

    def _write(self, text: str, style: str | None = None) -> None:
        if self._rich:
            self._rich.print(text, style=style, soft_wrap=True)
        else:
            sys.stdout.write(f"{text}\n")


def end(why: str, *, quiet: bool = False) -> NoReturn:
    """End the command: status 1 with the reason in the last line, status 0 without one. quiet: for machines,
    which the status tells."""
    if why and not quiet:
        Screen().line(f"Status 1: {why}.")
    raise typer.Exit(OUTSIDE if why else FINE)


def verdict(found: str | None) -> str:
    """A verdict as it stands in a table: the one that stops the work is in capitals."""
    return {"outside": "OUTSIDE", None: "no limit"}.get(found, found or "")


def as_json(data: Mapping[str, Any]) -> None:
    """What a command says, for machines: one object, which begins with its format and the program that made it."""
    from truethrow.balance.base.program import made_by  # noqa: PLC0415

    data = dict(data) | ({"dry_run": True} if dry_run.is_on() else {})
    sys.stdout.write(json.dumps(made_by() | data, indent=2, ensure_ascii=False, allow_nan=False) + "\n")
