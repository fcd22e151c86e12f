"""A page written to a file beside what the screen shows."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from truethrow.balance.base.errors import shown_path
from truethrow.cli import show
from truethrow.cli.common import today

if TYPE_CHECKING:
    from truethrow.worksheets.cards.card import Card

Out = Annotated[
    Path | None, typer.Option("--out", metavar="FILE", help="Write a page, too: FILE.html or FILE.pdf.")
]
Xlsx = Annotated[
    Path | None, typer.Option("--xlsx", metavar="FILE", help="Write the figures as a spreadsheet, too: FILE.xlsx.")
]


def check_endings(out: Path | None, xlsx: Path | None = None) -> None:
    """Before anything is worked out. Raises BadInput for a file that does not end as it should."""
    if out is None and xlsx is None:
        return
    from truethrow.worksheets.prints import page_file  # noqa: PLC0415

    page_file.check("--out", out, page_file.PAGES)
    page_file.check("--xlsx", xlsx, page_file.SPREADSHEET)


def write(page: Callable[[str], Card], out: Path | None, xlsx: Path | None = None, *, quiet: bool = False) -> None:
    """page: made of the day of issue, where it is asked for; quiet: for machines, which know. Raises NotSaved."""
    from truethrow.worksheets.prints import page_file  # noqa: PLC0415

    for path in (out, xlsx):
        if path is not None:
            page_file.write(path, page(today()))
            if not quiet:
                show.Screen().line(f"Written: {shown_path(path)}")
