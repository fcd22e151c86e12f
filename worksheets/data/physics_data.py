"""The physics of a layout and of a running engine as plain data, and its sentences."""

from __future__ import annotations

import cmath
import math
from typing import Any

from truethrow.balance.base.formulas import unbalance_gmm
from truethrow.balance.engine.layout import Layout, firing_intervals_deg
from truethrow.balance.engine.shaking import Peak, Phasors, inherent
from truethrow.balance.engine.share import Shares
from truethrow.balance.running.draws import Drawn
from truethrow.balance.running.running import Shake
from truethrow.worksheets.words import result_words

POLAR_EVERY = 10
PHASORS = ("force_forward", "force_backward", "couple_forward", "couple_backward")


def layout(made: Layout, firing_order: tuple[int, ...] = ()) -> dict[str, Any]:
    """Geometry and inherent balance: order 1 over m·r·ω², order 2 over m·r·ω²·λ, couples times the unit of z."""
    data: dict[str, Any] = {
        "throws": [{"throw": t.name, "angle_deg": t.angle_deg, "position_mm": t.place_mm} for t in made.throws],
        "banks": dict(made.banks),
        "cylinders": [
            {"cylinder": p.cylinder, "throw": p.throw, "bank": p.bank, "rod_behind_mm": p.behind_mm}
            for p in made.places
        ],
        "inherent": [_amounts(inherent(made, order)) for order in (1, 2)],
    }
    if firing_order:
        data["firing_order"] = list(firing_order)
        data["firing_intervals_deg"] = list(firing_intervals_deg(made, firing_order))
    return data


def shares(found: Shares) -> dict[str, Any]:
    return {
        "share": found.share,
        "aim": found.aim,
        "sense": found.sense,
        "advice": result_words.ADVICE[found.sense],
        "optima": [
            {
                "aim": o.aim,
                "share": o.share,
                "plateau": o.width,
                "least": o.least,
                "at_half": o.at_half,
                "at_none": o.at_none,
                "unit": "N·m" if o.aim == "couple" else "N",
            }
            for o in found.optima
        ],
        "curve": {
            "share": [round(float(s), 6) for s in found.shares],
            **{aim: [float(value) for value in peaks] for aim, peaks in found.peaks.items()},
        },
    }


def shake(found: Shake) -> dict[str, Any]:
    """A turn in figures; the polar curves every POLAR_EVERY degrees of the crank."""
    step = max(1, round(len(found.curve.crank_rad) * POLAR_EVERY / 360))
    pulls = found.pulls
    return {
        "speed_rpm": found.speed_rpm,
        "force": _peak(found.force, "n")
        | {
            "uncertainty_n": found.force_expanded_n,
            "equals_gmm": unbalance_gmm(found.force.amount, found.speed_rpm),
        },
        "vertical_n": found.vertical_n,
        "vertical_uncertainty_n": found.vertical_expanded_n,
        "horizontal_n": found.horizontal_n,
        "horizontal_uncertainty_n": found.horizontal_expanded_n,
        "couple": _peak(found.couple, "nm")
        | {
            "uncertainty_nm": found.couple_expanded_nm,
            "about_mm": found.curve.about_mm,
            "equals_gmm2": unbalance_gmm(found.couple.amount * 1000, found.speed_rpm),
        },
        "orders": [_order(order, found.speed_rpm) for order in found.orders],
        "mounts": [
            {"plane": m.plane, "z_mm": m.z_mm, "uncertainty_n": m.expanded_n} | _peak(m.peak, "n")
            for m in found.mounts
        ],
        "pulls": {
            "peak_piston_acceleration_m_s2": pulls.acceleration_m_s2,
            "top_dead_centre_acceleration_m_s2": pulls.top_acceleration_m_s2,
            "heaviest_cylinder": pulls.cylinder,
            "reciprocating_g": pulls.reciprocating_g,
            "pull_n": pulls.pull_n,
            "pull_uncertainty_n": pulls.pull_expanded_n,
            "rod_bolts": pulls.bolts,
            "rod_bolt_n": pulls.bolt_n,
            "one_gram_at_the_throw_n": pulls.gram_n,
        },
        "polar": {
            "crank_deg": [round(math.degrees(a), 6) for a in found.curve.crank_rad[::step]],
            "force_vertical_n": [float(f.real) for f in found.curve.force_n[::step]],
            "force_horizontal_n": [float(f.imag) for f in found.curve.force_n[::step]],
            "couple_vertical_nm": [float(c.real) for c in found.curve.couple_nm[::step]],
            "couple_horizontal_nm": [float(c.imag) for c in found.curve.couple_nm[::step]],
        },
    }


def drawn(found: tuple[Drawn, ...], draws: int, seed: int) -> dict[str, Any]:
    return {
        "draws": draws,
        "seed": seed,
        "figures": [figure._asdict() | {"reach": figure.reach, "agrees": figure.agrees} for figure in found],
    }


def _peak(found: Peak, unit: str) -> dict[str, float]:
    return {
        f"peak_{unit}": found.amount,
        "at_crank_deg": found.crank_deg,
        "direction_deg": found.direction_deg,
    }


def _order(found: Phasors, speed_rpm: float) -> dict[str, float]:
    """One order in newtons: amounts, the angle of each at crank angle 0, and the unbalance that equals a force."""
    data: dict[str, float] = {"order": found.order}
    for name, unit, phasor in zip(PHASORS, ("n", "n", "nm", "nm"), found[1:], strict=True):
        data[f"{name}_{unit}"] = abs(phasor)
        data[f"{name}_deg"] = math.degrees(cmath.phase(phasor)) % 360
        if unit == "n":
            data[f"{name}_gmm"] = unbalance_gmm(abs(phasor), speed_rpm)
    return data


def _amounts(found: Phasors) -> dict[str, float]:
    return {"order": found.order, **dict(zip(PHASORS, found.amounts(), strict=True))}
