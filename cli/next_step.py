"""Every bench: what to do now."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from truethrow.cli import show
from truethrow.cli.common import Job, Json, Sheet, station_named

Station = Annotated[
    Path | None,
    typer.Option(
        "--station",
        metavar="STATION",
        parser=station_named,
        help="Profile of the balancing station: a file (TOML), or its name in the book.",
    ),
]


def next_(job: Job, station: Station = None, sheet: Sheet = None, json: Json = False) -> None:
    """Show what to do now: the one next step, from the first reading to the closed job.

    It only reads. The command is ready to paste, one for each case where only a person can tell which it is; every
    other command ends with the same. What blocks the work comes first, and the status is 1 then.

    \b
    truethrow next my.toml
    truethrow next my.toml --station station.toml
    """
    from truethrow.balance.station.what_now import what_now  # noqa: PLC0415

    now = what_now(job, station, sheet)
    if json:
        show.as_json({"next": list(now.steps), "blocked": now.blocked})
    else:
        out = show.Screen()
        for step in now.steps:
            out.line(f"Next: {step}", strong=True)
    raise typer.Exit(show.OUTSIDE if now.blocked else show.FINE)
