"""A card laid out for one paper: plain data that both templates draw as they find it, in mm and points.

What a browser and a typesetter would each decide their own way (widths of columns, sizes of figures, heights of
drawings, where a text is cut) is decided here, so that a page looks the same in both.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Literal, NamedTuple

from truethrow.worksheets.cards.card import (
    Bigs,
    Blank,
    Block,
    Card,
    CardTable,
    Cell,
    Chapter,
    Contents,
    Figure,
    Halves,
    Lines,
    Marked,
    Picture,
    Side,
    Stack,
    Tick,
    Tile,
    Tiles,
    Typed,
    Word,
    flat,
)
from truethrow.worksheets.prints.columns import (
    BOXED_PT,
    DIGIT_MM,
    FRAME_MM,
    HEAD_PT,
    LEAST_PT,
    PHONE_PT,
    SLACK,
    TEXT_PT,
    arranged,
    cell_mm,
    fit,
    on_phone_mm,
)
from truethrow.worksheets.prints.keeping import Node, together
from truethrow.worksheets.prints.qr import as_svg
from truethrow.worksheets.prints.texts import MM_PER_PT, cut, firm, longest_word_mm, plain, soft, width_mm
from truethrow.worksheets.shown.turned import apart

PaperName = Literal["a4", "letter"]


class Paper(NamedTuple):
    """A sheet of paper in mm, and what its margins leave. The left one is for a clip or holes."""

    name: PaperName
    css: str
    width: float
    height: float
    left: float = 20.0
    right: float = 10.0
    top: float = 10.0
    bottom: float = 16.0

    @property
    def content_width(self) -> float:
        return self.width - self.left - self.right

    @property
    def content_height(self) -> float:
        return self.height - self.top - self.bottom


PAPERS: dict[str, Paper] = {
    "a4": Paper("a4", "210mm 297mm", 210.0, 297.0),
    "letter": Paper("letter", "215.9mm 279.4mm", 215.9, 279.4),
}

TITLE_PT, SMALL_PT, CAUTION_PT = 13.0, 9.0, 10.0
CHAPTER_PT = 26.0
TYPED_PT, LEAST_TYPED_PT, TYPED_PAD_MM, MONO_EM = 8.5, 7.0, 4.0, 0.602  # the width of a letter in DejaVu Sans Mono
BIG_PT = (40.0, 34.0, 30.0, 26.0, 22.0, 18.0)
IN_ROWS_PT, MODEST_PT = 30.0, 22.0  # of those in several rows; of those to be read at a bench
STOP_PT = BIG_PT[0]  # what stops somebody is nowhere smaller than a figure
BIGS = 4  # more in a row are not big
GAP_MM = 6.0
UNITS_SAID = "g|kg|oz|lb|mm|cm|in|g·mm|g·cm|g·in|oz·in|N|lbf|lbf·ft|N·m|r/min|%|cm³|in³"
QR_MM = 27.0
FRAME_PAD_MM, CAUTION_MM = 3.8, 24.0  # within a frame, its rule counted in; of the cautions' heading
LABEL_SHARE = 0.34  # of a tile, at most
CELL_LINES, HEAD_LINES, SENTENCE_LINES, TITLE_LINES = 3, 6, 9, 2  # a head that is cut may be of another end
KEPT_LINES, FRAMED_LINES, KEPT_ROWS = 6, 12, 8  # sentences and rows that are kept on one page
FIRST_ROWS = 3  # of a table that goes over pages, below its head: fewer do not begin it at the foot of a page
ROW_MM, CLOSE_ROW_MM = 1.2, 0.5  # above and below the cells of a row
TALLEST, TALLEST_TILE_MM = 0.6, 92.0


def sheet(card: Card, on: Paper) -> Node:
    """The whole card. Lengths in mm, sizes of type in pt; texts are plain, long words may be broken at their
    zero-width spaces."""
    room = on.content_width
    job = cut(plain(card.job_id), SMALL_PT, 60, 1)
    return {
        "kind": card.kind,
        "paper": {**on._asdict(), "content_width": room},
        "title": f"{plain(card.title)}, {plain(card.job_id)}",
        "head": {
            "kind": card.kind.upper(),
            "job": _fitted(card.job_id, 20.0, room - QR_MM - GAP_MM, TITLE_LINES),
            # Of its longest word, in sizes of its type: on a telephone that is as small as it takes.
            "job_em": longest_word_mm(plain(card.job_id), 1 / MM_PER_PT),
            "title": _fitted(card.title, TITLE_PT, room - QR_MM - GAP_MM, TITLE_LINES),
            "about": _fitted(card.about, TEXT_PT, room - QR_MM - GAP_MM, TITLE_LINES),
            "job_title": _fitted(card.job_title, TEXT_PT, room - QR_MM - GAP_MM, TITLE_LINES),
            "stand": " · ".join(
                [card.date, *_readings(card.job_digest), f"{_what(card)} {card.digest}", *_log(card.head)]
            ),
            "code": plain(card.code),
            "code_soft": soft(plain(card.code), SMALL_PT, room),
            "qr": as_svg(card.scanned) if card.code else "",
            "qr_mm": QR_MM,
        },
        "footer": f"{job} · {card.kind} · {card.date} · {card.digest}",
        "date": card.date,
        "keywords": card.code,
        "blocks": _blocks(card, on),
    }


def _readings(digest: str) -> list[str]:
    return [f"readings {digest}"] if digest else []


def _what(card: Card) -> str:
    return "card" if card.code else "page"


def _log(head: str) -> list[str]:
    return [f"log {head}"] if head else []


def note(said: str) -> Node:
    """A sentence in a frame, of whoever prints the card."""
    return _lines(Lines((said,), weight="framed"), min(paper.content_width for paper in PAPERS.values()))


def pictures(blocks: Iterable[Block]) -> Iterator[Picture]:
    """Every drawing on a card, in its order."""
    for block in flat(blocks):
        if isinstance(block, Picture):
            yield block
        elif isinstance(block, Tiles):
            yield from (tile.picture for tile in block.tiles)


def _fitted(text: str, size: float, room: float, lines: int) -> str:
    """A text from a card, cut to so many lines of so much room."""
    return apart(soft(cut(_together(plain(text)), size, room, lines), size, room))


# Between a figure and what belongs to it: its ±, its unit, whose angle it is, in which cylinder a part sits, from
# and to which one an order goes, of which throw it is.
_WITHIN_FIGURE = re.compile(
    rf"(?<=±) (?=\d)|(?<=\d) (?=±)|(?<=\d) (?=(?:{UNITS_SAID})(?![\w·]))|(?<=\bcrank) (?=\d)|"
    r"(?<=\bsits) (?=in \d)|(?<=\bin) (?=\d)|(?<=\d) (?=→)|(?<=→) (?=\d)|"
    rf"(?<=\bthrow) (?=\w)|(?<=\w:) (?=[\d.]+ (?:{UNITS_SAID})(?![\w·]))"
)


def _together(text: str) -> str:
    """A text of which no figure is parted from what belongs to it at a line's end."""
    return _WITHIN_FIGURE.sub("\N{NO-BREAK SPACE}", text)


