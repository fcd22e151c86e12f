"""The bobweight card: what to hang on each throw, the stack that makes it, and how sure that is."""

from __future__ import annotations

import math
from typing import Any

from truethrow.balance.base.readings import tidy
from truethrow.balance.result.bobweight import Bobweights
from truethrow.balance.station.stacked import Inventory, Stack, Stacks
from truethrow.worksheets.cards.card import (
    Big,
    Bigs,
    Block,
    CardTable,
    Cell,
    Halves,
    Lines,
    Side,
    Tick,
    Word,
    stop,
)
from truethrow.worksheets.cards.figures import Figures
from truethrow.worksheets.cards.known import Known
from truethrow.worksheets.data import result_data, station_data
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import result_words
from truethrow.worksheets.words import station_words as words
from truethrow.worksheets.words.cautions import BARE_CAUTION, MAKERS_FIRST, SPIN_CAUTION, STACK_CAUTION

EMPTY, MAKES, OFF = "empty half", "makes", "off by"
# A recipe of more pieces is told smaller, so that the card stays one page.
LARGE = 3
# More figures than these beside each other are not big, and take the room that the stacks need, as they do beside
# several stacks: then the table of throws is large instead.
MOST_BIG = 4


def data(known: Known) -> dict[str, Any]:
    assert known.result
    result = known.result
    weights = result_data.bobweights(result)
    del weights["cost"], weights["cylinders"]  # the tolerance, and what makes it up, does not matter to who hangs
    return {
        "job": result_data.job(result),
        "bobweights": weights,
        "advice": result_words.no_need(result),
        "total_g": tidy(math.fsum(throw.hung_g for throw in result.bobweights.throws)),
        "stacks": known.stacks and known.inventory and stacks(known.stacks, known.inventory),
        "weigh_again_first": result.outside,
        "slips": result_data.slips(result),
    }


def stacks(found: Stacks, inventory: Inventory) -> dict[str, Any]:
    used = {name for stack in found.stacks for half in stack.halves or () for name in half}
    return station_data.stacks(found) | {
        "clamp_half_g": inventory.clamp_half_g,
        "step_g": inventory.step_g,
        "masses_g": {piece.name: piece.mass_g for piece in inventory.pieces if piece.name in used},
        "pieces_a_throw": [stack.pieces for stack in found.stacks],
        "in_all": [
            {name: sum(half.get(name, 0) for half in stack.halves or ()) for name in _names(stack)}
            for stack in found.stacks
        ],
    }


def _names(found: Stack) -> list[str]:
    """The pieces of both halves, each once, as they come."""
    return list(dict.fromkeys(name for half in found.halves or () for name in half))


def cautions(known: Known) -> tuple[str, ...]:
    own = (STACK_CAUTION,) if known.stacks and _is_hung(known) else ()
    # What is said of drilling there is for the station's card; that the makers come first is for all.
    return (*own, spin_caution(known), MAKERS_FIRST)


def spin_caution(known: Known) -> str:
    return SPIN_CAUTION if _is_hung(known) else BARE_CAUTION


def _is_hung(known: Known) -> bool:
    return known.result is not None and known.result.bobweights.rule != "none"


def blocks(known: Known, data: dict[str, Any], display: Display) -> tuple[Block, ...]:
    assert known.result
    figures = Figures(data, display)
    weights = known.result.bobweights
    made: list[Block] = []
    made += [*not_seen(known), *in_doubt(known, display)]
    has_stacks = known.stacks is not None and _is_hung(known)
    if has_stacks and known.stacks and known.inventory:
        made += _unmet(known.stacks, known.inventory, display)
    several = has_stacks and known.stacks is not None and len(known.stacks.stacks) > 1
    if weights.rule == "own" and (several or len(weights.throws) > MOST_BIG):
        made.append(_throws_to_hang(figures))
    else:
        made += [*to_hang(weights, figures), throws(figures, weights, hanging=True)]
    made += rods(known, display)
    as_weighed = result_words.AS_WEIGHED * data["weigh_again_first"]
    mind = (*(f"{note}." for note in data["job"]["notes"]), *filter(None, (as_weighed, data["advice"])))
    said = (*mind, *_how(weights, display), _setting(figures, known))
    made.append(Lines(said, weight="framed" if mind else "plain"))
    return (*made, *(_stacks(known.stacks, figures) if has_stacks and known.stacks else ()))


def in_doubt(known: Known, display: Display) -> list[Block]:
    """What must not be hung yet, as its readings look like slips."""
    assert known.result
    job = known.result.job
    said = tuple(result_words.slip_alone(one, display, job.names, known.name) for one in known.result.slips)
    return list(stop("LOOK AGAIN FIRST", said)) if said else []


