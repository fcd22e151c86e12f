"""The truethrow command. Each command imports what it needs when it runs: start-up is a feature."""

from __future__ import annotations

import functools
import gc
import importlib
import os
import sys
from typing import Annotated, Any, ClassVar

import typer

from truethrow.balance.base import waiting
from truethrow.balance.base.errors import BadInput, NotSaved
from truethrow.cli import fit, show
from truethrow.cli.common import tell_torn_ends
from truethrow.cli.dry_run import can_be_dry
from truethrow.cli.plain_help import Grouped, Program

SHOPS_BOOK = "The shop's book, and each job's history"
# By who uses them, in the order of the help: the name of each command, and where it is. A module is loaded once a
# command of it is asked for: all of them take longer than most commands do.
BY_USER: dict[str, dict[str, str]] = {
    "At the bench": {
        "demo": "demo_job.demo",
        "next": "next_step.next_",
        "tally": "weighing.tally.tally",
        "new": "weighing.new_and_enter.new",
        "weigh": "weighing.weigh.weigh",
        "floor": "floor.command.floor",
        "remember": "weighing.remember.remember",
        "enter": "weighing.new_and_enter.enter",
        "check": "builder.building.check",
        "confirm": "why.log_history.confirm",
    },
    "Building the set": {
        "work": "builder.building.work",
        "hang": "builder.building.hang",
        "trim": "builder.building.trim",
        "ground": "builder.building.ground",
        "match": "builder.match_command.match",
        "accept": "builder.accept.accept",
        "replace": "builder.replace.replace",
        "shelf": "builder.shelf_command.shelf",
        "candidates": "planning.candidates.candidates",
        "forecast": "planning.forecast.forecast",
        "order": "planning.order.order",
        "quote": "planning.quote.quote",
        "turn": "planning.lathe.turn",
        "clearance": "planning.lathe.clearance",
        "what-if": "planning.what_if.what_if",
    },
    "At the station": {
        "blank": "blank.blank",
        "send": "station.send.send",
        "compare": "station.send.compare",
        "stack": "station.stack_and_target.stack",
        "target": "station.stack_and_target.target",
        "spin": "station.spin_to_sign.spin",
        "test-mass": "station.spin_to_sign.test_mass",
        "holes": "station.spin_to_sign.holes",
        "spins": "station.spin_to_sign.spins",
        "profile": "station.spin_to_sign.profile",
        "sign": "station.spin_to_sign.sign",
        "member": "station.external.member",
        "convert": "station.external.convert",
    },
    "On paper": {
        "cards": "paper.print_cards.cards",
        "current": "paper.print_cards.current",
        "handbook": "handbook.handbook",
    },
    "Why": {
        "layouts": "why.why.layouts",
        "shake": "why.why.shake",
        "share": "why.why.share",
        "sure": "why.why.sure",
        "working": "why.working.working",
    },
    SHOPS_BOOK: {
        "history": "why.log_history.history",
        "strike": "why.log_history.strike",
        "crank": "why.lifecycle.crank",
        "close": "why.lifecycle.close",
        "reopen": "why.lifecycle.reopen",
        "damaged": "why.damaged.damaged",
        "acknowledge": "why.damaged.acknowledge",
        "settings": "settings.settings",
    },
}
# What records something, or writes a document: each has --dry-run. Not weigh, whose every reading is on the disk
# before the screen says so.
RECORD = frozenset(
    {
        *(
            "remember",
            "enter",
            "confirm",
            "work",
            "ground",
            "match",
            "accept",
            "send",
            "stack",
            "spin",
            "test-mass",
        ),
        *("holes", "profile", "sign", "cards", "strike", "crank", "close", "reopen", "acknowledge"),
    }
)
COMMANDS = {name: at for commands in BY_USER.values() for name, at in commands.items()}
GROUPS = {"book": "book.book_commands.app"}


class Commands(Grouped):
    headings: ClassVar = {
        heading: [*commands, *(GROUPS if heading == SHOPS_BOOK else ())] for heading, commands in BY_USER.items()
    }


# A screenful: a sheet of nothing but faults must not bury the first of them.
MOST_LINES = 20


def _version(asked: bool) -> None:
    if asked:
        from truethrow.balance.base.program import version as own  # noqa: PLC0415

        sys.stdout.write(f"truethrow {own()}\n")
        raise typer.Exit


def options(
    context: typer.Context,
    version: Annotated[
        bool, typer.Option("--version", help="Show the version and exit.", callback=_version, is_eager=True)
    ] = False,
) -> None:
    tell_torn_ends(context)


@functools.cache
def with_commands(*names: str) -> typer.Typer:
    """The program, with the commands and groups of these names."""
    made = Program(
        name="truethrow",
        cls=Commands,
        no_args_is_help=True,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
        context_settings={"help_option_names": ["-h", "--help"]},
        help="""Make a rotating assembly run true: from the weighed parts to the bobweights, the spreads, the trim
        and the balancing station's sheet.

        \b
        truethrow tally           the bobweight from the weights on paper
        truethrow demo            the whole job on an invented V8, no file needed
        truethrow new             a job of your own; it asks for what it needs
        truethrow next my.toml    what to do now, ready to paste

        \b
        To weigh again: weigh. To undo: strike. What to grind: trim. What to drill:
        holes. Is this card still good: current. Every command has --help.

        Exit status: 0 fine, 1 something is outside its limit or looks like a slip, 2 bad input.""",
    )
    made.callback()(options)
    for name in names:
        if name in GROUPS:
            made.add_typer(_loaded(GROUPS[name]), name=name)
        else:
            command = _loaded(COMMANDS[name])
            made.command(name)(can_be_dry(command) if name in RECORD else command)
    return made


def _loaded(at: str) -> Any:
    """What is at such a place of the command line: a command, or a group of them."""
    module, _, name = at.rpartition(".")
    return getattr(importlib.import_module(f"truethrow.cli.{module}"), name)


def __getattr__(name: str) -> typer.Typer:
    """app: the program with all that it has, made when it is first asked for."""
    if name != "app":
        raise AttributeError(name)
    return with_commands(*COMMANDS, *GROUPS)


def asked_for(words: list[str]) -> typer.Typer:
    """The program with the one command that the first of the words names, else with all: whatever it has is made
    anew at each start, and all of it takes longer than most commands do."""
    name = words[0] if words else ""
    return with_commands(*([name] if name in COMMANDS or name in GROUPS else [*COMMANDS, *GROUPS]))


def main() -> None:
    """The entry point: every refusal becomes a line a fault on standard error, and status 2."""
    _start_fast()
    if not (sys.argv[1:2] == ["weigh"] and sys.stdout.isatty()):  # which has a screen of its own
        waiting.telling(lambda said: (sys.stderr.write(f"{said}\n"), sys.stderr.flush()))
    for stream in (sys.stdout, sys.stderr):
        # A terminal that cannot show ± or ° gets a question mark, not a traceback.
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")
    try:
        try:
            asked_for(sys.argv[1:])()
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
    shown = [*lines[: MOST_LINES - 1], f"… and {more + 1} more; mend these first"] if more > 0 else lines
    width = fit.room(sys.stderr)
    sys.stderr.write("".join(f"{part}\n" for text in shown for part in fit.sentence(text, width)))
    sys.exit(show.BAD_INPUT)


if __name__ == "__main__":
    main()
