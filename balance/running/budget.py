"""Why a figure is as sure as it is: what its uncertainty is made of (JCGM 100:2008, 5.1 and 8)."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from truethrow.balance.base.parts import Way, way_of
from truethrow.balance.base.readings import COVERAGE_FACTOR, Certainty, Mass, boxes_g, calibration_g, zero_g
from truethrow.balance.result.unbalance import acting, amount, deviations
from truethrow.balance.result.work import Result


class Budget(NamedTuple):
    """One figure: value and expanded uncertainty; the parts of that from rounding, from the scatter on the pan and
    of rod ends, from the calibration that all readings share, from the zeros that were seen and from what is only
    estimated (in quadrature they make it up); and how much of the square of its own each kind of part brings, with
    what its box may be off, largest first."""

    figure: str
    unit: str
    value: float
    expanded: float
    rounding: float
    on_the_pan: float
    rod_ends: float
    calibration: float
    zero: float
    estimated: float
    kinds: tuple[tuple[str, float], ...]

    def as_data(self) -> dict[str, Any]:
        return self._asdict() | {"kinds": dict(self.kinds)}


def budgets(result: Result) -> tuple[Budget, ...]:
    """Every bobweight, the unbalance in every plane, every spread."""
    sure, off = result.certainty, deviations(result.bobweights)
    found = [
        of_mass(f"bobweight {throw.throw.name}", "g", throw.bobweight.value_g, throw.bobweight, sure)
        for throw in result.bobweights.throws
    ]
    for plane in result.left.planes if result.left else ():
        along = amount(*acting(result.job, off, result.bobweights, plane.plane), sure)
        found.append(of_mass(f"unbalance {plane.plane}", "g·mm", plane.amount_gmm, along, sure))
    for spread in result.spreads:
        found.append(of_mass(f"spread {spread.quantity}", "g", spread.spread_g, spread.apart, sure))
    return tuple(found)


def of_mass(figure: str, unit: str, value: float, mass: Mass, sure: Certainty) -> Budget:
    """Why a figure is as sure as it is, from the sensitivities of a mass that it goes with."""
    kinds: dict[str, float] = {}
    for reading, c in mass.sensitivity.items():
        kinds[reading.kind] = kinds.get(reading.kind, 0.0) + (c * sure.own_expanded_g(reading)) ** 2
    boxes = {box: (COVERAGE_FACTOR * one) ** 2 for box, one in boxes_g(mass.sensitivity).items()}
    for box, variance in boxes.items():
        kinds[box] = kinds.get(box, 0.0) + variance
    own = math.fsum(kinds.values()) or 1.0
    weighed = [c for reading, c in mass.sensitivity.items() if reading.estimate is None]
    rounding = sure.rounding_g * math.sqrt(math.fsum(c**2 for c in weighed))
    estimated = [(c * sure.own_expanded_g(r)) ** 2 for r, c in mass.sensitivity.items() if r.estimate is not None]
    calibration = calibration_g(mass.sensitivity, sure.scale)
    ranked = sorted(((kind, variance / own) for kind, variance in kinds.items()), key=lambda kv: (-kv[1], kv[0]))
    return Budget(
        figure,
        unit,
        value,
        sure.expanded_g(mass),
        COVERAGE_FACTOR * rounding,
        _scattering(mass, sure, "pan"),
        _scattering(mass, sure, "support"),
        COVERAGE_FACTOR * calibration,
        COVERAGE_FACTOR * zero_g(mass.sensitivity),
        math.sqrt(math.fsum([*estimated, *boxes.values()])),
        tuple((kind, round(part, 4)) for kind, part in ranked if part > 1e-9),
    )


def _scattering(mass: Mass, sure: Certainty, way: Way) -> float:
    """What the scatter of one way of weighing brings to a ±."""
    weighed = {r: c for r, c in mass.sensitivity.items() if r.estimate is None and way_of(r.kind) == way}
    own = (c * sure.repeating_g(r) for r, c in weighed.items())
    return sure.scatter_on(way).factor * math.hypot(*own)
