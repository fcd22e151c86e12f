"""A matching in words and as plain data: who sits where, what it brings, and how sure it is to be the best."""

from __future__ import annotations

from typing import Any

from truethrow.balance.matching.aims import Reached
from truethrow.balance.matching.match import QUANTITIES, Matching
from truethrow.balance.naming import Part
from truethrow.balance.parts import label
from truethrow.balance.trim import EXCESS_COST
from truethrow.balance.work import Result
from truethrow.worksheets import report, wording
from truethrow.worksheets.display import Display

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
FITTED = (
    "A pin fitted to its piston, or anything else that belongs together, stays together only if the job says so: "
    '[match] together = [["piston", "pin"]]. Rods keep their caps.'
)


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
    for aim in found.reached:
        if not aim.proved and aim.over_g > TELLABLE_G:
            said.append(f"{AIMS[aim.name]}: no cut brings all inside; more --seconds may find what comes nearer")
        elif not aim.proved and aim.name != "limits":
            said.append(
                f"{AIMS[aim.name]}: {value(aim.value, aim, show)} found, and none below "
                f"{value(aim.bound, aim, show)} can be; more --seconds may close the gap"
            )
        if aim.alone is not None and aim.alone < aim.value - 1e-6 and aim.over_g > TELLABLE_G:
            said.append(f"{AIMS[aim.name]}: nearer to the limits if it stood first in aims")
        elif aim.alone is not None and aim.alone < aim.value - 1e-6:
            said.append(
                f"{AIMS[aim.name]}: {value(aim.alone, aim, show)} if it stood first in aims, instead of "
                f"{value(aim.value, aim, show)}"
            )
    plan, names = found.matched.trim, found.matched.job.names
    if plan is not None:
        said += [wording.shortfall(shortfall, show, names) for shortfall in plan.shortfalls]
        said += [wording.swap(plan.swap, show, names)] if plan.swap else []
    if not said:
        said = ["with these parts and these aims, nothing: another piece on the shelf is what could do better"]
    return said


def columns(found: Matching) -> list[tuple[str, Result]]:
    """The three engines side by side."""
    by_hand = [("by hand", found.by_hand)] if found.by_hand else []
    return [("as they sit", found.now), *by_hand, ("matched", found.matched)]


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


FIGURES = {
    "bobweight_g": "bobweight spread",
    "reciprocating_g": "reciprocating spread",
    "rotating_g": "rotating spread",
    "static_gmm": "static unbalance",
    "front_gmm": "front plane",
    "rear_gmm": "rear plane",
    "trim_g": "metal to trim in all",
    "parts_to_trim": "parts to trim",
    "bobweight_after_g": "bobweight, trimmed",
    "reciprocating_after_g": "reciprocating, trimmed",
}


def compared(found: Matching, show: Display) -> list[list[str]]:
    """Row by row what the engines compare in, as text."""
    made = [figures(result) for _, result in columns(found)]
    rows = []
    for key, said in FIGURES.items():
        values = [own[key] for own in made]
        if None in values:
            continue
        unit = "" if key == "parts_to_trim" else show.unbalance_unit if key.endswith("gmm") else show.mass_unit
        texts = (_figure(key, figure, show) for figure in values if figure is not None)
        rows.append([f"{said} [{unit}]" if unit else said, *texts])
    return rows


def _figure(key: str, figure: float, show: Display) -> str:
    if key == "parts_to_trim":
        return str(figure)
    if key.endswith("gmm"):
        return show.unbalance(figure, 1.0)
    return show.mass(figure, finer=0 if key == "trim_g" else 1)


def summary(found: Matching, show: Display) -> str:
    """The proposal in one sentence, as the log keeps it."""
    said = (
        f"{label(aim.name)} {value(aim.value, aim, show, aim.over_g)} ({verdict(aim, show)})"
        for aim in found.reached
    )
    return "; ".join([*said, *([ON_SLIPS] if found.now.doubts else [])])


def as_data(found: Matching, show: Display) -> dict[str, Any]:
    """All of it for machines, in g and g·mm."""
    job = found.matched.job
    return {
        "moves": {unit: {str(start): to for start, to in own.items()} for unit, own in found.moves.items()},
        "seats": [
            {
                "cylinder": cylinder,
                **{unit: _seat_data(found, unit, cylinder) for unit in found.units},
                "reciprocating_g": mass.reciprocating.value_g,
                "rotating_g": mass.rotating.value_g,
                "contribution_g": mass.contribution.value_g,
            }
            for cylinder, mass in zip(job.parts, found.matched.bobweights.cylinders, strict=True)
        ],
        "aims": [_aim_data(aim, show) for aim in found.reached],
        "compared": {said.replace(" ", "_"): figures(result) for said, result in columns(found)},
        "better": better(found, show),
        "kept_rules_before": found.kept_rules,
        "broken_off": found.broken_off,
        "look_again": wording.look_again(found.now, show),
        "outside": found.matched.outside,
    }


def _seat_data(found: Matching, unit: str, cylinder: int) -> dict[str, Any]:
    named = part(found, unit, cylinder)
    return report.part_data(named) | {"goes_in": cylinder}


def _aim_data(aim: Reached, show: Display) -> dict[str, Any]:
    """Metal is told as metal; a bound of what stays over the limits is in no unit, and not told."""
    over_g = aim.over_g if aim.over_g > TELLABLE_G else 0.0
    value = _metal_g(aim.value, over_g) if over_g else aim.value
    made = {
        "aim": aim.name,
        "unit": aim.unit,
        "value": round(value, 9),
        "bound": round(aim.bound, 9) if not over_g else round(value, 9) if aim.proved else None,
        "proved_best": aim.proved,
        "alone": None if aim.alone is None or over_g else round(aim.alone, 9),
        "verdict": verdict(aim, show),
    }
    return made | ({"over_limits_g": round(over_g, 9)} if aim.name == "grams" else {})
