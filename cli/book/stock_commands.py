"""The stock of loose parts in the shop's book: what they weigh, where they are, and where they were."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.cli import show
from truethrow.cli.book.shared import By, Url, opened
from truethrow.cli.common import Json
from truethrow.cli.dry_run import can_be_dry
from truethrow.cli.plain_help import Program

app = Program(no_args_is_help=True, rich_markup_mode=None, help="Loose parts: weights, and where they are.")


@app.command("add")
@can_be_dry
def add(
    files: Annotated[
        list[Path], typer.Argument(metavar="SHELF.csv ...", help="Files of loose parts, one kind each.")
    ],
    by: By = "",
    book: Url = None,
) -> None:
    """Put loose parts into the stock, or what they weigh now.

    \b
    truethrow book stock add shelf-rods.csv shelf-pistons.csv
    """
    from truethrow.balance.book import stock as parts  # noqa: PLC0415
    from truethrow.worksheets.words import book_words as words  # noqa: PLC0415

    show.Screen().line(words.added_stock(parts.add(opened(book, create=True), files, by)))


@app.command("find")
def find(
    kind: Annotated[str | None, typer.Option("--kind", metavar="KIND", help="rod, piston, pin or rings.")] = None,
    big_end: Annotated[str | None, typer.Option("--big-end", metavar="G..G", help="Of rods, in g.")] = None,
    small_end: Annotated[str | None, typer.Option("--small-end", metavar="G..G", help="Of rods, in g.")] = None,
    mass: Annotated[str | None, typer.Option("--mass", metavar="G..G", help="Of other parts, in g.")] = None,
    everywhere: Annotated[bool, typer.Option("--everywhere", help="Also parts that are in a job.")] = False,
    json: Json = False,
    book: Url = None,
) -> None:
    """Find loose parts by what they weigh.

    \b
    truethrow book stock find --kind rod --big-end 450..452
    """
    from truethrow.balance.book import stock as parts  # noqa: PLC0415
    from truethrow.worksheets.data import book_data  # noqa: PLC0415
    from truethrow.worksheets.words import book_words as words  # noqa: PLC0415

    asked = {"big_end": big_end, "small_end": small_end, "mass": mass}
    windows = {
        name: parts.window(typed, f"--{name.replace('_', '-')}")
        for name, typed in asked.items()
        if typed is not None
    }
    found = parts.find_parts(opened(book), kind, windows, everywhere=everywhere)
    if json:
        show.as_json({"parts": [book_data.stock_as_data(part) for part in found]})
        return
    out = show.Screen()
    if found:
        left = ("label", "bank", "with", "where", "since (UTC)")
        out.table(words.STOCK_COLUMNS, [words.stock_row(part) for part in found], words=left)
    out.line(f"{len(found)} found." if found else "None found.")


@app.command("move")
@can_be_dry
def move(
    kind: Annotated[str, typer.Argument(metavar="KIND", help="rod, piston, pin or rings.")],
    label: Annotated[str, typer.Argument(metavar="LABEL", help="The mark on the part.")],
    job: Annotated[
        str | None, typer.Option("--job", metavar="ID", help="Into this job; back to the shelf without.")
    ] = None,
    cylinder: Annotated[
        int | None, typer.Option("--cylinder", metavar="N", help="Into this cylinder of it.")
    ] = None,
    by: By = "",
    book: Url = None,
) -> None:
    """Keep where a part went: into a job, or back to the shelf.

    \b
    truethrow book stock move rod R07 --job launch-7 --cylinder 3 --by AB
    truethrow book stock move rod R07
    """
    from truethrow.balance.book import stock as parts  # noqa: PLC0415
    from truethrow.worksheets.words import book_words as words  # noqa: PLC0415

    if job is None and cylinder is not None:
        raise BadInput([Fault("--cylinder", "of no job", "with --job")])
    held, out = opened(book), show.Screen()
    done = parts.move(held, kind, label, job, cylinder, by)
    out.line(f"{kind} {shown(label)}: {words.place_of(done)}.")
    for line in words.marked_twice(parts.marked_twice(held, job, kind, label)) if job else ():
        out.line(line)


def part(
    label: Annotated[str, typer.Argument(metavar="LABEL", help="The mark on the part.")],
    kind: Annotated[str | None, typer.Option("--kind", metavar="KIND", help="rod, piston, pin or rings.")] = None,
    json: Json = False,
    book: Url = None,
) -> None:
    """Show the history of a part.

    Its weights, where it went, and the jobs it sits in.

    \b
    truethrow book part R07
    """
    from truethrow.balance.book import stock as parts  # noqa: PLC0415
    from truethrow.worksheets.data import book_data  # noqa: PLC0415
    from truethrow.worksheets.words import book_words as words  # noqa: PLC0415

    found = parts.history(opened(book), label, kind)
    if json:
        show.as_json({"parts": [book_data.part_as_data(one) for one in found]})
        return
    out = show.Screen()
    for one in found:
        first, *rest = words.part_lines(one)
        out.line(first, strong=True)
        for line in rest:
            out.line(f"- {line}")
