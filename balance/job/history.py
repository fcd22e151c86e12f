"""What the log beside a job holds, record by record. How it is taken back: undoing.py."""

from __future__ import annotations

import contextlib
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from truethrow.balance.base.errors import BadInput
from truethrow.balance.base.naming import Part
from truethrow.balance.base.parts import BY_NAME
from truethrow.balance.base.trades import Moves, after, checked, first, inverse
from truethrow.balance.job.jobfile import parse_toml
from truethrow.balance.job.sources import labels_in
from truethrow.balance.log.place import Place, must_have_a_log, open_log, source_of, text_of
from truethrow.balance.log.records import (
    Confirmed,
    Cut,
    Proposed,
    Record,
    Skipped,
    Struck,
    Traded,
    Weighed,
)


class PastRecord(NamedTuple):
    """One record, and the id of the record that struck it out, if one did. parts: the part that was weighed or
    cut, where it sits by now; of a proposal and of trades, the parts that move, as they sat then."""

    record: Record
    struck_by: str
    parts: tuple[Part, ...] = ()


def events(place: Place) -> list[PastRecord]:
    """All records of a job's log, the oldest first, damaged lines among them. Raises BadInput where it cannot be
    read."""
    must_have_a_log(place)
    labels: dict[int, dict[str, str]] = {}
    with contextlib.suppress(BadInput):  # what is in the log is told of a job whose file is broken, too
        labels = labels_in(parse_toml(text_of(place), source_of(place)))
    return events_of(open_log(place, damaged=True).records, labels)


def events_of(records: Sequence[Record], labels: Mapping[int, Mapping[str, str]]) -> list[PastRecord]:
    """What these records say, in their order. labels: of the job file, by the cylinder under which it has them."""
    struck: dict[str, str] = {}
    for record in records:
        if isinstance(record, Struck):
            struck.setdefault(record.of, record.id)
    named = zip(records, _parts(records, labels), strict=True)
    return [PastRecord(record, struck.get(record.id, ""), parts) for record, parts in named]


def _parts(records: Sequence[Record], labels: Mapping[int, Mapping[str, str]]) -> list[tuple[Part, ...]]:
    """The parts that each record is about."""
    traded: Moves = {}
    made: dict[str, Moves] = {}
    found: list[list[Part]] = []
    for record in records:
        own: list[Part] = []
        if isinstance(record, Proposed | Traded):
            with contextlib.suppress(ValueError):  # moves that make no sense are told as they are written
                moves = checked(record.moves)
                own = [
                    Part(unit, start, first(traded, start, unit), goes_in=to)
                    for unit, turn in moves.items()
                    for start, to in turn.items()
                ]
                if isinstance(record, Traded):
                    traded, made[record.id] = after(traded, moves), moves
        elif isinstance(record, Struck):
            traded = after(traded, inverse(made.pop(record.of))) if record.of in made else traded
        elif (
            isinstance(record, Weighed | Confirmed | Cut | Skipped) and record.cylinder and record.kind in BY_NAME
        ):
            own = [Part(record.kind, record.cylinder, first(traded, record.cylinder, record.kind))]
        found.append(own)
    now = {unit: {weighed_in: cylinder for cylinder, weighed_in in own.items()} for unit, own in traded.items()}
    return [tuple(_with_label(part, now, labels) for part in own) for own in found]


def _with_label(part: Part, now: Moves, labels: Mapping[int, Mapping[str, str]]) -> Part:
    """The part with its label, and one that does not move in this record, where it sits now."""
    if part.goes_in is None:
        part = part._replace(cylinder=now.get(part.unit, {}).get(part.weighed_in, part.weighed_in))
    return part._replace(label=labels.get(part.weighed_in, {}).get(part.unit, ""))
