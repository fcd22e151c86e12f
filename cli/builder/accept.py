"""The builder's bench: the parts trade places as a matching proposed."""

from __future__ import annotations

from typing import Annotated

import typer

from truethrow.balance.base.errors import shown_path
from truethrow.balance.log.place import log_name
from truethrow.cli import show
from truethrow.cli.common import LoggedJob, by_whom, tell_next


def accept(
    job: LoggedJob,
    proposal: Annotated[
        str | None, typer.Argument(metavar="PROPOSAL", help="Id of a proposal; without it, the last one.")
    ] = None,
    by: Annotated[str, by_whom("Who accepts.")] = "",
) -> None:
    """Accept a matching: the parts trade places.

    It says what to mark on which part. Each part takes its readings and its label along; all other commands say
    from then on where it was weighed and where it goes. Refused where the job is not as it was when the proposal
    was made, while a reading looks like a slip, and where a rule of [match] is against it by now. Canceling it
    (truethrow strike) reopens the proposal.

    \b
    truethrow accept my.toml --by AB
    """
    from truethrow.balance.job.sources import names_of  # noqa: PLC0415
    from truethrow.balance.matching import proposing  # noqa: PLC0415
    from truethrow.cli import trading  # noqa: PLC0415

    record = proposing.accept(job, proposal, by)
    out, moves = show.Screen(), record.moves
    trading.tell(out, "Mark these before you move any", trading.parts_of(names_of(job), moves, are_made=True))
    out.line(trading.MARKING, strong=True)
    out.line(f"Accepted and kept, as record {record.id}, in {shown_path(log_name(job))}")
    tell_next(out, job)
