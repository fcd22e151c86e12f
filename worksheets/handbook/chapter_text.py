"""A chapter's text as blocks. Its few marks: # the title, ## a heading, - an item, | a table, ``` what is typed,
{{a figure of the demo}}, and alone on its line [[what is put in there]]."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from importlib import resources

from truethrow.worksheets.cards.card import Block, CardTable, Chapter, Lines, Typed

# What stands in the place of [[name]] or [[name what]].
Parts = Mapping[str, Callable[[str], tuple[Block, ...]]]

# Texts of a handbook's table may take many lines: nothing of them is cut.
WHOLE = 40
ITEM = "– "
_FIGURE = re.compile(r"\{\{([a-z0-9_]+)\}\}")
_PART = re.compile(r"\[\[([a-z]+) ?(.*)\]\]")


def text(name: str) -> str:
    """One of the chapters, by its name."""
    return resources.files(__package__).joinpath("chapters", f"{name}.md").read_text(encoding="utf-8")


def title(source: str) -> str:
    return source.partition("\n")[0].removeprefix("# ").strip()


def blocks(name: str, source: str, figures: Mapping[str, str], parts: Parts) -> Iterator[Block]:
    """The blocks of a chapter. Raises KeyError for a figure or a part that there is none of."""
    filled = _FIGURE.sub(lambda found: figures[found[1]], source)
    heading = ""
    for lines in _together(filled.splitlines()):
        first = lines[0]
        if first.startswith("# "):
            yield Chapter(first[2:].strip(), name)
        elif first.startswith("## "):
            heading = first[3:].strip()
            continue
        elif part := _PART.fullmatch(first):
            if heading:
                yield Lines((), heading)
            yield from parts[part[1]](part[2])
        elif first.startswith("```"):
            if heading:
                yield Lines((), heading)
            yield Typed(tuple(lines[1:-1]))
        elif first.startswith("|"):
            yield _table(lines, heading)
        elif first.startswith("- "):
            yield Lines(tuple(map(_plain, _items(lines))), heading)
        else:
            yield Lines((_plain(" ".join(lines)),), heading)
        heading = ""


def _together(lines: list[str]) -> Iterator[list[str]]:
    """What belongs together: paragraphs, lists, tables, what is typed; headings and parts alone."""
    kept: list[str] = []
    is_typed = False
    for line in [*lines, ""]:
        if is_typed or line.startswith("```"):
            if not is_typed and kept:
                yield kept
                kept = []
            kept.append(line)
            if is_typed and line.startswith("```"):
                yield kept
                kept, is_typed = [], False
            else:
                is_typed = True
        elif not line.strip() or line.startswith("#") or line.startswith("[["):
            if kept:
                yield kept
            kept = []
            if line.strip():
                yield [line.strip()]
        else:
            kept.append(line)


def _items(lines: list[str]) -> Iterator[str]:
    """Each item on one line, however it was broken."""
    item: list[str] = []
    for line in lines:
        if line.startswith("- ") and item:
            yield ITEM + " ".join(item)
            item = []
        item.append(line.removeprefix("- ").strip())
    yield ITEM + " ".join(item)


def _table(lines: list[str], caption: str) -> CardTable:
    rows = [tuple(_plain(cell.strip()) for cell in line.strip().strip("|").split("|")) for line in lines]
    heads, body = rows[0], tuple(rows[2:])
    return CardTable("table", heads, body, caption, wide=len(heads) - 1, close=True, most_lines=WHOLE)


def _plain(words: str) -> str:
    """Without the marks of what is typed or said loudly: a card has one type."""
    return re.sub(r"`([^`]*)`|\*+([^*]+)\*+", lambda found: found[1] or found[2], words)
