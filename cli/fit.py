"""What a screen has room for: sentences broken at words, with a command kept whole, and tables made narrower until
they fit. A figure is never cut. Plain text in, plain text out."""

from __future__ import annotations

import os
import re
import shutil
import sys
from collections.abc import Sequence
from typing import NamedTuple, TextIO

# How a command goes on in the next line, so that all of it can be pasted at once.
GOES_ON = " `" if os.name == "nt" else " \\"
_HANGING = "  "
_COMMAND = re.compile(r"truethrow(?: (?:\"[^\"]*\"|'[^']*'|[^\s\"'])+)+")
_PIECE = re.compile(r"(?:\"[^\"]*\"|'[^']*'|[^\s\"'])+")
_WORD = re.compile(r"\S+")
_GROUP = re.compile(r"\([^()]*\)|\S+")  # (R11 in 1) is broken last
_ENDS = (",", ";", ":", ".", ")")


def room(stream: TextIO | None = None) -> int | None:
    """How many columns there are: those of the terminal, or what COLUMNS says. None for a pipe, which takes lines
    of any length. stream: standard output if not said."""
    stream = sys.stdout if stream is None else stream
    if not stream.isatty() and not os.environ.get("COLUMNS", "").isdigit():
        return None
    return max(shutil.get_terminal_size().columns, 20)


def sentence(text: str, width: int | None) -> list[str]:
    """A sentence in lines of so many columns. A command begins a line of its own where it would be broken, and one
    that is longer than a line goes on as a shell reads it."""
    if width is None or len(text) <= width:
        return [text]
    indent = re.match(r"\s*", text)[0]  # type: ignore[index]
    hanging = indent + _HANGING
    lines, line = [], indent
    for piece in _pieces(text[len(indent) :]):
        joined = f"{line} {piece}" if line.strip() else line + piece
        if len(joined) <= width:
            line = joined
            continue
        if line.strip():
            lines.append(line)
        line = hanging + piece
        if len(line) > width and " " in piece:
            *broken, line = _command(piece, hanging, width)
            lines += broken
    return [*lines, line]


def _pieces(text: str) -> list[str]:
    """What is not broken: words, and commands with the stop behind them."""
    pieces, at = [], 0
    while at < len(text):
        if (found := _COMMAND.match(text, at)) and (at == 0 or text[at - 1] in " ("):
            words = _PIECE.findall(found[0])
            count = next((i for i, word in enumerate(words, 1) if word.endswith(_ENDS)), len(words))
            piece = " ".join(words[:count])
            at += len(re.match(r"\s+".join(map(re.escape, words[:count])), text[at:])[0])  # type: ignore[index]
        else:
            piece = re.match(r"\S*", text[at:])[0]  # type: ignore[index]
            at += len(piece)
        if piece:
            pieces.append(piece)
        at += len(re.match(r"\s*", text[at:])[0])  # type: ignore[index]
    return pieces


def _command(command: str, indent: str, width: int) -> list[str]:
    lines, line = [], indent
    for word in _with_values(_PIECE.findall(command)):
        joined = f"{line} {word}" if line.strip() else line + word
        if line.strip() and len(joined) > width - len(GOES_ON):
            lines.append(line + GOES_ON)
            line = f"{indent}{_HANGING}{word}"
        else:
            line = joined
    return [*lines, line]


def _with_values(words: Sequence[str]) -> list[str]:
    """Words, an option with what comes behind it as one."""
    joined: list[str] = []
    for word in words:
        if joined and joined[-1].startswith("--") and " " not in joined[-1] and not word.startswith("-"):
            joined[-1] += f" {word}"
        else:
            joined.append(word)
    return joined


class Row(NamedTuple):
    """A row of a table as it is printed: the lines of each of its cells, all of the same height and width."""

    cells: tuple[tuple[str, ...], ...]
    texts: tuple[str, ...]  # as they were given

    def lines(self, gap: int) -> list[str]:
        return [(" " * gap).join(parts).rstrip() for parts in zip(*self.cells, strict=True)]


def tables(
    columns: Sequence[str], rows: Sequence[Sequence[str]], left: Sequence[bool], width: int | None, gap: int
) -> list[list[Row]]:
    """A table with its head, in so many columns: where it is too wide its heads are broken at words, then its
    cells; where even words are too wide it is told in several tables, each with the first column. left: which
    columns stand left."""
    texts = [columns, *rows]
    natural = [max(len(row[i]) for row in texts) for i in range(len(columns))]
    if width is None:
        return [_rows(texts, natural, left)]
    heads_broken = [max(_longest(head), *(len(row[i]) for row in rows), 0) for i, head in enumerate(columns)]
    grouped = [max(_longest(row[i], _GROUP) for row in texts) for i in range(len(columns))]
    least = [max(_longest(row[i]) for row in texts) for i in range(len(columns))]
    between = gap * (len(columns) - 1)
    if sum(least) + between > width and len(columns) > 2:
        return [
            table
            for some in _parts(least, width, gap)
            for table in tables(
                [columns[i] for i in some],
                [[row[i] for i in some] for row in rows],
                [left[i] for i in some],
                width,
                gap,
            )
        ]
    for as_narrow in (heads_broken, grouped, least):
        natural = _narrowed(natural, as_narrow, width - between)
    return [_rows(texts, natural, left)]


def _narrowed(widths: list[int], least: Sequence[int], room_for: int) -> list[int]:
    widths = list(widths)
    while sum(widths) > room_for:
        can = [i for i, wide in enumerate(widths) if wide > least[i]]
        if not can:
            break
        widths[max(can, key=lambda i: widths[i] - least[i])] -= 1
    return widths


def _parts(least: Sequence[int], width: int, gap: int) -> list[list[int]]:
    """Which columns go into which table; the first goes into each."""
    parts: list[list[int]] = [[0]]
    for i in range(1, len(least)):
        if len(parts[-1]) > 1 and sum(least[j] + gap for j in parts[-1]) + least[i] > width:
            parts.append([0])
        parts[-1].append(i)
    return parts


def _longest(text: str, words: re.Pattern[str] = _WORD) -> int:
    return max(map(len, words.findall(text)), default=0)


def _rows(texts: Sequence[Sequence[str]], widths: Sequence[int], left: Sequence[bool]) -> list[Row]:
    made = []
    for at, row in enumerate(texts):
        broken = [_broken(text, wide) for text, wide in zip(row, widths, strict=True)]
        height = max(map(len, broken))
        cells = []
        for lines, wide, is_left in zip(broken, widths, left, strict=True):
            missing = [""] * (height - len(lines))
            # A head stands on its column, a row begins in its first line.
            filled = missing + lines if at == 0 else lines + missing
            cells.append(tuple(line.ljust(wide) if is_left else line.rjust(wide) for line in filled))
        made.append(Row(tuple(cells), tuple(row)))
    return made


def _broken(text: str, width: int) -> list[str]:
    if len(text) <= width:
        return [text]
    words = _GROUP if _longest(text, _GROUP) <= width else _WORD
    lines = [""]
    for word in words.findall(text):
        joined = f"{lines[-1]} {word}".strip()
        if lines[-1] and len(joined) > width:
            lines.append(word)
        else:
            lines[-1] = joined
    return lines
