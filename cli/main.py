"""The truethrow command. Each command imports what it needs when it runs: start-up is a feature."""

from __future__ import annotations

import functools
import gc
import os
import sys
from collections.abc import Callable
from typing import Annotated, ClassVar

import typer

from truethrow.balance.base.errors import BadInput, NotSaved
from truethrow.cli import demo_job, next_step, show
from truethrow.cli.book import book_commands
from truethrow.cli.builder import accept, building, match_command, replace, shelf_command
from truethrow.cli.common import tell_torn_ends
from truethrow.cli.paper import print_cards
from truethrow.cli.plain_help import Grouped, Program
from truethrow.cli.station import external, send, spin_to_sign, stack_and_target
from truethrow.cli.weighing import new_and_enter, remember, tally, weigh
from truethrow.cli.why import damaged, lifecycle, log_history, why

SHOPS_BOOK = "The shop's book, and each job's log"
# By who uses them, in the order of the help.
BY_USER: dict[str, tuple[Callable[..., None], ...]] = {
    "At the bench": (
        demo_job.demo,
        next_step.next_,
        tally.tally,
        new_and_enter.new,
        weigh.weigh,
        remember.remember,
        new_and_enter.enter,
        building.check,
        log_history.confirm,
    ),
    "Building the set": (
        building.work,
        building.hang,
        building.trim,
        building.ground,
        match_command.match,
        accept.accept,
        replace.replace,
        shelf_command.shelf,
    ),
    "At the station": (
        send.send,
        send.compare,
        stack_and_target.stack,
        stack_and_target.target,
        spin_to_sign.spin,
        spin_to_sign.test_mass,
        spin_to_sign.holes,
        spin_to_sign.spins,
        spin_to_sign.profile,
        spin_to_sign.sign,
        external.member,
        external.convert,
    ),
    "On paper": (print_cards.cards, print_cards.current),
    "Why": (why.layouts, why.shake, why.share, why.sure),
    SHOPS_BOOK: (
        log_history.history,
        log_history.strike,
        lifecycle.crank,
        lifecycle.close,
        lifecycle.reopen,
        damaged.damaged,
        damaged.acknowledge,
    ),
}

COMMANDS = {
    command.__name__.strip("_").replace("_", "-"): command for commands in BY_USER.values() for command in commands
}
GROUPS = {"book": book_commands.app}


class _Commands(Grouped):
    headings: ClassVar = {
        heading: [
            *(name for name, command in COMMANDS.items() if command in commands),
            *(GROUPS if heading == SHOPS_BOOK else ()),
        ]
        for heading, commands in BY_USER.items()
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
        cls=_Commands,
        no_args_is_help=True,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
        context_settings={"help_option_names": ["-h", "--help"]},
        help="""Make a rotating assembly run true: from the weighed parts to the bobweights, the spreads, the trim
        and the balancing station's sheet.

        \b
        truethrow demo                              the whole job on the demo engine, no file needed
        truethrow tally                             the bobweight from the weights on paper
        truethrow new v8-90-crossplane my.toml      a job file with blanks to fill in
        truethrow work my.toml --sheet weigh.csv    the whole job on yours

        Exit status: 0 fine, 1 something is outside its limit or looks like a slip, 2 bad input.""",
    )
    made.callback()(options)
    for name in names:
        if name in GROUPS:
            made.add_typer(GROUPS[name], name=name)
        else:
            made.command(name)(COMMANDS[name])
    return made


app = with_commands(*COMMANDS, *GROUPS)


def asked_for(words: list[str]) -> typer.Typer:
    """The program with the one command that the first of the words names, else with all: whatever it has is made
    anew at each start, and all of it takes longer than most commands do."""
    name = words[0] if words else ""
    return with_commands(name) if name in COMMANDS or name in GROUPS else app


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
    sys.stderr.write("".join(f"{text}\n" for text in shown))
    sys.exit(show.BAD_INPUT)


if __name__ == "__main__":
    main()
