"""Parts that trade places, in the order in which hands move them, and what to mark on each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from truethrow.balance.base.naming import Names, Part, mark
from truethrow.balance.base.parts import UNITS
from truethrow.worksheets.words import build_words

if TYPE_CHECKING:
    from truethrow.balance.base.trades import Moves
    from truethrow.cli.show import Screen

MARKING = f"! {build_words.MARKING}"


def parts_of(names: Names, moves: Moves, *, are_made: bool = False) -> list[Part]:
    """The parts that move, one cycle after the other: who puts a part down picks up the one that lay there. names:
    before the moves, or after them where they are made."""
    found = []
    for unit in UNITS:
        for start, to in _in_turn(moves.get(unit, {})):
            part = names.part(unit, to if are_made else start)
            found.append(part._replace(cylinder=start, goes_in=to))
    return found


def tell(out: Screen, heading: str, parts: Sequence[Part]) -> None:
    """A table of the parts that move: which to take, what to mark on it, where it goes."""
    again = any(part.weighed_in != part.cylinder for part in parts)
    rows = []
    for part in parts:
        sits = [str(part.cylinder)] if again else []
        rows.append([taken(part), *sits, f"{part.weighed_in}>{part.goes_in}", str(part.goes_in)])
    out.heading(heading)
    out.table(
        ["take", *(["it sits in"] if again else []), "mark it", "it goes in"], rows, words=("take", "mark it")
    )


def taken(part: Part) -> str:
    """Which part to take, as it is marked and where it was weighed."""
    weighed = f"weighed in {part.weighed_in}"
    return f"{part.unit} {mark(part.label)} ({weighed})" if part.label else f"{part.unit} {weighed}"


def _in_turn(moves: Mapping[int, int]) -> Iterator[tuple[int, int]]:
    """Moves from cylinder to cylinder, cycle by cycle."""
    left = dict(sorted(moves.items()))
    while left:
        start = next(iter(left))
        while start in left:
            to = left.pop(start)
            yield start, to
            start = to
