"""The help's list of commands, grouped by who uses them, in plain text."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, ClassVar

from typer.core import TyperGroup

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
