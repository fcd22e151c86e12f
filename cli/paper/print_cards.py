"""Every bench: the job's cards for the wall and the customer's folder, and an old card told from a current one."""

from __future__ import annotations

import datetime
import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple, NoReturn
from urllib.parse import parse_qs, urlsplit

import typer

from truethrow.balance.base.errors import BadInput, Fault, shown, shown_path
from truethrow.balance.log.place import (
    Outgoing,
    Place,
    issuing,
    log_name,
    open_log,
    output_path,
    source_of,
    to_paste,
)
from truethrow.cli import show
from truethrow.cli.common import Json, LoggedJob, ProfileIfAny, Sheet, Show, tell_way_on, today, wrong_show
from truethrow.cli.profiles import if_any
from truethrow.cli.station.send import By
from truethrow.cli.station.which_station import look_up

if TYPE_CHECKING:
    from truethrow.balance.base.files import KeptText
    from truethrow.balance.log.chain import Head
    from truethrow.worksheets.cards.card import Card, CardKind
    from truethrow.worksheets.cards.code import Code
    from truethrow.worksheets.cards.known import Known

ENDING = "-cards"
PAPER_NAMES = ("a4", "letter")
FIRST_YEAR, LAST_YEAR = 1980, 2999


def cards(
    job: LoggedJob,
    sheet: Sheet = None,
    station: ProfileIfAny = None,
    into: Annotated[
        Path | None, typer.Option("--into", metavar="FOLDER", help=f"Where they go; the job's name with {ENDING}.")
    ] = None,
    paper: Annotated[str, typer.Option("--paper", metavar="a4|letter", help="What they are printed on.")] = "a4",
    only: Annotated[
        list[str] | None,
        typer.Option("--only", metavar="KIND", help="Only this card, such as trim; may be said several times."),
    ] = None,
    fonts: Annotated[
        Path | None,
        typer.Option("--fonts", metavar="FOLDER", help="Fonts for letters that this system's own have not."),
    ] = None,
    date: Annotated[
        str | None, typer.Option("--date", metavar="YYYY-MM-DD", help="The day of issue; today without it.")
    ] = None,
    by: By = "",
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Print the cards for the wall, and the sign-off report.

    For the bench, the trim, the bobweights and the station. Each as HTML and PDF; beside them the drawings
    (SVG), all figures (figures.xlsx, figures.json) and the station's sheet. A card that cannot be made yet is
    named, with the reason. FOLDER holds what was made last and nothing else: a folder with other files, or
    another job's cards, in it is refused.

    \b
    truethrow cards my.toml --station station.toml
    truethrow cards my.toml --sheet weigh.csv --paper letter --show inch
    truethrow cards my.toml --only bench --into /tmp/bench
    """
    folder = into or output_path(job, ENDING)
    made, not_made, data = print_cards(
        job,
        folder,
        sheet=sheet,
        station=if_any(job, station),
        paper=paper,
        only=only or (),
        date=date,
        by=by,
        show_in=show_in,
        fonts=fonts,
    )
    if json:
        show.as_json(data)
        return
    from truethrow.worksheets.cards.card import KINDS  # noqa: PLC0415

    out = show.Screen()
    for card in made:
        out.line(f"{card.kind} card: {shown_path(folder / card.kind)}.pdf and .html, digest {card.digest}")
    for kind, why in not_made.items():
        out.line(f"No {kind} card: {why}.")
    if gone := [kind for kind in KINDS if f"{kind}.pdf" in data["gone"]]:
        out.line(f"Removed, as not made this time: {', '.join(f'{kind} card' for kind in gone)}.")
    if data["not_shown"]:
        from truethrow.worksheets.words.card_words import NO_FONT  # noqa: PLC0415

        out.line(NO_FONT.format(letters=shown(data["not_shown"]), again=f"truethrow cards {to_paste(job)}"))
    out.line(f"Written: {len(data['written'])} files in {shown_path(folder)}")
    tell_way_on(out, job)


def current(
    code: Annotated[
        str,
        typer.Argument(metavar="CODE", help="The text of a card's QR code, or what is behind log in its head."),
    ],
    job: LoggedJob,
    sheet: Sheet = None,
    station: ProfileIfAny = None,
) -> None:
    """Check whether a card is still good, by the code on it.

    Or whether the log still holds what it held, by the words behind log in the head of a card or sheet. A card
    is old as soon as a figure of it has changed: after a reading, a cut, a spin, another limit. Status 0 for the
    current card, 1 for any other, 2 where the weigh sheet it was made with is not given, or its profile is not
    found.

    \b
    truethrow current truethrow:launch-7:bobweight:1f6e0d2c9a40:88c1f02b6e my.toml
    truethrow current 9a3e-71c4-128 my.toml     the log, by a card's head
    """
    from truethrow.balance.log.chain import Head  # noqa: PLC0415

    if head := Head.parse(code):
        _held(head, job)
    read = read_code(code)
    found = verdict(read, job, sheet, (station or look_up(job)) if read.station else None)
    show.Screen().line(found.said)
    raise typer.Exit(show.FINE if found.is_current else show.OUTSIDE)


def read_code(text: str) -> Code:
    """What a card's code says, as it is scanned or typed: a long one is broken where it stands on paper. Raises
    BadInput for what is none."""
    from truethrow.worksheets.cards.code import parse  # noqa: PLC0415

    bare = "".join(text.replace("\N{ZERO WIDTH SPACE}", "").split())
    return parse(_in_address(bare) if bare.lower().startswith(("http://", "https://")) else bare)


def _in_address(address: str) -> str:
    """The code in the address that a card's QR code leads to, where it was printed from the shop's screens."""
    return parse_qs(urlsplit(address).query).get("code", [address])[0]


class Verdict(NamedTuple):
    """What a card on paper is by now, in one sentence."""

    is_current: bool
    said: str


def verdict(read: Code, job: Place, sheet: Path | None, station: Path | KeptText | None) -> Verdict:
    """Whether a card is still good. station: the profile, where the card is what it is by one. Raises BadInput
    where that cannot be told."""
    from truethrow.worksheets.cards.known import load  # noqa: PLC0415
    from truethrow.worksheets.cards.make import OPEN  # noqa: PLC0415
    from truethrow.worksheets.cards.make import cards as make_cards  # noqa: PLC0415

    known = load(job, sheet, station)
    if read.job_id != known.bench.id:
        return Verdict(
            False, f"Another job's card: {shown(read.job_id)}, not {known.bench.id}. Do not work from it."
        )
    made, not_made = make_cards(known, known.display(), today(), only=(read.kind,))
    now = made[0] if made else None
    if now and (read.job_digest, read.digest) == (now.job_digest, now.digest):
        begun = known.standing if read.kind == "trim" else None
        so_far = f"; cuts recorded so far: {len(begun.done)}" if begun else ""
        if begun and begun.is_all_done:
            done = f"Done: every cut of this trim card is recorded{so_far}. Grind nothing more by it."
            return Verdict(False, done)
        return Verdict(True, f"Current: {read.kind} card of {known.bench.id}, digest {now.digest}{so_far}.")
    is_without_sheet = sheet is None and _is_short_of_readings(known)
    if is_without_sheet and read.job_digest != OPEN:
        needed = f"the weigh sheet; still to be weighed without one: {len(known.open)}"
        raise BadInput([Fault("--sheet", "missing", needed)])
    changed = _changed(read, now) if now else f"it cannot be made by now: {not_made[read.kind]}"
    if now and is_without_sheet:
        changed += "; if it was made with a weigh sheet, give --sheet"
    return Verdict(False, f"Old {read.kind} card: {changed}. Do not work from it.")


def _held(head: Head, job: Place) -> NoReturn:
    """Tell whether a job's log holds the record whose head is on paper. Ends the command."""
    from truethrow.balance.log.chain import beside, since  # noqa: PLC0415
    from truethrow.worksheets.words import history_words as words  # noqa: PLC0415

    log, out = open_log(job), show.Screen()
    count = since(log.written, head)
    if count is None:
        name, again = shown_path(log_name(job)), to_paste(job)
        more = beside(log.written, head)
        told = words.not_held(head, name, again) if more is None else words.of_a_copy(head, name, again, more)
        out.line(told, strong=True)
        raise typer.Exit(show.OUTSIDE)
    out.line(words.held(head, count))
    raise typer.Exit(show.FINE)


def _changed(old: Code, now: Card) -> str:
    """What is not any more as it was on a card."""
    if old.job_digest == now.job_digest:
        return f"its figures have changed since ({shown(old.digest)}; now {now.digest})"
    at = f"{shown(old.job_digest)}; the job is at {now.job_digest}"
    return f"made from other readings, or another job file ({at})"


def _is_short_of_readings(known: Known) -> bool:
    """Whether parts have no reading, and nothing in the log says where one went: it may be in a sheet."""
    from truethrow.balance.log.records import Confirmed, Cut, Weighed  # noqa: PLC0415

    struck = (event.record for event in known.events if event.struck_by)
    had = {(one.cylinder, one.kind) for one in struck if isinstance(one, Weighed | Cut | Confirmed)} | known.again
    return any((step.cylinder, step.kind) not in had for step in known.open)


def print_cards(
    job: LoggedJob,
    folder: Path,
    *,
    sheet: Path | None = None,
    station: Path | KeptText | None = None,
    paper: str = PAPER_NAMES[0],
    only: Sequence[str] = (),
    date: str | None = None,
    by: str = "",
    show_in: str | None = None,
    fonts: Path | None = None,
    at: str = "",
) -> tuple[tuple[Card, ...], dict[CardKind, str], dict[str, Any]]:
    """The folder written: the cards in it, kind → why one is not, and the cards' data with the names of the files
    in it and of those that went. at: the address of the shop's screens, which the QR codes then lead to.

    All options are checked before anything is read, the folder before any card is made."""
    issued = _options_checked(paper, only, date, show_in, fonts)
    from truethrow.worksheets.cards.card import KINDS  # noqa: PLC0415
    from truethrow.worksheets.cards.known import load  # noqa: PLC0415
    from truethrow.worksheets.cards.make import cards as make_cards  # noqa: PLC0415
    from truethrow.worksheets.prints import folder as prints  # noqa: PLC0415
    from truethrow.worksheets.prints.layout import PAPERS  # noqa: PLC0415

    known = load(job, sheet, station)
    prints.must_be_ours(folder, known.bench.id)
    made, not_made = make_cards(known, known.display(show_in), issued, [k for k in KINDS if not only or k in only])
    made = tuple(replace(card, at=at) for card in made)
    if only and not_made:
        faults = [Fault("--only", f"no {kind} card: {why}") for kind, why in not_made.items()]
        raise BadInput(faults, source_of(job))
    files = prints.contents(made, not_made, PAPERS[paper], known.result, fonts)
    outgoing = []
    for card in made:
        name = f"{card.kind}.pdf"
        outgoing.append(Outgoing(f"{card.kind} card", files[name], card.job_digest, str(folder / name)))
    with issuing(job, outgoing, by):
        gone = prints.write(folder, files)
    data = prints.figures(made, not_made, PAPERS[paper])
    boxes = prints.not_shown(made, PAPERS[paper], fonts)
    told = {"folder": str(folder), "written": sorted(files), "gone": gone, "not_shown": boxes}
    return made, not_made, told | data


def _options_checked(
    paper: str, only: Sequence[str], date: str | None, show_in: str | None, fonts: Path | None
) -> str:
    """The day of issue, once every option is found good. Raises BadInput with all faults."""
    from truethrow.worksheets.cards.card import KINDS  # noqa: PLC0415

    faults = []
    if paper not in PAPER_NAMES:
        faults.append(Fault("--paper", f"{shown(paper)!r} is not known", ", ".join(PAPER_NAMES)))
    for kind in only:
        if kind not in KINDS:
            faults.append(Fault("--only", f"{shown(kind)!r} is no card", ", ".join(KINDS)))
    if fonts is not None and not fonts.is_dir():
        faults.append(Fault("--fonts", f"{shown_path(fonts)} is no folder", "a folder with font files"))
    faults += wrong_show(show_in)
    issued = today() if date is None else _a_day(date)
    if issued is None:
        faults.append(Fault("--date", f"{shown(date)!r} is no day", "such as 2026-11-25"))
    if faults:
        raise BadInput(faults)
    assert issued is not None
    return issued


def _a_day(text: str) -> str | None:
    """A day as YYYY-MM-DD, None for any other text."""
    if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):  # ISO 8601 knows weeks, too, and no dashes
        return None
    try:
        found = datetime.date.fromisoformat(text)
    except ValueError:
        return None
    return found.isoformat() if FIRST_YEAR <= found.year <= LAST_YEAR else None
