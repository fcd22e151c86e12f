"""The columns of a table: how large its type is, and how wide each column, so that no figure is ever broken.

A figure, a box and a state stand on one line; texts give way to them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from truethrow.worksheets.cards.card import Blank, CardTable, Cell, Figure, Halves, Marked, Stack, Tick, Word
from truethrow.worksheets.prints.texts import longest_word_mm, plain, width_mm

TEXT_PT, LARGE_PT, HEAD_PT = 11.0, 18.0, 9.5
BOXED_PT = 14.0  # beside a box to tick, type of this size makes no row higher
LEAST_PT = 9.0
PHONE_PT, PHONE_BOX = 10.5, 4  # on a telephone: the type where there is room; the widest box, in digits
PAD_MM, CLOSE_PAD_MM = 1.6, 0.8  # at both sides of a cell; where there is little room
FRAME_MM = 2.0  # at both sides of a word in a frame, the frame counted in
DIGIT_MM, TICK_MM = 4.0, 6.0  # to write into, and to tick
NARROWEST_MM = 4.0
SLACK = 1.03  # browsers and typesetters do not agree on the last thousandth
# An even column and a wide one, in widths of what they hold: a figure far from its label is read off by a row.
FAR_MOST = 1.6


class Fit(NamedTuple):
    """How a table stands: its type in points, what is left free at both sides of a cell and its columns' widths in
    mm, and whether each stands right."""

    size_pt: float
    pad_mm: float
    widths_mm: list[float]
    right: list[bool]


def fit(table: CardTable, room_mm: float) -> Fit:
    """The largest type in which everything stands whole; where none does, the smallest."""
    largest = _largest(table, room_mm)
    sizes = [largest - 0.5 * step for step in range(int((largest - LEAST_PT) * 2) + 1)]
    tries = [(size, PAD_MM) for size in sizes if size >= TEXT_PT] + [(size, CLOSE_PAD_MM) for size in sizes]
    # Rows of one line each, where there are many: rather a smaller type than rows of two.
    ways = [_wished] if table.names else [_wished, _needed] if table.large and table.close else [_needed]
    fitting = (each for takes in ways for each in tries if sum(takes(table, *each)) <= room_mm)
    size, pad = next(fitting, (LEAST_PT, CLOSE_PAD_MM))
    return Fit(size, pad, _widths(table, size, pad, room_mm), [_stands_right(each) for each in _columns(table)])


def arranged(table: CardTable, room_mm: float) -> list[CardTable]:
    """The table; of one that is wider than the paper the names of its rows' parts, or else its texts, stand apart,
    so that none is broken or cut: beside boxes, which are as high, below each other in one column; of figures in
    a table of their own."""
    takes = _wished if table.names else _needed
    if sum(takes(table, LEAST_PT, CLOSE_PAD_MM)) <= room_mm:
        return [table]
    columns = _columns(table)
    texts = list(table.names) or [
        at for at in range(1, len(columns)) if all(isinstance(cell, str) for cell in columns[at])
    ]
    figures = [at for at in range(1, len(columns)) if at not in texts]
    if not texts or not figures:
        return [table]
    if any(isinstance(cell, Blank) for row in table.rows for cell in row):
        return [_stacked(table, texts)]
    below = _only(table, [0, *texts])
    rows = tuple(tuple(map(_in_small, row)) for row in below.rows if any(row[1:]))
    # Two tables take the height of both: near rows keep them on one page.
    above = replace(_only(table, [0, *figures]), close=True)
    return [above, replace(below, rows=rows, caption="", large=False, close=True)]


def _stacked(table: CardTable, texts: Sequence[int]) -> CardTable:
    """The same table with its texts below each other in the column of the first."""
    first, *others = texts
    kept = [at for at in range(len(table.heads)) if at not in others]
    rows = []
    for row in table.rows:
        said = tuple(cell for at in texts if isinstance(cell := row[at], str))
        own = Stack(said) if any(said) else ""
        rows.append(tuple(own if at == first else row[at] for at in kept))
    heads = tuple(_one_head([table.heads[at] for at in texts]) if at == first else table.heads[at] for at in kept)
    return replace(table, heads=heads, rows=tuple(rows), names=(first,), close=True)


def _in_small(cell: Cell) -> Cell:
    return Stack((cell if isinstance(cell, str) else cell.text,)) if isinstance(cell, str | Figure) else cell


def _one_head(heads: Sequence[str]) -> str:
    """``piston, pin, rod label``"""
    *_, last = heads[0].split()
    if any(not head.endswith(f" {last}") for head in heads):
        return ", ".join(heads)
    return f"{', '.join(head.removesuffix(f' {last}') for head in heads)} {last}"


def _only(table: CardTable, kept: Sequence[int]) -> CardTable:
    """The same table with these columns alone."""
    return replace(
        table,
        heads=tuple(table.heads[at] for at in kept),
        rows=tuple(tuple(row[at] for at in kept) for row in table.rows),
        wide=kept.index(table.wide) if table.wide in kept else None,
        names=tuple(kept.index(at) for at in table.names if at in kept),
    )


def on_phone_mm(table: CardTable) -> float:
    """What the columns need beside each other in PHONE_PT."""
    rows = tuple(
        tuple(cell._replace(wide=min(cell.wide, PHONE_BOX)) if isinstance(cell, Blank) else cell for cell in row)
        for row in table.rows
    )
    return sum(_needed(replace(table, rows=rows), PHONE_PT, CLOSE_PAD_MM))


def _largest(table: CardTable, room_mm: float) -> float:
    if table.large:
        return LARGE_PT
    is_boxed = bool(table.rows) and all(any(isinstance(c, Tick | Blank) for c in row) for row in table.rows)
    sizes = (BOXED_PT - 0.5 * step for step in range(int((BOXED_PT - TEXT_PT) * 2))) if is_boxed else ()
    return next((size for size in sizes if sum(_wished(table, size, PAD_MM)) <= room_mm), TEXT_PT)


def cell_mm(cell: Cell, size_pt: float) -> float:
    """A cell's width on one line."""
    match cell:
        case Blank(unit, wide):
            return wide * DIGIT_MM + (width_mm(plain(unit), TEXT_PT) + 1.5 if unit else 0.0)
        case Tick():
            return TICK_MM
        case Stack(texts):
            return max(width_mm(plain(text), LEAST_PT) for text in texts)
        case _:
            return _text_mm(cell, size_pt)


