"""Every bench: what to do now."""

from __future__ import annotations

import typer

from truethrow.cli import show
from truethrow.cli.common import NOT_NAMED, Job, Json, ProfileIfAny, Sheet


def next_(job: Job = NOT_NAMED, station: ProfileIfAny = None, sheet: Sheet = None, json: Json = False) -> None:
    """Show what to do now, with the command ready to paste.

    The one next step, from the first reading to the closed job. It only reads. The command is ready to paste,
    one for each case where only a person can tell which it is; every other command ends with the same. What
    blocks the work comes first, and the status is 1 then.

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
