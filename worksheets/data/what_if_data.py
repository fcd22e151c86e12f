"""What if, as plain data: every figure lies under now or then, and none under a name that the job's own has."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from truethrow.balance.crank.turning import Turned
from truethrow.balance.running.changes import Changes
from truethrow.balance.running.what_if import Side, WhatIf
from truethrow.balance.station.by_now import Reading
from truethrow.worksheets.data import physics_data, result_data
from truethrow.worksheets.data.planning_data import turned as turned_data
from truethrow.worksheets.data.station_data import plan_data, two


def what_if(
    found: WhatIf,
    changes: Changes,
    cranks: tuple[Reading, Reading] | None,
    turned: Sequence[Turned],
    *,
    is_spun: bool,
    stale: str = "",
) -> dict[str, Any]:
    """cranks: as it is and as it would be, None where there is none; stale: why what was spun is not counted."""
    now, then = cranks or (None, None)
    return {
        "is_the_job": False,
        "changes": list(changes.said),
        "now": _side(found.now, now, "hangs_g"),
        "then": _side(found.then, then, "would_hang_g"),
        "would_look_like_slips": len(found.new_slips),
        "turned": [turned_data(one) for one in turned],
        "crank_was_spun": is_spun,
        "spin_not_counted": stale or None,
    }


def _side(side: Side, crank: Reading | None, hang: str) -> dict[str, Any]:
    weights = result_data.bobweights(side.result)
    weights[hang] = weights.pop("hang_g")
    for throw in weights["throws"]:
        throw[hang] = throw.pop("hang_g")
    return {
        "bobweights": weights,
        "spreads": [result_data.spread(one) for one in side.result.spreads],
        "slips": result_data.slips(side.result),
        "shake": side.shake and physics_data.shake(side.shake),
        "crank": crank
        and {
            "reads": two(crank.planes),
            "holes": crank.holes,
            "slugs": crank.slugs,
            "mass_g": round(crank.mass_g, 3),
            "stays": crank.stays,
            "plan": crank.plan and plan_data(crank.plan),
        },
    }
