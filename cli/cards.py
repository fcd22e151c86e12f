"""Every bench: the job's cards for the wall and the customer's folder, and an old card told from a current one."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from truethrow.balance.errors import BadInput, Fault, shown, shown_path
from truethrow.balance.place import issue, output_path, source_of
from truethrow.cli import show
from truethrow.cli.common import Json, LoggedJob, Sheet, Show

if TYPE_CHECKING:
    from truethrow.worksheets.cards.card import Card, Kind

ENDING = "-cards"
PAPER_NAMES = ("a4", "letter")
FIRST_YEAR, LAST_YEAR = 1980, 2999

Profile = Annotated[
    Path | None, typer.Option("--station", metavar="STATION", help="Profile of the balancing station (TOML).")
]


def cards(
    job: LoggedJob,
    sheet: Sheet = None,
    station: Profile = None,
    into: Annotated[
        Path | None, typer.Option("--into", metavar="FOLDER", help=f"Where they go; the job's name with {ENDING}.")
    ] = None,
    paper: Annotated[str, typer.Option("--paper", metavar="a4|letter", help="What they are printed on.")] = "a4",
    only: Annotated[
        list[str] | None,
        typer.Option("--only", metavar="KIND", help="Only this card, such as trim; may stand several times."),
    ] = None,
    date: Annotated[
        str | None, typer.Option("--date", metavar="YYYY-MM-DD", help="The day of issue; today without it.")
    ] = None,
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Print the job's cards: for the bench, the trim, the bobweights, the station, and the sign-off report.

    Each as HTML and PDF; beside them the drawings (SVG), all figures (figures.xlsx, figures.json) and the
    station's sheet. A card that cannot be made yet is named, with the reason. FOLDER holds what was made last
    and nothing else: a folder with other files in it is refused.

    \b
    truethrow cards my.toml --station station.toml
    truethrow cards my.toml --sheet weigh.csv --paper letter --show inch
    truethrow cards my.toml --only bench --into /tmp/bench
    """
    folder = into or output_path(job, ENDING)
    made, not_made, data = print_cards(
        job, folder, sheet=sheet, station=station, paper=paper, only=only or (), date=date, show_in=show_in
    )
    if json:
        show.as_json(data)
        return
    out = show.Screen()
    for card in made:
        out.line(f"{card.kind} card: {shown_path(folder / card.kind)}.pdf and .html, digest {card.digest}")
    for kind, why in not_made.items():
        out.line(f"No {kind} card: {why}.")
    out.line(f"Written: {len(data['written'])} files in {shown_path(folder)}")


def current(
    code: Annotated[
        str, typer.Argument(metavar="CODE", help="The text of a card's QR code, printed in its head.")
    ],
    job: LoggedJob,
    sheet: Sheet = None,
    station: Profile = None,
) -> None:
    """Tell an old card from the current one, by its code.

    A card is old as soon as a figure of it has changed: after a reading, a cut, a spin, another limit. Status 0
    for the current card, 1 for any other.

    \b
    truethrow current truethrow:launch-7:bobweight:1f6e0d2c9a40:88c1f02b6e my.toml
    """
    from truethrow.worksheets.cards.code import parse  # noqa: PLC0415
    from truethrow.worksheets.cards.known import load  # noqa: PLC0415
    from truethrow.worksheets.cards.make import cards as make_cards  # noqa: PLC0415

    # A long code is broken where it stands on paper.
    read = parse("".join(code.replace("\N{ZERO WIDTH SPACE}", "").split()))
    if read.station and station is None:
        raise BadInput([Fault("--station", "missing", "the profile: this card was made with one")])
    known = load(job, sheet, station if read.station else None)
    made, not_made = make_cards(known, known.display(), _today())
    out = show.Screen()
    if read.job_id != known.bench.id:
        out.line(f"Another job's card: {shown(read.job_id)}, not {known.bench.id}. Do not work from it.")
        raise typer.Exit(show.OUTSIDE)
    now = next((card for card in made if card.kind == read.kind), None)
    if now is None:
        changed = f"it cannot be made by now: {not_made.get(read.kind, 'this job has none')}"
    elif read.job_digest != now.job_digest:
        changed = f"made from other readings ({shown(read.job_digest)}; the job is at {now.job_digest})"
    elif read.digest != now.digest:
        changed = f"the same readings, but its figures have changed since ({shown(read.digest)}; now {now.digest})"
    else:
        out.line(f"Current: {read.kind} card of {known.bench.id}, digest {now.digest}.")
        raise typer.Exit(show.FINE)
    out.line(f"Old {read.kind} card: {changed}. Do not work from it.")
    raise typer.Exit(show.OUTSIDE)


