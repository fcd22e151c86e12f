"""The help, in words alone: commands grouped by who uses them, and no types of Python's behind an argument."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, ClassVar

import typer
from typer.core import TyperCommand, TyperGroup

if TYPE_CHECKING:
    from click import Context, HelpFormatter

# So much of a line is left to a command's own words beside its name.
_BESIDE = 6


class Grouped(TyperGroup):
    """A group whose help lists its commands under headings. headings: heading → its commands, in order; set by a
    class of its own."""

    headings: ClassVar[Mapping[str, Sequence[str]]] = {}

    def format_commands(self, ctx: Context, formatter: HelpFormatter) -> None:  # type: ignore[override]
        longest = max(map(len, self.commands), default=0)
        for heading, names in self.headings.items():
            rows: list[tuple[str, Any]] = [
                # Names are padded, so that the columns of all headings begin alike.
                (name.ljust(longest), self.commands[name].get_short_help_str(formatter.width - longest - _BESIDE))
                for name in names
                if name in self.commands
            ]
            with formatter.section(heading):
                formatter.write_dl(rows)


class Plain(TyperCommand):
    """A command whose arguments are told by their names and what they are for."""

    def collect_usage_pieces(self, ctx: Context) -> list[str]:  # type: ignore[override]
        return ["[OPTIONS]", *(_usage(param) for param in self.params if param.param_type_name == "argument")]

    def format_options(self, ctx: Context, formatter: HelpFormatter) -> None:  # type: ignore[override]
        told: dict[str, list[tuple[str, str]]] = {"Arguments": [], "Options": []}
        for param in self.get_params(ctx):  # type: ignore[arg-type]
            if (record := param.get_help_record(ctx)) is None:  # type: ignore[arg-type]
                continue
            if param.param_type_name == "argument":
                told["Arguments"].append((_name(param), record[1]))
            else:
                told["Options"].append(record)
        for heading, records in told.items():
            if records:
                with formatter.section(heading):
                    formatter.write_dl(records)


def _name(argument: Any) -> str:
    return str(argument.metavar or argument.name.upper())


def _usage(argument: Any) -> str:
    name = _name(argument)
    more = " ..." if argument.nargs != 1 and not name.endswith("...") else ""
    return f"{name}{more}" if argument.required else f"[{name}{more}]"


class Program(typer.Typer):
    """A program, or a group of it, whose commands tell their help so."""

    def command(self, name: str | None = None, **said: Any) -> Callable[[Any], Any]:
        return super().command(name, **{"cls": Plain} | said)
