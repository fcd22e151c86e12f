"""The truethrow command. Each command imports what it needs when it runs: start-up is a feature."""

from __future__ import annotations

import gc
import os
import sys
from typing import Annotated

import typer

from truethrow.balance.errors import BadInput, NotSaved
from truethrow.cli import (
    balancing,
    bench,
    book,
    building,
    cards,
    damage,
    demo,
    history,
    matching,
    physics,
    seating,
    shelf,
    show,
    stacking,
    station,
    weighing,
)

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

# A sheet of nothing but faults must not bury the first of them.
MOST_LINES = 100


def _version(asked: bool) -> None:
    if asked:
        from importlib.metadata import version  # noqa: PLC0415

        sys.stdout.write(f"truethrow {version('truethrow')}\n")
        raise typer.Exit


@app.callback()
def options(
    version: Annotated[
        bool, typer.Option("--version", help="Show the version and exit.", callback=_version, is_eager=True)
    ] = False,
) -> None: ...


for command in (
    building.work,
    building.hang,
    building.check,
    building.trim,
    building.ground,
    matching.match,
    seating.accept,
    history.history,
    history.strike,
    history.confirm,
    damage.damaged,
    damage.acknowledge,
    shelf.shelf,
    station.send,
    station.compare,
    stacking.stack,
    stacking.target,
    balancing.spin,
    balancing.test_mass,
    balancing.holes,
    balancing.spins,
    balancing.sign,
    cards.cards,
    cards.current,
    bench.weigh,
    weighing.new,
    weighing.enter,
    physics.layouts,
    physics.shake,
    physics.share,
    physics.sure,
    demo.demo,
):
    app.command()(command)
app.add_typer(book.app, name="book")


def main() -> None:
    """The entry point: every refusal becomes a line a fault on standard error, and status 2."""
    _start_fast()
    for stream in (sys.stdout, sys.stderr):
        # A terminal that cannot show ± or ° gets a question mark, not a traceback.
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")
    try:
        try:
            app()
        finally:
            sys.stdout.flush()
    except OSError as error:
        # What is still unwritten must not be tried again when the interpreter ends.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        _refuse([f"standard output: {(error.strerror or 'not written').lower()}"])
    except BadInput as error:
        if "--json" in sys.argv:
            show.as_json({"faults": error.lines()})
        _refuse(error.lines())
    except NotSaved as error:
        if "--json" in sys.argv:
            show.as_json({"faults": [str(error)]})
        _refuse([str(error)])


def _start_fast() -> None:
    """Most commands live for a third of a second: they do without what only longer lives need, the collection of
    garbage (common.lives_on puts it back) and pydantic's search of every installed package for plugins."""
    gc.disable()
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")


def _refuse(lines: list[str]) -> None:
    more = len(lines) - MOST_LINES
    shown = [*lines[:MOST_LINES], f"… and {more} more"] if more > 0 else lines
    sys.stderr.write("".join(f"{text}\n" for text in shown))
    sys.exit(show.BAD_INPUT)


if __name__ == "__main__":
    main()
