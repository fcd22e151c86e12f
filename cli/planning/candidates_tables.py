"""Candidates side by side, on the screen."""

from __future__ import annotations

from collections.abc import Sequence

from truethrow.balance.base.amounts import Amount
from truethrow.balance.base.readings import digits_for
from truethrow.balance.planning.candidates import Candidates
from truethrow.balance.planning.comparing import Candidate, Ranked
from truethrow.cli.show import Screen
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import candidates_words as words
from truethrow.worksheets.words.cautions import MAKERS_FIRST


def candidates(
    out: Screen, file: Candidates, order: Sequence[Ranked], by: str, show: Display, *, has_tools: bool
) -> None:
    found = [one.candidate for one in order]
    out.line(f"Candidates {file.id}" + (f": {file.title}" if file.title else ""), strong=True)
    if said := words.estimated(found):
        out.line(f"! {said}", strong=True)
    out.line(f"Sorted: {words.SORTED[by]}.")
    out.table(
        ["", "set", "crank", f"bobweight [{show.mass_unit}]", "±"],
        [_who(at, order, show) for at in range(len(order))],
        ("set", "crank"),
    )
    out.heading("What goes up and down" + _at_speed(found[0]))
    unit = show.force_unit
    heads = [
        "",
        f"reciprocating [{show.mass_unit}]",
        "±",
        f"pull [{unit}]",
        "±",
        f"a bolt [{unit}]",
        _speed_head(show),
    ]
    out.table(heads, [_pulls(at, order, show) for at in range(len(order))])
    out.heading("What shakes, and what it takes")
    heads = [
        "",
        f"force [{show.force_unit}]",
        f"couple [{show.couple_unit}]",
        f"metal [{show.mass_unit}]",
        "slugs",
        "holes",
    ]
    has_price = any(one.cost for one in found)
    if has_price:
        heads.append(f"price [{file.prices.currency}]" if file.prices else "price")
    out.table(heads, [_takes(at, order, show, has_price=has_price) for at in range(len(order))])
    if any(one.expected for one in found):
        out.line(words.IN_BRACKETS)
    for said in (
        *words.doubts(order, by, show),
        *words.cannot(order),
        *words.unpriced(order),
        *words.one_for_all(found),
    ):
        out.line(said)
    for said in words.not_told(file, found, has_tools):
        out.line(f"Not told: {said}.")
    out.line(f"! {words.CANDIDATES_CAUTION}")
    out.line(f"! {MAKERS_FIRST}")
    out.line(words.first(order), strong=True)


def _who(at: int, order: Sequence[Ranked], show: Display) -> list[str]:
    who, target = order[at].candidate, order[at].candidate.masses.target
    masses = (_mass(grams, target.expanded_g, show) for grams in (target.value_g, target.expanded_g))
    return [words.number(at, order), _short(who.parts.name), _short(who.crank.name), *masses]


def _pulls(at: int, order: Sequence[Ranked], show: Display) -> list[str]:
    who, mass = order[at].candidate, order[at].candidate.masses.reciprocating
    row = [words.number(at, order), *(_mass(g, mass.expanded_g, show) for g in (mass.value_g, mass.expanded_g))]
    if who.running is None:
        row += ["", "", ""]
    else:
        sure = who.running.pull_expanded_n * show.per_newton
        pulls = who.running.pull_n, who.running.pull_expanded_n, who.running.bolt_n
        row += [Amount(n * show.per_newton, digits_for(sure)).digits for n in pulls]
    speed = who.result.facts.mean_piston_speed_m_s
    return [*row, "" if speed is None else show.piston_speed(speed).digits]


def _takes(at: int, order: Sequence[Ranked], show: Display, *, has_price: bool) -> list[str]:
    who, shaking = order[at].candidate, order[at].candidate.shaking
    row = [words.number(at, order)]
    if shaking is None:
        row += ["", ""]
    else:
        row += [
            _shakes(shaking.force.amount, shaking.force_expanded_n, show.per_newton),
            _shakes(shaking.couple.amount, shaking.couple_expanded_nm, show.per_newton_metre),
        ]
    factor = show.weighed(1.0).number
    if who.expected and who.expected.middle.is_enough:
        row.append(words.in_range([work.metal_g * factor for work in who.expected], digits_for(10 * factor)))
    else:
        row.append(words.work(who, lambda work: work.metal_g))
    row += [words.work(who, lambda work: work.slugs), words.work(who, lambda work: work.holes)]
    return [*row, words.price(who)] if has_price else row


def _shakes(amount: float, expanded: float, one: float) -> str:
    """What is no more than its ± is told as that. one: unit that is shown."""
    amount, expanded = amount * one, expanded * one
    if amount <= max(expanded, words.NOTHING):
        return "0" if expanded <= words.NOTHING else f"0 ± {Amount(expanded, digits_for(expanded)).digits}"
    return f"{words.figure(amount, expanded).digits} ± {words.figure(expanded, expanded).digits}"


def _mass(grams: float, expanded_g: float, show: Display) -> str:
    return Amount(show.weighed(grams).number, digits_for(show.weighed(expanded_g).number)).digits


def _at_speed(one: Candidate) -> str:
    return f" at {one.running.speed_rpm:g} r/min" if one.running else ""


def _speed_head(show: Display) -> str:
    return f"mean [{show.piston_speed(0.0).unit}]"


def _short(name: str) -> str:
    return name if len(name) <= LONGEST_NAME else f"{name[: LONGEST_NAME - 1]}…"


# Two of them and three figures are a line of a page.
LONGEST_NAME = 24
