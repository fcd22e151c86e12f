"""Damaged lines of a log, and what became of them, in words and as plain data."""

from __future__ import annotations

from collections.abc import Sequence

from truethrow.balance.base.amounts import METRIC, ToldIn
from truethrow.balance.base.errors import printable, shown, shown_path
from truethrow.balance.job.history import PastRecord
from truethrow.balance.log.damage import AGAIN, NOTED, said
from truethrow.balance.log.log import when
from truethrow.balance.log.records import (
    STATION,
    Acknowledged,
    Confirmed,
    Cut,
    Damaged,
    Harm,
    Proposed,
    Record,
    Struck,
    Traded,
    Weighed,
)
from truethrow.balance.station.lost_lines import WRITTEN_AGAIN, needs
from truethrow.balance.station.next_steps import command_of
from truethrow.worksheets.words.history_words import told


def reads(line: Damaged, told_in: ToldIn = METRIC) -> str:
    """What is wrong with a damaged line, and what can still be read of it."""
    if line.harm == "missing":
        return "records are missing before it; what they said can't be known"
    claim = said(line)
    if claim is None:
        return f"can't be read any more: {printable(line.raw.decode('latin-1'))}"
    by = f" by {claim.by}" if claim.by else ""
    return f"{_WRONG[line.harm]}: {claim.action}, {told(PastRecord(claim, ''), told_in)}, {when(claim.at)}{by}"


_WRONG: dict[Harm, str] = {
    "damaged": "one bit is wrong; it said",
    "changed": "was changed after it was written; it says now",
    "misplaced": "was not written there, but elsewhere or in another log; it says",
}


# Who answers for it types his own initials.
_WHO = '--why "..." --by INITIALS'


def ways(line: Damaged, job: str) -> list[str]:
    """The commands that settle a damaged line, ready to paste."""
    start = f"truethrow acknowledge {shown_path(job)} {line.number}"
    if needs(line) == (NOTED,):
        return [f"{start} {_WHO}"]
    figures = " --figures 'FIGURES'" if said(line) is None else ""
    return [
        f"{start} --entered-again{figures} {_WHO}",
        f"{start} --never-happened {_WHO}",
    ]


def next_steps(
    records: Sequence[Record], line: Damaged, way: str, job: str, told_in: ToldIn = METRIC
) -> list[str]:
    """What is to be done once a damaged line is acknowledged."""
    claim, name = said(line), shown_path(job)
    if isinstance(claim, Struck):
        struck = next((record for record in records if record.id == claim.of), None)
        again = f"record {shown(claim.of)} counts again; if it was wrong, cancel it again: "
        steps = [f'{again}truethrow strike {name} {shown(claim.of)} --why "..."']
        return steps + (next_steps_of(struck, name) if struck else [])
    if claim is None:
        return [
            "what the line said can't be known: go through truethrow history with the cards in hand, and weigh "
            f"again every part you are not sure of: truethrow weigh {name}",
            f"if the crank has been spun, spin it again: {_spin(name)}",
        ]
    done = (
        f"it counts again, in its place: {told(PastRecord(claim, ''), told_in)}"
        if way == AGAIN and isinstance(claim, WRITTEN_AGAIN)
        else ""
    )
    return ([done] if done else []) + next_steps_of(claim, name)


_WEIGH = "weigh that part again: truethrow weigh {name}"
_SPIN = "spin again before anything is drilled or signed: {spin}"
_NEXT: dict[type[Record], str] = {
    Weighed: _WEIGH,
    Cut: _WEIGH,
    Traded: (
        "who sits where is in doubt: hold the marks on the parts against truethrow history, then weigh again all "
        "that changes places: truethrow weigh {name}"
    ),
    **dict.fromkeys(STATION, _SPIN),
    Confirmed: "what was confirmed asks again: truethrow check {name}",
    Proposed: "match again: truethrow match {name}",
    Acknowledged: "the line that it was about asks again: truethrow damaged {name}",
}


def next_steps_of(record: Record, name: str) -> list[str]:
    found = _NEXT.get(type(record))
    return [found.format(name=name, spin=_spin(name))] if found else []


def _spin(name: str) -> str:
    return command_of(name, "", "spin", "FRONT REAR")
