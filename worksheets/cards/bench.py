"""The bench card: what to weigh, in which order, what is weighed already, and what still has a blank."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Literal

from truethrow.balance.base.naming import Part
from truethrow.balance.base.parts import ENDS, UNITS, label
from truethrow.balance.base.readings import Reading
from truethrow.balance.weighing.benchjob import WeighStep
from truethrow.worksheets.cards.card import (
    Big,
    Bigs,
    Blank,
    Block,
    CardTable,
    Cell,
    Lines,
    Marked,
    Side,
)
from truethrow.worksheets.cards.figures import Figures, verdict
from truethrow.worksheets.cards.known import Known
from truethrow.worksheets.data import result_data
from truethrow.worksheets.shown.display import Display, finer_for
from truethrow.worksheets.words import card_words
from truethrow.worksheets.words.cautions import BENCH_CAUTION

# Widths on a page: of the grid, of its columns, and of what is written into a box. [mm]
GRID_MM, CYLINDER_MM, LABEL_MM, DIGIT_MM, LEAST_WIDE = 175.0, 16.0, 18.0, 4.4, 3
# So many cylinders, and parts, are named one by one.
SEVERAL = 3


def data(known: Known) -> dict[str, Any]:
    bench = known.bench
    made: dict[str, Any] = {
        "job": {"id": bench.id, "title": bench.title, "digest": known.job.digest if known.job else None},
        "scale": {
            "resolution_g": bench.scale.resolution_g,
            "reference_g": bench.table.reference,
            "drift_limit_g": bench.table.drift_limit or 2 * bench.scale.resolution_g,
        },
        "rods": bench.table.rods,
        "weigh_again": _again(known),
        "order": [turn | {"number": number} for number, turn in enumerate(_order(known), start=1)],
        "for_all": {kind: _reading(reading) for kind, reading in known.for_all.items()},
        "cylinders": [
            {
                "cylinder": number,
                "labels": dict(known.labels.get(number, {})),
                "marks": {unit: _written_on(known.names.part(unit, number)) for unit in UNITS},
                "readings": {
                    kind: _reading(reading)
                    for kind, reading in known.parts[number].items()
                    if kind in known.kinds and kind not in known.for_all
                },
            }
            for number in bench.engine.layout.cylinders
        ],
        "weighed": sum(not step.is_check for step in known.steps) - len(known.open),
        "to_weigh": len(known.open),
        "limits_g": {kind: limit for kind, limit in bench.limits_g.items() if kind in known.kinds},
        "spreads": {},
        "notes": list(known.job.notes) if known.job else [],
    }
    if known.result:
        made["spreads"] = {
            s.quantity: result_data.spread(s) for s in known.result.spreads if s.quantity in known.kinds
        }
    return made


def _reading(reading: Reading) -> dict[str, Any]:
    return {"mean_g": reading.mean_g, "repeats": len(reading.repeats_g), "repeats_g": list(reading.repeats_g)}


def _again(known: Known) -> list[dict[str, Any]]:
    """What is to be weighed once more because metal came off it: a kind, and its cylinders."""
    kinds = dict.fromkeys(step.kind for step in known.open)
    found = {kind: [cylinder for cylinder, own in sorted(known.again) if own == kind] for kind in kinds}
    return [
        {
            "kind": kind,
            "cylinders": cylinders,
            "parts": [result_data.part_data(known.names.part(kind, cylinder)) for cylinder in cylinders],
        }
        for kind, cylinders in found.items()
        if cylinders
    ]


def _written_on(part: Part) -> str:
    """What is written on a part, beside the cylinder where it goes."""
    return part.short if part.has_moved else part.label


def _order(known: Known) -> list[dict[str, Any]]:
    """What is still put on the scale, turn after turn: a kind, and its cylinders as they come. Once all is weighed
    it is the order as it was."""
    left = known.open
    steps: Sequence[WeighStep] = [step for step in known.steps if step.is_check or not left or step in left]
    if known.bench.table.rods == "by-rod":  # then the ends alternate, and are one turn
        steps = [step._replace(kind="rod") if step.kind in ENDS else step for step in steps]
    return [
        {
            "kind": kind,
            "when": when,
            **_turn(kind, list(dict.fromkeys(s.cylinder for s in turn if s.cylinder)), known),
        }
        for (kind, when), turn in itertools.groupby(steps, key=lambda step: (step.kind, step.when))
    ]


def _turn(kind: str, cylinders: list[int], known: Known) -> dict[str, Any]:
    """The cylinders of a turn, and where a few parts are left and have moved, the parts as they are marked; of
    more the grid tells which part goes in which cylinder."""
    parts = [known.names.part(kind, cylinder) for cylinder in cylinders]
    have_moved = len(parts) <= SEVERAL and any(part.has_moved for part in parts)
    return {"cylinders": cylinders, "parts": [part.short for part in parts] if have_moved else []}


def cautions(known: Known) -> tuple[str, ...]:
    return (BENCH_CAUTION,)


def blocks(known: Known, data: dict[str, Any], display: Display) -> tuple[Block, ...]:
    figures = Figures(data, display)
    made: list[Block] = []
    if data["notes"]:
        made.append(Lines(tuple(f"{note}." for note in data["notes"]), weight="framed"))
    if known.open:
        made.append(Side(((_turns(figures),), (_standing(figures),)), (0.55, 0.45)))
    else:
        made.append(Lines((card_words.ALL_WEIGHED.format(step=figures.given("scale", "resolution_g").text),)))
    if data["weigh_again"]:
        made.append(_to_weigh_again(data["weigh_again"]))
    made.append(_with_spreads(grid(known, figures), known, figures))
    if any(step.is_check for step in known.steps):
        made.append(_checks(known, figures))
    if data["for_all"]:
        made.append(for_all(figures))
    if known.open:
        made.append(_rods(known))
    return tuple(made)


def _to_weigh_again(found: list[dict[str, Any]]) -> Lines:
    said = "; ".join(part["name"] for one in found for part in one["parts"])
    return Lines((f"{card_words.AGAIN}{said}.",), "Weigh again", "framed")


def _standing(figures: Figures) -> Bigs:
    step = Big("scale step", figures.given("scale", "resolution_g"))
    weighed = Big("weighed", figures.number("weighed", places=0))
    return Bigs((Big("to weigh", figures.number("to_weigh", places=0)), weighed, step), is_modest=True)


def grid(known: Known, figures: Figures) -> CardTable:
    """Cylinders by kinds: the readings that count, and boxes for those that are to come."""
    cylinders, weighed = figures.value("cylinders"), known.kinds
    labelled = [unit for unit in UNITS if any(cylinder["marks"][unit] for cylinder in cylinders)]
    blank = Blank(wide=_blank_wide(len(weighed), len(labelled)))
    asked = {(step.cylinder, step.kind): blank for step in known.steps}
    rows: list[tuple[Cell, ...]] = []
    marks = {kind: _marks(cylinders, kind) for kind in weighed}
    often = {kind: _repeats_of_all(cylinders, kind) for kind in weighed}
    for at, cylinder in enumerate(cylinders):
        own = [
            _cell(figures, at, kind, marks[kind].get(at), asked.get((cylinder["cylinder"], kind), ""), often[kind])
            for kind in weighed
        ]
        labels = [cylinder["marks"][unit] for unit in labelled]
        rows.append((figures.number("cylinders", at, "cylinder", places=0), *labels, *own))
    heads = ("cylinder", *(f"{part} label" for part in labelled), *map(_head, weighed, often.values()))
    caption = f"Readings [{figures.show.mass_unit}]   ▲ heaviest   ▼ lightest"
    repeats = (reading["repeats"] for one in cylinders for reading in one["readings"].values())
    if (most := max(repeats, default=0)) > 1:
        caption += f"   ×{most} mean of {most}"
    if known.traded:
        caption += "   5>1 weighed in 5, goes in 1"
    names = tuple(range(1, len(labelled) + 1))
    return CardTable("readings", heads, tuple(rows), caption, names=names)


def _with_spreads(table: CardTable, known: Known, figures: Figures) -> CardTable:
    """The grid with limits beneath, and with spreads once all is weighed."""
    weighed = known.kinds
    none = ("",) * (len(table.heads) - len(weighed) - 1)
    found, limits = figures.value("spreads"), figures.value("limits_g")
    rows = [*table.rows]
    if found:
        spreads = (_spread(figures, kind, "spread_g", _finer(figures, kind)) for kind in weighed)
        rows.append(("spread", *none, *spreads))
        rows.append(("±", *none, *(_spread(figures, kind, "uncertainty_g", finer=1) for kind in weighed)))
    if limits:
        allowed = (
            figures.allowed("limits_g", kind, finer=_finer(figures, kind), bare=True) if kind in limits else ""
            for kind in weighed
        )
        rows.append(("limit", *none, *allowed))
    if found:
        rows.append(("", *none, *(verdict(found[kind]["verdict"]) if kind in found else "" for kind in weighed)))
    return replace(table, rows=tuple(rows), large=True, close=bool(known.open))


def _head(kind: str, repeats: int | None) -> str:
    return f"{label(kind)} ×{repeats}" if repeats and repeats > 1 else label(kind)


def _repeats_of_all(cylinders: list[dict[str, Any]], kind: str) -> int | None:
    """How often each part of a kind was read, where that is the same of all."""
    found = {own[kind]["repeats"] if kind in (own := one["readings"]) else 0 for one in cylinders}
    return found.pop() if len(found) == 1 else None


def _cell(
    figures: Figures, at: int, kind: str, mark: Literal["▲", "▼"] | None, missing: Cell, repeats: int | None
) -> Cell:
    path = ("cylinders", at, "readings")
    reading = figures.value(*path).get(kind)
    if reading is None:
        return missing
    figure = figures.mass(*path, kind, "mean_g", finer=_finer(figures, kind), bare=True)
    if reading["repeats"] > 1 and repeats is None:
        figure = figure._replace(behind=f" ×{reading['repeats']}")
    return Marked(figure, mark) if mark else figure


def _finer(figures: Figures, kind: str) -> int:
    """Digits beyond the scale's for a kind: a mean of several readings may lie between two steps."""
    readings = (cylinder["readings"] for cylinder in figures.value("cylinders"))
    return finer_for(kind, (own[kind]["mean_g"] for own in readings if kind in own), figures.show)


