"""Every bench: what to do now."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from truethrow.balance.log.place import Place, is_standard_input
from truethrow.cli import show
from truethrow.cli.common import NOT_NAMED, Job, Json, ProfileIfAny, Sheet, tell_now
from truethrow.cli.profiles import by_itself

if TYPE_CHECKING:
    from truethrow.balance.base.files import KeptText
    from truethrow.balance.station.what_now import Now


def next_(job: Job = NOT_NAMED, station: ProfileIfAny = None, sheet: Sheet = None, json: Json = False) -> None:
    """Show what to do now, with the command ready to paste.

    The one next step, from the first reading to the closed job. It only reads. The command is ready to paste,
    one for each case where only a person can tell which it is; each command that weighs, grinds, matches, spins
    or shows where the job is ends with the same. What blocks the work comes first, and the status is 1 then. The
    station's profile that is set, lies beside the job or is the only one of the book is found without --station.

    \b
    truethrow next my.toml
    truethrow next my.toml --station station.toml
    """
    now = _now(job, station, sheet)
    if json:
        show.as_json({"next": list(now.steps), "blocked": now.blocked, "no_longer_signed": now.no_longer})
    else:
        tell_now(show.Screen(), now)
    raise typer.Exit(show.OUTSIDE if now.blocked else show.FINE)


def _now(job: Place, station: Path | KeptText | None, sheet: Path | None) -> Now:
    """The step, by the profile that is named; else by the one that is found, which is told."""
    from truethrow.balance.station.what_now import what_now  # noqa: PLC0415

    if station is not None or is_standard_input(job):
        return what_now(job, station, sheet)
    now, found = by_itself(job, lambda profile: what_now(job, profile, sheet))
    if found:
        sys.stderr.write(f"Station: {found}.\n")
    return now
