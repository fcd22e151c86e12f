"""Who sits where: the moves of a matching, proposed and accepted as records of the log.

What changes places is a whole thing (a rod with both its ends and its cap), so a move takes along all readings
of it, and its label. Moves are written as

    piston 3>5 5>3; rod 1>2 2>1

from cylinder > to cylinder, in full cycles: where a part leaves, another comes.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from truethrow.balance.errors import BadInput, Fault, shown
from truethrow.balance.parts import BY_NAME
from truethrow.balance.place import Place, must_have_a_log, open_log, source_of
from truethrow.balance.records import CUT_AT, Record

if TYPE_CHECKING:
    from truethrow.balance.document import MatchTable
    from truethrow.balance.job import Job

# What can change places, and the kinds of reading that go along.
UNITS: dict[str, tuple[str, ...]] = {
    "piston": ("piston",),
    "pin": ("pin",),
    "locks": ("locks",),
    "rings": ("rings",),
    "rod": ("big_end", "small_end", "rod_total"),
}
UNIT_OF = {kind: unit for unit, kinds in UNITS.items() for kind in kinds}
# The kinds of reading that a cut lowers.
CUTTABLE = tuple(dict.fromkeys(kind for pad in CUT_AT for kind in UNITS[UNIT_OF[pad]]))


def weighed_by(unit: str) -> tuple[str, ...]:
    """The readings that say what a part weighs: its kinds but for a check such as the rod in one go. A kind that
    is of no unit stands for itself."""
    return tuple(kind for kind in UNITS.get(unit, (unit,)) if BY_NAME[kind].motion != "check")


# unit → {from cylinder: to cylinder}, only of those that move.
Moves = Mapping[str, Mapping[int, int]]

_MOVE = re.compile(r"([1-9][0-9]?)>([1-9][0-9]?)", re.ASCII)


def parse(text: str) -> Moves:
    """Moves from their text. Raises ValueError for what are none."""
    found: dict[str, dict[int, int]] = {}
    for piece in text.split(";"):
        unit, *moves = piece.split() or [""]
        if unit in found:
            raise ValueError(f"{unit} stands twice")
        pairs = [_MOVE.fullmatch(move) for move in moves]
        if not pairs or None in pairs:
            raise ValueError(f"{shown(piece.strip())!r} is no move, such as piston 3>5 5>3")
        found[unit] = {int(pair[1]): int(pair[2]) for pair in pairs if pair}
        if len(found[unit]) < len(pairs):
            raise ValueError(f"{unit}: a place would be left empty or taken twice")
    return checked(found)


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


def after(seats: Moves, moves: Moves) -> Moves:
    """Seats, unit → {cylinder: the cylinder whose part it first was}, once some moves are made; like moves, only
    of parts that sit elsewhere than first."""
    made: dict[str, dict[int, int]] = {}
    for unit in UNITS:
        before = seats.get(unit, {})
        own = dict(before) | {to: before.get(start, start) for start, to in moves.get(unit, {}).items()}
        if own := {cylinder: first for cylinder, first in own.items() if cylinder != first}:
            made[unit] = own
    return made


def first(seats: Moves, cylinder: int, kind: str) -> int:
    """The cylinder in which the part now in a cylinder was before any seat. kind: of a reading, or a unit."""
    return seats.get(UNIT_OF.get(kind, kind), {}).get(cylinder, cylinder)


def propose(place: Place, job: Job, moves: Moves, why: str, by: str = "") -> Record:
    """Write moves into the log, to be accepted or not; nothing moves yet. job: as it was matched. The same moves
    of the same job twice in turn are one proposal.

    Raises BadInput for moves that make no sense on it, NotSaved where the record is not on the disk."""
    try:
        typed = text(moves)
    except ValueError as error:
        raise BadInput([Fault("moves", str(error))], source_of(place)) from None
    if strangers := strange(moves, job.layout.cylinders):
        raise BadInput([strangers], source_of(place))
    log = open_log(place, by=by)
    waiting = _waiting(log.records)
    if waiting and (waiting[-1].typed, waiting[-1].of) == (typed, job.digest):
        return waiting[-1]
    return log.append("propose", typed=typed, of=job.digest, why=why)


def strange(moves: Moves, cylinders: tuple[int, ...]) -> Fault | None:
    """What is wrong with moves of cylinders that the layout does not have."""
    unknown = sorted({number for own in moves.values() for number in own} - set(cylinders))
    if not unknown:
        return None
    return Fault(f"moves, cylinder {unknown[0]}", "not in this layout", ", ".join(map(str, cylinders)))


def accept(place: Place, proposal_id: str | None = None, by: str = "") -> Record:
    """Seat the parts as proposed, by the last proposal that waits or by the one that is named.

    Raises BadInput where there is none, where it is accepted already or struck out, where the job is not as it was
    when the proposal was made, and where its moves break a rule that the job has by now; NotSaved where the record
    is not on the disk."""
    must_have_a_log(place)
    log = open_log(place, by=by)
    proposal = _proposal(log.records, proposal_id, log.name)

    def refuse() -> None:
        # Under the lock: what another bench wrote since this one looked counts, too.
        _proposal(log.records, proposal.id, log.name)
        job = own_readings(place)
        where = f"proposal {shown(proposal.id)}"
        if job.digest != proposal.of:
            found = (
                "the job is not as it was: readings changed since, or came from a weigh sheet that is not entered"
            )
            allowed = "match again; or enter the sheet first: truethrow enter JOB SHEET"
            raise BadInput([Fault(where, found, allowed)], source_of(place))
        try:
            broken = _broken(job, parse(proposal.typed))
        except BadInput as error:  # a rule that names no part
            raise BadInput(error.faults, error.source or source_of(place)) from None
        if broken:
            found = f"breaks a rule that the job has by now: {', '.join(broken)}"
            raise BadInput([Fault(where, found, "match again: truethrow match JOB")], source_of(place))

    # One id for one acceptance: of two benches that accept at the same time, both make the same record. A seat
    # that was struck out is another one when it is accepted again.
    before = sum(record.action == "seat" and record.of == proposal.id for record in log.records)
    key = f"{proposal.id}-accepted{f'-{before + 1}' if before else ''}"
    return log.append("seat", typed=proposal.typed, of=proposal.id, why=proposal.why, id=key, unless=refuse)


def _waiting(records: list[Record]) -> list[Record]:
    """The proposals that are neither accepted nor struck out; one whose seat is struck out waits again."""
    struck = {record.of for record in records if record.action == "strike"}
    accepted = {record.of for record in records if record.action == "seat" and record.id not in struck}
    return [r for r in records if r.action == "propose" and r.id not in accepted and r.id not in struck]


def _proposal(records: list[Record], proposal_id: str | None, source: str) -> Record:
    waiting = {record.id: record for record in _waiting(records)}
    if proposal_id is None and waiting:
        return list(waiting.values())[-1]
    if proposal_id in waiting:
        return waiting[proposal_id]
    allowed = ", ".join(map(shown, waiting)) or "match first: truethrow match JOB"
    if proposal_id is None:
        raise BadInput([Fault("", "no proposal waits to be accepted", allowed)], source)
    found = "is not in the log"
    if any(record.action == "propose" and record.id == proposal_id for record in records):
        struck = any(record.action == "strike" and record.of == proposal_id for record in records)
        found = "is struck out" if struck else "is accepted already"
    raise BadInput([Fault(f"proposal {shown(proposal_id)}", found, allowed)], source)


def _broken(job: Job, moves: Moves) -> list[str]:
    """The rules of the job's [match] that some moves would break."""
    from truethrow.balance.matching.rules import rules  # noqa: PLC0415 (only accepting needs it)

    units, cylinders = list(moves), job.layout.cylinders
    index = {cylinder: at for at, cylinder in enumerate(cylinders)}
    came = {unit: {to: start for start, to in own.items()} for unit, own in moves.items()}
    # By unit and cylinder, the part that would sit there: rules name parts by where they sit now.
    seated = {unit: [index[came[unit].get(cylinder, cylinder)] for cylinder in cylinders] for unit in units}
    broken = []
    for name, table in _one_by_one(job.match):
        found = rules(dataclasses.replace(job, match=table), units)
        alright = all(found.allowed[unit][seated[unit], range(len(cylinders))].all() for unit in units)
        alright &= all(fits[seated[one], seated[other]].all() for (one, other), fits in found.pairs.items())
        if not alright:
            broken.append(name)
    return broken


