"""Every bench: what the log of a job holds, a record struck out, and a reading confirmed."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from truethrow.balance.base.errors import shown_path
from truethrow.balance.log.place import again, log_name
from truethrow.cli import show
from truethrow.cli.common import Json, LoggedJob, check_by, part_named


def history(job: LoggedJob, json: Json = False) -> None:
    """List what was weighed, proposed, accepted, ground and canceled, the oldest first.

    \b
    truethrow history my.toml
    """
    from truethrow.balance.job.history import events  # noqa: PLC0415
    from truethrow.balance.log.damage import told, unsettled  # noqa: PLC0415
    from truethrow.worksheets.data import history_data  # noqa: PLC0415
    from truethrow.worksheets.words import history_words as words  # noqa: PLC0415

    found = events(job)
    damaged = unsettled(event.record for event in found)
    if damaged:
        sys.stderr.write(f"{told(damaged, 'line', again(job))}\n")
    if json:
        show.as_json([history_data.as_data(event) for event in found])
        raise typer.Exit(show.OUTSIDE if damaged else show.FINE)
    out = show.Screen()
    if not found:
        out.line(f"No log yet: {shown_path(log_name(job))}")
        return
    columns = ["record", "at (UTC)", "by", "what", "of what", "note"]
    out.table(columns, [words.row(event) for event in found], words=columns)
    raise typer.Exit(show.OUTSIDE if damaged else show.FINE)


def strike(
    job: LoggedJob,
    record: Annotated[str, typer.Argument(metavar="RECORD", help="Its id; truethrow history tells it.")],
    why: Annotated[str, typer.Option("--why", metavar="REASON", help="The reason, for the log.")] = "",
    by: Annotated[str, typer.Option("--by", metavar="INITIALS", help="Who cancels it.")] = "",
) -> None:
    """Cancel a record (it stays in the history).

    A reading or a cut no longer counts, and the parts of accepted trades go back. The record stays in the history,
    and the strike with it.

    \b
    truethrow strike my.toml 5f0c31a2b4d6-7 --why "wrong rod"
    """
    from truethrow.balance.job.history import strike as strike_out  # noqa: PLC0415
    from truethrow.balance.log.records import Traded  # noqa: PLC0415
    from truethrow.balance.log.replaying import inverse_of  # noqa: PLC0415
    from truethrow.worksheets.words import history_words as words  # noqa: PLC0415

    check_by(by)
    struck = strike_out(job, record, why, by)
    out = show.Screen()
    out.line(f"Canceled: {struck.record.action} {words.told(struck)}")
    if isinstance(struck.record, Traded):
        from truethrow.balance.job.sources import names_of  # noqa: PLC0415
        from truethrow.cli import trading  # noqa: PLC0415

        back = inverse_of(struck.record)
        trading.tell(out, "Put these back", trading.parts_of(names_of(job), back, are_made=True))
        out.line(trading.MARKING, strong=True)


def confirm(
    job: LoggedJob,
    part: Annotated[
        list[str],
        typer.Argument(metavar="PART", help="A part, such as piston P5 or rod 3; or rings all."),
    ],
    why: Annotated[str, typer.Option("--why", metavar="REASON", help="Why it is right, for the log.")] = "",
    by: Annotated[str, typer.Option("--by", metavar="INITIALS", help="Who looked at it again.")] = "",
) -> None:
    """Confirm a reading that looks like a slip but is right.

    From then on it is quiet, and the trim is planned. That goes for this reading of this part alone: it follows
    the part when parts trade places and through the cuts that are recorded, and any other reading asks again. To
    take it back: truethrow strike.

    \b
    truethrow confirm my.toml piston 3 --why "another maker's, weighed on two scales" --by AB
    truethrow confirm my.toml rod 6 --why "heavy cap, looked at it"
    """
    from truethrow.balance.job.sources import names_of  # noqa: PLC0415
    from truethrow.balance.result import doubts  # noqa: PLC0415

    check_by(by)
    kind, name = part_named(part)
    records = doubts.confirm(job, kind, name, why, by)
    out, names = show.Screen(), names_of(job)
    for record in records:
        who = names.said(record.kind, record.cylinder) if record.cylinder else f"{kind} of every cylinder"
        out.line(f"confirmed: {who}, {record.grams:g} g")
    if not records:
        out.line("This reading is confirmed already.")
        return
    out.line(f"Kept in {shown_path(log_name(job))}. Next: truethrow check {shown_path(again(job))}")
