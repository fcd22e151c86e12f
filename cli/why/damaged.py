"""Every bench: the damaged lines of a job's log, and what became of them."""

from __future__ import annotations

from typing import Annotated

import typer

from truethrow.balance.base.errors import BadInput, Fault, shown_path
from truethrow.balance.log.place import again, log_name, must_have_a_log, open_log
from truethrow.cli import show
from truethrow.cli.common import NOT_NAMED, Json, LoggedJob, ToldJob, by_who_answers, for_why


def damaged(job: ToldJob = NOT_NAMED, json: Json = False) -> None:
    """List the damaged lines of a job's log.

    With what can still be read of each.

    Status 1 while one waits for somebody to say what became of it: until then nothing is ordered, sent, printed
    or signed.

    \b
    truethrow damaged my.toml
    """
    from truethrow.balance.job.jobfile import told_in_at  # noqa: PLC0415
    from truethrow.balance.log.damage import acknowledged  # noqa: PLC0415
    from truethrow.balance.log.records import Damaged  # noqa: PLC0415
    from truethrow.worksheets.data import damage_data  # noqa: PLC0415
    from truethrow.worksheets.words import damage_words as words  # noqa: PLC0415

    must_have_a_log(job)
    log = open_log(job, damaged=True)
    settled = acknowledged(log.records)
    lines = [record for record in log.records if isinstance(record, Damaged)]
    waiting = [line for line in lines if line.id not in settled]
    if json:
        show.as_json({"lines": [damage_data.as_data(line, settled.get(line.id)) for line in lines]})
        raise typer.Exit(show.OUTSIDE if waiting else show.FINE)
    out, told_in = show.Screen(), told_in_at(job)
    for line in lines:
        out.line(f"{log.unit} {line.number}: {words.reads(line, told_in)}", strong=line in waiting)
        if line in waiting:
            for way in words.ways(line, again(job)):
                out.line(f"  {way}")
        else:
            own = settled[line.id]
            out.line(f"  acknowledged: {own.became}, {own.why}{f' ({own.by})' if own.by else ''}")
    if waiting:
        name = shown_path(log_name(job))
        out.line(f"DAMAGED: {len(waiting)} not acknowledged in {name}", strong=True)
    else:
        out.line(f"Nothing is damaged that was not acknowledged: {shown_path(log_name(job))}")
    raise typer.Exit(show.OUTSIDE if waiting else show.FINE)


def acknowledge(
    job: LoggedJob,
    number: Annotated[int, typer.Argument(metavar="LINE", help="Its number; truethrow damaged tells it.")],
    entered_again: Annotated[
        bool, typer.Option("--entered-again", help="It was done: it counts again, or is entered again.")
    ] = False,
    never_happened: Annotated[bool, typer.Option("--never-happened", help="It was never done.")] = False,
    figures: Annotated[
        str,
        typer.Option("--figures", metavar="FIGURES", help="Of a cut, a hole or parts that moved, off the card."),
    ] = "",
    why: Annotated[str, for_why("How you know, for the log.")] = "",
    by: Annotated[str, by_who_answers("Who says so; always typed.")] = "",
) -> None:
    """Record what became of a damaged line of the log.

    A cut, a hole, a spin or an accepted match was either done (--entered-again; look at the card or the crank)
    or never done (--never-happened); for any other line --why is enough. The damaged line is left as it is. The
    part it was about is weighed again next, the crank spun again: nothing is ordered or signed before that. Where
    the line can't be read any more, --figures gives what was done: cut CYLINDER PAD GRAMS, hole KIND FIGURES as
    truethrow history tells them, or trade MOVES; of anything else what it was, such as read or spin, which you
    then enter by its own command.

    \b
    truethrow acknowledge my.toml 14 --entered-again \\
      --why "hole is in the crank" --by AB
    truethrow acknowledge my.toml 14 --entered-again \\
      --figures "cut 3 big_end 2.4" --why "trim card" --by AB
    truethrow acknowledge my.toml 9 --why "will be weighed again" --by AB
    """
    from truethrow.balance.job.jobfile import told_in_at  # noqa: PLC0415
    from truethrow.balance.log import damage  # noqa: PLC0415
    from truethrow.balance.log.records import Damaged  # noqa: PLC0415
    from truethrow.balance.station import lost_lines  # noqa: PLC0415
    from truethrow.worksheets.words import damage_words as words  # noqa: PLC0415

    if entered_again and never_happened:
        raise BadInput([Fault("--entered-again", "can't be combined with --never-happened")])
    way: damage.Way = damage.AGAIN if entered_again else damage.NEVER if never_happened else damage.NOTED
    made, _ = lost_lines.acknowledge(job, number, way, why, figures, by)
    log = open_log(job, damaged=True)
    line = next(one for one in log.records if isinstance(one, Damaged) and one.id == made.line)
    out = show.Screen()
    out.line(f"Acknowledged: {log.unit} {line.number}, {way}.")
    for step in words.next_steps(log.records, line, way, again(job), told_in_at(job)):
        out.line(f"- {step}")
