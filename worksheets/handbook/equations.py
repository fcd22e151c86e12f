"""Every equation with its symbols, its source, and one example in figures, out of equations.toml."""

from __future__ import annotations

import tomllib
from importlib import resources
from typing import NamedTuple

from truethrow.worksheets.cards.card import Block, Lines
from truethrow.worksheets.handbook.chapter_text import ITEM


class Equation(NamedTuple):
    """of: what it gives; formula; symbols: each with what it means and its unit; source; example: in figures,
    worked as printed; where: the function of the program that is held to it."""

    of: str
    formula: str
    symbols: tuple[tuple[str, str, str], ...]
    source: str
    example: str
    where: str


def equations() -> tuple[Equation, ...]:
    read = tomllib.loads(resources.files(__package__).joinpath("equations.toml").read_text(encoding="utf-8"))
    return tuple(
        Equation(
            one["of"],
            one["formula"],
            tuple((symbol, *said) for symbol, said in one["symbols"].items()),
            one["source"],
            one["example"],
            one["where"],
        )
        for one in read["equation"]
    )


def blocks() -> tuple[Block, ...]:
    found: list[Block] = []
    for one in equations():
        symbols = (f"{ITEM}{symbol}: {means}{unit and f', {unit}'}" for symbol, means, unit in one.symbols)
        lines = one.formula, *symbols, f"Source: {one.source}.", f"In figures: {one.example}"
        found.append(Lines(lines, one.of))
    return tuple(found)
