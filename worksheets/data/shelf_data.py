"""A shelf made into engines: its CSV, its data for machines, its sentences."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from truethrow.balance.shelf.match_shelf import Match
from truethrow.balance.shelf.pool import Part, Shelf
from truethrow.worksheets.data import cells
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words.book_words import move_command
from truethrow.worksheets.words.cautions import TRIM_CAUTIONS
from truethrow.worksheets.words.shelf_words import costly, verdict

if TYPE_CHECKING:
    from truethrow.balance.base.errors import Fault
    from truethrow.balance.book.stock_shelf import Moving

KINDS = ("piston", "pin", "rings", "rod")


def to_csv(shelf: Shelf, found: Match) -> str:
    """One row a cylinder, the unit in every column's name."""
    kinds = [kind for kind in KINDS if kind in shelf.pools]
    masses = [name for kind in kinds for name in _mass_columns(kind)]
    labels = [f"{kind}_label" for kind in kinds]
    rows: list[list[object]] = [["job_id", "engine", "cylinder", *labels, *masses, "reciprocating_g"]]
    for engine in found.engines:
        for filled in engine.cylinders:
            parts = [filled.parts[kind] for kind in kinds]
            weighed = [_decimal(grams) for part in parts for grams in _masses(part)]
            marks = [cells.guarded(part.label) for part in parts]
            row = [cells.guarded(shelf.job_id), engine.number, filled.cylinder, *marks, *weighed]
            rows.append([*row, _decimal(filled.reciprocating_g)])
    return cells.to_csv(rows)


def as_data(shelf: Shelf, found: Match) -> dict[str, Any]:
    show = Display("g", "mm", shelf.step_g)
    return {
        "job": {"id": shelf.job_id},
        "engines": [
            {
                "engine": engine.number,
                "grams": engine.cost_g,
                "reciprocating_grams": engine.reciprocating_cost_g,
                "big_end_grams": engine.big_end_cost_g,
                "reciprocating_spread_g": engine.reciprocating_spread_g,
                "big_end_spread_g": engine.big_end_spread_g,
                "bobweight_spread_g": engine.bobweight_spread_g,
                "cylinders": [
                    {
                        "cylinder": filled.cylinder,
                        "labels": {kind: part.label for kind, part in filled.parts.items()},
                        "big_end_g": filled.big_end_g,
                        "reciprocating_g": filled.reciprocating_g,
                    }
                    for filled in engine.cylinders
                ],
            }
            for engine in found.engines
        ],
        "leftovers": {kind: [part.label for part in parts] for kind, parts in found.leftovers.items()},
        "grams": found.cost_g,
        "bound": {"grams": found.bound_g, "counts": found.counts},
        "proved_best": found.proved,
        "stopped": found.stopped,
        "as_they_came_grams": found.as_came_g,
        "sorted_by_hand_grams": found.sorted_g,
        "verdict": verdict(found, show),
        "costly": found.costly
        and {
            "engine": found.costly.engine,
            "cylinder": found.costly.cylinder,
            "part": found.costly.part.kind,
            "label": found.costly.part.label,
            "saves_grams": found.costly.saves_g,
            "sentence": costly(found, found.costly, show),
        },
        "cautions": list(TRIM_CAUTIONS) if found.cost_g else [],
    }


def moves_data(engine: int, job: str, moves: Sequence[Moving], against: Sequence[Fault]) -> dict[str, Any]:
    """One engine on its way into a job of the book. against: why it cannot go there."""
    return {
        "engine": engine,
        "job": job,
        "moves": [{**one._asdict(), "command": move_command(*one)} for one in moves],
        "against": [str(fault) for fault in against],
    }


def _mass_columns(kind: str) -> tuple[str, ...]:
    return ("big_end_g", "small_end_g") if kind == "rod" else (f"{kind}_g",)


def _masses(part: Part) -> tuple[float, ...]:
    return (part.big_end_g, part.reciprocating_g) if part.kind == "rod" else (part.reciprocating_g,)


def _decimal(value: float) -> str:
    return f"{value:.6f}".rstrip("0").rstrip(".")