def _blank_wide(columns: int, labels: int) -> int:
    """How wide a box of the grid may be, so that all of its columns fit beside each other."""
    room_mm = GRID_MM - CYLINDER_MM - labels * LABEL_MM
    return max(LEAST_WIDE, min(Blank().wide, int(room_mm / max(1, columns) / DIGIT_MM)))


def _marks(cylinders: list[dict[str, Any]], kind: str) -> dict[int, Literal["▲", "▼"]]:
    """The places of the lightest and the heaviest of a kind, each of several that weigh the same; none where all
    do."""
    means = {at: c["readings"][kind]["mean_g"] for at, c in enumerate(cylinders) if kind in c["readings"]}
    least, most = min(means.values(), default=0.0), max(means.values(), default=0.0)
    if least == most:
        return {}
    return {at: "▼" if mean == least else "▲" for at, mean in means.items() if mean in (least, most)}


def _spread(figures: Figures, kind: str, name: str, finer: int = 0) -> Cell:
    if kind not in figures.value("spreads"):
        return ""
    return figures.mass("spreads", kind, name, finer=finer, bare=True)


def for_all(figures: Figures) -> CardTable:
    kinds = tuple(figures.value("for_all"))
    row = tuple(figures.mass("for_all", kind, "mean_g") for kind in kinds)
    return CardTable("for all", tuple(map(label, kinds)), (row,), "One reading counts for every cylinder")


