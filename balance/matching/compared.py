"""What the engines of a matching are compared in: as they sit, by hand, matched."""

from __future__ import annotations

from typing import Literal

from truethrow.balance.matching.match import QUANTITIES, Matching
from truethrow.balance.result.work import Result

Column = Literal["as_they_sit", "by_hand", "matched"]


def columns(found: Matching) -> dict[Column, Result]:
    """The engines side by side: three, or two where nothing is sorted by hand."""
    by_hand: dict[Column, Result] = {"by_hand": found.by_hand} if found.by_hand else {}
    return {"as_they_sit": found.now, **by_hand, "matched": found.matched}


def figures(result: Result) -> dict[str, float | None]:
    """What is compared, in g and g·mm; None where the job asks for no such figure, or where none can be told
    before readings were looked at again."""
    spreads = {s.quantity: s.spread_g for s in result.spreads}
    plan, held = result.trim, result.is_held
    after = {s.quantity: s.spread_g for s in plan.after} if plan else spreads
    cost = result.cost
    return {
        **{f"{quantity}_g": spreads.get(quantity) for quantity in QUANTITIES},
        "static_gmm": cost.static.amount_gmm,
        "front_gmm": cost.front.amount_gmm,
        "rear_gmm": cost.rear.amount_gmm,
        "trim_g": None if held else plan.grams if plan else 0.0,
        "parts_to_trim": None if held else len(plan.parts) if plan else 0,
        **{f"{quantity}_after_g": None if held else after.get(quantity) for quantity in QUANTITIES},
    }
