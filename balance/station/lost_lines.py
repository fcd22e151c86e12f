"""A damaged line of a log settled: what became of it, and what was entered again in its place."""

from __future__ import annotations

from typing import TYPE_CHECKING

from truethrow.balance.base import trades
from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.base.parts import CUT_AT
from truethrow.balance.log.records import ACKNOWLEDGE, DAMAGED, Record, again_id

if TYPE_CHECKING:
    from truethrow.balance.log.place import Place
from truethrow.balance.log.damage import AGAIN, DONE, NEVER, NOTED, Way, said, unsettled

# What is written again in the place of the lost line; all else by its own command.
WRITTEN_AGAIN = ("cut", "hole", "seat")


def needs(record: Record) -> tuple[Way, ...]:
    """How a damaged line can be settled."""
    claim = said(record)
    return (AGAIN, NEVER) if claim is None or claim.action in DONE else (NOTED,)


def acknowledge(
    place: Place, number: int, way: Way, why: str, figures: str = "", by: str = ""
) -> tuple[Record, Record | None]:
    """Write down what became of a damaged line: the acknowledgement, and the cut, hole or trade that was written
    again in its place. figures: of it, where the line does not tell them any more.

    Raises BadInput where no such line waits, or the way does not fit it; NotSaved."""
    from truethrow.balance.log.place import must_have_a_log, open_log  # noqa: PLC0415 (which opens logs with this)

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
    """The record in the place of a lost cut, hole or trade; None for what is entered by its own command."""
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
    """A cut, a hole or a trade as typed. Raises ValueError, IndexError for what is none."""
    action, _, rest = figures.strip().partition(" ")
    empty = Record("", "", "", "", action, None, "", None, "", "", "")
    if action == "cut":
        cylinder, pad, grams = rest.split()[:3]
        if pad not in CUT_AT or not 0 < float(grams) < 10_000:
            raise ValueError(f"no cut: {', '.join(CUT_AT)}, and grams above zero")
        return empty._replace(cylinder=int(cylinder), kind=pad, grams=float(grams))
    if action == "hole":
        from truethrow.balance.station.stationlog import hole_text, parse_hole  # noqa: PLC0415 (the station's alone)

        kind, _, text = rest.partition(" ")
        return empty._replace(kind=kind, typed=hole_text(parse_hole(kind, text)))
    if action == "seat":
        return empty._replace(typed=trades.text(trades.parse(rest)))
    raise ValueError("is no cut, no hole and no seat")
