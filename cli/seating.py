"""The builder's bench: the parts take the seats that a matching proposed."""

from __future__ import annotations

from typing import Annotated

import typer

from truethrow.balance.errors import shown_path
from truethrow.balance.place import log_name
from truethrow.cli import show
from truethrow.cli.common import LoggedJob, check_by


def accept(
    job: LoggedJob,
    proposal: Annotated[
        str | None, typer.Argument(metavar="PROPOSAL", help="Id of a proposal; without it, the last one.")
    ] = None,
    by: Annotated[str, typer.Option("--by", metavar="INITIALS", help="Who accepts.")] = "",
) -> None:
    """Accept a matching: the parts change seats.

    Each part takes its readings and its label along; all other commands show it in its new place from then on.
    Refused where the job is not as it was when the proposal was made, and where a rule of [match] is against it
    by now. A proposal that is struck out (truethrow strike) waits no more; one whose seat is struck out waits
    again.

    \b
    truethrow accept my.toml --by AB
    """
    from truethrow.balance import seats  # noqa: PLC0415

    check_by(by)
    record = seats.accept(job, proposal, by)
    labels = seats.own_readings(job).labels
    out = show.Screen()
    for unit, moves in seats.parse(record.typed).items():
        for start, to in moves.items():
            label = labels.get(to, {}).get(unit, "")
            out.line(f"{unit}{f' {label}' if label else ''}: cylinder {start} → {to}")
    out.line(f"Accepted and kept, as record {record.id}, in {shown_path(log_name(job))}")
