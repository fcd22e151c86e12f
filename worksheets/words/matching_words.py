"""A matching in words and as plain data: who sits where, what it brings, and how sure it is to be the best."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from truethrow.balance.base.amounts import Amount
from truethrow.balance.base.naming import Part
from truethrow.balance.base.parts import label
from truethrow.balance.base.trades import Moves
from truethrow.balance.matching.aims import Reached
from truethrow.balance.matching.compared import columns, figures
from truethrow.balance.matching.match import Matching
from truethrow.balance.result.least_metal import EXCESS_COST
from truethrow.balance.result.work import Result
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import result_words

AIMS = {
    "limits": "inside with no trimming",
    "grams": "metal, at the least",
    "bobweight": "bobweight spread",
    "reciprocating": "reciprocating spread",
    "rotating": "rotating spread",
    "residual": "worse plane",
}
# What stays over a limit by less than this is the solver's rounding.
TELLABLE_G = 1e-6
ON_SLIPS = "readings look like slips, so neither limits nor metal are to be trusted"
OUT_OF_TIME = "The time was out before the work was done: more --seconds, or a less busy computer, may do better."
BROKEN_OFF = "Broken off: this is the best so far."
NOTHING_TO_MOVE = "Nothing to move: the parts sit as well as they can be made to."
FITTED = (
    "A pin fitted to its piston, or anything else that belongs together, stays together only if the job says so: "
    '[match] together = [["piston", "pin"]]. Rods keep their caps.'
)


def not_yet(found: Matching) -> str:
    """What is said before an answer that rests on readings that look like slips; empty where none does."""
    who, name = result_words.to_look_at(found.now), found.now.job.name
    if not who:
        return ""
    return (
        f"Do not go by it yet: it rests on what looks like a slip ({who}); look again: truethrow check {name}, "
        "and then match again"
    )


def outcome(found: Matching) -> list[str]:
    """How it ended, a sentence each; nothing where all that can be said is what it proposes."""
    said = [BROKEN_OFF] if found.broken_off else []
    said += [OUT_OF_TIME] if found.is_out_of_time else []
    said += [doubt] if (doubt := not_yet(found)) else []
    return said if found.moves else [*said, NOTHING_TO_MOVE]


def part(found: Matching, unit: str, cylinder: int) -> Part:
    """The part that is to go in a cylinder, or that stays there."""
    came = {to: start for start, to in found.moves.get(unit, {}).items()}
    return found.now.job.names.part(unit, came.get(cylinder, cylinder), cylinder)


def value(reached: float, aim: Reached, show: Display, over_g: float = 0.0) -> str:
    """A value of an aim, with its unit. over_g: of the metal, what no cut brings inside the limits."""
    match aim.name:
        case "grams" if over_g > TELLABLE_G:
            metal_g = _metal_g(reached, over_g)
            return f"{show.masses(metal_g, finer=1)}, and still {show.masses(over_g, finer=1)} over limits"
        case "limits":
            return "yes" if reached == 0 else "no"
        case "residual":
            return f"{show.unbalance(reached, 1.0)} {show.unbalance_unit}"
    return show.masses(reached, finer=1)


def _metal_g(cost: float, over_g: float) -> float:
    return max(0.0, cost - EXCESS_COST * over_g)


def verdict(aim: Reached, show: Display) -> str:
    if aim.proved:
        return "proved best"
    if aim.name == "limits":
        return "not found; it may be"
    if aim.over_g > TELLABLE_G:
        return "the nearest found; another may be nearer"
    return f"within {value(aim.value - aim.bound, aim, show)} of the bound"


def better(found: Matching, show: Display) -> list[str]:
    """What it would take to get better."""
    said = []
    more = "; more --seconds may close the gap" if found.is_out_of_time else ""
    for aim in found.reached:
        if not aim.proved and aim.over_g > TELLABLE_G:
            said.append(f"{AIMS[aim.name]}: no cut brings all inside; others may come nearer{more}")
        elif not aim.proved and aim.name != "limits":
            said.append(
                f"{AIMS[aim.name]}: {value(aim.value, aim, show)} found, and none below "
                f"{value(aim.bound, aim, show)} can be{more}"
            )
        if aim.alone is not None and aim.alone < aim.value - 1e-6 and aim.over_g > TELLABLE_G:
            said.append(f"{AIMS[aim.name]}: nearer to the limits if it were first in aims")
        elif aim.alone is not None and aim.alone < aim.value - 1e-6:
            said.append(
                f"{AIMS[aim.name]}: {value(aim.alone, aim, show)} if it were first in aims, instead of "
                f"{value(aim.value, aim, show)}"
            )
    plan, names = found.matched.trim, found.matched.job.names
    if plan is not None:
        said += [result_words.shortfall(shortfall, show, names) for shortfall in plan.shortfalls]
        said += [result_words.swap(plan.swap, show, names)] if plan.swap else []
    if not said:
        said = ["with these parts and these aims, nothing: another piece on the shelf is what could do better"]
    return said


def _half_step(show: Display, grams: float) -> Amount:
    return show.weighed(grams, finer=1)


def _unbalance(show: Display, gmm: float) -> Amount:
    return show.unbalanced(gmm, 1.0)


def _count(_: Display, parts: float) -> Amount:
    return Amount(parts, 0)


# What is compared, how it is called, and how it is shown.
FIGURES: dict[str, tuple[str, Callable[[Display, float], Amount]]] = {
    "bobweight_g": ("bobweight spread", _half_step),
    "reciprocating_g": ("reciprocating spread", _half_step),
    "rotating_g": ("rotating spread", _half_step),
    "static_gmm": ("static unbalance", _unbalance),
    "front_gmm": ("front plane", _unbalance),
    "rear_gmm": ("rear plane", _unbalance),
    "trim_g": ("metal to trim in all", Display.weighed),
    "parts_to_trim": ("parts to trim", _count),
    "bobweight_after_g": ("bobweight, trimmed", _half_step),
    "reciprocating_after_g": ("reciprocating, trimmed", _half_step),
}


def engines(found: Matching) -> list[str]:
    """What the engines that are compared are called."""
    return [label(name) for name in columns(found)]


def compared(found: Matching, show: Display) -> list[list[str]]:
    """Row by row what the engines compare in, as text."""
    return side_by_side(columns(found).values(), show)


def side_by_side(results: Iterable[Result], show: Display) -> list[list[str]]:
    """The same of any engines: what is compared, then a figure for each of them."""
    made = [figures(result) for result in results]
    rows = []
    for key, (said, shown) in FIGURES.items():
        values = [value for own in made if (value := own[key]) is not None]
        if len(values) < len(made):
            continue
        amounts = [shown(show, value) for value in values]
        unit = amounts[0].unit
        rows.append([f"{said} [{unit}]" if unit else said, *(one.digits for one in amounts)])
    return rows


def trade(found: Matching, show: Display) -> str:
    """What so many moves bring once the parts are trimmed, in one sentence; empty where nothing moves, or where
    readings are to be looked at before that can be told."""
    return brings(found.now, found.matched, found.moves, show)


def brings(before: Result, after: Result, moves: Moves, show: Display) -> str:
    """The same of a job before and after any moves."""
    now, matched = figures(before), figures(after)
    moved, said = sum(map(len, moves.values())), []
    for key in ("trim_g", "bobweight_after_g", "reciprocating_after_g"):
        own, other_own = now[key], matched[key]
        if own is None or other_own is None:
            continue
        name, shown = FIGURES[key]
        one, other = shown(show, own), shown(show, other_own)
        if one.digits != other.digits:
            wider = ", more than now" if other_own > own else ""
            said.append(f"{name} {one.digits} to {other.digits} {other.unit}{wider}")
    if not moved or before.is_held or after.is_held:
        return ""
    for_what = "; ".join(said) if said else "what it brings is before the trim, or in the planes"
    return f"{moved} parts trade places for: {for_what}"


def summary(found: Matching, show: Display) -> str:
    """The proposal in one sentence, as the log keeps it."""
    said = (
        f"{label(aim.name)} {value(aim.value, aim, show, aim.over_g)} ({verdict(aim, show)})"
        for aim in found.reached
    )
    return "; ".join([*said, *([ON_SLIPS] if found.now.doubts else [])])
