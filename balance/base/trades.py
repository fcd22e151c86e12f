"""Parts that trade places: the moves of whole things, as text and as a table.

What trades places is a whole thing (a rod with both its ends and its cap). Moves are written as

    piston 3>5 5>3; rod 1>2 2>1

from cylinder > to cylinder, in full cycles: where a part leaves, another comes.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from truethrow.balance.base.errors import Fault, shown
from truethrow.balance.base.parts import UNIT_OF, UNITS

# unit → {from cylinder: to cylinder}, only of those that move.
Moves = Mapping[str, Mapping[int, int]]


_MOVE = re.compile(r"([1-9][0-9]?)>([1-9][0-9]?)", re.ASCII)


def parse(text: str) -> Moves:
    """Moves from their text. Raises ValueError for what are none."""
    found: dict[str, dict[int, int]] = {}
    for piece in text.split(";"):
        unit, *moves = piece.split() or [""]
        if unit in found:
            raise ValueError(f"{unit} is there twice")
        pairs = [_MOVE.fullmatch(move) for move in moves]
        if not pairs or None in pairs:
            raise ValueError(f"{shown(piece.strip())!r} is no move, such as piston 3>5 5>3")
        found[unit] = {int(pair[1]): int(pair[2]) for pair in pairs if pair}
        if len(found[unit]) < len(pairs):
            raise ValueError(f"{unit}: a place would be left empty or taken twice")
    return checked(found)


def plain(moves: Moves) -> dict[str, dict[int, int]]:
    """The same moves in an order of their own, as they are kept. Raises ValueError for what are none."""
    moves = checked(moves)
    return {
        unit: {int(start): int(moves[unit][start]) for start in sorted(moves[unit])}
        for unit in UNITS
        if unit in moves
    }


def text(moves: Moves) -> str:
    """The text of moves, always the same for the same moves. Raises ValueError for what are none."""
    moves = checked(moves)
    return "; ".join(
        " ".join([unit, *(f"{start}>{to}" for start, to in sorted(moves[unit].items()))])
        for unit in UNITS
        if unit in moves
    )


def checked(moves: Moves) -> Moves:
    """The same moves. Raises ValueError unless each unit's are full cycles of parts that really move."""
    if not moves:
        raise ValueError("nothing moves")
    for unit, own in moves.items():
        if unit not in UNITS:
            raise ValueError(f"{shown(unit)!r} is nothing that changes places; it is one of {', '.join(UNITS)}")
        if set(own) != set(own.values()):
            raise ValueError(f"{unit}: a place would be left empty or taken twice")
        if not own or any(start == to for start, to in own.items()):
            raise ValueError(f"{unit}: a part would stay where it is")
    return moves


def inverse(moves: Moves) -> Moves:
    """The moves that put everything back."""
    return {unit: {to: start for start, to in own.items()} for unit, own in moves.items()}


def after(traded: Moves, moves: Moves) -> Moves:
    """Trades, unit → {cylinder: the cylinder whose part it first was}, once some moves are made; like moves, only
    of parts that sit elsewhere than first."""
    made: dict[str, dict[int, int]] = {}
    for unit in UNITS:
        before = traded.get(unit, {})
        own = dict(before) | {to: before.get(start, start) for start, to in moves.get(unit, {}).items()}
        if own := {cylinder: first for cylinder, first in own.items() if cylinder != first}:
            made[unit] = own
    return made


def first(traded: Moves, cylinder: int, kind: str) -> int:
    """The cylinder in which the part now in a cylinder was before any trade. kind: of a reading, or a unit."""
    return traded.get(UNIT_OF.get(kind, kind), {}).get(cylinder, cylinder)


def strange(moves: Moves, cylinders: tuple[int, ...]) -> Fault | None:
    """What is wrong with moves of cylinders that the layout does not have."""
    unknown = sorted({number for own in moves.values() for number in own} - set(cylinders))
    if not unknown:
        return None
    return Fault(f"moves, cylinder {unknown[0]}", "not in this layout", ", ".join(map(str, cylinders)))