def rods(known: Known, display: Display) -> list[Block]:
    """How two rods side by side lie, so that whoever builds the engine sees it."""
    assert known.result
    said = result_words.rods(known.result, display)
    return [Lines((said,))] if said else []


def not_seen(known: Known) -> list[Block]:
    """That the job has the number on a tag, and no part."""
    if known.result is None or known.result.job.has_parts:
        return []
    return [Lines((f"{result_words.PARTS_NOT_SEEN}.",), "Parts not seen", "framed")]


def to_hang(weights: Bobweights, figures: Figures) -> list[Bigs]:
    """The figures to hang, as big as a page holds them: one where all throws carry the same."""
    if weights.rule == "none":
        return [Bigs((Big("on every throw", Word("NOTHING")),))]
    if weights.hung_g is not None:
        return [Bigs((Big("on every throw", figures.mass("bobweights", "hang_g")),))]
    each = [
        Big(
            f"throw {throw.throw.name}",
            figures.mass("bobweights", "throws", at, "hang_g"),
            f"cylinder{'s' if len(throw.cylinders) > 1 else ''} {', '.join(map(str, throw.cylinders))}",
        )
        for at, throw in enumerate(weights.throws)
    ]
    return [Bigs(tuple(each))]


def _unmet(found: Stacks, inventory: Inventory, show: Display) -> list[Block]:
    """What the shop's plates cannot make, told before what they can."""
    made: list[Block] = []
    for stack in found.stacks:
        if stack.halves is None:
            said = f"{words.throws_of(stack)}: {words.unmet(stack, inventory, show)}"
            made += stop("NO STACK", (said,))
    if lacking := tuple(words.lacking(found)):
        more = f"that takes {', '.join(lacking)}"
        made.append(Bigs((Big("stop", Word("NOT ALL AT ONCE", "inverse"), more),)))
    return made


def _stacks(found: Stacks, figures: Figures) -> list[Block]:
    """One recipe as a list to go down, several beside each other."""
    there = [at for at, stack in enumerate(found.stacks) if stack.halves is not None]
    if len(there) != 1:
        return [_recipes(there, found, figures)] if there else []
    recipe = _recipe(there[0], found.stacks[there[0]], figures)
    return [Side(((recipe,), (_comes_to(figures, there[0]),)), (0.58, 0.42))]


def _recipe(at: int, stack: Stack, figures: Figures) -> CardTable:
    """What goes on each half of the clamps of some throws."""
    front, rear = figures.value("stacks", "stacks", at, "halves")
    alike = front == rear
    rows: list[tuple[Cell, ...]] = []
    for name in figures.value("stacks", "in_all", at):
        halves = [
            figures.number("stacks", "stacks", at, "halves", half, name, places=0) if name in own else ""
            for half, own in enumerate((front,) if alike else (front, rear))
        ]
        in_all = figures.number("stacks", "in_all", at, name, places=0)
        rows.append((name, figures.stamped("stacks", "masses_g", name), *halves, in_all, Tick()))
    heads = ("piece", "weighs", *(("half",) if alike else ("one half", "the other")), "both", "")
    is_large = len(rows) <= LARGE and len(stack.throws) <= MOST_BIG
    caption = f"The stack of {words.throws_of(stack)}"
    return CardTable("stack", heads, tuple(rows), caption, wide=0, large=is_large, close=not is_large)


def _recipes(there: list[int], found: Stacks, figures: Figures) -> CardTable:
    """What goes on each half of the clamps, a column for throws that carry the same."""
    masses = figures.value("stacks", "masses_g")
    rows: list[tuple[Cell, ...]] = [
        (name, figures.stamped("stacks", "masses_g", name), *(_on_half(at, name, figures) for at in there))
        for name in sorted(masses, key=lambda name: -masses[name])
    ]
    for said, key in ((MAKES, "mass_g"), (OFF, "off_g")):
        own = (figures.mass("stacks", "stacks", at, key, finer=1, bare=True) for at in there)
        rows.append((f"{said} [{figures.show.mass_unit}]", "", *own))
    heads = ("piece", "weighs", *(", ".join(found.stacks[at].throws) for at in there))
    caption = "The stacks by throw, on each half of a clamp; 2 + 3 where the halves differ"
    return CardTable("stacks", heads, tuple(rows), caption, wide=0, close=True)


def _on_half(at: int, name: str, figures: Figures) -> Cell:
    path = ("stacks", "stacks", at, "halves")
    front, rear = figures.value(*path)
    if front == rear:
        return figures.number(*path, 0, name, places=0) if name in front else ""
    if name not in figures.value("stacks", "in_all", at):
        return ""
    one, other = (
        figures.number(*path, half, name, places=0) if name in own else None
        for half, own in enumerate((front, rear))
    )
    return Halves(one, other)


