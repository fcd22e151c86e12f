"""What the formulas share: what none of them takes, how fast a crank turns, what a mass pulls at that speed.

Light on purpose: no numpy, so that a command that only drills or weighs need not load it.
"""

from __future__ import annotations

import math
from typing import Literal

# What N a gram at a millimetre pulls at one radian per second, squared.
N_PER_GMM = 1e-6


def require(what: Literal["finite", "positive", "not negative"], **values: float) -> None:
    """Refuses what no formula has an answer for, so that a slip never comes out as a figure.

    Raises ValueError for the first value, by its name, that is not finite, or not above zero, or below zero."""
    for name, value in values.items():
        if (
            not math.isfinite(value)
            or (what == "positive" and value <= 0)
            or (what == "not negative" and value < 0)
        ):
            raise ValueError(f"{name}: {value} is not a {what} number")


def omega(speed_rpm: float) -> float:
    """Angular speed, 2π·n/60. [rad/s] Raises ValueError for a speed that is not positive and finite."""
    require("positive", speed_rpm=speed_rpm)
    return speed_rpm * 2 * math.pi / 60


def centrifugal_n(mass_g: float, radius_mm: float, speed_rpm: float) -> float:
    """What a mass on a radius pulls outwards at a speed, m·r·ω². [N]

    Source: Newton's second law. Raises ValueError for a mass or a radius that is not finite or is below zero, and
    for a speed that is not positive and finite."""
    require("not negative", mass_g=mass_g, radius_mm=radius_mm)
    return mass_g * radius_mm * N_PER_GMM * omega(speed_rpm) ** 2


def unbalance_gmm(force_n: float, speed_rpm: float) -> float:
    """The unbalance that would pull as much: force over ω². [g·mm]

    Raises ValueError for a force that is not finite and a speed that is not positive and finite."""
    require("finite", force_n=force_n)
    return force_n / omega(speed_rpm) ** 2 / N_PER_GMM
