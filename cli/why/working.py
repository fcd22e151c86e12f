"""A figure as a hand works it, with the job's own numbers."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from truethrow.balance.base.errors import BadInput, Fault
from truethrow.cli import page_out, show
from truethrow.cli.common import Job, Json, ProfileIfAny, Sheet, Show, check_show, tell_way_on, worked

if TYPE_CHECKING:
    from truethrow.balance.base.files import KeptText
    from truethrow.balance.job.job import Job as OneJob
    from truethrow.worksheets.words.worked_lines import Working


def working(
    job: Job,
    figure: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="FIGURE",
            help="Such as bobweight 1, hang, plane front, spread piston, verdict piston, hole 1, sum front; "
            "without, a list.",
        ),
    ] = None,
    sheet: Sheet = None,
    station: ProfileIfAny = None,
    out: page_out.Out = None,
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Show how a figure is worked out, line by line.

    As a hand does it, with this job's numbers: each reading with where it comes from (record of the log, weigh
    sheet, job file), each formula with its source. Of a job at the station also a hole, planned or done, with the
    wall beside it, and the sum that is signed, plane by plane; both are worked from the job's log.

    \b
    truethrow working my.toml
    truethrow working my.toml bobweight 1
    truethrow working my.toml plane front --json
    truethrow working my.toml hole 1 --station station.toml
    truethrow working my.toml sum front --out sum.pdf
    """
    page_out.check_endings(out)
    asked = " ".join(figure or ())
    if not asked:
        if out is not None:
            raise BadInput([Fault("--out", "which figure? without one there is only the list", "a FIGURE, too")])
        _list(job, sheet, station, show_in, json)
        return
    whose, made = _made(job, asked, sheet, station, show_in)
    if out is not None:
        from truethrow.worksheets.pages.working_page import working_page  # noqa: PLC0415

        page_out.write(lambda day: working_page(whose, made, day), out, quiet=json)
    if json:
        show.as_json({"job": whose.id, "working": made.as_data()})
        return
    from truethrow.worksheets.words import worked_lines  # noqa: PLC0415

    screen = show.Screen()
    screen.line(f"Job {whose.id}: {made.of}")
    for reason in made.against:
        screen.line(f"! {reason}", strong=True)
    screen.line()
    for line in made.lines:
        screen.line(str(line))
    screen.line()
    if made.said:
        screen.line(f"{made.said}.")
    screen.line(worked_lines.MORE_SAID)
    for caution in made.cautions:
        screen.line(f"! {caution}")
    tell_way_on(screen, job)


def _made(
    job: Job, asked: str, sheet: Path | None, station: Path | KeptText | None, show_in: str | None
) -> tuple[OneJob, Working]:
    """Whose it is, and the working. A hole and a sum are of the log and the station, to which no sheet adds."""
    from truethrow.balance.log.place import to_paste  # noqa: PLC0415
    from truethrow.worksheets.shown.display import Display  # noqa: PLC0415
    from truethrow.worksheets.words import station_working_words, working_words  # noqa: PLC0415

    if working_words.plain(asked).split(" ")[0] not in station_working_words.KINDS:
        result = worked(job, sheet, show_in)
        return result.job, working_words.working(result, asked, Display.of(result.job, show_in))
    from truethrow.balance.station import balancing  # noqa: PLC0415
    from truethrow.cli.station.which_station import look_up  # noqa: PLC0415

    check_show(show_in)
    if sheet is not None:
        wrong = "can't be combined with hole or sum, which are worked from the job's log"
        record = f"truethrow enter {to_paste(job)} {shlex.quote(str(sheet))}"
        raise BadInput([Fault("--sheet", wrong, remedy=f"record it first: {record}")])
    state = balancing.load(job, look_up(job) if station is None else station)
    return state.job, station_working_words.working(state, asked, Display.of(state.job, show_in))


def _list(job: Job, sheet: Path | None, station: Path | KeptText | None, show_in: str | None, json: bool) -> None:
    """Each figure, ready to paste; those of the station where its profile is named or found, and it has spun."""
    from truethrow.balance.log.place import to_paste  # noqa: PLC0415
    from truethrow.worksheets.words import working_words  # noqa: PLC0415

    result = worked(job, sheet, show_in)
    named = [*working_words.names(result), *_at_station(job, station)]
    if json:
        show.as_json({"figures": named})
        return
    out = show.Screen()
    out.line("Figures whose working can be shown:")
    for name in named:
        out.line(f"  truethrow working {to_paste(job)} {name}")


def _at_station(job: Job, station: Path | KeptText | None) -> list[str]:
    from truethrow.balance.log.place import has_log  # noqa: PLC0415

    if station is None and not has_log(job):
        return []
    from truethrow.balance.station import balancing  # noqa: PLC0415
    from truethrow.cli.profiles import found_for  # noqa: PLC0415
    from truethrow.worksheets.words import station_working_words  # noqa: PLC0415

    if station is None:
        if (found := found_for(job)) is None:
            return []
        station, _ = found
    return station_working_words.names(balancing.load(job, station))
