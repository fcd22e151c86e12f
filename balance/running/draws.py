"""Monte Carlo: every reading drawn from what is known of it, every figure worked out anew (JCGM 101:2008).

The check on the first order: where a figure is not linear in the readings (the amount of a small vector, a
spread whose extremes change places) the two part, and the draws are right.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from truethrow.balance.base.arrays import Floats
from truethrow.balance.base.parts import WAYS, way_of
from truethrow.balance.base.quantiles import COVERAGE
from truethrow.balance.base.readings import COVERAGE_FACTOR, Certainty, Mass, Reading
from truethrow.balance.base.scatter import Scatter
from truethrow.balance.result.unbalance import PlaneUnbalance, acting
from truethrow.balance.result.work import Result

CHUNK = 10_000
SEED = 20_080_101  # JCGM 101:2008; any will do, but the same job gives the same answer


class Drawn(NamedTuple):
    """One figure: its first-order value and expanded uncertainty, the mean of the draws, and their
    probabilistically symmetric interval of 95.45 % (JCGM 101:2008, 7.7), as the ± covers."""

    figure: str
    unit: str
    value: float
    expanded: float
    mean: float
    low: float
    high: float

    @property
    def reach(self) -> float:
        """Half of the draws' interval, to stand beside the ±."""
        return (self.high - self.low) / 2

    @property
    def agrees(self) -> bool:
        """Whether the first order's interval is the draws', to half a unit of the first significant digit
        of the standard uncertainty (JCGM 101:2008, 8.1, validation)."""
        if self.expanded == 0:
            return self.low == self.high == self.value
        half = 0.5 * 10.0 ** math.floor(math.log10(self.expanded / COVERAGE_FACTOR))
        low, high = self.value - self.expanded, self.value + self.expanded
        return abs(low - self.low) <= half and abs(high - self.high) <= half


def draw(
    result: Result, draws: int, seed: int = SEED, progress: Callable[[int], None] | None = None
) -> tuple[Drawn, ...]:
    """Draw every bobweight, the unbalance in every plane and every spread. draws: how many, at least 1000;
    progress: told how many are done. Same seed, same answer."""
    readings = result.job.readings()
    sure = result.certainty
    throws = [throw.deviation for throw in result.bobweights.throws]
    planes: Sequence[PlaneUnbalance] = result.left.planes if result.left else ()
    acts = [acting(result.job, throws, result.bobweights, plane.plane) for plane in planes]
    # Of every plane the same: the throws, and behind them what rods side by side bring.
    masses = acts[0][0] if acts else throws
    arms = np.array([arms for _, arms in acts]).reshape(len(planes), len(masses)).T
    by_mass = _sensitivities(masses, readings)
    offsets = np.array([mass.value_g for mass in masses])
    hung = np.array([throw.hung_g for throw in result.bobweights.throws])
    members = [
        (_sensitivities(list(s.members.values()), readings), [m.value_g for m in s.members.values()])
        for s in result.spreads
    ]
    random = np.random.default_rng(seed)
    found: list[list[Floats]] = []
    done = 0
    while done < draws:
        count = min(CHUNK, draws - done)
        errors = _errors(random, count, readings, sure)
        drawn = offsets + errors @ by_mass.T
        deviation, amounts = drawn[:, : len(throws)], np.abs(drawn @ arms)
        spreads = [np.ptp(np.array(now) + errors @ c.T, axis=1) for c, now in members]
        found.append([*(deviation + hung).T, *amounts.T, *spreads])
        done += count
        if progress is not None:
            progress(done)
    columns = [np.concatenate(parts) for parts in zip(*found, strict=True)]
    return tuple(_drawn(*head, column) for head, column in zip(_heads(result), columns, strict=True))


def _heads(result: Result) -> list[tuple[str, str, float, float]]:
    """Name, unit, first-order value and expanded uncertainty of every figure, in the order of the columns."""
    sure = result.certainty
    heads = [
        (f"bobweight {t.throw.name}", "g", t.bobweight.value_g, sure.expanded_g(t.bobweight))
        for t in result.bobweights.throws
    ]
    planes = result.left.planes if result.left else ()
    heads += [(f"unbalance {p.plane}", "g·mm", p.amount_gmm, p.expanded_gmm) for p in planes]
    heads += [(f"spread {s.quantity}", "g", s.spread_g, s.expanded_g) for s in result.spreads]
    return heads


def _sensitivities(masses: Sequence[Mass], readings: Sequence[Reading]) -> Floats:
    return np.array([[mass.sensitivity.get(reading, 0.0) for reading in readings] for mass in masses])


def _errors(random: np.random.Generator, count: int, readings: Sequence[Reading], sure: Certainty) -> Floats:
    """Errors of every reading, of what was weighed and of what is an estimate. (count, readings)"""
    known = np.array([reading.estimate is None for reading in readings])
    errors: Floats = _of_weighed(random, count, readings, sure) * known
    if not known.all():
        errors += _of_estimates(random, count, readings)
    return errors


def _of_estimates(random: np.random.Generator, count: int, readings: Sequence[Reading]) -> Floats:
    """Errors of what nobody weighed: one of each box, a rectangle, in all of its pieces, and each piece's own."""
    estimates = [reading.estimate for reading in readings]
    scatter = [e.scatter_g if e else 0.0 for e in estimates]
    errors: Floats = random.standard_normal((count, len(readings))) * scatter
    for box in sorted({e.box for e in estimates if e}):
        within = [e.within_g if e and e.box == box else 0.0 for e in estimates]
        errors += random.uniform(-1.0, 1.0, (count, 1)) * within
    return errors


def _of_weighed(random: np.random.Generator, count: int, readings: Sequence[Reading], sure: Certainty) -> Floats:
    """Errors of every reading, as if all were weighed. (count, readings) Rounding is a rectangle as wide as the
    step (of zero too when tared), and one calibration error, constant and of the load, is in all of a draw; so is
    one error of the zeros that were seen, in each reading by its own.

    Repeatability is normal where it is well known, else a scaled t (JCGM 101:2008, 6.4.9). What was pooled is one
    estimate for every reading of its way of weighing, so they share its error in a draw, √(ν/χ²)."""
    shape = (count, len(readings))
    half = sure.scale.resolution_g / 2
    errors: Floats = random.uniform(-half, half, shape)
    if sure.scale.tared:
        errors += random.uniform(-half, half, shape)
    wider = {way: _wider(random, count, sure.scatter_on(way)) for way in WAYS}
    wide = np.column_stack([wider[way_of(reading.kind)] for reading in readings])
    errors += random.standard_normal(shape) * [sure.repeating_g(reading) for reading in readings] * wide
    if sure.scale.calibration_g:
        errors += random.normal(0.0, sure.scale.calibration_g, (count, 1))
    if sure.scale.gain:
        errors += random.normal(0.0, sure.scale.gain, (count, 1)) * [reading.mean_g for reading in readings]
    if any(zeros := [reading.zero_g for reading in readings]):
        errors += random.standard_normal((count, 1)) * zeros
    return errors


def _wider(random: np.random.Generator, count: int, scatter: Scatter) -> Floats:
    """How many times wider than estimated loads may really scatter, draw by draw."""
    if math.isinf(scatter.freedom):
        return np.ones(count)
    return np.sqrt(scatter.freedom / random.chisquare(scatter.freedom, count))


def _drawn(figure: str, unit: str, value: float, expanded: float, column: Floats) -> Drawn:
    low, high = np.quantile(column, ((1 - COVERAGE) / 2, (1 + COVERAGE) / 2))
    return Drawn(figure, unit, value, expanded, float(column.mean()), float(low), float(high))