def _blocks(card: Card, on: Paper) -> list[Node]:
    """The card's blocks and its cautions."""
    nodes = [_block(block, on.content_width, on) for block in _with_room(card.blocks, on.content_width)]
    if not card.cautions:
        return nodes
    cautions = _cautions(card.cautions, on.content_width)
    return together(nodes, cautions, on.content_height) if nodes else [cautions]


def _with_room(blocks: Iterable[Block], room: float) -> Iterator[Block]:
    """The blocks, a table that is too wide arranged otherwise."""
    for block in blocks:
        yield from arranged(block, room) if isinstance(block, CardTable) else (block,)


def _cautions(lines: Sequence[str], room: float) -> Node:
    """Cautions in a frame: their heading at the left, so that they take little height."""
    inner = room - 2 * FRAME_PAD_MM - CAUTION_MM
    fitted = [_fitted(line, CAUTION_PT, inner, SENTENCE_LINES) for line in lines]
    return {"type": "cautions", "heading": "Caution", "lines": fitted, "left": CAUTION_MM, "pt": CAUTION_PT}


def _block(block: Block, room: float, on: Paper) -> Node:
    match block:
        case Bigs():
            return _bigs(block, room)
        case CardTable():
            return _table(block, room)
        case Picture():
            return _picture(block, room, on.content_height * TALLEST)
        case Lines():
            return _lines(block, room)
        case Side():
            return _side(block, room, on)
        case Tiles() | Chapter() | Contents() | Typed():
            return _tiles(block, room) if isinstance(block, Tiles) else _of_a_book(block, room)


