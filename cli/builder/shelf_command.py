"""The shelf's bench: loose parts made into engines."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from truethrow.balance.base.errors import BadInput, Fault, shown, shown_path
from truethrow.balance.log.place import is_standard_input, to_paste
from truethrow.cli import show
from truethrow.cli.builder import shelf_stock
from truethrow.cli.common import Job, Json, lives_on
from truethrow.cli.progress import Bar
from truethrow.worksheets.words.cautions import TRIM_CAUTIONS

if TYPE_CHECKING:
    from truethrow.balance.shelf.match_shelf import Match, Matched
    from truethrow.balance.shelf.pool import Shelf
    from truethrow.worksheets.shown.display import Display

SHOWN_ENGINES = 6

Files = Annotated[
    list[Path] | None,
    typer.Argument(metavar="SHELF.csv ...", help="Files of loose parts (CSV), one kind each."),
]
Engines = Annotated[
    int | None, typer.Option("--engines", metavar="K", help="The best K engines; else as many as the parts give.")
]
Seconds = Annotated[
    float | None,
    typer.Option(
        "--seconds",
        metavar="S",
        help="How long the search may take; without, as much as 10 s do on an idle computer.",
    ),
]
Out = Annotated[
    Path | None, typer.Option("--out", "-o", metavar="FILE", help="Write every cylinder to this file (CSV), or -.")
]


Stock = Annotated[bool, typer.Option("--stock", help="Also the loose parts of the book's stock.")]
Into = Annotated[
    list[str] | None,
    typer.Option(
        "--to", metavar="ID", help="Job of the book that takes the next engine, once for each; else JOB the first."
    ),
]


def shelf(
    job: Job,
    files: Files = None,
    stock: Stock = False,
    engines: Engines = None,
    seconds: Seconds = None,
    to: Into = None,
    out: Out = None,
    json: Json = False,
) -> None:
    """Match a shelf of loose parts into engines.

    Rods, pistons, pins and ring sets by label, so that as little as possible is to be taken off; the engine comes
    from a job. With the stock, the moves that carry the match out come with it. Ctrl-C ends the search with the
    best so far.

    \b
    truethrow shelf launch.toml shelf-rods.csv shelf-pistons.csv shelf-pins.csv
    truethrow shelf launch.toml shelf-*.csv --engines 2 --out engines.csv
    truethrow shelf launch-7 --stock --engines 1
    """
    from truethrow.balance.shelf import pool  # noqa: PLC0415

    files = files or []
    if not files and not stock:
        raise BadInput([Fault("SHELF.csv", "missing", "a file of loose parts, or --stock")])
    if to and not stock:
        raise BadInput([Fault("--to", "moves parts of the stock alone", "with --stock")])
    if sum(map(is_standard_input, (job, *files))) > 1:
        raise BadInput([Fault("SHELF.csv", "standard input can hold one file only", "one -")])
    if json and str(out) == "-":
        raise BadInput([Fault("--out", "standard output is taken by --json", "a file")])
    stocked = shelf_stock.of_the_book() if stock else None
    if stocked:
        stocked.must_have(to or [])
    loaded = pool.load(job, files, stocked.parts, stocked.name) if stocked else pool.load(job, files)
    from truethrow.balance.shelf.match_shelf import match  # noqa: PLC0415 (numpy, once the input is sound)

    lives_on()
    with Bar() as bar:
        found = match(loaded, engines, seconds, lambda *reached: _tell_bar(bar, *reached))
    moves = stocked.moves(job, found, to or []) if stocked else None
    _write(loaded, found, out)
    if json:
        from truethrow.worksheets.data import shelf_data as sheet  # noqa: PLC0415

        show.as_json(sheet.as_data(loaded, found) | (stocked.as_data(moves) if stocked and moves else {}))
    elif str(out) != "-":
        screen = show.Screen()
        tell(screen, loaded, found, SHOWN_ENGINES)
        if (more := len(found.engines) - SHOWN_ENGINES) > 0:
            screen.line(f"… and {more} engines more; --out writes them all.")
        if out is not None:
            screen.line(f"Written: {shown_path(out)}")
        if stocked and moves:
            stocked.tell(moves, show.Screen(), display_of(loaded))
        elif not is_standard_input(job):
            like = f"truethrow new --like {to_paste(job)} --new all engine-1.toml"
            screen.line(f"Next: a job for each engine, then weigh its parts into it: {like}", strong=True)
    if moves and any(engine.against for engine in moves.engines):
        raise typer.Exit(show.OUTSIDE)


def _tell_bar(bar: Bar, best_g: float, bound_g: float, fraction: float) -> None:
    """How far the search is from the bound, and how much of its time is gone."""
    bar.show(f"{best_g:.1f} g, bound {bound_g:.1f} g", fraction)


def _write(loaded: Shelf, found: Match, out: Path | None) -> None:
    if out is None:
        return
    from truethrow.balance.base import files  # noqa: PLC0415
    from truethrow.worksheets.data import shelf_data as sheet  # noqa: PLC0415

    text = sheet.to_csv(loaded, found)
    if str(out) == "-":
        sys.stdout.write(text)
    else:
        files.write_text(out, text)


def tell(out: show.Screen, loaded: Shelf, found: Match, most: int) -> None:
    """What was found, as tables. most: so many engines are shown."""
    from truethrow.balance.shelf.pool import PLURAL  # noqa: PLC0415
    from truethrow.worksheets.words import shelf_words  # noqa: PLC0415

    display = display_of(loaded)
    count = len(found.engines)
    pools = ", ".join(f"{len(parts)} {PLURAL[kind]}" for kind, parts in loaded.pools.items())
    engines = "1 engine" if count == 1 else f"{count} engines"
    out.line(f"Job {loaded.job_id}: {engines} of {loaded.cylinders} from {pools}", strong=True)
    out.heading(f"To take off, if every engine is matched to its lightest [{display.mass_unit}]")
    ways = [
        ("as they came", found.as_came_g),
        ("sorted by hand", found.sorted_g),
        ("this match", found.cost_g),
        ("bound", found.bound_g),
    ]
    rows = [[way, display.mass(grams), display.mass(grams / count, finer=1)] for way, grams in ways]
    out.table(["way", "in all", "an engine"], rows)
    out.line()
    out.line(shelf_words.verdict(found, display), strong=True)
    if found.costly:
        out.line(f"- {shelf_words.costly(found, found.costly, display)}.")
    _engines(out, found.engines[:most], display)
    _cylinders(out, loaded, found.engines[:most], display)
    if left := shelf_words.leftovers(found):
        out.heading("Left over")
        for line in left:
            out.line(line)
    if found.cost_g:
        out.line()
        for caution in TRIM_CAUTIONS:
            out.line(f"! {caution}")


def display_of(loaded: Shelf) -> Display:
    """The units that a shelf is told in."""
    from truethrow.balance.base.units import MASS, factor  # noqa: PLC0415
    from truethrow.worksheets.shown.display import Display  # noqa: PLC0415

    return Display(loaded.mass_unit, "mm", loaded.step_g / float(factor(loaded.mass_unit, MASS)))


def _engines(out: show.Screen, engines: Sequence[Matched], display: Display) -> None:
    out.heading(f"Engines: to take off, at which mass; then the spreads [{display.mass_unit}]")
    spreads = ["reciprocating", "big end", "bobweight"]
    out.table(
        ["engine", "take off", "recip.", "big ends", *spreads],
        [
            [
                str(engine.number),
                display.mass(engine.cost_g),
                display.mass(engine.reciprocating_cost_g),
                display.mass(engine.big_end_cost_g),
                display.mass(engine.reciprocating_spread_g),
                "" if engine.big_end_spread_g is None else display.mass(engine.big_end_spread_g),
                display.mass(engine.bobweight_spread_g, finer=1),
            ]
            for engine in engines
        ],
    )


def _cylinders(out: show.Screen, loaded: Shelf, engines: tuple[Matched, ...], display: Display) -> None:
    out.heading(f"Cylinders, parts by label, masses as they should weigh before any trim [{display.mass_unit}]")
    kinds = list(loaded.pools)
    out.table(
        ["engine", "cylinder", *kinds, "big end", "reciprocating"],
        [
            [
                str(engine.number),
                str(filled.cylinder),
                *(shown(filled.parts[kind].label) for kind in kinds),
                "" if filled.big_end_g is None else display.mass(filled.big_end_g),
                display.mass(filled.reciprocating_g),
            ]
            for engine in engines
            for filled in engine.cylinders
        ],
        words=kinds,
    )