def throws(figures: Figures, weights: Bobweights, *, hanging: bool = False) -> CardTable:
    """Every throw; hanging: with boxes to tick where each has a bobweight of its own."""
    is_hung, ticks = weights.rule != "none", hanging and weights.hung_g is None
    if weights.rule == "given":
        return _given(figures, ticks=ticks)
    rows: list[tuple[Cell, ...]] = []
    for at, throw in enumerate(figures.value("bobweights", "throws")):
        path = ("bobweights", "throws", at)
        rows.append(
            (
                throw["throw"],
                figures.throw_at(*path, "crank_angle_deg"),
                ", ".join(map(str, throw["cylinders"])),
                figures.mass(*path, "oil_g", bare=True),
                figures.mass(*path, "bobweight_g", finer=1, bare=True),
                figures.mass(*path, "uncertainty_g", finer=1, bare=True),
                *_hung(figures, path, is_hung),
                *((Tick(),) if ticks else ()),
            )
        )
    hung = ("hang", "off by") if is_hung else ()
    heads = ("throw", "at", "cylinders", "oil", "bobweight", "±", *hung, *(("hung",) if ticks else ()))
    return CardTable("throws", heads, tuple(rows), _every_throw(figures), close=not ticks)


def _throws_to_hang(figures: Figures) -> CardTable:
    """What to hang on each of many throws, to be read from afar."""
    rows = tuple(
        (
            throw["throw"],
            figures.throw_at("bobweights", "throws", at, "crank_angle_deg"),
            figures.mass("bobweights", "throws", at, "hang_g", bare=True),
            Tick(),
            ", ".join(map(str, throw["cylinders"])),
            figures.mass("bobweights", "throws", at, "deviation_g", finer=1, bare=True),
            figures.mass("bobweights", "throws", at, "uncertainty_g", finer=1, bare=True),
        )
        for at, throw in enumerate(figures.value("bobweights", "throws"))
    )
    heads = ("throw", "at", "hang", "hung", "cylinders", "off by", "±")
    return CardTable("throws", heads, rows, _every_throw(figures), close=True)


def _how(weights: Bobweights, show: Display) -> list[str]:
    """What is done with the bobweights, where the large figures do not say it already."""
    return [] if weights.rule == "own" else [result_words.hang(weights, show)]


def _every_throw(figures: Figures) -> str:
    return f"Every throw [{figures.show.mass_unit}]"


def _given(figures: Figures, *, ticks: bool) -> CardTable:
    """The same of a job without parts: all that is known of a throw is what it hangs."""
    rows: list[tuple[Cell, ...]] = []
    for at, throw in enumerate(figures.value("bobweights", "throws")):
        path = ("bobweights", "throws", at)
        cells = (
            throw["throw"],
            figures.throw_at(*path, "crank_angle_deg"),
            figures.mass(*path, "hang_g", bare=True),
        )
        rows.append((*cells, *((Tick(),) if ticks else ())))
    heads = ("throw", "at", "hang, as given", *(("hung",) if ticks else ()))
    return CardTable("throws", heads, tuple(rows), _every_throw(figures), close=not ticks)


def _hung(figures: Figures, path: tuple[str | int, ...], is_hung: bool) -> tuple[Cell, ...]:
    """What hangs on a throw, and how far that is from the truth."""
    if not is_hung:
        return ()
    return figures.mass(*path, "hang_g", bare=True), figures.mass(*path, "deviation_g", finer=1, bare=True)


def _comes_to(figures: Figures, stack: int) -> CardTable:
    """What one stack comes to, to be held against the scale."""
    path = ("stacks", "stacks", stack)
    rows: tuple[tuple[Cell, ...], ...] = (
        (f"a stack {MAKES}", figures.mass(*path, "mass_g", finer=1)),
        (OFF, figures.mass(*path, "off_g", finer=1)),
        ("pieces of a stack", figures.number("stacks", "pieces_a_throw", stack, places=0)),
    )
    return CardTable("setting", ("", ""), rows, wide=0, close=True)


def _setting(figures: Figures, known: Known) -> str:
    """What all of them take together, and what they were worked out with."""
    said = []
    if _is_hung(known) and figures.value("stacks") and figures.value("stacks", "pieces"):
        said.append(f"an {EMPTY} weighs {figures.stamped('stacks', 'clamp_half_g').text}")
        said.append(f"in all {figures.number('stacks', 'pieces', places=0).text} pieces")
    elif _is_hung(known):
        said.append(f"all bobweights {figures.mass('total_g').text}")
    if known.result and known.result.job.has_parts:
        said.append(f"share {figures.number('bobweights', 'share').text}")
    said.append(f"scale step {figures.given('job', 'scale_resolution_g').text}")
    return result_words.sentence("; ".join(said))
