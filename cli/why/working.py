"""A figure as a hand works it, with the job's own numbers."""

from __future__ import annotations

from typing import Annotated

import typer

from truethrow.cli import show
from truethrow.cli.common import Job, Json, Sheet, Show, display_of, worked


def working(
    job: Job,
    figure: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="FIGURE", help="Such as bobweight 1, hang, plane front, spread piston; without, a list."
        ),
    ] = None,
    sheet: Sheet = None,
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Show how a figure is worked out, line by line.

    As a hand does it, with this job's numbers: each reading with where it comes from (record of the log, weigh
    sheet, job file), each formula with its source.

    \b
    truethrow working my.toml
    truethrow working my.toml bobweight 1
    truethrow working my.toml plane front --json
    """
    result = worked(job, sheet, show_in)
    from truethrow.worksheets.words import worked_lines, working_words  # noqa: PLC0415

    asked = " ".join(figure or ())
    if not asked:
        named = working_words.names(result)
        if json:
            show.as_json({"figures": named})
            return
        out = show.Screen()
        out.line("Figures whose working can be shown:")
        for name in named:
            out.line(f"  truethrow working {result.job.name} {name}")
        return
    made = working_words.working(result, asked, display_of(result, show_in))
    if json:
        show.as_json({"job": result.job.id, "working": made.as_data()})
        return
    out = show.Screen()
    out.line(f"Job {result.job.id}: {made.of}")
    out.line()
    for line in made.lines:
        out.line(str(line))
    out.line()
    if made.said:
        out.line(f"{made.said}.")
    out.line(worked_lines.MORE_SAID)
