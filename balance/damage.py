"""A line of a log that does not say any more what was written: kept as it is, told, and settled by a record.

A damaged line has its place among the records, as one of the action DAMAGED. Nothing goes on until somebody
says what became of what it said: it was entered again, it never happened, or, where nothing was done by it, a word
of why. That is a record of its own, which names the line by its number and by the digest of its bytes, so that
further damage asks anew.

Only light modules of the standard library are imported here: every log is opened with this.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

from truethrow.balance.errors import BadInput, Fault, shown, shown_path
from truethrow.balance.records import ACKNOWLEDGE, CUT_AT, DAMAGED, STATION_ACTIONS, Record, again_id

if TYPE_CHECKING:
    from truethrow.balance.log import Log
    from truethrow.balance.place import Place

Way = Literal["entered again", "never happened", "noted"]
AGAIN: Way = "entered again"
NEVER: Way = "never happened"
NOTED: Way = "noted"
# What was done to a part or to the crank: that it is lost must not be passed over.
DONE = ("cut", "hole", "spin", "seat")
# What is written again in the place of the lost line; all else by its own command.
WRITTEN_AGAIN = ("cut", "hole", "seat")
# A longer line was not written by one hand, and is not tried bit by bit.
LONGEST_TRIED = 4000
MOST_TOLD = 8


def damaged(raw: bytes, number: int) -> Record:
    """The record that stands for a damaged line. number: of the line, or of the row of a book."""
    text = raw.decode("latin-1").encode("unicode_escape").decode("ascii")
    key = f"damaged-{hashlib.sha256(raw).hexdigest()[:12]}"
    return Record(key, "", "", "", DAMAGED, None, "", None, text, str(number), "")


def raw_of(record: Record) -> bytes:
    """The bytes of a damaged line, without its end."""
    return record.typed.encode("ascii").decode("unicode_escape").encode("latin-1")


@lru_cache(maxsize=100)
def said(record: Record) -> Record | None:
    """What a damaged line said: the one record that its checksum fits once a single bit is put right. None where
    more is wrong with it: then nothing of it is sure."""
    from truethrow.balance.readinglog import record_in  # noqa: PLC0415 (which imports the logs)

    raw = bytearray(raw_of(record))
    if len(raw) > LONGEST_TRIED:
        return None
    for at in range(len(raw)):
        for bit in range(8):
            raw[at] ^= 1 << bit
            if (found := record_in(bytes(raw))) is not None:
                return found
            raw[at] ^= 1 << bit
    return None


def unsettled(records: Iterable[Record]) -> list[Record]:
    """The damaged lines of which nobody said yet what became of them."""
    records = list(records)
    settled = {record.of for record in records if record.action == ACKNOWLEDGE}
    return [record for record in records if record.action == DAMAGED and record.id not in settled]


def told(lines: Sequence[Record], unit: str, job: str) -> str:
    """What is wrong with a log that has such lines, of which nobody said what became of them, and the way out."""
    numbers = [line.of for line in lines[:MOST_TOLD]] + (["…"] if len(lines) > MOST_TOLD else [])
    are = "is damaged and does not count" if len(lines) == 1 else "are damaged and do not count"
    which = f"{unit}{'s' if len(lines) > 1 else ''} {', '.join(numbers)}"
    return f"{which} {are}; say what became of it before anything goes on: truethrow damaged {shown_path(job)}"


def must_be_settled(log: Log) -> None:
    """Raise BadInput, one line with the way out, for a log with damage of which nobody said what became of it."""
    if lines := unsettled(log.records):
        raise BadInput([Fault("", told(lines, log.unit, log.job))], log.name)


def needs(record: Record) -> tuple[Way, ...]:
    """How a damaged line can be settled."""
    claim = said(record)
    return (AGAIN, NEVER) if claim is None or claim.action in DONE else (NOTED,)


def acknowledge(
    place: Place, number: int, way: Way, why: str, figures: str = "", by: str = ""
) -> tuple[Record, Record | None]:
    """Write down what became of a damaged line: the acknowledgement, and the cut, hole or seat that was written
    again in its place. figures: of it, where the line does not tell them any more.

    Raises BadInput where no such line waits, or the way does not do for it; NotSaved."""
    from truethrow.balance.place import must_have_a_log, open_log  # noqa: PLC0415 (which opens logs with this)

    must_have_a_log(place)
    log = open_log(place, by=by, damaged=True)
    where = f"{log.unit} {number}"
    waiting = unsettled(log.records)
    line = next((record for record in waiting if record.of == str(number)), None)
    if line is None:
        there = any(record.action == DAMAGED and record.of == str(number) for record in log.records)
        found = "is acknowledged already" if there else "is not damaged"
        raise BadInput([Fault(where, found, ", ".join(record.of for record in waiting))], log.name)
    if not why.strip():
        raise BadInput([Fault("--why", "blank", "a word of why: how do you know?")])
    claim = said(line)
    if way not in (ways := needs(line)):
        what = f"was a {claim.action}" if claim else "cannot be read any more"
        allowed = "--why alone" if ways == (NOTED,) else "--entered-again or --never-happened"
        raise BadInput([Fault(where, what, allowed)], log.name)
    again = None
    if way == AGAIN:
        again = _written_again(line, claim, figures)
    if again is None and figures:
        raise BadInput([Fault("--figures", "only for a cut, a hole or parts that traded places, entered again")])
    if again is not None:
        log.append(
            again.action,
            cylinder=again.cylinder,
            kind=again.kind,
            grams=again.grams,
            typed=again.typed,
            of=again.of,
            why=again.why,
            id=again.id,
        )
    # One id for one damaged line: of two who acknowledge it at once, both make the same record.
    key = f"{line.id}-acknowledged"
    return log.append(ACKNOWLEDGE, kind=way, typed=str(number), of=line.id, why=why, id=key), again


def _written_again(line: Record, claim: Record | None, figures: str) -> Record | None:
    """The record in the place of a lost cut, hole or seat; None for what is entered by its own command."""
    if claim is not None and claim.action in WRITTEN_AGAIN and not figures:
        return claim._replace(id=again_id(line))
    if not figures:
        return None
    if claim is not None and claim.action not in WRITTEN_AGAIN:
        raise BadInput([Fault("--figures", f"the line was a {claim.action}", "enter it by its own command")])
    try:
        made = _figured(figures)
    except (ValueError, IndexError) as error:
        allowed = "cut 3 big_end 2.4, hole KIND FIGURES as holes --json tells them, or seat piston 3>5 5>3"
        raise BadInput([Fault("--figures", f"{shown(figures)!r}: {error}", allowed)]) from None
    if claim is not None and claim.action != made.action:
        raise BadInput([Fault("--figures", f"{shown(figures)!r} is a {made.action}", f"a {claim.action}")])
    of = claim.of if claim else line.id
    return made._replace(id=again_id(line), of=of, why=claim.why if claim else "")


def _figured(figures: str) -> Record:
    """A cut, a hole or a seat as typed. Raises ValueError, IndexError for what is none."""
    action, _, rest = figures.strip().partition(" ")
    empty = Record("", "", "", "", action, None, "", None, "", "", "")
    if action == "cut":
        cylinder, pad, grams = rest.split()[:3]
        if pad not in CUT_AT or not 0 < float(grams) < 10_000:
            raise ValueError(f"no cut: {', '.join(CUT_AT)}, and grams above zero")
        return empty._replace(cylinder=int(cylinder), kind=pad, grams=float(grams))
    if action == "hole":
        from truethrow.balance.stationlog import hole_text, parse_hole  # noqa: PLC0415 (the station's alone)

        kind, _, text = rest.partition(" ")
        return empty._replace(kind=kind, typed=hole_text(parse_hole(kind, text)))
    if action == "seat":
        from truethrow.balance import seats  # noqa: PLC0415 (few logs have them)

        return empty._replace(typed=seats.text(seats.parse(rest)))
    raise ValueError("is no cut, no hole and no seat")


def touches_station(records: Sequence[Record], line: Record) -> bool:
    """Whether a damaged line may have been the balancing station's."""
    claim = said(line)
    if claim is not None and claim.action == "strike":
        claim = next((record for record in records if record.id == claim.of), None)
    return claim is None or claim.action in STATION_ACTIONS


def must_spin_again(records: Sequence[Record]) -> bool:
    """Whether a line of the station was damaged and acknowledged, and no spin came since."""
    by_id = {record.id: record for record in records if record.action == DAMAGED}
    must, was_there = False, False
    for record in records:
        if record.action == "spin" and not record.kind:
            must = False
        elif record.action == ACKNOWLEDGE and (line := by_id.get(record.of)):
            must = must or touches_station(records, line)
        was_there = was_there or record.action in STATION_ACTIONS
    return must and was_there
