"""Every bench: what the log of a job holds, a record struck out, and a reading confirmed."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Annotated

import typer

from truethrow.balance.base import dry_run
from truethrow.balance.base.errors import BadInput, Fault, shown, shown_path
from truethrow.balance.log.place import Place, again, log_name, to_paste
from truethrow.cli import show
from truethrow.cli.common import (
    NOT_NAMED,
    Json,
    LoggedJob,
    ToldJob,
    by_who_answers,
    by_whom,
    for_why,
    part_named,
    tell_next,
)
from truethrow.cli.completing import parts

if TYPE_CHECKING:
    from truethrow.balance.job.undoing import Undo


def history(job: ToldJob = NOT_NAMED, json: Json = False) -> None:
    """List all that was recorded, the oldest first.

    What was weighed, proposed, accepted, ground, spun, drilled, signed and canceled.

    \b
    truethrow history my.toml
    """
    from truethrow.balance.job.history import events  # noqa: PLC0415
    from truethrow.balance.job.jobfile import told_in_at  # noqa: PLC0415
    from truethrow.balance.log.damage import told, unsettled  # noqa: PLC0415
    from truethrow.worksheets.data import history_data  # noqa: PLC0415
    from truethrow.worksheets.words import history_words as words  # noqa: PLC0415

    found = events(job)
    damaged = unsettled(event.record for event in found)
    if damaged:
        sys.stderr.write(f"{told(damaged, 'line', again(job))}\n")
    if json:
        show.as_json({"records": [history_data.as_data(event) for event in found]})
        raise typer.Exit(show.OUTSIDE if damaged else show.FINE)
    out = show.Screen()
    if not found:
        out.line(f"No log yet: {shown_path(log_name(job))}")
        return
    heads, told_in = [words.row(event) for event in found], told_in_at(job)
    widths = [max(map(len, column)) for column in zip(words.COLUMNS, *heads, strict=True)]
    for head, below in zip(
        (words.COLUMNS, *heads), ([], *(words.below(event, told_in) for event in found)), strict=True
    ):
        cells = (text.ljust(width) for text, width in zip(head, widths, strict=True))
        out.raw("  ".join(cells).rstrip())
        for line in below:
            out.raw(line)
    raise typer.Exit(show.OUTSIDE if damaged else show.FINE)


def strike(
    job: LoggedJob,
    record: Annotated[str, typer.Argument(metavar="RECORD", help="Its id; truethrow history tells it.")] = "",
    last: Annotated[
        bool, typer.Option("--last", help="Cancel the last step, all that one command recorded.")
    ] = False,
    step: Annotated[
        bool, typer.Option("--step", help="Not RECORD alone: all that the same command recorded.")
    ] = False,
    with_later: Annotated[
        bool, typer.Option("--with-later", help="Also what was recorded later and rests on it.")
    ] = False,
    yes: Annotated[bool, typer.Option("--yes", help="Don't ask; needed where nobody can be asked.")] = False,
    why: Annotated[str, for_why("The reason, for the log.")] = "",
    by: Annotated[str, by_whom("Who cancels it.")] = "",
) -> None:
    """Undo the last step, or cancel a record (history keeps it).

    A reading or a cut no longer counts, and the parts of accepted trades go back. --last takes back the last step
    as a whole: all cuts of one ground, all holes of one holes --done, a spin with its turned runs. It shows what
    it cancels and what counts again, then asks. Metal that is off stays off: don't cancel what was really ground
    or drilled. What later records rest on is canceled with them (--with-later), or not at all.

    \b
    truethrow strike my.toml --last
    truethrow strike my.toml 5f0c31a2b4d6-7 --why "wrong rod"
    truethrow strike my.toml 5f0c31a2b4d6-9 --step --with-later \\
      --why "front typed for rear"
    """
    from truethrow.balance.job import undoing  # noqa: PLC0415
    from truethrow.balance.job.jobfile import told_in_at  # noqa: PLC0415
    from truethrow.worksheets.words import undo_words as words  # noqa: PLC0415
    from truethrow.worksheets.words.history_words import told  # noqa: PLC0415

    if bool(record) == last or (last and step):
        raise BadInput([Fault("RECORD", "which one", "its id (with --step: all of its step), or --last")])
    undo = undoing.last_step(job) if last else undoing.of_record(job, record, whole=step)
    if undo.rests and not with_later:
        _refuse_what_rests(job, undo, whole=last or step)
    out = show.Screen()
    if last or step or undo.rests:
        _tell_undo(out, job, undo)
        _ask(job, undo, yes=yes)
    undoing.cancel(job, undo, why, by)
    told_in = told_in_at(job)
    for event in undo.canceled:
        out.line(f"Canceled: {event.record.action} {told(event, told_in)}")
    for trade in undo.trades:
        from truethrow.balance.job.sources import names_of  # noqa: PLC0415
        from truethrow.balance.log.replaying import inverse_of  # noqa: PLC0415
        from truethrow.cli import trading  # noqa: PLC0415

        trading.tell(out, "Put these back", trading.parts_of(names_of(job), inverse_of(trade), are_made=True))
        out.line(trading.MARKING, strong=True)
    if not last and not step and not undo.rests:
        for text in words.back(undo, to_paste(job), told_in):
            out.line(f"- {text}")
    tell_next(out, job)


def _refuse_what_rests(job: Place, undo: Undo, *, whole: bool) -> None:
    """Raise BadInput: records rest on what is to be canceled."""
    from truethrow.balance.job.jobfile import told_in_at  # noqa: PLC0415
    from truethrow.worksheets.words import undo_words as words  # noqa: PLC0415

    told_in = told_in_at(job)
    of = shown(undo.step[0].record.id)
    command = f"truethrow strike {to_paste(job)} {of}{' --step' if whole else ''} --with-later"
    told = [Fault(f"record {of}", f"rests on it: {words.line(event, told_in)}") for event in undo.rests]
    remedy = Fault("", "nothing is canceled: later records rest on it", remedy=f"with all of them: {command}")
    raise BadInput([*told, remedy], log_name(job))


def _tell_undo(out: show.Screen, job: Place, undo: Undo) -> None:
    """What is canceled, what goes with it, what stays, and what counts then."""
    from truethrow.balance.job.jobfile import told_in_at  # noqa: PLC0415
    from truethrow.worksheets.words import undo_words as words  # noqa: PLC0415

    told_in = told_in_at(job)
    out.heading(words.head(undo.step))
    parts = ((words.GOES_WITH_IT, undo.rests), (words.STAYS, undo.stays))
    for event in undo.step:
        out.line(f"- {words.line(event, told_in)}")
    for heading, events in parts:
        if events:
            out.heading(heading)
            for event in events:
                out.line(f"- {words.line(event, told_in)}")
    if back := words.back(undo, to_paste(job), told_in):
        out.heading(words.BACK)
        for text in back:
            out.line(f"- {text}")


def _ask(job: Place, undo: Undo, *, yes: bool) -> None:
    """Ask whether it is meant. Raises BadInput where nobody can be asked, and where it is not."""
    from truethrow.worksheets.words import undo_words as words  # noqa: PLC0415

    if yes or dry_run.is_on():
        return
    if sys.stdin is None or sys.stdin.closed or not sys.stdin.isatty():
        again = f"look at what it cancels, then run: truethrow strike {to_paste(job)} "
        of = f"{shown(undo.step[0].record.id)} --step{' --with-later' if undo.rests else ''} --yes"
        raise BadInput([Fault("", "nothing is canceled yet", remedy=again + of)], log_name(job))
    sys.stdout.flush()
    if not typer.confirm(words.TO_ASK, default=False):
        typer.echo("Nothing is canceled.")
        raise typer.Exit(show.OUTSIDE)


def confirm(
    job: LoggedJob,
    part: Annotated[
        list[str],
        typer.Argument(
            metavar="PART", autocompletion=parts, help="A part, such as piston P5 or rod 3; or rings all."
        ),
    ],
    why: Annotated[str, for_why("Why it is right, for the log.")] = "",
    by: Annotated[str, by_who_answers("Who looked at it again; always typed.")] = "",
) -> None:
    """Confirm a reading that looks like a slip but is right.

    From then on it is quiet, and the trim is planned. That goes for this reading of this part alone: it follows
    the part when parts trade places and through the cuts that are recorded, and any other reading asks again. To
    take it back: truethrow strike.

    \b
    truethrow confirm my.toml piston 3 \\
      --why "another maker's, weighed on two scales" --by AB
    truethrow confirm my.toml rod 6 --by AB --why "heavy cap, weighed twice"
    """
    from truethrow.balance.base.units import mass_in  # noqa: PLC0415
    from truethrow.balance.job.jobfile import scale_unit_of  # noqa: PLC0415
    from truethrow.balance.job.sources import names_of  # noqa: PLC0415
    from truethrow.balance.result import doubts  # noqa: PLC0415

    kind, name = part_named(part)
    records = doubts.confirm(job, kind, name, why, by)
    out, names, unit = show.Screen(), names_of(job), scale_unit_of(job)
    for record in records:
        who = names.said(record.kind, record.cylinder) if record.cylinder else f"{kind} of every cylinder"
        out.line(f"confirmed: {who}, {mass_in(record.grams, unit)}")
    if not records:
        out.line("This reading is confirmed already.")
        return
    out.line(f"Kept in {shown_path(log_name(job))}.")
    tell_next(out, job)
