"""Candidates side by side, as a page and as a spreadsheet."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from truethrow.balance.base.amounts import Amount
from truethrow.balance.base.readings import digits_for
from truethrow.balance.planning.candidates import Candidates
from truethrow.balance.planning.comparing import Ranked
from truethrow.worksheets.cards.card import Block, Card, CardTable, Cell, Figure, Lines
from truethrow.worksheets.cards.figures import Figures
from truethrow.worksheets.data.candidates_data import candidates
from truethrow.worksheets.pages.page import estimate, page
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import candidates_words as words
from truethrow.worksheets.words.cautions import MAKERS_FIRST

# The work, with parts over the whole of their range; its grams are known to about ten.
ENDS, KNOWN_G = ("light", "middle", "heavy"), 10


def candidates_page(file: Candidates, order: Sequence[Ranked], by: str, show: Display, date: str) -> Card:
    data = candidates(file, order, by)
    figures = Figures(data, show)
    said = words.estimated([one.candidate for one in order])
    blocks: list[Block] = estimate(said)
    blocks += [_weighs(figures, order), _pulls(figures, order), _takes(figures, order, file)]
    alone = words.one_for_all([one.candidate for one in order])
    told = (f"Sorted: {words.SORTED[by]}. {words.first(order)}", *words.doubts(order, by, show))
    blocks.append(Lines((*told, *words.cannot(order), *words.unpriced(order), *alone)))
    whose = file.id, file.title, ""
    cautions = words.CANDIDATES_CAUTION, MAKERS_FIRST
    return page("candidates", words.TITLE, whose, data, tuple(blocks), cautions, date)


def _weighs(figures: Figures, order: Sequence[Ranked]) -> CardTable:
    rows = []
    for at, one in enumerate(order):
        path = ("candidates", at, "bobweight")
        rows.append(
            (words.number(at, order), one.candidate.parts.name, one.candidate.crank.name, *_sure(figures, *path))
        )
    heads = ("", "set", "crank", "bobweight", "±")
    return CardTable("bobweights", heads, tuple(rows), f"Bobweight of a throw [{figures.show.mass_unit}]")


def _sure(figures: Figures, *path: str | int) -> tuple[Figure, Figure]:
    """A mass and its ±, with the digits that are known."""
    value, sure = (figures.mass(*path, name, bare=True) for name in ("value_g", "uncertainty_g"))
    places = digits_for(sure.shown.number)
    return tuple(one._replace(shown=one.shown._replace(places=places)) for one in (value, sure))  # type: ignore[return-value]


def _pulls(figures: Figures, order: Sequence[Ranked]) -> CardTable:
    rows: list[tuple[Cell, ...]] = []
    for at in range(len(order)):
        path = ("candidates", at)
        row: list[Cell] = [words.number(at, order), *_sure(figures, *path, "reciprocating")]
        row += _force(figures, path, "pull_n", "pull_uncertainty_n", with_sure=True)
        row += _force(figures, path, "rod_bolt_n", "rod_bolt_uncertainty_n")
        speed = figures.value(*path, "mean_piston_speed_m_s")
        if speed is None:
            row.append("")
        else:
            shown = figures.show.piston_speed(speed)._replace(unit="")
            row.append(Figure(shown, speed, (*path, "mean_piston_speed_m_s")))
        rows.append(tuple(row))
    show = figures.show
    unit = show.force_unit
    heads = (
        "",
        f"reciprocating [{show.mass_unit}]",
        "±",
        f"pull [{unit}]",
        "±",
        f"a bolt [{unit}]",
        f"piston [{show.piston_speed(0.0).unit}]",
    )
    return CardTable("pulls", heads, tuple(rows), "What goes up and down, at top speed")


def _force(
    figures: Figures, path: tuple[str | int, ...], name: str, sure: str, *, with_sure: bool = False
) -> list[Cell]:
    running = figures.value(*path, "at_top_speed")
    if running is None:
        return [""] * (2 if with_sure else 1)
    places = digits_for(running[sure] * figures.show.per_newton)
    return [
        Figure(Amount(running[one] * figures.show.per_newton, places), running[one], (*path, "at_top_speed", one))
        for one in ((name, sure) if with_sure else (name,))
    ]


def _takes(figures: Figures, order: Sequence[Ranked], file: Candidates) -> CardTable:
    """Of the work, what the parts' range takes."""
    rows: list[tuple[Cell, ...]] = []
    has_price = any(one.candidate.cost for one in order)
    for at, one in enumerate(order):
        path = ("candidates", at)
        row: list[Cell] = [words.number(at, order)]
        of_forces = ("force_n", "force_uncertainty_n", figures.show.per_newton)
        for name, sure, factor in (
            of_forces,
            ("couple_nm", "couple_uncertainty_nm", figures.show.per_newton_metre),
        ):
            running = figures.value(*path, "at_top_speed")
            if running is None or running[name] is None:
                row += ["", ""]
                continue
            places = digits_for(running[sure] * factor)
            shown = 0.0 if running[name] <= running[sure] else running[name] * factor  # no more than its ± is none
            row += [
                Figure(Amount(one, places), running[each], (*path, "at_top_speed", each))
                for each, one in ((name, shown), (sure, running[sure] * factor))
            ]
        if one.candidate.expected is None:
            row += ["", "", ""]
        elif not one.candidate.expected.middle.is_enough:
            row += ["can't", "can't", "can't"]
        else:
            places = digits_for(figures.show.weighed(KNOWN_G).number)
            metal = (figures.mass(*path, "expected", each, "metal_g", bare=True) for each in ENDS)
            row.append(_in_range(*(one._replace(shown=one.shown._replace(places=places)) for one in metal)))
            for name in ("slugs", "holes"):
                row.append(_in_range(*(figures.number(*path, "expected", each, name, places=0) for each in ENDS)))
        if has_price:
            row.append(_price(figures, at, one))
        rows.append(tuple(row))
    price = (f"price [{file.prices.currency}]" if file.prices else "price",) if has_price else ()
    heads = (
        "",
        f"force [{figures.show.force_unit}]",
        "±",
        f"couple [{figures.show.couple_unit}]",
        "±",
        f"metal [{figures.show.mass_unit}]",
        "slugs",
        "holes",
        *price,
    )
    caption = f"What shakes at top speed, and what the crank takes. {words.IN_BRACKETS}"
    return CardTable("takes", heads, tuple(rows), caption)


def _price(figures: Figures, at: int, one: Ranked) -> Cell:
    cost: dict[str, Any] | None = figures.value("candidates", at, "price")
    if cost is None or one.candidate.cost is None:
        return ""
    totals = (figures.number("candidates", at, "price", "totals", end, places=0) for end in range(3))
    made = _in_range(*totals)
    return made._replace(behind=f"{made.behind}+") if one.candidate.cost.unpriced else made


def _in_range(light: Figure, middle: Figure, heavy: Figure) -> Figure:
    """What the middle of the parts' range takes, and in brackets what it takes from end to end."""
    least, most = (pick((light, middle, heavy), key=lambda one: one.value) for pick in (min, max))
    return middle if least.text == most.text else middle._replace(behind=f" ({least.text}-{most.text})")
