"""What is planned before anything is cut, as plain data: the lathe, what must clear."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from truethrow.balance.correction.lathe import OnTheLathe
from truethrow.balance.correction.ordering import DrillingRange
from truethrow.balance.crank.turning import Turned
from truethrow.balance.running.clearance import Gap
from truethrow.balance.running.forecast import Figure, Forecast
from truethrow.balance.running.plausible_clearance import Odd
from truethrow.balance.station.spin import Instrument
from truethrow.worksheets.data.station_data import operation, plan_data, two, vector
from truethrow.worksheets.words.planning_words import gap_verdict


def forecast(found: Forecast) -> dict[str, Any]:
    return {name: figure(one) for name, one in zip(found._fields, found, strict=True)}


def order(forecast: Figure, target_g: float, taken: DrillingRange) -> dict[str, Any]:
    return {
        "target_g": round(target_g, 4),
        "forecast": figure(forecast),
        "drilling_alone": {name: None if math.isinf(value) else value for name, value in taken._asdict().items()},
        "needs_no_heavy_metal": taken.covers(forecast.least_g - target_g, forecast.most_g - target_g),
    }


def figure(found: Figure) -> dict[str, Any]:
    return {
        "value_g": round(found.value_g, 4),
        "uncertainty_g": round(found.expanded_g, 4),
        "least_g": round(found.least_g, 4),
        "most_g": round(found.most_g, 4),
        "doubts": dict(found.doubts),
    }


def lathe(
    found: OnTheLathe, instrument: Instrument | None, *, is_spun: bool = False, stale: str = ""
) -> dict[str, Any]:
    """is_spun: whether what was before is a spin; stale: why what was spun is not."""
    return {
        "crank_was_spun": is_spun,
        "spin_not_counted": stale or None,
        "counterweights": [
            turned(one) | {"planes": two(change)} for one, change in zip(found.turned, found.changes, strict=True)
        ],
        "mass_g": round(found.mass_g, 3),
        "change": two(found.change, instrument),
        "then": two(found.then, instrument),
        "heavy_metal": found.plan.heavy_metal if found.plan else None,
        "plan": None if found.plan is None else plan_data(found.plan, instrument),
    }


def turned(one: Turned) -> dict[str, Any]:
    """One counterweight on the lathe."""
    return {
        "name": one.member.name,
        "from_mm": one.member.outer_mm,
        "to_mm": one.to_mm,
        "mass_g": round(one.mass_g, 3),
        "change": vector(one.change_gmm),
        "opened": [operation(hole) for hole in one.opened],
    }


def clearance(
    found: Sequence[Gap], least_mm: float | None, not_looked_at: Sequence[str], doubts: Sequence[Odd] = ()
) -> dict[str, Any]:
    return {
        "least_wanted_mm": least_mm,
        "doubts": [
            {
                "name": one.name,
                "length_mm": one.length_mm,
                "usual_least_mm": round(one.least_mm, 3),
                "usual_most_mm": round(one.most_mm, 3),
            }
            for one in doubts
        ],
        "gaps": [
            {
                "mover": gap.mover,
                "what": gap.what,
                "cylinder": gap.cylinder,
                "against": gap.against,
                "least_mm": round(gap.least_mm, 4),
                "crank_angle_deg": round(gap.crank_deg, 3) % 360,
                "verdict": gap_verdict(gap, least_mm),
            }
            for gap in found
        ],
        "not_looked_at": list(not_looked_at),
    }
