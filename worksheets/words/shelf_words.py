"""A shelf made into engines, in sentences."""

from __future__ import annotations

from truethrow.balance.base.naming import mark
from truethrow.balance.shelf.match_shelf import Costly, Match
from truethrow.balance.shelf.pool import PLURAL
from truethrow.worksheets.shown.display import Display


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
