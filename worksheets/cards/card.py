"""A card as it stands on paper, before anybody draws it: what every rendering is made from.

A card is a list of blocks. A number on it is a Figure, which remembers where in the card's data it was found, so
that no rendering and no card can show what the data (--json) does not hold.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, Literal, NamedTuple
from urllib.parse import quote

from truethrow.balance.base.amounts import Amount

CardKind = Literal["bench", "trim", "bobweight", "station", "report"]
KINDS: tuple[CardKind, ...] = ("bench", "trim", "bobweight", "station", "report")

# Pages that are made by themselves, and are in no folder of cards.
PageKind = Literal["candidates", "order", "quote", "working", "handbook"]

# How a state is told without colour: plain; in a frame (not sure, to be done); white on black (stop, outside).
Weight = Literal["plain", "framed", "inverse"]


class Figure(NamedTuple):
    """A number. shown: as a person reads it; value: as in the data, in g, mm, degrees or r/min; path: where it
    stands in the data; before, behind: what is said with it, around number and unit."""

    shown: Amount
    value: float
    path: tuple[str | int, ...]
    before: str = ""
    behind: str = ""

    @property
    def text(self) -> str:
        return f"{self.before}{self.shown}{self.behind}"


class Halves(NamedTuple):
    """What goes on each half of one clamp, where the two differ; None for nothing."""

    front: Figure | None
    rear: Figure | None

    @property
    def text(self) -> str:
        return " + ".join("–" if one is None else one.text for one in self)


class Word(NamedTuple):
    """A text that says a state, such as a verdict."""

    text: str
    weight: Weight = "plain"


class Blank(NamedTuple):
    """A box to write into. unit: what stands behind it; wide: in widths of a digit."""

    unit: str = ""
    wide: int = 7


class Stack(NamedTuple):
    """Short texts below each other, in small type: what is written on the parts of a row."""

    texts: tuple[str, ...]


class Tick(NamedTuple):
    """A box to tick. done: whether it is."""

    done: bool = False


class Marked(NamedTuple):
    """A figure that stands out among its like: ▲ the heaviest, ▼ the lightest."""

    figure: Figure
    mark: Literal["▲", "▼"]


Cell = str | Figure | Halves | Word | Blank | Tick | Marked | Stack


class Big(NamedTuple):
    """A figure to be read at arm's length. below: small print under it."""

    label: str
    cell: Figure | Word
    below: str = ""


@dataclass(frozen=True)
class Bigs:
    """Big figures, all of one size, at most four in a row. is_modest: large enough at a bench, not from afar."""

    bigs: tuple[Big, ...]
    is_modest: bool = False


class ChartLine(NamedTuple):
    """Figures of a chart, one for each of what they go along. is_limit: what the others are held against."""

    head: str
    figures: tuple[Figure, ...]
    is_limit: bool = False


class Chart(NamedTuple):
    """What a spreadsheet draws of a table whose paper has a drawing of its own. along: what its lines go along;
    unit: of all of them."""

    caption: str
    along: ChartLine
    lines: tuple[ChartLine, ...]
    unit: str


@dataclass(frozen=True)
class CardTable:
    """Columns' heads, and rows of cells. caption: what it is; wide: the column that takes what room is left, None
    for even columns; large: in figures readable at arm's length; close: rows near each other, for who reads it
    sitting; name: of its sheet in a spreadsheet; most_lines: a text that takes more gives way in its middle;
    chart: what a spreadsheet draws of it; names: the columns of what is written on parts, never broken."""

    name: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    caption: str = ""
    wide: int | None = None
    large: bool = False
    close: bool = False
    most_lines: int = 3
    chart: Chart | None = None
    names: tuple[int, ...] = ()


@dataclass(frozen=True)
class Picture:
    """A drawing. svg: a whole document; wide: its share of the page's width, or of its column; words: what it
    shows, for who cannot see it."""

    name: str
    svg: str
    words: str
    caption: str = ""
    wide: float = 1.0


@dataclass(frozen=True)
class Lines:
    """Sentences, one a line. weight: how they are told apart from the rest; heading: above them; is_small: for who
    reads them once."""

    lines: tuple[str, ...]
    heading: str = ""
    weight: Weight = "plain"
    is_small: bool = False


@dataclass(frozen=True)
class Side:
    """Blocks beside each other. shares: of the page's width."""

    columns: tuple[tuple[Bigs | CardTable | Picture | Lines, ...], ...]
    shares: tuple[float, ...]


@dataclass(frozen=True)
class Tile:
    """One part, or one counterweight: its drawing, and what is to be done or written beside it, a label and cells
    a row."""

    title: str
    picture: Picture
    rows: tuple[tuple[str, tuple[Cell, ...]], ...]


@dataclass(frozen=True)
class Tiles:
    """Tiles in columns, none of them parted by a page's end."""

    tiles: tuple[Tile, ...]
    columns: int = 2


@dataclass(frozen=True)
class Chapter:
    """Begins a page of a handbook. name: of its anchor."""

    title: str
    name: str


@dataclass(frozen=True)
class Contents:
    """The chapters of a handbook, on paper each with its page."""

    chapters: tuple[Chapter, ...]


@dataclass(frozen=True)
class Typed:
    """What is typed at a terminal or stands in a file, line by line, its blanks kept."""

    lines: tuple[str, ...]


def stop(said: str, why: tuple[str, ...]) -> list[Bigs | Lines]:
    """What must not be passed over, no smaller than any figure, and why."""
    return [Bigs((Big("stop", Word(said, "inverse")),)), Lines(why)]


def without_empty(
    heads: tuple[str, ...], rows: tuple[tuple[Cell, ...], ...]
) -> tuple[tuple[str, ...], tuple[tuple[Cell, ...], ...]]:
    """Heads and rows of a table, without the columns in which nothing stands."""
    kept = [at for at in range(len(heads)) if any(row[at] != "" for row in rows)]
    return tuple(heads[at] for at in kept), tuple(tuple(row[at] for at in kept) for row in rows)


Block = Bigs | CardTable | Picture | Lines | Side | Tiles | Chapter | Contents | Typed


def flat(
    blocks: Iterable[Block],
) -> Iterator[Bigs | CardTable | Picture | Lines | Tiles | Chapter | Contents | Typed]:
    """Every block, those beside each other one by one."""
    for block in blocks:
        if isinstance(block, Side):
            for column in block.columns:
                yield from flat(column)
        else:
            yield block


@dataclass(frozen=True)
class Card:
    """One card of one job. data: plain data in which every figure of it is found; digest: of that data;
    about: whose job it is, which crank, when it is due, no part of the data, so that no card grows old by it;
    date: of issue, ISO 8601; code: the text of its QR code, none on a page that nothing is worked by; head: how
    far the log had come, as it is printed; at: the address of the shop's screens, where it was printed from one.
    No card grows old by these."""

    kind: CardKind | PageKind
    title: str
    job_id: str
    job_title: str
    about: str
    job_digest: str
    date: str
    digest: str
    code: str
    blocks: tuple[Block, ...]
    cautions: tuple[str, ...]
    data: dict[str, Any]
    head: str = ""
    at: str = ""

    @property
    def scanned(self) -> str:
        """The text of its QR code: the code, behind the address where a phone has it looked up, if there is
        one."""
        return f"{self.at}/card?code={quote(self.code, safe=':')}" if self.at and self.code else self.code
