"""A station that reads divisions as plain data: what its trial masses told."""

from __future__ import annotations

import cmath
import math
from typing import Any

from truethrow.balance.correction import TwoPlanes
from truethrow.balance.station.balancing import PLANES, Balancing
from truethrow.balance.station.next_steps import next_steps


def calibration(state: Balancing) -> dict[str, Any]:
    """The coefficients, in divisions per g·mm, how well each is known (k = 2), the fourth run, and what the last
    spin is by them; None for what is not known yet."""
    found = state.calibration
    made, last, fourth = found.coefficients, state.last, found.fourth
    return {
        "missing": list(found.missing),
        "trials": {
            plane: {
                "record": test.id,
                "mass_g": test.mass.mass_g,
                "radius_mm": test.mass.radius_mm,
                "angle_deg": test.mass.angle_deg,
                "per_gmm": two(trial.moved),
                "sure_part": round(trial.sure_part(PLANES.index(plane)), 4),
            }
            for plane, (test, trial) in found.singles.items()
        },
        "rough": {plane: min(1e6, round(part, 4)) for plane, (_, part) in found.rough.items()},
        "separation": made and round(made.separation, 4),
        "fourth": fourth
        and {
            "record": fourth.record.id,
            "ended": fourth.ended,
            "foretold": two(fourth.foretold.reads),
            "mirrored": two(fourth.foretold.mirrored),
            "read": two(fourth.foretold.read),
            "expanded": dict(zip(PLANES, fourth.foretold.expanded, strict=True)),
        },
        "counts": None if not found.is_proved else "against" if made and made.is_mirrored else "with",
        "unbalance": two(last.residual) if last and made else None,
        "proved": state.is_proved,
        "next": next_steps(state),
    }


def two(found: TwoPlanes) -> dict[str, Any]:
    return {
        plane: {"amount": float(f"{abs(one):.9g}"), "angle_deg": round(math.degrees(cmath.phase(one)) % 360, 6)}
        for plane, one in zip(PLANES, found, strict=True)
    }
