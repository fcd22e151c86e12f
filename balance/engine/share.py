"""The right share of the reciprocating mass, found and not looked up.

What shakes is P(θ) − share·Q(θ): P what the reciprocating masses do, Q what a revolving mass on each throw
undoes. The largest amount over a turn is a convex function of the share for every aim, so the best share is
found by golden section; where Q vanishes the share makes no difference, and that is said.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Literal, NamedTuple

import numpy as np

from truethrow.balance.base.arrays import Complexes, Floats
from truethrow.balance.base.digits import digits
from truethrow.balance.base.formulas import N_PER_GMM, centrifugal_n, omega
from truethrow.balance.base.told import table
from truethrow.balance.engine import shaking
from truethrow.balance.engine.layout import NOTHING, Layout, Sense, sense_of_bobweights
from truethrow.balance.engine.shaking import Assembly

Aim = Literal["force", "vertical", "horizontal", "couple", "bearing"]
AIMS: tuple[Aim, ...] = ("force", "vertical", "horizontal", "couple", "bearing")
_GOLDEN = (math.sqrt(5) - 1) / 2


class Optimum(NamedTuple):
    """The best share for one aim. share: None where it makes no difference; width: how far it may be moved
    either way without loss (a plateau), else 0; least, at_half and at_none: the peak at the best share, at
    one half and at none, in N (couple: N·m)."""

    aim: Aim
    share: float | None
    width: float
    least: float
    at_half: float
    at_none: float


class Shares(NamedTuple):
    """Peaks over shares for every aim: shares (n,), peaks aim → (n,), optima one an aim, the aim that counts
    for this layout and its best share (None where the share makes no difference to anything), and what
    bobweights can do on it."""

    shares: Floats
    peaks: dict[Aim, Floats]
    optima: tuple[Optimum, ...]
    sense: Sense
    aim: Aim | None
    share: float | None

    def __repr__(self) -> str:
        if self.share is None:
            return "Shares: the share makes no difference to what shakes"
        return f"Shares: best {self.share:.4f} for {self.aim}"

    def _repr_html_(self) -> str:
        rows = [
            [
                one.aim,
                "no difference" if one.share is None else f"{one.share:.4f}",
                *(digits(peak, 4) for peak in (one.least, one.at_half, one.at_none)),
            ]
            for one in self.optima
        ]
        return table(repr(self), ["aim", "best share", "peak there", "at one half", "at none"], rows)


def shares(layout: Layout, parts: Assembly, speed_rpm: float, steps: int = shaking.STEPS) -> Shares:
    """Shaking against share from 0 to 1, and the best share for every aim; couples about the middle.

    The aim that counts: the largest force if the share moves it, else the couple, else the load on the main
    bearings (which it always moves)."""
    grid = np.linspace(0.0, 1.0, 101)
    peaks_of = {aim: _peak_of(aim, layout, parts, speed_rpm, steps) for aim in AIMS}
    one_n = centrifugal_n(float(parts.reciprocating_g.max()), parts.radius_mm, speed_rpm)
    length_m = max(float(np.ptp(parts.z_mm)), 1.0) / 1000
    optima = tuple(_optimum(aim, peaks_of[aim], one_n * (length_m if aim == "couple" else 1.0)) for aim in AIMS)
    by_aim = {optimum.aim: optimum for optimum in optima}
    order: tuple[Aim, ...] = ("force", "couple", "bearing")
    counts = next((aim for aim in order if by_aim[aim].share is not None), None)
    return Shares(
        shares=grid,
        peaks={aim: np.array([peaks_of[aim](float(s)) for s in grid]) for aim in AIMS},
        optima=optima,
        sense=sense_of_bobweights(layout),
        aim=counts,
        share=None if counts is None else by_aim[counts].share,
    )


def bearing_loads_n(parts: Assembly, forces_n: Complexes) -> Complexes:
    """Inertia load of each main bearing from the force at each throw: half of each neighbour's. (bearings,
    steps)

    Each throw is taken as a beam of its own between the two mains beside it, with its counterweights in its
    own plane: a common first estimate that leaves out the crank's stiffness and the gas loads. Source: Taylor,
    The Internal-Combustion Engine in Theory and Practice, vol. 2, statically determinate crank (from memory).
    forces_n: (throws, steps), front to rear; of two rods side by side both count in the middle of the throw; the
    pins of a split throw share the two mains beside them."""
    stations = np.unique(parts.throw_z_mm)
    summed = np.zeros((len(stations), forces_n.shape[1]), complex)
    np.add.at(summed, np.searchsorted(stations, parts.throw_z_mm), forces_n)
    loads = np.zeros((len(stations) + 1, forces_n.shape[1]), complex)
    loads[:-1] += summed / 2
    loads[1:] += summed / 2
    return loads


def _peak_of(aim: Aim, layout: Layout, parts: Assembly, speed_rpm: float, steps: int) -> Callable[[float], float]:
    """The largest amount over a turn as a function of the share."""
    crank = shaking.crank_angles(steps)
    weights = parts.reciprocating_g * parts.radius_mm * omega(speed_rpm) ** 2 * N_PER_GMM
    made = shaking.reciprocating_vectors(parts, crank)
    turned = np.exp(1j * (parts.crank_rad[:, None] + crank[None, :]))
    if aim == "bearing":
        where = [t.name for t in layout.throws]
        on = np.array([[place.throw == name for place in layout.places] for name in where], float)
        p = bearing_loads_n(parts, (on * weights) @ made)
        q = bearing_loads_n(parts, (on * weights) @ turned)
        return lambda share: shaking.largest(np.abs(p - share * q) ** 2)
    undoing = weights
    if aim == "couple":  # a mass acts in the plane of its rod, and what undoes it in the middle of the throw
        undoing = weights * (parts.pin_z_mm - layout.middle_mm) / 1000
        weights = weights * (parts.z_mm - layout.middle_mm) / 1000
    whole, undone = weights @ made, undoing @ turned
    if aim == "vertical":
        return lambda share: shaking.largest((whole - share * undone).real ** 2)
    if aim == "horizontal":
        return lambda share: shaking.largest((whole - share * undone).imag ** 2)
    return lambda share: shaking.largest(np.abs(whole - share * undone) ** 2)


def _optimum(aim: Aim, peak: Callable[[float], float], unit: float) -> Optimum:
    at_none, at_half, at_all = peak(0.0), peak(0.5), peak(1.0)
    if max(at_none, at_half, at_all) - min(at_none, at_half, at_all) <= NOTHING * unit:
        return Optimum(aim, None, 0.0, at_half, at_half, at_none)
    best = _golden(peak)
    width = 0.0
    if peak(best + 0.001) - peak(best) <= NOTHING * unit or peak(best - 0.001) - peak(best) <= NOTHING * unit:
        low, high = (_edge(peak, best, end, NOTHING * unit) for end in (0.0, 1.0))
        best, width = (low + high) / 2, (high - low) / 2
    return Optimum(aim, best, width, peak(best), at_half, at_none)


def _golden(peak: Callable[[float], float]) -> float:
    """The least of a convex function on 0 … 1. Source: golden-section search, any numerical text."""
    low, high = 0.0, 1.0
    left, right = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
    at_left, at_right = peak(left), peak(right)
    while high - low > 1e-10:
        if at_left <= at_right:
            high, right, at_right = right, left, at_left
            left = high - _GOLDEN * (high - low)
            at_left = peak(left)
        else:
            low, left, at_left = left, right, at_right
            right = low + _GOLDEN * (high - low)
            at_right = peak(right)
    # The search never looks at the ends themselves, where the least often is.
    return min(((low + high) / 2, 0.0, 1.0), key=lambda share: (peak(share), share))


def _edge(peak: Callable[[float], float], best: float, end: float, tolerance: float) -> float:
    """How far towards an end the least goes on."""
    least = peak(best)
    inside, outside = best, end
    if peak(end) - least <= tolerance:
        return end
    while abs(outside - inside) > 1e-9:
        middle = (inside + outside) / 2
        inside, outside = (middle, outside) if peak(middle) - least <= tolerance else (inside, middle)
    return inside
