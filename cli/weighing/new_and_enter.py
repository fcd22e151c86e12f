"""The machinist's bench: a new job, and a weigh sheet entered into it."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput, Fault, shown, shown_path
from truethrow.balance.log.place import source_of, to_paste
from truethrow.cli import show
from truethrow.cli.common import LoggedJob, by_whom


def _layout_names(incomplete: str) -> list[str]:
    from truethrow.balance.engine.layout import GENERIC  # noqa: PLC0415

    return [name for name in GENERIC if name.startswith(incomplete)]


def new(
    layout: Annotated[
        str,
        typer.Argument(help="A layout's name; truethrow layouts lists them.", autocompletion=_layout_names),
    ] = "",
    job: Annotated[Path | None, typer.Argument(metavar="JOB", help="File to write; without it, printed.")] = None,
    sheet: Annotated[
        Path | None, typer.Option("--sheet", "-s", metavar="SHEET", help="A blank weigh sheet to write too.")
    ] = None,
    like: Annotated[
        str, typer.Option("--like", metavar="OTHER", help="Like another job, file or id, instead of a layout.")
    ] = "",
    new_parts: Annotated[
        list[str] | None,
        typer.Option("--new", metavar="KINDS", help="With --like: what is new, such as pistons,pins; or all."),
    ] = None,
) -> None:
    """Make a new job with blanks to fill in.

    --like takes over from another job what is still true: engine, scale, limits, the crank's metal, the parts that
    are kept as they weigh and sit now. What is --new is left blank, and nothing of the log goes along.

    \b
    truethrow new inline-3
    truethrow new v8-90-crossplane my.toml --sheet weigh.csv
    truethrow new --like launch.toml again.toml --new pistons,pins
    """
    from truethrow.balance.base import files  # noqa: PLC0415
    from truethrow.balance.engine.layout import GENERIC, closest  # noqa: PLC0415
    from truethrow.balance.job import blank  # noqa: PLC0415

    if like or new_parts:
        _new_like(like, layout, job, sheet, new_parts or [])
        return
    if layout not in GENERIC:
        wrong = f"{shown(layout)!r} is not known{closest(layout)}"
        raise BadInput([Fault("layout", wrong, ", ".join(GENERIC))])
    paths = [path for path in (job, sheet) if path is not None and str(path) != "-"]
    # A log that stands there is another engine's: its readings would count for the new job.
    logs = [log_path(job)] if job is not None and str(job) != "-" else []
    files.must_not_stand([*paths, *logs])
    if job is None or str(job) == "-":
        sys.stdout.write(blank.job(layout))
    else:
        files.create_text(job, blank.job(layout))
    if sheet is not None:
        files.create_text(sheet, blank.sheet(layout))
    for path in (path for path in (job, sheet) if path is not None and str(path) != "-"):
        show.Screen().line(f"Written: {shown_path(path)}")


def _new_like(like: str, target: str, job: Path | None, sheet: Path | None, new_parts: list[str]) -> None:
    """A job like another into a file, which stands in the layout's place on the command line."""
    from truethrow.balance.base import files  # noqa: PLC0415
    from truethrow.balance.job import like as another  # noqa: PLC0415
    from truethrow.cli.common import job_named  # noqa: PLC0415

    if not like:
        raise BadInput([Fault("--new", "goes with --like only", "--like OTHER --new KINDS")])
    if not target or job is not None or sheet is not None:
        raise BadInput([Fault("JOB", "one file to write, no layout and no --sheet", "--like OTHER NEW.toml")])
    path, new = Path(target), another.new_kinds(new_parts)
    files.must_not_stand([path, log_path(path)])
    made = another.like(job_named(like), path.stem, new)
    files.create_text(path, made.text)
    out = show.Screen()
    out.line(f"Written: {shown_path(path)}")
    for note in made.notes:
        out.line(f"- {note}")


def enter(
    job: LoggedJob,
    sheet: Annotated[Path, typer.Argument(metavar="SHEET", help="Weigh sheet (CSV), or - to paste one.")],
    by: Annotated[str, by_whom("Who enters it, which the book keeps.")] = "",
) -> None:
    """Enter a weigh sheet into a job.

    Readings fill blanks; nothing that stands there is written over.

    \b
    truethrow enter my.toml weigh.csv
    truethrow enter my.toml -           paste from a spreadsheet, then Ctrl-D
    """
    from truethrow.balance.job.enter import enter as enter_sheet  # noqa: PLC0415
    from truethrow.worksheets.words.bench_words import entered  # noqa: PLC0415

    out = show.Screen()
    for line in entered(enter_sheet(job, sheet, by), shown_path(source_of(job)), to_paste(job)):
        out.line(line)
