"""The trim card: what to take off which part, where, and what the scale should say afterwards."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from truethrow.balance.base.naming import Names
from truethrow.balance.base.parts import label
from truethrow.balance.job.grinding import Ground
from truethrow.balance.job.job import Job
from truethrow.balance.result.plans import Standing
from truethrow.balance.result.trim import PartTrim, TrimPlan
from truethrow.worksheets.cards.card import (
    Big,
    Bigs,
    Blank,
    Block,
    CardTable,
    Cell,
    Lines,
    Picture,
    Tick,
    Tile,
    Tiles,
    Word,
    without_empty,
)
from truethrow.worksheets.cards.figures import Figures, verdict
from truethrow.worksheets.cards.known import Known
from truethrow.worksheets.data import result_data
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import card_words, result_words
from truethrow.worksheets.words.cautions import TRIM_CAUTIONS

NOTHING = result_words.sentence(f"{result_words.ALL_INSIDE}: leave the metal where it is")


def data(known: Known) -> dict[str, Any]:
    """Of the plan, not of how far it is done: what is ticked makes no card old that was printed before."""
    result = known.planned
    assert result
    plan = result.trim
    made: dict[str, Any] = {
        "job": result_data.job(result),
        "before": [result_data.spread(spread) for spread in result.spreads if spread.limit_g is not None],
        "trim": result_data.trim(result),
        "ground": None,
    }
    if result.job.ground is not None:
        made["ground"] = result_data.ground(
            result.job.ground, Display("g", "mm", result.job.scale.resolution_g), result.job.names
        )
    if plan is not None:
        made["count"] = len(plan.parts)
        for told in made["trim"]["parts"]:
            told["cuts"] = [cut | {"number": number} for number, cut in enumerate(told["cuts"], start=1)]
        made["swap_of_g"] = plan.swap and {"now": plan.swap.grams_now, "nearer": plan.swap.excess_saved_g}
    return made


def cautions(known: Known) -> tuple[str, ...]:
    return TRIM_CAUTIONS


def blocks(known: Known, data: dict[str, Any], display: Display) -> tuple[Block, ...]:
    result = known.planned
    assert result
    plan, ground, names, figures = result.trim, result.job.ground, result.job.names, Figures(data, display)
    notes = tuple(f"{note}." for note in data["job"]["notes"])
    minds: list[Block] = [Lines(notes, "Mind", "framed")] if notes else []
    if assumed := result.job.pads_assumed:
        minds.append(Lines((result_words.assumed_pads(assumed),), "Ask the maker first", "framed"))
    if ground is not None:
        minds += _waiting(ground, display, names, known.name)
    if plan is None:
        return _nothing("NOTHING", (NOTHING if data["before"] else card_words.NO_LIMITS,), minds, figures)
    if ground is not None and ground.again:
        return _nothing("NOTHING YET", (), minds, figures)
    # Once the first cut is made, it is too late to swap a part instead.
    minds += _so_far(known.standing, names) if known.standing else _advice(plan, display, names)
    if not plan.parts:
        return _nothing("NOTHING", (card_words.NO_CUT,), minds, figures)
    # Part by part, as they are set up to be ground; the drawings of a row are as high as each other then.
    sorts = list(dict.fromkeys(part.part for part in plan.parts))
    ordered = sorted(enumerate(plan.parts), key=lambda one: sorts.index(one[1].part))
    record = card_words.RECORD.format(job=known.name)
    return (
        *minds,
        *_learned(plan, ground),
        _to_take(ordered, known, figures),
        Tiles(tuple(_tile(at, part, known, figures) for at, part in ordered)),
        *(() if known.standing and known.standing.is_all_done else (Lines((record,)),)),
        _spreads(figures, "trim", "Afterwards, as the scale should show it"),
    )


def _nothing(said: str, why: tuple[str, ...], minds: list[Block], figures: Figures) -> tuple[Block, ...]:
    """No cut, in big letters, and where the spreads stand."""
    standing = [_spreads(figures, "before", "As weighed")] if figures.value("before") else []
    reason = [Lines(why)] if why else []
    return (Bigs((Big("to cut", Word(said, "framed")),)), *reason, *minds, *standing)


def _to_take(ordered: Sequence[tuple[int, PartTrim]], known: Known, figures: Figures) -> CardTable:
    """All cuts at one look, for the grinder: which part, where, how much, what it should read then, a box for
    each. A rod's small end has a column of its own."""
    done = known.standing.done if known.standing else ()
    rows: list[tuple[Cell, ...]] = []
    cut_at, read_at = _Places(), _Places()
    for at, part in ordered:
        path = ("trim", "parts", at)
        take: list[Cell] = ["", "", "", ""]
        reads: list[Cell] = ["", ""]
        for n, cut in enumerate(part.cuts):
            order = f" {card_words.ORDER[n]}" if len(part.cuts) > 1 else ""
            column = 2 * cut_at.of(cut.pad.kind)
            taken = figures.mass(*path, "cuts", n, "grams")._replace(behind=order)
            take[column : column + 2] = [taken, Tick((cut.cylinder, cut.pad.kind) in done)]
        for kind in part.expected_g:
            reads[read_at.of(kind)] = figures.mass(*path, "expect_g", kind)
        rows.append((Word(figures.value(*path, "name")), *take, *reads))
    take_heads = [head for said in cut_at.said("take off: ") for head in (said, "")]
    heads = ("part", *take_heads, *read_at.said("then reads: "))
    caption = card_words.PLANNED.format(
        grams=figures.mass("trim", "grams").text,
        count=figures.number("count", places=0).text,
        parts="part" if len(ordered) == 1 else "parts",
        plan=figures.value("trim", "plan"),
    )
    return CardTable("cuts", *without_empty(heads, tuple(rows)), caption, wide=0)