def print_cards(
    job: LoggedJob,
    folder: Path,
    *,
    sheet: Path | None = None,
    station: Path | None = None,
    paper: str = PAPER_NAMES[0],
    only: Sequence[str] = (),
    date: str | None = None,
    show_in: str | None = None,
) -> tuple[tuple[Card, ...], dict[Kind, str], dict[str, Any]]:
    """The folder written: the cards in it, kind → why one is not, and the cards' data with the files' names.

    All options are checked before anything is read, the folder before anything is worked out."""
    issued = _options_checked(paper, only, date, show_in)
    from truethrow.worksheets.prints import folder as prints  # noqa: PLC0415
    from truethrow.worksheets.prints.layout import PAPERS  # noqa: PLC0415

    prints.must_be_ours(folder)
    from truethrow.worksheets.cards.known import load  # noqa: PLC0415
    from truethrow.worksheets.cards.make import cards as make_cards  # noqa: PLC0415

    known = load(job, sheet, station)
    made, not_made = make_cards(known, known.display(show_in), issued)
    if only:
        made = tuple(card for card in made if card.kind in only)
        not_made = {kind: why for kind, why in not_made.items() if kind in only}
        if not_made:
            faults = [Fault("--only", f"no {kind} card: {why}") for kind, why in not_made.items()]
            raise BadInput(faults, source_of(job))
    files = prints.contents(made, not_made, PAPERS[paper], known.result)
    for card in made:
        name = f"{card.kind}.pdf"
        issue(job, f"{card.kind} card", files[name], card.job_digest, str(folder / name))
    prints.write(folder, files)
    data = prints.figures(made, not_made, PAPERS[paper])
    return made, not_made, {"folder": str(folder), "written": sorted(files), **data}


def _options_checked(paper: str, only: Sequence[str], date: str | None, show_in: str | None) -> str:
    """The day of issue, once every option is found good. Raises BadInput with all faults."""
    from truethrow.worksheets.cards.card import KINDS  # noqa: PLC0415
    from truethrow.worksheets.display import SHOW  # noqa: PLC0415

    faults = []
    if paper not in PAPER_NAMES:
        faults.append(Fault("--paper", f"{shown(paper)!r} is not known", ", ".join(PAPER_NAMES)))
    for kind in only:
        if kind not in KINDS:
            faults.append(Fault("--only", f"{shown(kind)!r} is no card", ", ".join(KINDS)))
    if show_in is not None and show_in not in SHOW:
        faults.append(Fault("--show", f"{shown(show_in)!r} is not known", ", ".join(SHOW)))
    issued = _today() if date is None else _a_day(date)
    if issued is None:
        faults.append(Fault("--date", f"{shown(date)!r} is no day", "such as 2026-11-25"))
    if faults:
        raise BadInput(faults)
    assert issued is not None
    return issued


def _a_day(text: str) -> str | None:
    """A day as ISO 8601 writes it, None for any other text."""
    try:
        found = datetime.date.fromisoformat(text)
    except ValueError:
        return None
    return found.isoformat() if FIRST_YEAR <= found.year <= LAST_YEAR else None


def _today() -> str:
    return datetime.datetime.now().astimezone().date().isoformat()
