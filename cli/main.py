"""The truethrow command. Each command imports what it needs when it runs: start-up is a feature."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from truethrow.balance.errors import BadInput, Fault, NotSaved, shown, shown_path
from truethrow.cli import show

if TYPE_CHECKING:
    from truethrow.balance.work import Result

app = typer.Typer(
    name="truethrow",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
    help="""Make a rotating assembly run true: from the weighed parts to the bobweights, the spreads, the trim
    and the balancing station's sheet.

    \b
    truethrow demo                              the whole job on the demo engine, no file needed
    truethrow new v8-90-crossplane my.toml      a job file with blanks to fill in
    truethrow work my.toml --sheet weigh.csv    the whole job on yours

    Exit status: 0 fine, 1 something is outside its limit or looks like a slip, 2 bad input.""",
)

Job = Annotated[Path, typer.Argument(metavar="JOB", help="Job file (TOML), or - for standard input.")]
Sheet = Annotated[
    Path | None,
    typer.Option("--sheet", "-s", metavar="SHEET", help="Weigh sheet (CSV) with the readings, or -."),
]
Json = Annotated[bool, typer.Option("--json", help="Print plain data for machines, in g, mm and degrees.")]
Show = Annotated[
    str | None,
    typer.Option("--show", metavar="metric|inch", help="Show in these units instead of the job's own."),
]
Out = Annotated[
    Path | None,
    typer.Option("--out", "-o", metavar="FILE", help="The station's sheet; the job's name with -station.csv."),
]


def _layout_names(incomplete: str) -> list[str]:
    from truethrow.balance.layout import GENERIC  # noqa: PLC0415

    return [name for name in GENERIC if name.startswith(incomplete)]


@app.command()
def work(job: Job, sheet: Sheet = None, out: Out = None, show_in: Show = None, json: Json = False) -> None:
    """Work a whole job and write the station's sheet.

    Bobweights and what to hang, spreads against their limits, readings to look at again, and the trim.

    \b
    truethrow work my.toml
    truethrow work my.toml --sheet weigh.csv --show inch
    truethrow work my.toml --json > my.json
    """
    result = _worked(job, sheet, show_in)
    written = _send(result, out or _station_path(job))
    _tell(result, ("head", "bobweights", "spreads", "slips", "trim"), show_in, json, written)
    raise typer.Exit(_status(result))


@app.command()
def hang(job: Job, sheet: Sheet = None, show_in: Show = None, json: Json = False) -> None:
    """Show the bobweights and what to hang.

    With what that leaves as unbalance in the station's two planes.

    \b
    truethrow hang my.toml
    """
    result = _worked(job, sheet, show_in)
    _tell(result, ("head", "bobweights"), show_in, json)
    raise typer.Exit(_status(result))


@app.command()
def check(job: Job, sheet: Sheet = None, show_in: Show = None, json: Json = False) -> None:
    """Check spreads and readings.

    Each spread against its limit, and every reading that looks like a slip.

    \b
    truethrow check my.toml --sheet weigh.csv
    """
    result = _worked(job, sheet, show_in)
    _tell(result, ("head", "spreads", "slips"), show_in, json)
    raise typer.Exit(_status(result))


@app.command()
def trim(job: Job, sheet: Sheet = None, show_in: Show = None, json: Json = False) -> None:
    """Say what to take off which part, and where.

    With what the scale should read afterwards.

    \b
    truethrow trim my.toml
    """
    result = _worked(job, sheet, show_in)
    _tell(result, ("head", "trim"), show_in, json)
    raise typer.Exit(_status(result))


@app.command()
def send(job: Job, sheet: Sheet = None, out: Out = None) -> None:
    """Write the balancing station's sheet (CSV).

    \b
    truethrow send my.toml
    truethrow send my.toml --out - | column -s, -t
    """
    result = _worked(job, sheet)
    if str(out) == "-":
        from truethrow.worksheets import station  # noqa: PLC0415

        sys.stdout.write(station.to_csv(station.rows(result)))
    else:
        show.Screen().line(f"Written: {shown_path(_send(result, out or _station_path(job)))}")
    raise typer.Exit(_status(result))


@app.command()
def compare(
    station_sheet: Annotated[Path, typer.Argument(metavar="STATION_SHEET", help="A sheet that was sent.")],
    job: Job,
    sheet: Sheet = None,
) -> None:
    """Tell an old station's sheet from a current one.

    Status 0 for the job's current sheet, 1 for any other.

    \b
    truethrow compare my-station.csv my.toml
    """
    from truethrow.balance import files  # noqa: PLC0415
    from truethrow.worksheets import station  # noqa: PLC0415

    sent = station.from_csv(files.read_text(station_sheet), str(station_sheet))
    result = _worked(job, sheet)
    current = station.rows(result)
    out = show.Screen()
    if sent == current:
        out.line(f"Current: digest {result.job.digest}.")
        raise typer.Exit(show.FINE)
    if sent[0].job_id != result.job.id:
        out.line(f"Another job's sheet: {shown(sent[0].job_id)}, not {result.job.id}. Do not hang from it.")
    elif {row.digest for row in sent} != {result.job.digest}:
        out.line(f"Old sheet: {shown(sent[0].digest)}; the job is at {result.job.digest}. Do not hang from it.")
    else:
        out.line("Altered sheet: the digest is the job's, the figures are not. Do not hang from it.")
    raise typer.Exit(show.OUTSIDE)


@app.command()
def new(
    layout: Annotated[
        str,
        typer.Argument(help="A layout's name; truethrow layouts lists them.", autocompletion=_layout_names),
    ],
    job: Annotated[Path | None, typer.Argument(metavar="JOB", help="File to write; without it, printed.")] = None,
    sheet: Annotated[
        Path | None, typer.Option("--sheet", "-s", metavar="SHEET", help="A blank weigh sheet to write too.")
    ] = None,
) -> None:
    """Make a new job with blanks to fill in.

    \b
    truethrow new inline-3
    truethrow new v8-90-crossplane my.toml --sheet weigh.csv
    """
    from truethrow.balance import blank, files  # noqa: PLC0415
    from truethrow.balance.layout import GENERIC, closest  # noqa: PLC0415

    if layout not in GENERIC:
        found = f"{shown(layout)!r} is not known{closest(layout)}"
        raise BadInput([Fault("layout", found, ", ".join(GENERIC))])
    if job is None or str(job) == "-":
        sys.stdout.write(blank.job(layout))
    else:
        files.create_text(job, blank.job(layout))
    if sheet is not None:
        files.create_text(sheet, blank.sheet(layout))
    for path in (path for path in (job, sheet) if path is not None and str(path) != "-"):
        show.Screen().line(f"Written: {shown_path(path)}")


@app.command()
def enter(
    job: Annotated[Path, typer.Argument(metavar="JOB", help="Job file (TOML).")],
    sheet: Annotated[Path, typer.Argument(metavar="SHEET", help="Weigh sheet (CSV), or - to paste one.")],
) -> None:
    """Enter a weigh sheet into a job file.

    Readings fill blanks; nothing that stands there is written over.

    \b
    truethrow enter my.toml weigh.csv
    truethrow enter my.toml -           paste from a spreadsheet, then Ctrl-D
    """
    from truethrow.balance.enter import enter as enter_sheet  # noqa: PLC0415

    count = enter_sheet(job, sheet)
    show.Screen().line(f"{count} new readings entered into {shown_path(job)}")


@app.command()
def layouts(json: Json = False) -> None:
    """List the layouts by name.

    \b
    truethrow layouts
    """
    from truethrow.balance.layout import GENERIC  # noqa: PLC0415

    if json:
        show.as_json({name: generic.description for name, generic in GENERIC.items()})
        return
    show.Screen().table(["layout", "is"], [[n, g.description] for n, g in GENERIC.items()], words=["is"])


@app.command()
def demo(
    into: Annotated[
        Path, typer.Option("--into", metavar="FOLDER", help="Where the demo's files are written.")
    ] = Path("truethrow-demo"),
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Work the demo engine, no file needed.

    Its job file, weigh sheet and station's sheet are left to play with. The demo engine is outside its limits
    on purpose; the status is 0 all the same.

    \b
    truethrow demo
    truethrow demo --into /tmp/launch --show inch
    """
    from truethrow.balance import demo as example  # noqa: PLC0415

    job, sheet = example.copy_into(into)
    result = _worked(job, sheet, show_in)
    written = _send(result, _station_path(job))
    _tell(result, ("head", "bobweights", "spreads", "slips", "trim"), show_in, json, written)
    if not json:
        show.Screen().line(f"Work it again: truethrow work {shown_path(job)} --sheet {shown_path(sheet)}")


