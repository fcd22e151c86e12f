"""The program's own handbook."""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from truethrow.balance.base.errors import BadInput, Fault, shown, shown_path
from truethrow.cli import show
from truethrow.cli.common import lives_on, today

if TYPE_CHECKING:
    from truethrow.worksheets.handbook.commands import Command

NAME = Path("truethrow-handbook.pdf")


def handbook(
    out: Annotated[
        Path, typer.Option("--out", metavar="FILE", help="The file to write: FILE.pdf or FILE.html.")
    ] = NAME,
    paper: Annotated[str, typer.Option("--paper", metavar="a4|letter", help="The paper of a PDF.")] = "letter",
) -> None:
    """Print the handbook: what to weigh, every bench, every equation.

    One file, PDF or HTML, made offline out of the program as it is: what to weigh and how, each bench in pictures,
    every equation with its source, the library, the files, the commands, every message with what to do, and what
    was checked against what. Its examples are the demo engine's, worked out as it is printed.

    \b
    truethrow handbook
    truethrow handbook --out handbook.html
    truethrow handbook --out handbook.pdf --paper a4
    """
    from truethrow.worksheets.prints import layout, page_file  # noqa: PLC0415

    page_file.check("--out", out, page_file.PAGES)
    if paper not in layout.PAPERS:
        raise BadInput([Fault("--paper", f"{shown(paper)!r} is not known", ", ".join(layout.PAPERS))])
    from truethrow.worksheets.handbook.handbook import handbook as made  # noqa: PLC0415

    lives_on()
    page_file.write(out, made(list(commands()), program(), today()), paper)
    show.Screen().line(f"Written: {shown_path(out)}")


def program() -> Path:
    """The folder that the program is in."""
    from truethrow import balance  # noqa: PLC0415

    return Path(next(iter(balance.__path__))).parent


def commands() -> Iterator[Command]:
    """Every command, as the help has it."""
    import typer.main as of_typer  # noqa: PLC0415

    from truethrow.cli import main  # noqa: PLC0415

    whole: Any = of_typer.get_command(main.app)
    for heading, names in main.Commands.headings.items():
        for name in names:
            yield from _told(heading, f"truethrow {name}", whole.commands[name])


def _told(heading: str, called: str, command: Any) -> Iterator[Command]:
    from truethrow.worksheets.handbook.commands import Command  # noqa: PLC0415

    if nested := getattr(command, "commands", None):
        for name, own in nested.items():
            yield from _told(heading, f"{called} {name}", own)
        return
    context = command.context_class(command, info_name=called)
    usage = " ".join([called, *command.collect_usage_pieces(context)])
    says: list[str | tuple[str, ...]] = []
    for part in inspect.cleandoc(command.help or "").split("\n\n"):
        if part.startswith("\b\n"):
            says.append(tuple(part.removeprefix("\b\n").rstrip().splitlines()))
        elif part.strip():
            says.append(" ".join(part.split()))
    takes = []
    for one in command.params:
        if getattr(one, "hidden", False) or one.name == "help" or not getattr(one, "help", None):
            continue
        record = one.get_help_record(context)
        is_argument = one.param_type_name == "argument"
        name = str(one.metavar or one.name.upper()) if is_argument else record[0]
        takes.append((name, one.help))
    yield Command(heading, usage, tuple(says), tuple(takes))
