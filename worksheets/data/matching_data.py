"""A matching as plain data."""

from __future__ import annotations

from typing import Any

from truethrow.balance.matching.aims import Reached
from truethrow.balance.matching.compared import columns, figures
from truethrow.balance.matching.match import Matching
from truethrow.worksheets.data import result_data
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import result_words
from truethrow.worksheets.words.matching_words import TELLABLE_G, _metal_g, better, part, trade, verdict


def as_data(found: Matching, show: Display) -> dict[str, Any]:
    """All of it for machines, in g and g·mm."""
    job = found.matched.job
    return {
        "moves": {unit: {str(start): to for start, to in own.items()} for unit, own in found.moves.items()},
        "cylinders": [
            {
                "cylinder": cylinder,
                **{unit: _part_data(found, unit, cylinder) for unit in found.units},
                "reciprocating_g": mass.reciprocating.value_g,
                "rotating_g": mass.rotating.value_g,
                "contribution_g": mass.contribution.value_g,
            }
            for cylinder, mass in zip(job.parts, found.matched.bobweights.cylinders, strict=True)
        ],
        "aims": [_aim_data(aim, show) for aim in found.reached],
        "compared": {name: figures(result) for name, result in columns(found).items()},
        "better": better(found, show),
        "kept_rules_before": found.kept_rules,
        "trade": trade(found, show),
        "broken_off": found.broken_off,
        "out_of_time": found.is_out_of_time,
        "look_again": result_words.look_again(found.now, show),
        "outside": found.matched.outside,
    }


def _part_data(found: Matching, unit: str, cylinder: int) -> dict[str, Any]:
    named = part(found, unit, cylinder)
    return result_data.part_data(named) | {"goes_in": cylinder}


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