def main() -> None:
    """The entry point: every refusal becomes a line a fault on standard error, and status 2."""
    for stream in (sys.stdout, sys.stderr):
        # A terminal that cannot show ± or ° gets a question mark, not a traceback.
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")
    try:
        app()
    except BadInput as error:
        if "--json" in sys.argv:
            show.as_json({"faults": error.lines()})
        _refuse(error.lines())
    except NotSaved as error:
        if "--json" in sys.argv:
            show.as_json({"faults": [str(error)]})
        _refuse([str(error)])


def _refuse(lines: list[str]) -> None:
    sys.stderr.write("".join(f"{text}\n" for text in lines))
    sys.exit(show.BAD_INPUT)


def _worked(job: Path, sheet: Path | None, show_in: str | None = None) -> Result:
    from truethrow.balance.job import load  # noqa: PLC0415
    from truethrow.balance.work import work as work_through  # noqa: PLC0415
    from truethrow.worksheets.display import SHOW  # noqa: PLC0415

    if show_in is not None and show_in not in SHOW:
        raise BadInput([Fault("--show", f"{shown(show_in)!r} is not known", ", ".join(SHOW))])
    if str(job) == "-" and str(sheet) == "-":
        raise BadInput([Fault("--sheet", "standard input is the job already", "a file")])
    return work_through(load(job, sheet))


