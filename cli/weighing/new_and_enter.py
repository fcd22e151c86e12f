"""The machinist's bench: a new job, and a weigh sheet entered into it."""

from __future__ import annotations

import datetime
import secrets
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput, Fault, shown, shown_path
from truethrow.balance.log.place import Place, source_of, to_paste
from truethrow.cli import asking, show
from truethrow.cli.common import LoggedJob, by_whom, tell_marked_twice, tell_next

if TYPE_CHECKING:
    from truethrow.balance.job.blank import Wanted


def layout_names(incomplete: str) -> list[str]:
    from truethrow.balance.engine.layout import GENERIC  # noqa: PLC0415

    return [name for name in GENERIC if name.startswith(incomplete)]


MassUnit = Annotated[
    str,
    typer.Option("--unit", metavar="UNIT", help="Of a bare mass: g (if nothing else is set), kg, oz or lb."),
]
ScaleStep = Annotated[str, typer.Option("--step", metavar="MASS", help="The scale's step; 0.1 g if not said.")]
Id = Annotated[
    str, typer.Option("--id", metavar="ID", help="The job's number or name; made if not said, one of its own.")
]


def new(
    layout: Annotated[
        str,
        typer.Argument(help="A layout's name; truethrow layouts lists them.", autocompletion=layout_names),
    ] = "",
    job: Annotated[Path | None, typer.Argument(metavar="JOB", help="File to write; without it, printed.")] = None,
    sheet: Annotated[
        Path | None, typer.Option("--sheet", "-s", metavar="SHEET", help="A blank weigh sheet to write too.")
    ] = None,
    job_id: Id = "",
    title: Annotated[str, typer.Option("--title", metavar="WORDS", help="What it is.")] = "",
    unit: Annotated[
        str,
        typer.Option("--unit", metavar="UNIT", help="Of a bare mass: g (if nothing else is set), kg, oz or lb."),
    ] = "",
    length_unit: Annotated[
        str,
        typer.Option("--length-unit", metavar="UNIT", help="Of a bare length: mm (if nothing else is set), in."),
    ] = "",
    step: ScaleStep = "",
    stroke: Annotated[str, typer.Option("--stroke", metavar="LENGTH", help="If it is known.")] = "",
    spacing: Annotated[
        str, typer.Option("--spacing", metavar="LENGTH", help="From throw to throw, if known.")
    ] = "",
    rod_length: Annotated[
        str, typer.Option("--rod-length", metavar="LENGTH", help="Center to center, if it is known.")
    ] = "",
    every_key: Annotated[
        bool, typer.Option("--every-key", help="With all that a job file may say, as comments.")
    ] = False,
    like: Annotated[
        str, typer.Option("--like", metavar="OTHER", help="Like another job, file or id, instead of a layout.")
    ] = "",
    new_parts: Annotated[
        list[str] | None,
        typer.Option("--new", metavar="KINDS", help="With --like: what is new, such as pistons,pins; or all."),
    ] = None,
) -> None:
    """Make a new job with blanks to fill in.

    At a terminal it asks for what it needs, if no layout or no file is named. Bobweights and spreads need no
    length; whatever needs one says so.

    --like takes over from another job what is still true: engine, scale, limits, the crank's metal, the parts that
    are kept as they weigh and sit now. What is --new is left blank, and nothing of the log goes along.

    \b
    truethrow new
    truethrow new v8-90-crossplane my.toml --sheet weigh.csv
    truethrow new v8-90-crossplane my.toml --id 2217 --stroke "3 3/4 in" \\
      --step 0.5
    truethrow new --like launch.toml again.toml --new pistons,pins
    """
    from truethrow.balance.job.blank import Wanted  # noqa: PLC0415

    if like or new_parts:
        _new_like(like, layout, job, sheet, new_parts or [], job_id)
        return
    lengths = {"stroke": stroke, "cylinder_spacing": spacing, "rod_length": rod_length}
    unit, length_unit = unit or set_or("mass_unit", "g"), length_unit or set_or("length_unit", "mm")
    wanted = Wanted(layout, job_id, title, unit, length_unit, step or "0.1 g", lengths)
    if asking.can_ask() and (not layout or job is None):
        wanted, job = _asked(wanted, job)
    else:
        wanted = wanted._replace(layout=asking.layout(layout), id=job_id or made_id(job, asks=False))
    write_job(job, wanted, sheet, every_key=every_key)
    out = show.Screen()
    for path in (path for path in (job, sheet) if path is not None and str(path) != "-"):
        out.line(f"Written: {shown_path(path)}")
    if job is None or str(job) == "-":
        return
    tell_next(out, job)
    if sheet is not None:
        by_sheet = f"truethrow enter {to_paste(job)} {to_paste(sheet)}"
        out.line(f"Next: or type the readings into {shown_path(sheet)}, and enter it: {by_sheet}", strong=True)


