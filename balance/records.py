"""The records of a job's log, and what they say taken in order. Where the log is kept, is log.py's matter.

Readings belong to their part. The log says also where the parts sit (a seat moves them) and where metal came
off (a cut makes the part's earlier readings history), so what counts is a replay of all of it, in order.

Only light modules of the standard library are imported here: the bench starts with this.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

from truethrow.balance.errors import BadInput, Fault, shown

if TYPE_CHECKING:
    from truethrow.balance.seats import Moves

# At the balancing station: a spin, a hole done, a test mass, going on without one, a sign-off. They leave the
# readings as they are.
STATION_ACTIONS = ("spin", "hole", "test", "unproved", "sign")
# What became of a damaged line, as somebody said; and the damaged line itself, in its place (damage.py).
ACKNOWLEDGE, DAMAGED = "acknowledge", "damaged"
ACTIONS = (
    *("read", "strike", "skip", "zero", "reference", "propose", "seat", "cut", "confirm"),
    *(*STATION_ACTIONS, ACKNOWLEDGE),
)
# In a replay: a cut that was struck out after its part had been weighed again.
UNCUT = "uncut"
# In a replay: from here on a part has to be weighed again, since what a damaged line said of it is lost.
VOID = "void"
LARGEST_CYLINDER = 99
AGAIN = "-again"
# The pads at which a cut may be.
CUT_AT = ("piston", "pin", "big_end", "small_end")


class Record(NamedTuple):
    """One line. at: UTC; by: initials, may be empty; cylinder: 0 = the reading stands for every cylinder;
    kind: of a cut, its pad, of a hole, its kind, of a test mass, its plane, of a spin, whether it was turned, of
    going on unproved, whether to drill or to sign; grams: of a cut, what was asked for there, of a confirmation,
    the reading; typed: the reading as it came, the moves of seats, or what the balancing station did
    (balancing.py); of: the id that a strike takes out, the proposal that a seat accepts, the spin that a hole, a
    test mass, going on unproved or a sign-off belongs to, or the digest of the job that a proposal was made for or
    that was spun; why: in the words of the bench. Of an acknowledgement: of, the damaged line's, kind, what became
    of it, typed, its number. Of a damaged line: typed, its bytes, of, its number."""

    id: str
    at: str
    bench: str
    by: str
    action: str
    cylinder: int | None
    kind: str
    grams: float | None
    typed: str
    of: str
    why: str


def again_id(line: Record) -> str:
    """The id of the record that was written again for a damaged line: it stands right behind it."""
    return line.id + AGAIN


class Replay(NamedTuple):
    """What the records say, all of them taken in order. placed: the readings, confirmations and cuts that stand,
    in their order, each with the cylinder in which its part sits now, as UNCUT the cuts that were struck out after
    a new weighing, and as VOID where parts have to be weighed again; seats: unit → {cylinder: the cylinder whose
    part it first was}, of parts that moved; seated: the seats that stand."""

    placed: tuple[Record, ...]
    seats: Moves
    seated: tuple[Record, ...]


def replay(records: Iterable[Record], source: str = "") -> Replay:
    """Where everything stands after the last record. source: the log's name, for a fault of it.

    A strike takes out a reading or a cut before it, or puts the parts of a seat back; one of an unknown id, or
    of one struck already, does nothing. With a cut that is struck out the readings before it count again, but
    never beside those that were taken between the cut and the strike: who struck out the cut may have been wrong
    about the metal, and a mean of before and after is nobody's mass. Once a damaged line is acknowledged, the
    readings of the part that it was about are history, of every part where it said who sits where. Raises BadInput
    for a seat that stands and makes no sense."""
    records = list(records)
    placed: dict[str, Record] = {}
    seated: dict[str, Record] = {}
    seats: Moves = {}
    nonsense: dict[str, Fault] = {}
    for record in records:
        if record.action in ("read", "cut", "confirm"):
            if record.cylinder is not None and record.grams is not None:
                placed[record.id] = record
        elif record.action == "strike":
            _strike_out(placed, record.of)
            nonsense.pop(record.of, None)
            if struck := seated.pop(record.of, None):
                seats = _seat(placed, seats, struck, back=True)
        elif record.action == "seat":
            try:
                seats = _seat(placed, seats, record)
                seated[record.id] = record
            except ValueError as error:
                nonsense[record.id] = Fault(f"seat, record {shown(record.id)}", str(error))
        elif record.action == DAMAGED:
            if (part := _part_of(records, record)) is not None:
                placed[record.id] = part
        elif record.action == ACKNOWLEDGE:
            about = (placed.pop(record.of, None), placed.get(record.of + AGAIN), seated.get(record.of + AGAIN))
            for at, part in enumerate(_void(one for one in about if one is not None)):
                placed[f"{record.id}-{at}"] = part
    if nonsense:
        raise BadInput(nonsense.values(), source)
    stand = (record for record in placed.values() if record.action != DAMAGED)
    return Replay(tuple(stand), seats, tuple(seated.values()))


def _part_of(records: Sequence[Record], line: Record) -> Record | None:
    """A damaged line as the reading, cut or seat that it was about, to go with its part; None where it was about
    none, or that cannot be known."""
    from truethrow.balance.damage import said  # noqa: PLC0415 (few logs are damaged)

    about = said(line)
    if about is not None and about.action == "strike":
        about = next((record for record in records if record.id == about.of), None)
    if about is None or about.action not in ("read", "cut", "seat"):
        return None
    return line._replace(cylinder=about.cylinder, kind=about.kind)


def _void(about: Iterable[Record]) -> Iterator[Record]:
    """From where on parts have to be weighed again: those of a reading or a cut; where it said who sits where, all
    that can change places."""
    from truethrow.balance.seats import UNITS  # noqa: PLC0415 (few logs have seats)

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


def _seat(placed: dict[str, Record], seats: Moves, seat: Record, *, back: bool = False) -> Moves:
    """Move what is placed as a seat says, or back again; the seats after it. What stands for every cylinder
    stays. Raises ValueError for moves that make no sense."""
    from truethrow.balance.seats import UNIT_OF, after, inverse, parse  # noqa: PLC0415 (few logs have seats)

    moves = inverse(parse(seat.typed)) if back else parse(seat.typed)
    for key, record in placed.items():
        to = moves.get(UNIT_OF.get(record.kind, ""), {}).get(record.cylinder or 0)
        if to is not None:
            placed[key] = record._replace(cylinder=to)
    return after(seats, moves)


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


def _voided(record: Record) -> tuple[str, ...]:
    from truethrow.balance.seats import UNIT_OF, UNITS  # noqa: PLC0415 (few logs are damaged)

    return UNITS[UNIT_OF[record.kind]] if record.kind in UNIT_OF else (record.kind,)


def moved_by_cut(pad: str) -> tuple[str, ...]:
    """The kinds of reading that a cut at a pad changes."""
    from truethrow.balance.seats import UNIT_OF, UNITS  # noqa: PLC0415 (few logs have cuts)

    return UNITS[UNIT_OF[pad]] if pad in CUT_AT else ()


def current(records: Iterable[Record]) -> dict[tuple[int, str], tuple[Record, ...]]:
    """The readings of each cylinder and kind that count, in order, where the parts sit now; cylinder 0 stands
    for all. Raises BadInput for a seat that stands and makes no sense."""
    return counting(replay(records).placed)
