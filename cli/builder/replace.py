"""The builder's bench: what a replacement for one part must weigh, and which loose parts would do."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from truethrow.balance.base.errors import BadInput, Fault
from truethrow.cli import show
from truethrow.cli.common import Json, LoggedJob, Sheet, Show, check_show, part_named
from truethrow.cli.completing import parts

if TYPE_CHECKING:
    from truethrow.balance.base.naming import Part
    from truethrow.balance.book.stock_shelf import StockParts
    from truethrow.balance.job.job import Job
    from truethrow.balance.result.replacing import Replacement
    from truethrow.balance.result.slips import Slip
    from truethrow.balance.shelf.candidates import Loose
    from truethrow.cli.builder.replace_tables import Answer
    from truethrow.worksheets.shown.display import Display

Stock = Annotated[bool, typer.Option("--stock", help="Also the loose parts of the book's stock.")]


def replace(
    job: LoggedJob,
    part: Annotated[
        list[str],
        typer.Argument(
            metavar="PART [SHELF.csv] ...",
            autocompletion=parts,
            help="A part, such as piston P5 or rod 3; files of loose parts.",
        ),
    ],
    sheet: Sheet = None,
    stock: Stock = False,
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Show what a new part must weigh, and which loose ones fit.

    From where to where it may weigh so that the set is inside every limit as the others are, how heavy it may be
    if metal comes off it alone, and what the others would lose with any other. The part need not be weighed.

    \b
    truethrow replace my.toml piston P5
    truethrow replace my.toml rod 3 shelf-rods.csv --stock
    """
    from truethrow.balance.base.parts import UNIT_OF  # noqa: PLC0415
    from truethrow.balance.job.job import load  # noqa: PLC0415
    from truethrow.balance.result.replacing import doubts, replacement  # noqa: PLC0415
    from truethrow.cli.builder.replace_tables import tell  # noqa: PLC0415
    from truethrow.worksheets.shown.display import Display  # noqa: PLC0415

    check_show(show_in)
    words, files = _split(part)
    meant = _meant(job, words, sheet)
    unit, cylinder = UNIT_OF.get(meant.kind, meant.kind), meant.cylinder
    made = load(job, sheet, absent=(unit, cylinder))
    wanted = replacement(made, unit, cylinder)
    loose, kept = _loose(job, wanted, files, stock=stock)
    held = doubts(made, unit, cylinder)
    display = Display.of(made, show_in)
    if held or (wanted.job.ground and wanted.job.ground.again):
        _tell_held(wanted, held, display, json)
        raise typer.Exit(show.OUTSIDE)
    answer = _answer(job, made, wanted, loose, kept)
    if json:
        _as_json(answer)
    else:
        tell(answer, display)
    raise typer.Exit(show.FINE if answer.fits else show.OUTSIDE)


def _split(words: Sequence[str]) -> tuple[list[str], list[Path]]:
    """The words that name the part, and the files behind them."""
    files = [word for word in words if word.lower().endswith(".csv")]
    return [word for word in words if word not in files], [Path(word) for word in files]


def _meant(job: LoggedJob, words: list[str], sheet: Path | None) -> Part:
    from truethrow.balance.job.sources import names_of  # noqa: PLC0415

    kind, name = part_named(words)
    faults: list[Fault] = []
    meant = names_of(job, sheet).meant(kind, name, faults, "PART")
    if meant is None:
        raise BadInput(faults)
    return meant


def _loose(
    job: LoggedJob, wanted: Replacement, files: Sequence[Path], *, stock: bool
) -> tuple[Loose | None, StockParts | None]:
    """The loose parts that are asked for, None where none are; and what the stock has of their kind."""
    if not files and not stock:
        return None, None
    from truethrow.balance.shelf import candidates  # noqa: PLC0415

    candidates.must_be_loose(wanted.unit)
    there, kept = candidates.in_files(job, files, wanted.unit), None
    if stock:
        from truethrow.balance.book.open import open_book  # noqa: PLC0415 (SQLAlchemy)
        from truethrow.balance.book.stock_shelf import STOCK, parts_of  # noqa: PLC0415

        kept = parts_of(open_book(create=False), (wanted.unit,))
        there += [candidates.Candidate(one, STOCK) for one in kept.loose]
    elsewhere = {name: where.said for (_, name), where in kept.in_jobs.items()} if kept else {}
    return candidates.loose(wanted.job, wanted.unit, wanted.cylinder, there, elsewhere), kept


