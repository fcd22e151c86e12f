"""Who sits where: the moves of a matching, proposed and accepted as records of the log.

What changes places is a whole thing (a rod with both its ends and its cap), so a move takes along all readings
of it, and its label. Moves are written as

    piston 3>5 5>3; rod 1>2 2>1

from cylinder > to cylinder, in full cycles: where a part leaves, another comes.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from truethrow.balance.beside import log_path
from truethrow.balance.errors import BadInput, Fault, shown
from truethrow.balance.readinglog import ReadingLog, Record

if TYPE_CHECKING:
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


def propose(job_path: Path, job: Job, moves: Moves, why: str, by: str = "") -> Record:
    """Write moves into the log, to be accepted or not; nothing moves yet. job: as it was matched. The same moves
    of the same job twice in turn are one proposal.

    Raises BadInput for moves that make no sense on it, NotSaved where the record is not on the disk."""
    try:
        typed = text(moves)
    except ValueError as error:
        raise BadInput([Fault("moves", str(error))], str(job_path)) from None
    if strangers := strange(moves, job.layout.cylinders):
        raise BadInput([strangers], str(job_path))
    log = ReadingLog(log_path(job_path), by=by)
    proposals = [record for record in log.records if record.action == "propose"]
    if proposals and (proposals[-1].typed, proposals[-1].of) == (typed, job.digest):
        return proposals[-1]
    return log.append("propose", typed=typed, of=job.digest, why=why)


def strange(moves: Moves, cylinders: tuple[int, ...]) -> Fault | None:
    """What is wrong with moves of cylinders that the layout does not have."""
    unknown = sorted({number for own in moves.values() for number in own} - set(cylinders))
    if not unknown:
        return None
    return Fault(f"moves, cylinder {unknown[0]}", "not in this layout", ", ".join(map(str, cylinders)))


def accept(job_path: Path, proposal_id: str | None = None, by: str = "") -> Record:
    """Seat the parts as proposed, by the last proposal that is not accepted yet or by the one that is named.

    Raises BadInput where there is none, where it is accepted already, and where the job is not as it was when
    the proposal was made; NotSaved where the record is not on the disk."""
    log = ReadingLog(log_path(job_path), by=by)
    proposal = _proposal(log.records, proposal_id, str(log.path))
    if own_readings(job_path).digest != proposal.of:
        found = "the job is not as it was: readings changed since, or came from a weigh sheet that is not entered"
        allowed = "match again; or enter the sheet first: truethrow enter JOB SHEET"
        raise BadInput([Fault(f"proposal {shown(proposal.id)}", found, allowed)], str(job_path))
    # One id for one acceptance: of two benches that accept at the same time, both make the same record.
    return log.append("seat", typed=proposal.typed, of=proposal.id, why=proposal.why, id=f"{proposal.id}-accepted")


def _proposal(records: list[Record], proposal_id: str | None, source: str) -> Record:
    proposals = {record.id: record for record in records if record.action == "propose"}
    accepted = {record.of for record in records if record.action == "seat"}
    waiting = [one for one in proposals if one not in accepted]
    allowed = ", ".join(map(shown, waiting)) or "match first: truethrow match JOB"
    if proposal_id in accepted:
        raise BadInput([Fault(f"proposal {shown(proposal_id)}", "is accepted already", allowed)], source)
    if proposal_id is not None and proposal_id not in proposals:
        raise BadInput([Fault(f"proposal {shown(proposal_id)}", "is not in the log", allowed)], source)
    if proposal_id is None and not waiting:
        raise BadInput([Fault("", "no proposal waits to be accepted", allowed)], source)
    return proposals[waiting[-1] if proposal_id is None else proposal_id]


def own_readings(job_path: Path, *, planned: bool = False) -> Job:
    """The job with its own readings alone, as accepting and grinding need it. planned: as job.load has it."""
    from truethrow.balance.job import load  # noqa: PLC0415 (the bench replays seats without it)

    if str(job_path) == "-":
        raise BadInput([Fault("JOB", "standard input has no log beside it", "a file")])
    try:
        return load(job_path, planned=planned)
    except BadInput as error:
        if not any(fault.found == "missing" for fault in error.faults):
            raise
        sheet = Fault("", "readings are missing", "first enter the sheet that has them: truethrow enter JOB SHEET")
        raise BadInput([sheet, *error.faults], error.source) from None
