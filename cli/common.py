"""What the commands share: the words of their arguments, a job worked through, and the status it ends with."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from truethrow.balance.errors import BadInput, Fault, shown
from truethrow.cli import show

if TYPE_CHECKING:
    from truethrow.balance.work import Result
    from truethrow.worksheets.display import Display

Job = Annotated[Path, typer.Argument(metavar="JOB", help="Job file (TOML), or - for standard input.")]
Sheet = Annotated[
    Path | None,
    typer.Option("--sheet", "-s", metavar="SHEET", help="Weigh sheet (CSV) with the readings, or -."),
]
Json = Annotated[bool, typer.Option("--json", help="Print plain data for machines, in g, mm and degrees.")]
Show = Annotated[
    str | None,
    typer.Option("--show", metavar="metric|inch", help="Show in these units instead of the job's own."),
]

LONGEST_BY = 12


def check_by(by: str) -> None:
    """Refuse initials that would not do in the log."""
    if len(by) > LONGEST_BY or not by.isprintable():
        raise BadInput([Fault("--by", "does not do", f"printable, at most {LONGEST_BY} characters")])


def worked(job: Path, sheet: Path | None, show_in: str | None = None) -> Result:
    """A job worked through, its options checked before anything is read."""
    from truethrow.balance.job import load  # noqa: PLC0415
    from truethrow.balance.work import work  # noqa: PLC0415
    from truethrow.worksheets.display import SHOW  # noqa: PLC0415

    if show_in is not None and show_in not in SHOW:
        raise BadInput([Fault("--show", f"{shown(show_in)!r} is not known", ", ".join(SHOW))])
    if str(job) == "-" and str(sheet) == "-":
        raise BadInput([Fault("--sheet", "standard input is the job already", "a file")])
    return work(load(job, sheet))


def display_of(result: Result, show_in: str | None) -> Display:
    from truethrow.worksheets.display import Display  # noqa: PLC0415

    return Display.of(result.job, show_in)


def status(result: Result) -> int:
    return show.OUTSIDE if result.outside else show.FINE
