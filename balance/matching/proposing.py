"""Who sits where: the moves of a matching, proposed and accepted as records of the log.

What changes places is a whole thing (a rod with both its ends and its cap), so a move takes along all readings
of it, and its label. Moves are written as

    piston 3>5 5>3; rod 1>2 2>1

from cylinder > to cylinder, in full cycles: where a part leaves, another comes.
"""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.base.trades import Moves, plain, strange
from truethrow.balance.job.job import own_readings
from truethrow.balance.log.place import Place, log_name, must_have_a_log, open_log, source_of, to_paste
from truethrow.balance.log.records import Proposed, Record, Traded, struck_ids
from truethrow.balance.log.replaying import sits_well, waiting, waiting_last

if TYPE_CHECKING:
    from truethrow.balance.job.document import MatchTable
    from truethrow.balance.job.job import Job


def propose(place: Place, job: Job, moves: Moves, why: str, by: str = "") -> Proposed:
    """Write moves into the log, to be accepted or not; nothing moves yet. job: as it was matched; moves: without
    any, the parts sit as well as they can be made to. The same moves of the same job twice in turn are one
    proposal.

    Raises BadInput for moves that make no sense on it, NotSaved where the record is not on the disk."""
    try:
        moves = plain(moves) if moves else {}
    except ValueError as error:
        raise BadInput([Fault("moves", str(error))], source_of(place)) from None
    if strangers := strange(moves, job.layout.cylinders):
        raise BadInput([strangers], source_of(place))
    log = open_log(place, by=by)
    before = waiting_last(log.records) or sits_well(log.records, job.digest)
    if before and (before.moves, before.digest) == (moves, job.digest):
        return before
    return log.append(Proposed(moves, job.digest, why=why))


def accept(place: Place, proposal_id: str | None = None, by: str = "") -> Traded:
    """Trade places as proposed, by the newest proposal or by the one that is named.

    Raises BadInput where there is none, where it is accepted already or struck out, where a newer one came in
    meanwhile and none was named, where the job is not as it was when the proposal was made, while a reading looks
    like a slip, and where its moves break a rule that the job has by now; NotSaved where the
    record is not on the disk."""
    must_have_a_log(place)
    log = open_log(place, by=by)
    proposal = _proposal(log.records, proposal_id, place)

    def refuse() -> None:
        # Under the lock: what another bench wrote since this one looked counts, too.
        _proposal(log.records, proposal.id, place)
        newest = waiting_last(log.records)
        if proposal_id is None and newest and newest.id != proposal.id:
            look = f"look first what it moves: truethrow history {to_paste(place)}"
            wrong = f"a newer match was proposed meanwhile, {shown(newest.id)}"
            raise BadInput([Fault("", wrong, remedy=look)], log_name(place))
        if faults := against(place, proposal):
            raise BadInput(faults, source_of(place))

    # One id for one acceptance: of two benches that accept at the same time, both make the same record. A trade
    # that was struck out is another one when it is accepted again.
    before = sum(isinstance(record, Traded) and record.proposal == proposal.id for record in log.records)
    key = f"{proposal.id}-accepted{f'-{before + 1}' if before else ''}"
    return log.append(Traded(proposal.moves, proposal.id, why=proposal.why), id=key, unless=refuse)


def against(place: Place, proposal: Proposed) -> list[Fault]:
    """What stands against accepting a proposal by now; nothing where it may be accepted. Raises BadInput for a job
    with faults."""
    job, name, where = own_readings(place), to_paste(place), f"proposal {shown(proposal.id)}"
    if job.digest != proposal.digest:
        wrong = "the job is not as it was: readings changed since, or came from a weigh sheet that is not entered"
        remedy = f"match again: truethrow match {name}; or enter the sheet first: truethrow enter {name} SHEET"
        return [Fault(where, wrong, remedy=remedy)]
    if in_doubt := _in_doubt(job):
        look = Fault(where, "rests on what looks like a slip", remedy=f"look again: truethrow check {name}")
        return [*in_doubt, look]
    try:
        broken = _broken(job, proposal.moves)
    except BadInput as error:  # a rule that names no part
        return list(error.faults)
    if broken:
        wrong = f"breaks a rule that the job has by now: {', '.join(broken)}"
        return [Fault(where, wrong, remedy=f"match again: truethrow match {name}")]
    return []


def _proposal(records: list[Record], proposal_id: str | None, place: Place) -> Proposed:
    last = waiting_last(records)
    if proposal_id is None and last:
        return last
    named = next((one for one in waiting(records) if one.id == proposal_id), None)
    if named:
        return named
    allowed = shown(last.id) if last else ""
    remedy, source = "" if allowed else f"run: truethrow match {to_paste(place)}", log_name(place)
    if proposal_id is None:
        raise BadInput([Fault("", "no match is waiting", remedy=remedy)], source)
    wrong = "is not in the log"
    if any(isinstance(record, Proposed) and record.id == proposal_id for record in records):
        wrong = "is canceled" if proposal_id in struck_ids(records) else "is accepted already"
    raise BadInput([Fault(f"proposal {shown(proposal_id)}", wrong, allowed, remedy=remedy)], source)


def _in_doubt(job: Job) -> list[Fault]:
    """The readings that look like slips, or that no cut can have left: a matching is no better than they are."""
    from truethrow.balance.result.doubts import slipped  # noqa: PLC0415 (only accepting needs it)
    from truethrow.balance.result.work import work  # noqa: PLC0415 (only accepting needs it)

    result, so = work(job), "no part is to change places by it"
    weigh = f"weigh it again first: truethrow weigh {job.name}"
    of_no_cut = [
        Fault(
            job.names.said(grind.part, grind.cylinder), f"reads as no cut can have left it, so {so}", remedy=weigh
        )
        for grind in result.of_no_cut
    ]
    return [*slipped(result, so), *of_no_cut]


def _broken(job: Job, moves: Moves) -> list[str]:
    """The rules of the job's [match] that some moves would break."""
    from truethrow.balance.matching.rules import rules  # noqa: PLC0415 (only accepting needs it)

    units, cylinders = list(moves), job.layout.cylinders
    index = {cylinder: at for at, cylinder in enumerate(cylinders)}
    came = {unit: {to: start for start, to in own.items()} for unit, own in moves.items()}
    # By unit and cylinder, the part that would sit there: rules name parts by where they sit now.
    trades = {unit: [index[came[unit].get(cylinder, cylinder)] for cylinder in cylinders] for unit in units}
    broken = []
    for name, table in _one_by_one(job.match):
        found = rules(dataclasses.replace(job, match=table), units)
        alright = all(found.allowed[unit][trades[unit], range(len(cylinders))].all() for unit in units)
        alright &= all(fits[trades[one], trades[other]].all() for (one, other), fits in found.pairs.items())
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