def _one_by_one(table: MatchTable) -> list[tuple[str, MatchTable]]:
    """Each rule of [match] by its name, in a table that has no other."""
    bare = table.model_copy(update={"together": [], "apart": [], "fixed": [], "bank": {}, "offset_pins": False})
    found: list[tuple[str, dict[str, Any]]] = [
        *(
            (f"{key} {', '.join(names)}", {key: [names]})
            for key in ("together", "apart")
            for names in getattr(table, key)
        ),
        *((f"fixed {name}", {"fixed": [name]}) for name in table.fixed),
        *(
            (f"bank {bank}, {name}", {"bank": {bank: [name]}})
            for bank, names in table.bank.items()
            for name in names
        ),
        *([("offset_pins", {"offset_pins": True})] if table.offset_pins else []),
    ]
    return [(name, bare.model_copy(update=rule)) for name, rule in found]


def own_readings(place: Place, *, known: int | None = None) -> Job:
    """The job with its own readings alone, as accepting and grinding need it. known: as job.load has it."""
    from truethrow.balance.job import load  # noqa: PLC0415 (the bench replays seats without it)

    must_have_a_log(place)
    try:
        return load(place, known=known)
    except BadInput as error:
        if not any(fault.to_weigh == "missing" for fault in error.faults):
            raise
        sheet = Fault("", "readings are missing", "first enter the sheet that has them: truethrow enter JOB SHEET")
        raise BadInput([sheet, *error.faults], error.source) from None