def _answer(
    job: LoggedJob, made: Job, wanted: Replacement, loose: Loose | None, kept: StockParts | None
) -> Answer:
    from truethrow.balance.job.replaced import of_the_old_one, written_of_the_old_one  # noqa: PLC0415
    from truethrow.balance.result import fitting  # noqa: PLC0415
    from truethrow.balance.result.replacing import replacement  # noqa: PLC0415
    from truethrow.cli.builder.replace_tables import Answer  # noqa: PLC0415
    from truethrow.worksheets.words.replace_words import next_steps  # noqa: PLC0415

    tops = {kind: fitting.heaviest_to_cut(wanted, kind) for kind in wanted.kinds} if len(wanted.kinds) == 1 else {}
    least = fitting.least_metal_mass(wanted) if wanted.out else None
    masses = {name: one.masses for name, one in loose.candidates.items()} if loose else {}
    trials, farther = fitting.best_first(wanted, masses)
    weighed_in = made.names.part(wanted.unit, wanted.cylinder).weighed_in
    written = written_of_the_old_one(job, wanted.unit, weighed_in)
    steps = next_steps(wanted, of_the_old_one(job, wanted.unit, wanted.cylinder), written)
    return Answer(
        wanted,
        replacement(made, wanted.unit, wanted.cylinder, times=2),
        {kind: grams for kind, grams in tops.items() if grams is not None},
        fitting.cut_grid(wanted),
        None if least is None else fitting.tried(wanted, least),
        [fitting.tried(wanted, one) for one in fitting.around(wanted)] if not wanted.out else [],
        loose,
        trials,
        farther,
        [*steps, *_stock_steps(job, wanted, loose, kept, next(iter(trials), ""))],
    )


def _stock_steps(
    job: LoggedJob, wanted: Replacement, loose: Loose | None, kept: StockParts | None, best: str
) -> list[str]:
    """What the stock is to be told, where the best of the loose parts is one of it, and what it may not know."""
    from truethrow.balance.log.place import again, is_in_book  # noqa: PLC0415

    if loose is None or kept is None or not best:
        return []
    from truethrow.balance.book.open import open_book  # noqa: PLC0415 (SQLAlchemy)
    from truethrow.balance.book.stock_shelf import STOCK, in_other_jobs  # noqa: PLC0415
    from truethrow.worksheets.words.replace_words import may_sit, stock_steps  # noqa: PLC0415

    if loose.candidates[best].source != STOCK:
        return []
    own = again(job) if is_in_book(job) else ""
    said = [may_sit(best, where) for where in in_other_jobs(open_book(create=False), wanted.unit, best, own)]
    if not own:
        return said
    there = (own, wanted.cylinder)
    old = next((name for (_, name), where in kept.in_jobs.items() if where == there), "")
    return [*said, *stock_steps(wanted, best, own, old)]


def _as_json(answer: Answer) -> None:
    from truethrow.worksheets.data import replace_data as sheet  # noqa: PLC0415

    told = (answer.wanted, answer.twice, answer.heaviest, answer.grid, answer.best, answer.around, answer.steps)
    data = sheet.as_data(*told)
    if answer.loose is not None:
        data |= sheet.loose_data(answer.loose, answer.trials, answer.farther)
    show.as_json(data)


def _tell_held(wanted: Replacement, held: Sequence[Slip], display: Display, json: bool) -> None:
    from truethrow.worksheets.words import replace_words, result_words  # noqa: PLC0415

    said = replace_words.held(wanted, held, display)
    if json:
        show.as_json({"job": {"id": wanted.job.id}, "look_again": said})
        return
    out = show.Screen()
    out.line(result_words.sentence(replace_words.head(wanted)), strong=True)
    out.line(replace_words.HELD, strong=True)
    for one in said:
        out.line(f"- {one}")