def set_or(key: str, usual: str) -> str:
    from truethrow.balance.base.settings import setting  # noqa: PLC0415

    found = setting(key)
    return found.value if found else usual


def _asked(wanted: Wanted, job: Path | None) -> tuple[Wanted, Path]:
    """What a new job is to say, and its file, asked for at the terminal."""

    def answered(now: Wanted, question: str, key: str, default: str) -> Wanted:
        def said(typed: str) -> Wanted:
            changed = {"lengths": {**now.lengths, key: typed}} if key in now.lengths else {key: typed}
            return now._replace(**changed)

        def check(typed: str) -> str:
            check_wanted(said(typed))
            return typed

        return said(asking.ask(question, check, default))

    layout = wanted.layout or asking.ask("Layout (list: truethrow layouts)", asking.layout, "v8-90-crossplane")
    made = wanted._replace(layout=layout, id=wanted.id or "new")
    made = answered(made, "The scale's step", "step", made.step)
    made = answered(made, "Weights in", "mass_unit", made.mass_unit)
    made = answered(made, "Lengths in", "length_unit", made.length_unit)
    for name, said in LENGTHS_ASKED.items():
        if not made.lengths[name] and (name != "cylinder_spacing" or has_several_throws(layout)):
            made = answered(made, f"{said} (Enter: not known)", name, "")
    path = job or Path(asking.ask("File to write", _free, "my.toml"))
    return made._replace(id=wanted.id or made_id(path, asks=True)), path


LENGTHS_ASKED = {
    "stroke": "Stroke",
    "cylinder_spacing": "Cylinder spacing, throw to throw",
    "rod_length": "Rod length, center to center",
}


def has_several_throws(layout: str) -> bool:
    from truethrow.balance.engine.layout import GENERIC  # noqa: PLC0415

    return len(GENERIC[layout].throw_angles_deg) > 1


def _free(typed: str) -> str:
    from truethrow.balance.base import files  # noqa: PLC0415

    path = Path(typed)
    files.must_not_stand([path, log_path(path)])
    return typed


def check_wanted(wanted: Wanted) -> None:
    """Raise BadInput for whatever a new job could not say, in the words of the options."""
    from truethrow.balance.job import blank  # noqa: PLC0415
    from truethrow.balance.job.document import CALLABLE, not_callable  # noqa: PLC0415
    from truethrow.balance.job.job import build  # noqa: PLC0415

    try:
        build(blank.job(wanted), partly=True)
    except BadInput as error:
        names = {"job, id": "--id", "job, title": "--title", "job, mass_unit": "--unit"}
        names |= {"job, length_unit": "--length-unit", "scale, resolution": "--step"}
        names |= {"engine, stroke": "--stroke", "engine, cylinder_spacing": "--spacing"}
        raise asking.in_options(error, names | {"engine, rod_length": "--rod-length"}) from None
    if wrong := not_callable(wanted.id):
        raise BadInput([Fault("--id", f"{shown(wanted.id)!r} {wrong}", CALLABLE)])


def made_id(path: Path | None, *, asks: bool) -> str:
    """The id of a new job: asked for at a terminal, else made so that no other job has it."""
    from truethrow.balance.job.blank import LETTERS, new_id  # noqa: PLC0415

    stem = "job" if path is None or str(path) == "-" else path.stem
    letters = "".join(secrets.choice(LETTERS) for _ in range(4))
    made = new_id(stem, datetime.datetime.now().astimezone().date(), letters)
    return asking.ask("The job's number or name, one of its own", _callable, made) if asks else made