def _of_a_book(block: Chapter | Contents | Typed, room: float) -> Node:
    match block:
        case Chapter(title, name):
            return {"type": "chapter", "title": plain(title), "name": name, "pt": CHAPTER_PT}
        case Contents(chapters):
            return {"type": "contents", "chapters": [{"title": plain(c.title), "name": c.name} for c in chapters]}
        case Typed(lines):
            return {"type": "typed", "lines": [_as_typed(line) for line in lines], "pt": _typed_pt(lines, room)}


def _typed_pt(lines: Sequence[str], room: float) -> float:
    """So large that no line is broken, where that can still be read: what is pasted is a line then."""
    longest = max(map(len, lines), default=0)
    most = (room - TYPED_PAD_MM) / MM_PER_PT / MONO_EM / max(1, longest)
    return max(LEAST_TYPED_PT, min(TYPED_PT, math.floor(10 * most) / 10))


def _as_typed(line: str) -> str:
    """A line of which no blank is lost: those that only set apart are never broken."""
    kept = (
        plain(word) if word.strip() else "\N{NO-BREAK SPACE}" * len(word)
        for word in re.split(r"(^ +| {2,})", line)
    )
    return "".join(kept)


def _bigs(block: Bigs, room: float) -> Node:
    """In even rows, all of one size: none is larger than its like for standing in a row alone."""
    least = max((longest_word_mm(plain(big.label), TEXT_PT) for big in block.bigs), default=0.0) * SLACK
    columns, each = next(
        (columns, each) for columns, each in _even_rows(len(block.bigs), room) if each >= least or columns == 1
    )
    most = MODEST_PT if block.is_modest else BIG_PT[0] if len(block.bigs) <= columns else IN_ROWS_PT
    sizes = [pt for pt in BIG_PT if pt <= most]
    size = next((pt for pt in sizes if all(_fits(big.cell, pt, each) for big in block.bigs)), BIG_PT[-1])
    return {
        "type": "bigs",
        "wide": each,
        "columns": columns,
        "least": least,
        "pt": size,
        "bigs": [
            {
                "label": _fitted(big.label, TEXT_PT, each, TITLE_LINES),
                "cell": _cell(big.cell, size, each),
                "below": _fitted(big.below, HEAD_PT, each, CELL_LINES),
            }
            for big in block.bigs
        ],
    }


def _even_rows(count: int, room: float) -> Iterator[tuple[int, float]]:
    """How many may stand beside each other in even rows, and how wide each, the most first."""
    for most in range(BIGS, 0, -1):
        rows = max(1, math.ceil(count / most))
        columns = max(1, math.ceil(count / rows))
        yield columns, (room - GAP_MM * (columns - 1)) / columns


def _fits(cell: Cell, size: float, room: float) -> bool:
    return cell_mm(cell, size) * SLACK <= room


def _lines(block: Lines, room: float) -> Node:
    inner = room if block.weight == "plain" else room - 2 * FRAME_PAD_MM
    size = HEAD_PT if block.is_small else TEXT_PT
    lines = [_fitted(line, size, inner, SENTENCE_LINES) for line in block.lines]
    heading_pt = STOP_PT if block.weight == "inverse" else TITLE_PT
    return {
        "type": "lines",
        "heading": _fitted(block.heading, heading_pt, inner, TITLE_LINES),
        "heading_pt": heading_pt,
        "lines": lines,
        "pt": size,
        "small": block.is_small,
        "weight": block.weight,
        # A heading alone, and what announces the next block, stay with it.
        "leads": not lines or lines[-1].endswith(":"),
        "whole": len(lines) <= (KEPT_LINES if block.weight == "plain" else FRAMED_LINES),
    }


def _picture(block: Picture, room: float, tallest: float) -> Node:
    wide, high = _size(block.svg)
    width = min(room * min(block.wide, 1.0), tallest * wide / high)
    return {
        "type": "picture",
        "svg": block.svg,
        "name": block.name,
        "words": plain(block.words),
        "caption": _fitted(block.caption, HEAD_PT, room, SENTENCE_LINES),
        "width": width,
        "height": width * high / wide,
    }


_VIEW_BOX = re.compile(r"<svg\b[^>]*?\bviewBox=[\"']([^\"']+)[\"']")


def _size(svg: str) -> tuple[float, float]:
    """A drawing's width and height, in whatever its viewBox counts."""
    found = _VIEW_BOX.search(svg)
    if found is None:
        raise ValueError("a drawing without a viewBox")
    _, _, width, height = map(float, found[1].replace(",", " ").split())
    return width, height


