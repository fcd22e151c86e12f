"""The commands, as the command line says that they are: handed in as plain data, since this floor knows none."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from truethrow.worksheets.cards.card import Block, CardTable, Lines, Typed
from truethrow.worksheets.handbook.chapter_text import WHOLE


class Command(NamedTuple):
    """heading: whose it is; usage: how it is typed; says: its help, each paragraph a text, or the lines of what is
    typed; takes: each argument and option with what it is for."""

    heading: str
    usage: str
    says: tuple[str | tuple[str, ...], ...]
    takes: tuple[tuple[str, str], ...]


def blocks(commands: Iterable[Command]) -> tuple[Block, ...]:
    found: list[Block] = []
    heading = ""
    for one in commands:
        if one.heading != heading:
            heading = one.heading
            found.append(Lines((), heading, "framed"))
        found += _said(one)
        if one.takes:
            heads = ("argument or option", "what it is for")
            found.append(CardTable("options", heads, one.takes, wide=1, close=True, most_lines=WHOLE))
    return tuple(found)


def _said(one: Command) -> Iterator[Block]:
    """Its usage above its help, paragraphs together as long as nothing is typed between them."""
    heading = one.usage
    for is_typed, some in itertools.groupby(one.says, key=lambda part: isinstance(part, tuple)):
        if is_typed:
            yield from (Typed(lines) for lines in some if isinstance(lines, tuple))
        else:
            yield Lines(tuple(text for text in some if isinstance(text, str)), heading)
            heading = ""