def _text_mm(cell: str | Figure | Halves | Marked | Word, size_pt: float) -> float:
    match cell:
        case Word(text, weight):
            return width_mm(plain(text), size_pt) + (0.0 if weight == "plain" else 2 * FRAME_MM)
        case Figure() | Halves():
            return width_mm(plain(cell.text), size_pt)
        case Marked(figure, mark):
            return width_mm(f"{mark} {plain(figure.text)}", size_pt)
        case _:
            return width_mm(plain(cell), size_pt)


def _columns(table: CardTable) -> list[tuple[Cell, ...]]:
    return [tuple(row[at] for row in table.rows) for at in range(len(table.heads))]


def _stands_right(column: Sequence[Cell]) -> bool:
    """Whether there is a figure in it, or a box for one, and no text but dashes and the like."""
    is_of_figures = any(isinstance(cell, Figure | Halves | Marked | Blank) for cell in column)
    return is_of_figures and all(not isinstance(cell, str) or len(cell) <= 1 for cell in column)


def _needed(table: CardTable, size_pt: float, pad_mm: float) -> list[float]:
    """What each column needs at the least: its figures, boxes and head whole, its words where they are short."""
    return [
        max(_head_mm(head), *(_least_mm(cell, size_pt) for cell in column), NARROWEST_MM) * SLACK + 2 * pad_mm
        for head, column in zip(table.heads, _columns(table), strict=True)
    ]


def _wished(table: CardTable, size_pt: float, pad_mm: float) -> list[float]:
    """What each column would take to break no text."""
    return [
        max(_head_mm(head), *(cell_mm(cell, size_pt) for cell in column), NARROWEST_MM) * SLACK + 2 * pad_mm
        for head, column in zip(table.heads, _columns(table), strict=True)
    ]


def _head_mm(head: str) -> float:
    return longest_word_mm(plain(head), HEAD_PT)


def _least_mm(cell: Cell, size_pt: float) -> float:
    if isinstance(cell, str):
        return longest_word_mm(plain(cell), size_pt)
    if isinstance(cell, Stack):
        return max(longest_word_mm(plain(text), LEAST_PT) for text in cell.texts)
    return cell_mm(cell, size_pt)


def _on_one_line(table: CardTable, wished: Sequence[float], pad_mm: float) -> list[float]:
    """What each column would take to break no head either."""
    heads = (width_mm(plain(head), HEAD_PT) * SLACK + 2 * pad_mm for head in table.heads)
    return [max(pair) for pair in zip(wished, heads, strict=True)]


def _widths(table: CardTable, size_pt: float, pad_mm: float, room_mm: float) -> list[float]:
    """The columns, together no more than the room there is."""
    needed, wished = _needed(table, size_pt, pad_mm), _wished(table, size_pt, pad_mm)
    if sum(on_one_line := _on_one_line(table, wished, pad_mm)) <= room_mm:
        wished = on_one_line
    if sum(needed) > room_mm:  # even the smallest type is too large: all give alike
        return [width * room_mm / sum(needed) for width in needed]
    if table.names and sum(wished) > room_mm:
        spare, more = room_mm - sum(needed), sum(wished) - sum(needed)
        return [need + (wish - need) * spare / more for need, wish in zip(needed, wished, strict=True)]
    if table.wide is None:
        least = wished if sum(wished) <= room_mm else needed
        return _even(least, max(sum(least), min(room_mm, max(wished) * FAR_MOST * len(wished))))
    return _around(table.wide, needed, wished, room_mm)


def _around(wide: int, needed: list[float], wished: list[float], room_mm: float) -> list[float]:
    """What the others wish for, as far as the wide column keeps a third of the room; and the rest for that one."""
    widths = needed.copy()
    kept = max(room_mm / 3, wished[wide]) if sum(wished) <= room_mm else room_mm / 3
    spare = room_mm - sum(needed) - max(0.0, kept - needed[wide])
    for at, wish in sorted(enumerate(wished), key=lambda each: each[1] - needed[each[0]]):  # the least first
        if at != wide and spare > 0:
            more = min(spare, wish - widths[at])
            widths[at] += more
            spare -= more
    most = max(wished[wide] * FAR_MOST, room_mm / 3)
    widths[wide] += min(room_mm - sum(widths), most - widths[wide])
    return widths


def _even(needed: list[float], room_mm: float) -> list[float]:
    """Even columns, but none narrower than it needs."""
    fixed: dict[int, float] = {}
    while True:
        rest = [at for at in range(len(needed)) if at not in fixed]
        even = (room_mm - sum(fixed.values())) / max(1, len(rest))
        over = [at for at in rest if needed[at] > even + 1e-9]
        if not over:
            return [fixed.get(at, even) for at in range(len(needed))]
        fixed |= {at: needed[at] for at in over}
