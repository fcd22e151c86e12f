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
from typing import Literal

from truethrow.balance.base.errors import BadInput, Fault, shown_path
from truethrow.balance.log.records import (
    STATION,
    Acknowledged,
    Cut,
    Damaged,
    Drilled,
    Harm,
    Record,
    Spun,
    Struck,
    Traded,
    struck_ids,
)

Way = Literal["entered again", "never happened", "noted"]
AGAIN: Way = "entered again"
NEVER: Way = "never happened"
NOTED: Way = "noted"
# What was done to a part or to the crank: that it is lost must not be passed over.
DONE = (Cut, Drilled, Spun, Traded)
# A longer line was not written by one hand, and is not tried bit by bit.
LONGEST_TRIED = 4000
MOST_TOLD = 8


def damaged(raw: bytes, number: int, harm: Harm = "damaged") -> Damaged:
    """The record that stands for a damaged line. number: of the line, or of the row of a book."""
    return Damaged(number, harm, id=f"damaged-{hashlib.sha256(raw).hexdigest()[:12]}", raw=raw)


def missing(seal: str, number: int) -> Damaged:
    """The record that stands for lines that are not there any more. seal: of the line that came behind them, or of
    the last of them; number: of the line that comes behind them now."""
    return Damaged(number, "missing", id=f"missing-{seal}")


def said(line: Damaged) -> Record | None:
    """What a damaged line said: the one record that its seal fits as it is, or once a single bit is put right.
    None where more is wrong with it, and for lines that are missing: then nothing of it is sure."""
    return _said(line.raw) if line.raw else None


@lru_cache(maxsize=100)
def _said(damaged_raw: bytes) -> Record | None:
    from truethrow.balance.log.lines import record_in  # noqa: PLC0415 (few logs are damaged)

    raw = bytearray(damaged_raw)
    if len(raw) > LONGEST_TRIED:
        return None
    if (found := record_in(damaged_raw)) is not None:
        return found
    for at in range(len(raw)):
        for bit in range(8):
            raw[at] ^= 1 << bit
            if (found := record_in(bytes(raw))) is not None:
                return found
            raw[at] ^= 1 << bit
    return None


def unsettled(records: Iterable[Record]) -> list[Damaged]:
    """The damaged lines of which nobody said yet what became of them."""
    records = list(records)
    settled = acknowledged(records)
    return [record for record in records if isinstance(record, Damaged) and record.id not in settled]


def acknowledged(records: Iterable[Record]) -> dict[str, Acknowledged]:
    """The acknowledgements that count, by the id of what stands for the damaged line."""
    records = list(records)
    struck = struck_ids(records)
    return {one.line: one for one in records if isinstance(one, Acknowledged) and one.id not in struck}


def told(lines: Sequence[Damaged], unit: str, job: str) -> str:
    """What is wrong with a log that has such lines, of which nobody said what became of them, and the way out."""
    by_harm: dict[Harm, list[str]] = {}
    for line in lines:
        by_harm.setdefault(line.harm, []).append(str(line.number))
    said = "; ".join(_told(harm, numbers, unit) for harm, numbers in by_harm.items())
    way_out = "say what became of it before anything goes on: truethrow damaged"
    return f"{said}; {way_out} {shown_path(job)}"


def _told(harm: Harm, numbers: Sequence[str], unit: str) -> str:
    some = [*numbers[:MOST_TOLD], *(["…"] if len(numbers) > MOST_TOLD else [])]
    which = f"{unit}{'s' if len(numbers) > 1 else ''} {', '.join(some)}"
    one, many = _TOLD[harm]
    return (one if len(numbers) == 1 else many).format(which)


_TOLD: dict[Harm, tuple[str, str]] = {
    "damaged": ("{} is damaged and does not count", "{} are damaged and do not count"),
    "changed": (
        "{} was changed after it was written and does not count",
        "{} were changed after they were written and do not count",
    ),
    "misplaced": ("{} was not written there and does not count", "{} were not written there and do not count"),
    "missing": ("records are missing before {}", "records are missing before {}"),
}


def must_be_settled(records: Iterable[Record], unit: str, job: str, name: str) -> None:
    """Raise BadInput, one line with the way out, for a log with damage of which nobody said what became of it.
    unit: what one record is called; job: how the job is told to the next command; name: of the log."""
    if lines := unsettled(records):
        raise BadInput([Fault("", told(lines, unit, job))], name)


def touches_station(records: Sequence[Record], line: Damaged) -> bool:
    """Whether a damaged line may have been the balancing station's."""
    claim = said(line)
    if isinstance(claim, Struck):
        of = claim.of
        claim = next((record for record in records if record.id == of), None)
    return claim is None or isinstance(claim, STATION)


def must_spin_again(records: Sequence[Record]) -> bool:
    """Whether a line of the station was damaged and acknowledged, and no spin came since."""
    by_id = {record.id: record for record in records if isinstance(record, Damaged)}
    settled = {record.id for record in acknowledged(records).values()} if by_id else set()
    must, was_there = False, False
    for record in records:
        if isinstance(record, Spun) and not record.turned:
            must = False
        elif record.id in settled and isinstance(record, Acknowledged) and (line := by_id.get(record.line)):
            must = must or touches_station(records, line)
        was_there = was_there or isinstance(record, STATION)
    return must and was_there
