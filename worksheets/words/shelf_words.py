"""A shelf made into engines, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

from truethrow.balance.base.naming import mark
from truethrow.balance.shelf.match_shelf import Costly, Match
from truethrow.balance.shelf.pool import PLURAL
from truethrow.worksheets.shown.display import Display

if TYPE_CHECKING:
    from truethrow.balance.base.errors import Fault
    from truethrow.balance.book.stock_shelf import LeftThere

WHICH_ENGINE = "The stock does not say which engine a part is for: look at each before it goes in."


def verdict(found: Match, show: Display) -> str:
    """Whether it is the best there is, and how sure that is."""
    if found.proved:
        return f"Proved best: no way of dividing this shelf takes less (the bound counts {found.counts})."
    gap = show.masses(found.gap_g / len(found.engines), finer=2)
    said = (
        f"Within {gap} an engine of the bound, which counts {found.counts}; whether less can be done is not known."
    )
    match found.stopped:
        case "time":
            return f"{said} The time ran out: more --seconds may do better, and another run may differ."
        case "interrupted":
            return f"{said} Interrupted: this is the best so far."
    return said


def costly(match: Match, found: Costly, show: Display) -> str:
    """What would make the dearest engine cheaper."""
    part = found.part
    said = (
        f"engine {found.engine} takes most, and {part.kind} {mark(part.label)} in its cylinder {found.cylinder} "
        f"most of that: one of just the right mass would save {show.masses(found.saves_g)}"
    )
    if found.leftover is None and not match.leftovers[part.kind]:
        return said
    if found.leftover is None:
        return f"{said}; none of those left over would save anything there"
    saved = show.masses(found.leftover_saves_g)
    return f"{said}; {mark(found.leftover.label)}, left over, would save {saved} there"


def leftovers(found: Match) -> list[str]:
    """What stays on the shelf, a line a kind."""
    return [
        f"{PLURAL[kind]}: {', '.join(mark(part.label) for part in parts)}"
        for kind, parts in found.leftovers.items()
        if parts
    ]


def left_there(one: LeftThere, show: Display) -> str:
    """A loose part of the stock that is in no pool, and why."""
    part, who = one.part, f"{one.part.kind} {mark(one.part.label)}"
    if one.median_g is None:
        return f"- {who}: its piston, {part.together}, is not there"
    reads = " / ".join(show.mass(g) for g in (part.big_end_g, part.reciprocating_g) if g)
    return f"- {who}: {reads} {show.mass_unit}, the others have {show.masses(one.median_g)}: of another engine?"


def goes_into(engine: int, job: str) -> str:
    return f"Once engine {engine} is built, as job {job} of the book:"


def cannot_go(fault: Fault, count: int) -> str:
    """Why an engine cannot go into a job."""
    more = f" (and {count - 1} more like it)" if count > 1 else ""
    return f"It can't go into this job: {fault}{more}. Give a job without parts: --to ID"


def without_job(count: int, given: int) -> str:
    """What to do for the engines that no job is there for."""
    which = f"{count} engine{'' if count == 1 else 's'}{' more' if given else ''}"
    return (
        f"{which} without a job of the book to go into: make one for each (truethrow new, truethrow book add), "
        "and name them with --to, in the order of the engines."
    )