def _callable(typed: str) -> str:
    from truethrow.balance.job.blank import Wanted  # noqa: PLC0415

    check_wanted(Wanted("inline-1", typed))
    return typed


def write_job(job: Path | None, wanted: Wanted, sheet: Path | None, *, every_key: bool = False) -> None:
    """Write a new job, or print it, and a blank weigh sheet. Raises BadInput for a file that is there already,
    and for what a job cannot say."""
    from truethrow.balance.base import files  # noqa: PLC0415
    from truethrow.balance.job import blank  # noqa: PLC0415

    check_wanted(wanted)
    text = blank.job(wanted, every_key=every_key)
    paths = [path for path in (job, sheet) if path is not None and str(path) != "-"]
    # A log that is there is another engine's: its readings would count for the new job.
    logs = [log_path(job)] if job is not None and str(job) != "-" else []
    files.must_not_stand([*paths, *logs])
    if job is None or str(job) == "-":
        sys.stdout.write(text)
    else:
        files.create_text(job, text)
    if sheet is not None:
        files.create_text(sheet, blank.sheet(wanted.layout, wanted.mass_unit))


def _new_like(
    like: str, target: str, job: Path | None, sheet: Path | None, new_parts: list[str], job_id: str
) -> None:
    """A job like another into a file, which stands in the layout's place on the command line."""
    from truethrow.balance.base import files  # noqa: PLC0415
    from truethrow.balance.job import like as another  # noqa: PLC0415
    from truethrow.cli.common import job_named  # noqa: PLC0415

    if not like:
        raise BadInput([Fault("--new", "goes with --like only", remedy="such as --like OTHER --new KINDS")])
    if not target or job is not None or sheet is not None:
        way = "such as --like OTHER --new pistons NEW.toml"
        raise BadInput([Fault("JOB", "one file to write, no layout and no --sheet", remedy=way)])
    path, new = Path(target), another.new_kinds(new_parts)
    files.must_not_stand([path, log_path(path)])
    made = another.like(job_named(like), job_id or made_id(path, asks=False), new)
    files.create_text(path, made.text)
    out = show.Screen()
    out.line(f"Written: {shown_path(path)}")
    for note in made.notes:
        out.line(f"- {note}")
    tell_next(out, path)


def enter(
    job: LoggedJob,
    sheet: Annotated[Path, typer.Argument(metavar="SHEET", help="Weigh sheet (CSV), or - to paste one.")],
    by: Annotated[str, by_whom("Who enters it, which the book keeps.")] = "",
) -> None:
    """Enter a weigh sheet into a job.

    Readings fill blanks; no reading is written over.

    Type it in any program: point or comma, columns in any order, a row a cylinder, a row a reading, or the
    cylinders across. Heads as people write them (#, Hole, Pin End, Big), fractions, 1 lb 5.59 oz and several
    readings in one cell are read; what can be read in two ways is asked back in one line. To enter a second
    reading of a part, add the column or row again. What one reading says for all cylinders (rings, locks,
    bearings out of one box) goes into [every_cylinder] of the job.

    \b
    truethrow enter my.toml weigh.csv
    truethrow enter my.toml -           paste from a spreadsheet, then Ctrl-D
    """
    from truethrow.balance.job.enter import enter as enter_sheet  # noqa: PLC0415
    from truethrow.worksheets.words.bench_words import entered  # noqa: PLC0415

    out = show.Screen()
    found = enter_sheet(job, sheet, by)
    for line in (*found.notes, *entered(found, shown_path(source_of(job)), to_paste(job))):
        out.line(line)
    for line in _off_boxes(job):
        out.line(f"! {line}", strong=True)
    tell_marked_twice(out, job)
    tell_next(out, job)


def _off_boxes(job: Place) -> list[str]:
    """What was weighed and is none of the box that [estimate] tells of; what else is wrong with the job is told as
    what comes next."""
    from truethrow.balance.job.job import load  # noqa: PLC0415
    from truethrow.worksheets.shown.display import Display  # noqa: PLC0415
    from truethrow.worksheets.words.result_words import off_boxes  # noqa: PLC0415

    try:
        made = load(job, partly=True, given=True)
    except BadInput:
        return []
    return off_boxes(made, Display.of(made))
