"""The option --station: the profile that is named, else the one that is found, which is told on standard error."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from truethrow.balance.base.errors import shown_path
from truethrow.balance.log.place import Place
from truethrow.cli.profiles import found_or_refused, station_named

if TYPE_CHECKING:
    from truethrow.balance.base.files import KeptText


def _which(context: typer.Context, named: Any) -> Any:
    if named is not None or context.resilient_parsing:
        return named
    return look_up(context.params.get("job"))


def look_up(job: Place | None) -> Path | KeptText:
    """The profile that nobody named, told on standard error. Raises BadInput where there is none, or a doubt."""
    profile, found = found_or_refused(job)
    sys.stderr.write(f"Station: {shown_path(profile)}, {found}.\n")
    return profile


Station = Annotated[
    Path,
    typer.Option(
        "--station",
        metavar="STATION",
        parser=station_named,
        callback=_which,
        show_default=False,
        help="Profile of the balancing station: a file (TOML), or its name in the book. Without it: the one that "
        "is set (truethrow settings), lies beside the job, or is the only one of the book.",
    ),
]
