"""The target bobweight before the parts are there: what to order a crank for, how sure that is, and what to weigh
or to ask first."""

from __future__ import annotations

from typing import NamedTuple

from truethrow.balance.base.readings import Mass, combine
from truethrow.balance.result.work import Result
from truethrow.balance.running.budget import Budget, of_mass


class Figure(NamedTuple):
    """One figure: its value, how sure it is, and the part of the square of that which each kind of part brings,
    largest first. [g]"""

    value_g: float
    expanded_g: float
    doubts: tuple[tuple[str, float], ...]

    @property
    def least_g(self) -> float:
        return self.value_g - self.expanded_g

    @property
    def most_g(self) -> float:
        return self.value_g + self.expanded_g


class Forecast(NamedTuple):
    """target: the mean of all throws' bobweights, which a crank is ordered for; reciprocating, rotating: of one
    cylinder, the mean."""

    target: Figure
    reciprocating: Figure
    rotating: Figure


def forecast(result: Result) -> Forecast:
    """What the parts will weigh, as far as they are weighed or estimated.

    A box that is off by a gram is so in every piece: a mean of eight is no surer than the box (JCGM 100:2008,
    5.2.2 note 1). Raises ValueError for a job without parts."""
    if not result.job.has_parts:
        raise ValueError("a job without parts has nothing to forecast")
    weights = result.bobweights
    return Forecast(
        _figure(_mean([throw.bobweight for throw in weights.throws]), result),
        _figure(_mean([cylinder.reciprocating for cylinder in weights.cylinders]), result),
        _figure(_mean([cylinder.rotating for cylinder in weights.cylinders]), result),
    )


def _mean(masses: list[Mass]) -> Mass:
    return combine((1 / len(masses), mass) for mass in masses)


def _figure(mass: Mass, result: Result) -> Figure:
    made: Budget = of_mass("", "g", mass.value_g, mass, result.certainty)
    return Figure(mass.value_g, made.expanded, made.kinds)
