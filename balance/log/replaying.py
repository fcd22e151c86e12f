"""What the records of a log say, taken in order: where the parts sit, which readings and cuts count.

Readings belong to their part. A trade moves them along, a cut makes the earlier ones history, a strike takes
either back, so what counts is a replay of all of it.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

from truethrow.balance.base.errors import BadInput, Fault, shown

if TYPE_CHECKING:
    from truethrow.balance.base.trades import Moves
from truethrow.balance.base.parts import moved_by_cut
from truethrow.balance.log.records import ACKNOWLEDGE, AGAIN, DAMAGED, LARGEST_CYLINDER, Record, struck_ids

# In a replay: a cut that was struck out after its part had been weighed again.
UNCUT = "uncut"


# In a replay: from here on a part has to be weighed again, since what a damaged line said of it is lost.
VOID = "void"


class Replay(NamedTuple):
    """What the records say, all of them taken in order. placed: the readings, confirmations and cuts that stand,
    in their order, each with the cylinder in which its part sits now, as UNCUT the cuts that were struck out after
    a new weighing, and as VOID where parts have to be weighed again; trades: unit → {cylinder: the cylinder whose
    part it first was}, of parts that moved; traded: the trades that stand."""

    placed: tuple[Record, ...]
    traded: Moves
    trades: tuple[Record, ...]


def replay(records: Iterable[Record], source: str = "") -> Replay:
    """Where everything stands after the last record. source: the log's name, for a fault of it.

    A strike takes out a reading or a cut before it, or puts the parts of a trade back; one of an unknown id, or
    of one struck already, does nothing. With a cut that is struck out the readings before it count again, but
    never beside those that were taken between the cut and the strike: who struck out the cut may have been wrong
    about the metal, and a mean of before and after is nobody's mass. Once a damaged line is acknowledged, the
    readings of the part that it was about are history, of every part where it said who sits where. Raises BadInput
    for a trade that stands and makes no sense."""
    records = list(records)
    placed: dict[str, Record] = {}
    trades: dict[str, Record] = {}
    traded: Moves = {}
    nonsense: dict[str, Fault] = {}
    for record in records:
        if record.action in ("read", "cut", "confirm"):
            if record.cylinder is not None and record.grams is not None:
                placed[record.id] = record
        elif record.action == "strike":
            _strike_out(placed, record.of)
            nonsense.pop(record.of, None)
            if struck := trades.pop(record.of, None):
                traded = _trade(placed, traded, struck, back=True)
        elif record.action == "seat":
            try:
                traded = _trade(placed, traded, record)
                trades[record.id] = record
            except ValueError as error:
                nonsense[record.id] = Fault(f"seat, record {shown(record.id)}", str(error))
        elif record.action == DAMAGED:
            if (part := _part_of(records, record)) is not None:
                placed[record.id] = part
        elif record.action == ACKNOWLEDGE:
            about = (placed.pop(record.of, None), placed.get(record.of + AGAIN), trades.get(record.of + AGAIN))
            for at, part in enumerate(_void(one for one in about if one is not None)):
                placed[f"{record.id}-{at}"] = part
    if nonsense:
        raise BadInput(nonsense.values(), source)
    stand = (record for record in placed.values() if record.action != DAMAGED)
    return Replay(tuple(stand), traded, tuple(trades.values()))


def _part_of(records: Sequence[Record], line: Record) -> Record | None:
    """A damaged line as the reading, cut or trade that it was about, to go with its part; None where it was about
    none, or that cannot be known."""
    from truethrow.balance.log.damage import said  # noqa: PLC0415 (few logs are damaged)

    about = said(line)
    if about is not None and about.action == "strike":
        about = next((record for record in records if record.id == about.of), None)
    if about is None or about.action not in ("read", "cut", "seat"):
        return None
    return line._replace(cylinder=about.cylinder, kind=about.kind)


def _void(about: Iterable[Record]) -> Iterator[Record]:
    """From where on parts have to be weighed again: those of a reading or a cut; where it said who sits where, all
    that can change places."""
    from truethrow.balance.base.parts import UNITS  # noqa: PLC0415 (few logs have trades)

    for record in about:
        if record.cylinder is not None:
            yield record._replace(action=VOID)
            continue
        for kinds in UNITS.values():
            for cylinder in range(1, LARGEST_CYLINDER + 1):
                yield record._replace(action=VOID, cylinder=cylinder, kind=kinds[0])


def _strike_out(placed: dict[str, Record], key: str) -> None:
    struck = placed.get(key)
    if struck is None or struck.action == UNCUT:
        return
    if struck.action == "cut":
        later = itertools.islice(placed.values(), list(placed).index(key) + 1, None)
        kinds = moved_by_cut(struck.kind)
        if any(r.action == "read" and r.cylinder == struck.cylinder and r.kind in kinds for r in later):
            placed[key] = struck._replace(action=UNCUT)
            return
    del placed[key]


def _trade(placed: dict[str, Record], traded: Moves, trade: Record, *, back: bool = False) -> Moves:
    """Move what is placed as a trade says, or back again; the trades after it. What stands for every cylinder
    stays. Raises ValueError for moves that make no sense."""
    from truethrow.balance.base.parts import UNIT_OF  # noqa: PLC0415 (few logs have trades)
    from truethrow.balance.base.trades import after, inverse, parse  # noqa: PLC0415 (few logs have trades)

    moves = inverse(parse(trade.typed)) if back else parse(trade.typed)
    for key, record in placed.items():
        to = moves.get(UNIT_OF.get(record.kind, ""), {}).get(record.cylinder or 0)
        if to is not None:
            placed[key] = record._replace(cylinder=to)
    return after(traded, moves)


def counting(placed: Iterable[Record]) -> dict[tuple[int, str], tuple[Record, ...]]:
    """The readings that count, of each cylinder and kind, in order: those after the last cut on their part, and
    those before one that was struck out as long as there are none after it."""
    found: dict[tuple[int, str], list[Record]] = {}
    uncut: set[tuple[int, str]] = set()
    for record in placed:
        assert record.cylinder is not None
        if record.action == "cut":
            for kind in moved_by_cut(record.kind):
                found.pop((record.cylinder, kind), None)
        elif record.action == VOID:
            for kind in _voided(record):
                found.pop((record.cylinder, kind), None)
        elif record.action == UNCUT:
            uncut |= {(record.cylinder, kind) for kind in moved_by_cut(record.kind)}
        elif record.action == "read":
            place = record.cylinder, record.kind
            if place in uncut:
                uncut.discard(place)
                found.pop(place, None)
            found.setdefault(place, []).append(record)
    return {key: tuple(records) for key, records in found.items()}


def zeros(records: Iterable[Record]) -> dict[str, float]:
    """How far off zero the empty scale was seen for each reading, by its id: the zero before it or the one right
    after it, whichever is farther off. [g] Each session knows its own scale alone; a reading without a zero before
    it, such as one that was typed, has none."""
    found: dict[str, float] = {}
    last: dict[str, float] = {}
    bare: dict[str, Record] = {}  # the last reading of a session, as long as no zero was seen after it
    for record in records:
        session = record.id.rpartition("-")[0]
        if record.action == "zero" and record.grams is not None:
            last[session] = record.grams
            if (before := bare.pop(session, None)) and abs(record.grams) > abs(found.get(before.id, 0.0)):
                found[before.id] = record.grams
        elif record.action == "read":
            bare[session] = record
            if session in last:
                found[record.id] = last[session]
    return found


def cut_places(placed: Iterable[Record]) -> set[tuple[int, str]]:
    """Each cylinder and kind on whose part metal came off, or that is to be weighed again: no reading from before
    the log counts there."""
    found = set()
    for record in placed:
        kinds = moved_by_cut(record.kind) if record.action == "cut" else ()
        found |= {(record.cylinder or 0, kind) for kind in (_voided(record) if record.action == VOID else kinds)}
    return found


def waiting(records: Sequence[Record]) -> list[Record]:
    """The proposals that are neither accepted nor struck out; one whose trade is struck out waits again."""
    struck = struck_ids(records)
    accepted = {record.of for record in records if record.action == "seat" and record.id not in struck}
    return [r for r in records if r.action == "propose" and r.id not in accepted and r.id not in struck]


def _voided(record: Record) -> tuple[str, ...]:
    from truethrow.balance.base.parts import UNIT_OF, UNITS  # noqa: PLC0415 (few logs are damaged)

    return UNITS[UNIT_OF[record.kind]] if record.kind in UNIT_OF else (record.kind,)
