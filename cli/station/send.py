"""The station's bench: its sheet written, and an old sheet told from the current one."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from truethrow.balance.base.errors import BadInput, Fault, NotSaved, shown, shown_path
from truethrow.balance.log.place import Outgoing, Place, is_standard_input, issuing, output_path, to_paste
from truethrow.cli import show
from truethrow.cli.common import Job, Sheet, by_whom, end, tell_next, tell_way_on, worked

if TYPE_CHECKING:
    from truethrow.balance.result.work import Result

ENDING = "-station.csv"
Out = Annotated[
    Path | None,
    typer.Option("--out", "-o", metavar="FILE", help=f"The station's sheet; the job's name with {ENDING}."),
]
By = Annotated[str, by_whom("Who issues it, which the book keeps.")]


def send(job: Job, sheet: Sheet = None, out: Out = None, by: By = "") -> None:
    """Write the balancing station's sheet (CSV).

    \b
    truethrow send my.toml
    truethrow send my.toml --out - | column -s, -t
    """
    from truethrow.worksheets.words.result_words import slips_beside  # noqa: PLC0415

    result = worked(job, sheet)
    if str(out) == "-":
        from truethrow.worksheets.data import station_sheet  # noqa: PLC0415

        sys.stdout.write(station_sheet.to_csv(station_sheet.rows(result)))
    else:
        written = send_sheet(job, result, out or output_path(job, ENDING), by)
        show.Screen().line(f"Written: {shown_path(written)}")
    if said := slips_beside(result):
        # Beside the sheet, not in it: a pipe gets the sheet alone.
        (sys.stderr if str(out) == "-" else sys.stdout).write(f"! {said}\n")
    if str(out) != "-":
        tell_next(show.Screen(), job, result)
    end(result, quiet=str(out) == "-")


def compare(
    sent_sheet: Annotated[Path, typer.Argument(metavar="STATION_SHEET", help="A sheet that was sent.")],
    job: Job,
    sheet: Sheet = None,
) -> None:
    """Check whether a station sheet is still current.

    Status 0 for the job's current sheet, 1 for any other.

    \b
    truethrow compare my-station.csv my.toml
    """
    from truethrow.balance.base import files  # noqa: PLC0415
    from truethrow.worksheets.data import station_sheet  # noqa: PLC0415

    sent = station_sheet.from_csv(files.read_text(sent_sheet), str(sent_sheet))
    result = worked(job, sheet)
    current = station_sheet.rows(result)
    out = show.Screen()
    if sent == current:
        out.line(f"Current: digest {result.job.digest}.")
        tell_way_on(out, job)
        raise typer.Exit(show.FINE)
    if sent[0].job_id != result.job.id:
        out.line(f"Another job's sheet: {shown(sent[0].job_id)}, not {result.job.id}. Do not hang from it.")
    elif {row.digest for row in sent} != {result.job.digest}:
        out.line(f"Old sheet: {shown(sent[0].digest)}; the job is at {result.job.digest}. Do not hang from it.")
    else:
        out.line("Altered sheet: the digest is the job's, the figures are not. Do not hang from it.")
    if sent[0].job_id == result.job.id and not is_standard_input(job):
        out.line(f"Next: send the sheet as it is by now: truethrow send {to_paste(job)}", strong=True)
    raise typer.Exit(show.OUTSIDE)


def send_sheet(job: Place, result: Result, path: Path, by: str = "") -> Path:
    """Write the station's sheet; a file that is no such sheet is never written over. A book keeps that it went."""
    from truethrow.balance.base import files  # noqa: PLC0415
    from truethrow.worksheets.data import station_sheet  # noqa: PLC0415

    if str(path) == "-":
        raise BadInput([Fault("--out", "only send writes its sheet to standard output", "a file")])
    # os.path asks without raising: a name that no folder takes is left for the writing to refuse.
    if os.path.exists(path) and not station_sheet.is_station_sheet(files.read_text(path)):  # noqa: PTH110
        raise NotSaved("is no station's sheet and is not written over; pick another name", shown_path(path))
    text = station_sheet.to_csv(station_sheet.rows(result))
    with issuing(job, [Outgoing("station sheet", text.encode(), result.job.digest, str(path))], by):
        files.write_text(path, text)
    return path