class _Places:
    """Which of two columns a kind is in, and what the columns have by then."""

    def __init__(self) -> None:
        self._kinds: tuple[dict[str, None], dict[str, None]] = ({}, {})

    def of(self, kind: str) -> int:
        column = int(kind == "small_end")
        self._kinds[column][kind] = None
        return column

    def said(self, before: str) -> list[str]:
        return [before + ", ".join(map(label, kinds)) for kinds in self._kinds]


def _waiting(ground: Ground, show: Display, names: Names, job: str) -> list[Block]:
    """What stands against the readings since the last cuts."""
    again = tuple(f"{result_words.weigh_again(grind, names, job)}." for grind in ground.again)
    doubted = tuple(result_words.doubted(grind, show, names) for grind in ground.doubted)
    made: list[Block] = [Lines(again, "Weigh again first", "inverse")] if again else []
    return made + ([Lines(doubted, "Not believed", "framed")] if doubted else [])


def _advice(plan: TrimPlan, show: Display, names: Names) -> list[Block]:
    """What is better done before anything is ground."""
    made: list[Block] = []
    if plan.shortfalls:
        said = tuple(f"{result_words.shortfall(found, show, names)}." for found in plan.shortfalls)
        made.append(Lines(said, "Out of reach", "framed"))
    if plan.swap is not None:
        made.append(Lines((f"{result_words.swap(plan.swap, show, names)}.",), "First", "framed"))
    return made


def _so_far(standing: Standing, names: Names) -> list[Block]:
    """How far a plan is done that was begun."""
    again = ", ".join(names.said(part, cylinder) for part, cylinder in standing.waiting)
    said = (card_words.STANDS, card_words.ALL_RECORDED) if standing.is_all_done else (card_words.STANDS,)
    return [Lines((*said, f"To be weighed again: {again}."), "Begun", "framed")]


def _learned(plan: TrimPlan, ground: Ground | None) -> list[Block]:
    said = tuple(f"{told}." for told in result_words.learned_for(plan, ground))
    return [Lines(said)] if said else []


def _tile(at: int, part: PartTrim, known: Known, figures: Figures) -> Tile:
    assert known.planned
    path = ("trim", "parts", at)
    rows: list[tuple[str, tuple[Cell, ...]]] = []
    for kind in part.expected_g:
        expected = figures.mass(*path, "expect_g", kind)
        rows.append((f"{label(kind)} then", (expected, Blank(figures.show.mass_unit))))
    return Tile(figures.value(*path, "name"), _picture(part, known.planned.job, figures.show), tuple(rows))


def drawn(part: PartTrim, job: Job, show: Display) -> str:
    """The drawing of a part that metal comes off (SVG)."""
    from truethrow.worksheets.drawn import piston, rod  # noqa: PLC0415 (a card without a cut draws nothing)

    return rod.rod(job, part, show) if part.part == "rod" else piston.piston(job, part, show)


def _picture(part: PartTrim, job: Job, show: Display) -> Picture:
    # The name of a file: numbers are plain, a label may be anything.
    named = job.names.part(part.part, part.cylinder)
    went = f"weighed-in-{named.weighed_in}-goes-in-{part.cylinder}" if named.has_moved else f"{part.cylinder}"
    return Picture(f"{part.part}-{went}", drawn(part, job, show), result_words.cut(part, show, job.names))


def _spreads(figures: Figures, where: str, caption: str) -> CardTable:
    path: tuple[str, ...] = ("trim", "after") if where == "trim" else (where,)
    rows: list[tuple[Cell, ...]] = []
    for at, spread in enumerate(figures.value(*path)):
        if spread["limit_g"] is None:
            continue
        finer = figures.finer(*path, at)
        rows.append(
            (
                label(spread["quantity"]),
                figures.mass(*path, at, "spread_g", finer=finer, bare=True),
                figures.mass(*path, at, "uncertainty_g", finer=1, bare=True),
                figures.allowed(*path, at, "limit_g", finer=finer, bare=True),
                verdict(spread["verdict"]),
            )
        )
    heads = ("heaviest − lightest", "spread", "±", "limit", "")
    return CardTable("spreads", heads, tuple(rows), f"{caption} [{figures.show.mass_unit}]", wide=0)
