"""Every bench: a job closed, given up, opened again, and which crank it is."""

from __future__ import annotations

from typing import Annotated

import typer

from truethrow.balance.base.errors import BadInput, shown
from truethrow.balance.log.place import Place, source_of
from truethrow.cli import show
from truethrow.cli.asking import can_ask, must_be_meant
from truethrow.cli.common import LoggedJob, by_who_answers, for_why, tell_next

Why = Annotated[str, for_why("Why, for the log.")]
By = Annotated[str, by_who_answers("Who says so; always typed.")]


def crank(
    job: LoggedJob,
    mark: Annotated[str, typer.Argument(metavar="MARK", help="The mark on the crank, as [about] has it.")],
    why: Why = "",
    by: By = "",
) -> None:
    """Say that it is the same crank, where its mark was changed.

    Spins, holes and signatures keep the crank's mark as the job had it. While the job names another, nothing is
    drilled by them and no signature counts: put the mark back, or read it on the crank and say that it is the
    same. Another crank is another job: truethrow new --like.

    \b
    truethrow crank my.toml CX-181 --by AB \\
      --why "typed wrong; CX-181 is stamped on it"
    """
    from truethrow.balance.job import lifecycle  # noqa: PLC0415

    lifecycle.same_crank(job, mark, why, by)
    out = show.Screen()
    out.line(f"All that was recorded in {source_of(job)} is of crank {shown(mark)}.")
    tell_next(out, job)


def close(
    job: LoggedJob,
    why: Why = "",
    by: By = "",
    given_up: Annotated[bool, typer.Option("--given-up", help="It will not be done.")] = False,
) -> None:
    """Close a job, or give it up.

    Nothing is recorded in it any more.

    \b
    truethrow close my.toml --by AB --why "handed over"
    truethrow close my.toml --given-up --by AB --why "crank is cracked"
    """
    from truethrow.balance.job import lifecycle  # noqa: PLC0415
    from truethrow.balance.log.records import DONE, GIVEN_UP  # noqa: PLC0415

    no_longer = "" if given_up else _no_longer_signed(job)
    if no_longer and can_ask():
        must_be_meant(no_longer, "Close it all the same?", "the job is open as it was")
    made = lifecycle.close(job, GIVEN_UP if given_up else DONE, why, by)
    out = show.Screen()
    if no_longer and not can_ask():
        out.line(f"! {no_longer}", strong=True)
    out.line(f"{source_of(job)} is {made.how}.")
    tell_next(out, job)


def _no_longer_signed(job: Place) -> str:
    """That the crank was signed and is no more; empty where that is not so, and of a job that cannot be read."""
    from truethrow.cli.profiles import by_itself  # noqa: PLC0415

    try:
        return by_itself(job)[0].no_longer
    except BadInput:
        return ""


def reopen(job: LoggedJob, why: Why = "", by: By = "") -> None:
    """Open a closed job again.

    \b
    truethrow reopen my.toml --by AB --why "customer wants other pistons"
    """
    from truethrow.balance.job import lifecycle  # noqa: PLC0415

    lifecycle.reopen(job, why, by)
    out = show.Screen()
    out.line(f"{source_of(job)} is open again.")
    tell_next(out, job)