def _side(block: Side, room: float, on: Paper) -> Node:
    inner = room - GAP_MM * (len(block.columns) - 1)
    widths = [inner * share / sum(block.shares) for share in block.shares]
    return {
        "type": "side",
        "widths": widths,
        "columns": [
            [_block(each, width, on) for each in _with_room(column, width)]
            for column, width in zip(block.columns, widths, strict=True)
        ],
    }


def _tiles(block: Tiles, room: float) -> Node:
    columns = max(1, block.columns)
    each = (room - GAP_MM * (columns - 1)) / columns
    tiles = [_tile(tile, each) for tile in block.tiles]
    return {
        "type": "tiles",
        "wide": each,
        "columns": columns,
        "rows": [tiles[at : at + columns] for at in range(0, len(tiles), columns)],
    }


def _tile(tile: Tile, room: float) -> Node:
    label_mm = min(
        LABEL_SHARE * room, max((width_mm(plain(label), TEXT_PT) for label, _ in tile.rows), default=0.0) * SLACK
    )
    cells_mm = room - label_mm - 3
    return {
        "title": _fitted(tile.title, TITLE_PT, room, TITLE_LINES),
        "picture": _picture(tile.picture, room, TALLEST_TILE_MM),
        "label_mm": label_mm,
        "rows": [
            {
                "label": _fitted(label, TEXT_PT, label_mm, CELL_LINES),
                "lines": [[_cell(cell, TEXT_PT, cells_mm) for cell in line] for line in _wrapped(cells, cells_mm)],
            }
            for label, cells in tile.rows
        ],
    }


def _wrapped(cells: Sequence[Cell], room: float) -> list[list[Cell]]:
    """Cells beside each other, as many a line as there is room for."""
    lines: list[list[Cell]] = [[]]
    used = 0.0
    for cell in cells:
        wide = cell_mm(cell, TEXT_PT) * SLACK
        if lines[-1] and used + 3 + wide > room:
            lines.append([])
        used = used + 3 + wide if lines[-1] else wide
        lines[-1].append(cell)
    return lines


def _table(block: CardTable, room: float) -> Node:
    size, pad, widths, right = fit(block, room)
    inner = [width - 2 * pad for width in widths]
    heads = [
        {"text": _fitted(head, HEAD_PT, width, HEAD_LINES), "right": is_right}
        for head, width, is_right in zip(block.heads, inner, right, strict=True)
    ]
    return {
        "type": "table",
        "caption": _fitted(block.caption, TITLE_PT, room, CELL_LINES),
        "pt": size,
        "pad": pad,
        "above": CLOSE_ROW_MM if block.close else ROW_MM,
        # The size of its type on a telephone, in widths of the screen.
        "phone": PHONE_PT * MM_PER_PT / on_phone_mm(block),
        "large": block.large or size >= BOXED_PT,
        "whole": len(block.rows) <= KEPT_ROWS,
        "first": FIRST_ROWS,
        "widths": widths,
        "right": right,
        "heads": heads if any(block.heads) else [],
        "rows": [
            [_cell(cell, size, width, block.most_lines) for cell, width in zip(row, inner, strict=True)]
            for row in block.rows
        ],
    }


def _cell(cell: Cell, size: float, room: float, lines: int = CELL_LINES) -> Node:
    match cell:
        case Blank(unit, wide):
            return {"type": "blank", "wide": min(wide * DIGIT_MM, room), "unit": plain(unit)}
        case Tick(done):
            return {"type": "tick", "done": done}
        case Stack(texts):
            said = [_fitted(text, LEAST_PT, room, lines) for text in texts]
            return {"type": "stack", "lines": said, "pt": LEAST_PT}
        case _:
            return _said(cell, size, room, lines)


def _said(cell: str | Word | Figure | Halves | Marked, size: float, room: float, lines: int) -> Node:
    match cell:
        case Word(text, weight):
            inner = room - (0.0 if weight == "plain" else 2 * FRAME_MM)
            return {"type": "word", "weight": weight, "text": _fitted(text, size, inner, lines)}
        case Figure() | Halves():
            return {"type": "figure", "text": firm(plain(cell.text))}
        case Marked(figure, mark):
            return {"type": "marked", "text": firm(f"{mark} {plain(figure.text)}")}
        case _:
            return {"type": "text", "text": _fitted(cell, size, room, lines)}