def _station_path(job: Path) -> Path:
    return Path("station.csv") if str(job) == "-" else job.with_name(f"{job.stem}-station.csv")


def _send(result: Result, path: Path) -> Path:
    """Write the station's sheet; a file that is no such sheet is never written over."""
    from truethrow.balance import files  # noqa: PLC0415
    from truethrow.worksheets import station  # noqa: PLC0415

    if str(path) == "-":
        raise BadInput([Fault("--out", "only send writes its sheet to standard output", "a file")])
    # os.path asks without raising: a name that no folder takes is left for the writing to refuse.
    if os.path.exists(path) and not station.is_station_sheet(files.read_text(path)):  # noqa: PTH110
        raise NotSaved(f"{shown_path(path)}: is no station's sheet and is not written over; choose another name")
    files.write_text(path, station.to_csv(station.rows(result)))
    return path


def _tell(
    result: Result, sections: tuple[str, ...], show_in: str | None, json: bool, written: Path | None = None
) -> None:
    from truethrow.worksheets import report  # noqa: PLC0415

    if json:
        data: dict[str, Any] = report.as_data(result, sections)
        if written is not None:
            data["station_sheet"] = str(written)
        show.as_json(data)
        return
    from truethrow.cli import tables  # noqa: PLC0415
    from truethrow.worksheets.display import Display  # noqa: PLC0415

    out, display = show.Screen(), Display.of(result.job, show_in)
    for section in sections:
        getattr(tables, section)(out, result, display)
    if written is not None:
        out.heading("For the station")
        out.line(f"Written: {shown_path(written)}")
        tables.station_cautions(out)


def _status(result: Result) -> int:
    return show.OUTSIDE if result.outside else show.FINE


if __name__ == "__main__":
    main()
