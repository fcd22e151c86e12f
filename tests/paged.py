"""What a page holds: its tables, its lines, its figures, and whether these are those of its data."""

from __future__ import annotations

import dataclasses
from typing import Any

from truethrow.worksheets.cards.card import Card, CardTable, Figure, Lines, flat


def blocks(page: Card, kind: type) -> list[Any]:
    return [block for block in flat(page.blocks) if isinstance(block, kind)]


def lines(page: Card) -> list[str]:
    return [line for block in blocks(page, Lines) for line in block.lines]


def figures(page: Card) -> list[Figure]:
    """Those of its tables."""
    cells = (cell for table in blocks(page, CardTable) for row in table.rows for cell in row)
    return [cell for cell in cells if isinstance(cell, Figure)]


def strangers(page: Card) -> list[Figure]:
    """Figures that are not at their place in the page's data."""
    return [one for one in figures(page) if _at(page.data, one.path) != one.value]


def is_same_on_another_day(page: Card) -> bool:
    return dataclasses.replace(page, date="2027-02-01").digest == page.digest


def _at(data: Any, path: tuple[str | int, ...]) -> Any:
    for step in path:
        data = data[step]
    return data
