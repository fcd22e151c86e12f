"""The help: each command under one heading, in its order, none left out; and in words alone."""

import re
from typing import ClassVar

import click
import typer.main
from typer.testing import CliRunner

from truethrow.cli.main import app
from truethrow.cli.plain_help import Grouped


def test_commands_stand_under_their_headings_in_columns_that_begin_alike():
    class Two(Grouped):
        headings: ClassVar = {"At the bench": ("weigh", "new", "gone"), "Why": ("history",)}

    group = Two(name="truethrow")
    for name, words in (("history", "What was weighed."), ("new", "Make a job."), ("weigh", "Weigh parts.")):
        group.add_command(click.Command(name, help=words))
    formatter = click.HelpFormatter(width=60)
    group.format_commands(click.Context(group), formatter)
    lines = [line for line in formatter.getvalue().splitlines() if line.strip()]
    assert [line.split(None, 1) for line in lines] == [
        ["At", "the bench:"],
        ["weigh", "Weigh parts."],
        ["new", "Make a job."],
        ["Why:"],
        ["history", "What was weighed."],
    ]
    assert len({line.index(line.split()[1]) for line in lines if line.startswith("  ")}) == 1


def test_every_command_of_the_program_stands_in_its_help_once():
    from typer.main import get_command

    told = [line.split()[0] for line in CliRunner().invoke(app, ["--help"]).stdout.splitlines() if line.strip()]
    for name, command in get_command(app).commands.items():
        if not command.hidden:
            assert told.count(name) == 1, name


def commands(group, *names):
    for name, command in group.commands.items():
        if hasattr(command, "commands"):
            yield from commands(command, *names, name)
        else:
            yield (*names, name)


def test_no_help_tells_a_type_of_pythons():
    told = list(commands(typer.main.get_command(app)))
    assert {("work",), ("book", "add"), ("book", "stock", "move")} < set(told)
    for names in told:
        said = CliRunner().invoke(app, [*names, "--help"]).stdout
        assert "Options:" in said
        # {number} of a pattern, { at = 45 } of a job file are what a person writes there.
        assert not re.search(r"<\w|\b(TEXT|INTEGER|FLOAT|PATH|str|Path)\b", said), names
