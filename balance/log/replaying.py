"""What the records of a log say, taken in order: where the parts sit, which readings and cuts count.

Readings belong to their part. A trade moves them along, a cut makes the earlier ones history, a strike takes
either back, so what counts is a replay of all of it.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from truethrow.balance.base.errors import BadInput, Fault, shown

if TYPE_CHECKING:
    from truethrow.balance.base.trades import Moves
from truethrow.balance.base.parts import moved_by_cut
from truethrow.balance.log.records import (
    LARGEST_CYLINDER,
    Acknowledged,
    Confirmed,
    Cut,
    Damaged,
    Drilled,
    Proposed,
    Record,
    SignedOff,
    Spun,
    Struck,
    Traded,
    Weighed,
    ZeroRead,
    again_for,
    struck_ids,
)


@dataclass(slots=True)
class Uncut:
    """A cut that was struck out after its part had been weighed again."""

    id: str
    cylinder: int
    kind: str


@dataclass(slots=True)
class Void:
    """From here on a part has to be weighed again, since what a damaged line said of it is lost."""

    id: str
    cylinder: int
    kind: str


# What a replay has of parts, each with the cylinder where its part sits now.
Placed: TypeAlias = Weighed | Confirmed | Cut | Uncut | Void


class Replay(NamedTuple):
    """What the records say, all of them taken in order. placed: the readings, confirmations and cuts that stand,
    in their order, each with the cylinder in which its part sits now, as Uncut the cuts that were struck out after
    a new weighing, and as Void where parts have to be weighed again; traded: unit → {cylinder: the cylinder whose
    part it first was}, of parts that moved; trades: those that count."""

    placed: tuple[Placed, ...]
    traded: Moves
    trades: tuple[Traded, ...]


def replay(records: Iterable[Record], source: str = "") -> Replay:
    """Where everything stands after the last record. source: the log's name, for a fault of it.

    A strike takes out a reading or a cut before it, or puts the parts of a trade back; one of an unknown id, or
    of one struck already, does nothing. With a cut that is struck out the readings before it count again, but
    never beside those that were taken between the cut and the strike: who struck out the cut may have been wrong
    about the metal, and a mean of before and after is nobody's mass. Once a damaged line is acknowledged, the
    readings of the part that it was about are history, of every part where it said who sits where. Raises BadInput
    for a trade that stands and makes no sense."""
    records = list(records)
    struck = struck_ids(records)
    placed: dict[str, Placed | _Lost] = {}
    trades: dict[str, Traded] = {}
    traded: Moves = {}
    nonsense: dict[str, Fault] = {}
    for record in records:
        if isinstance(record, Weighed | Confirmed | Cut):
            placed[record.id] = record
        elif isinstance(record, Struck):
            _strike_out(placed, record.of)
            nonsense.pop(record.of, None)
            if undone := trades.pop(record.of, None):
                traded = _trade(placed, traded, inverse_of(undone))
        elif isinstance(record, Traded):
            if wrong := record.wrong():
                nonsense[record.id] = Fault(f"trade, record {shown(record.id)}", wrong)
            else:
                traded = _trade(placed, traded, record.moves)
                trades[record.id] = record
        elif isinstance(record, Damaged):
            if (lost := _part_of(records, record)) is not None:
                placed[record.id] = lost
        elif isinstance(record, Acknowledged) and record.id not in struck:
            again = (one for key, one in (*placed.items(), *trades.items()) if again_for(key) == record.line)
            placed |= _settled(record, (placed.pop(record.line, None), *again))
    if nonsense:
        raise BadInput(nonsense.values(), source)
    stand = (record for record in placed.values() if not isinstance(record, _Lost))
    return Replay(tuple(stand), traded, tuple(trades.values()))


def inverse_of(trade: Traded) -> Moves:
    """The moves that put the parts of a trade back."""
    from truethrow.balance.base.trades import inverse  # noqa: PLC0415 (few logs have trades)

    return inverse(trade.moves)


@dataclass(slots=True)
class _Lost:
    """What a damaged line was about, to go with its part: cylinder None and no kind where parts traded places."""

    id: str
    cylinder: int | None
    kind: str


def _part_of(records: Sequence[Record], line: Damaged) -> _Lost | None:
    """What a damaged line was about, a reading, a cut or a trade; None where it was about none, or that cannot be
    known."""
    from truethrow.balance.log.damage import said  # noqa: PLC0415 (few logs are damaged)

    about = said(line)
    if isinstance(about, Struck):
        of = about.of
        about = next((record for record in records if record.id == of), None)
    if isinstance(about, Weighed | Cut):
        return _Lost(line.id, about.cylinder, about.kind)
    return _Lost(line.id, None, "") if isinstance(about, Traded) else None


def _void(about: Iterable[Placed | _Lost | Traded | None]) -> Iterator[Void]:
    """From where on parts have to be weighed again: those of a reading or a cut; where it said who sits where, all
    that can change places."""
    from truethrow.balance.base.parts import UNITS  # noqa: PLC0415 (few logs have trades)

    for record in about:
        if record is None:
            continue
        if not isinstance(record, Traded) and record.cylinder is not None:
            yield Void(record.id, record.cylinder, record.kind)
            continue
        for kinds in UNITS.values():
            for cylinder in range(1, LARGEST_CYLINDER + 1):
                yield Void(record.id, cylinder, kinds[0])


def _settled(record: Acknowledged, about: Iterable[Placed | _Lost | Traded | None]) -> dict[str, Void]:
    """From where on parts have to be weighed again once a damaged line is acknowledged."""
    return {f"{record.id}-{at}": part for at, part in enumerate(_void(about))}


def _strike_out(placed: dict[str, Placed | _Lost], key: str) -> None:
    struck = placed.get(key)
    if struck is None or isinstance(struck, Uncut):
        return
    if isinstance(struck, Cut):
        later = itertools.islice(placed.values(), list(placed).index(key) + 1, None)
        kinds = moved_by_cut(struck.pad)
        if any(isinstance(r, Weighed) and r.cylinder == struck.cylinder and r.kind in kinds for r in later):
            placed[key] = Uncut(struck.id, struck.cylinder, struck.pad)
            return
    del placed[key]


def _trade(placed: dict[str, Placed | _Lost], traded: Moves, moves: Moves) -> Moves:
    """Move what is placed; what has traded places after it. What stands for every cylinder stays."""
    from truethrow.balance.base.parts import UNIT_OF  # noqa: PLC0415 (few logs have trades)
    from truethrow.balance.base.trades import after  # noqa: PLC0415 (few logs have trades)

    for key, record in placed.items():
        to = moves.get(UNIT_OF.get(record.kind, ""), {}).get(record.cylinder or 0)
        if to is not None:
            placed[key] = replace(record, cylinder=to)
    return after(traded, moves)


def counting(placed: Iterable[Placed]) -> dict[tuple[int, str], tuple[Weighed, ...]]:
    """The readings that count, of each cylinder and kind, in order: those after the last cut on their part, and
    those before one that was struck out as long as there are none after it."""
    return _told_apart(placed)[0]


def before_cuts(placed: Iterable[Placed]) -> list[tuple[Weighed, ...]]:
    """The readings that no longer count, those together that were taken of a part with nothing done in between."""
    return _told_apart(placed)[1]


def _told_apart(
    placed: Iterable[Placed],
) -> tuple[dict[tuple[int, str], tuple[Weighed, ...]], list[tuple[Weighed, ...]]]:
    """The readings of each part as it is now, and those of parts as they were."""
    found: dict[tuple[int, str], list[Weighed]] = {}
    past: list[tuple[Weighed, ...]] = []
    uncut: set[tuple[int, str]] = set()

    def make_history(place: tuple[int, str]) -> None:
        if records := found.pop(place, None):
            past.append(tuple(records))

    for record in placed:
        if isinstance(record, Weighed):
            place = record.cylinder, record.kind
            if place in uncut:
                uncut.discard(place)
                make_history(place)
            found.setdefault(place, []).append(record)
        elif isinstance(record, Cut):
            for kind in moved_by_cut(record.pad):
                make_history((record.cylinder, kind))
        elif isinstance(record, Void):
            for kind in _voided(record):
                make_history((record.cylinder, kind))
        elif isinstance(record, Uncut):
            uncut |= {(record.cylinder, kind) for kind in moved_by_cut(record.kind)}
    return {key: tuple(records) for key, records in found.items()}, past


def zeros(records: Iterable[Record]) -> dict[str, float]:
    """How far off zero the empty scale was seen for each reading, by its id: the zero before it or the one right
    after it, whichever is farther off. [g] Each session knows its own scale alone; a reading without a zero before
    it, such as one that was typed, has none."""
    found: dict[str, float] = {}
    last: dict[str, float] = {}
    bare: dict[str, Weighed] = {}  # the last reading of a session, as long as no zero was seen after it
    for record in records:
        session = record.id.rpartition("-")[0]
        if isinstance(record, ZeroRead):
            last[session] = record.grams
            if (before := bare.pop(session, None)) and abs(record.grams) > abs(found.get(before.id, 0.0)):
                found[before.id] = record.grams
        elif isinstance(record, Weighed):
            bare[session] = record
            if session in last:
                found[record.id] = last[session]
    return found


def typed_in(records: Sequence[Record]) -> tuple[str, ...]:
    """The readings of parts that nobody canceled, as they came."""
    struck = struck_ids(records)
    return tuple(one.typed for one in records if isinstance(one, Weighed) and one.typed and one.id not in struck)


def cut_places(placed: Iterable[Placed]) -> set[tuple[int, str]]:
    """Each cylinder and kind on whose part metal came off, or that is to be weighed again: no reading from before
    the log counts there."""
    found = set()
    for record in placed:
        kinds = moved_by_cut(record.pad) if isinstance(record, Cut) else ()
        found |= {(record.cylinder, kind) for kind in (_voided(record) if isinstance(record, Void) else kinds)}
    return found


def waiting(records: Sequence[Record]) -> list[Proposed]:
    """The proposals that are neither accepted nor struck out; one whose trade is struck out waits again. One that
    nothing moves by waits for nobody."""
    struck = struck_ids(records)
    done = {one.proposal for one in records if isinstance(one, Traded) and one.id not in struck} | struck
    return [one for one in records if isinstance(one, Proposed) and one.moves and one.id not in done]


def sits_well(records: Sequence[Record], digest: str) -> Proposed | None:
    """The matching by which nothing is to move, where it is the newest and of the job as it is."""
    struck = struck_ids(records)
    proposals = (one for one in reversed(records) if isinstance(one, Proposed) and one.id not in struck)
    last = next(proposals, None)
    return last if last and not last.moves and last.digest == digest else None


def waiting_last(records: Sequence[Record]) -> Proposed | None:
    """The one matching that is to be accepted, or left, now: the newest, while it waits. None once it was left, so
    that no older one comes up in its place, and once parts traded places after it: it is of a set that is no more.
    One whose trade is struck out is the newest from then on."""
    struck, waits = struck_ids(records), {one.id for one in waiting(records)}
    trades = {one.id: one for one in records if isinstance(one, Traded)}
    since: dict[str, Proposed] = {}  # those that were made after the parts last traded places
    last: Proposed | None = None
    for one in records:
        if isinstance(one, Proposed):
            last = since[one.id] = one
        elif isinstance(one, Traded) and one.id not in struck:
            since, last = {}, None
        elif isinstance(one, Struck) and one.of in trades:
            last = since.get(trades[one.of].proposal, last)
    return last if last and last.id in waits else None


def last_signed(records: Iterable[Record]) -> SignedOff | None:
    """The last sign-off, unless a spin or a hole came after it, struck or not, or something that it rests on is
    struck."""
    records = list(records)
    struck = struck_ids(records)
    signed: SignedOff | None = None
    for record in records:
        if isinstance(record, SignedOff) and record.id not in struck:
            signed = record
        elif isinstance(record, Spun | Drilled):
            signed = None
    if signed is None:
        return None
    rests_on = (*signed.spins, *signed.holes, *signed.built, signed.proof, signed.aim)
    return signed if struck.isdisjoint(rests_on) else None


def _voided(record: Void) -> tuple[str, ...]:
    from truethrow.balance.base.parts import UNIT_OF, UNITS  # noqa: PLC0415 (few logs are damaged)

    return UNITS[UNIT_OF[record.kind]] if record.kind in UNIT_OF else (record.kind,)