def _checks(known: Known, figures: Figures) -> CardTable:
    """The scale itself, at the start of a session and at its end."""
    rows: list[tuple[Cell, ...]] = []
    for kind in dict.fromkeys(step.kind for step in known.steps if step.is_check):
        there = {step.when for step in known.steps if step.kind == kind}
        blanks: tuple[Cell, ...] = tuple(
            Blank(figures.show.mass_unit) if when in there else "" for when in ("start", "end")
        )
        should: Cell = figures.given("scale", "reference_g") if kind == "reference" else "nothing on it"
        name = "reference mass" if kind == "reference" else "zero"
        rows.append((name, should, *blanks))
    allowed = figures.allowed("scale", "drift_limit_g").text
    heads = ("the scale itself", "is", "reads at the start", "reads at the end")
    return CardTable("scale", heads, tuple(rows), f"May be off, or drift, by {allowed}")


def _turns(figures: Figures) -> Lines:
    """The order in a few lines, so that it is on the page of what is written down."""
    turns: list[str] = []
    for turn in figures.value("order"):
        name = "reference mass" if turn["kind"] == "reference" else label(turn["kind"])
        which = ", ".join(turn["parts"]) or _in_turn(turn["cylinders"]) or f"at the {turn['when']}"
        turns.append(f"{name} {which}")
    return Lines((" · ".join(turns),), card_words.IN_ORDER)


def _in_turn(cylinders: list[int]) -> str:
    """Cylinders as they come: ``1 → 8``, or each where they do not follow one another."""
    steps = {after - before for before, after in itertools.pairwise(cylinders)}
    if len(cylinders) > SEVERAL and steps in ({1}, {-1}):
        return f"{cylinders[0]} → {cylinders[-1]}"
    return ", ".join(map(str, cylinders))


def _rods(known: Known) -> Lines:
    without = known.bench.engine.without
    said = [card_words.CLEAN]
    if not {*ENDS} <= {*without}:
        said += card_words.RODS
        said += [] if "bearings" in without else [card_words.WITHOUT_SHELLS]
        said.append(card_words.BY_ROD if known.bench.table.rods == "by-rod" else card_words.BY_END)
    return Lines(tuple(said), "How", is_small=True)
