"""The physics of a layout and of a running engine in sentences."""

from __future__ import annotations

import math

from truethrow.balance.base.parts import WAYS, Way, way_of
from truethrow.balance.base.readings import digits_for
from truethrow.balance.base.scatter import Scatter
from truethrow.balance.engine.share import Shares
from truethrow.balance.result.work import Result
from truethrow.worksheets.shown.display import Display

# A force or a couple below this is the rounding of sums that cancel.
NOTHING = 1e-6


AIM_WORDS = {
    "force": "largest force",
    "vertical": "vertical force",
    "horizontal": "horizontal force",
    "couple": "largest couple",
    "bearing": "main bearing",
}


AIM_HEADS = {
    **{name: name for name in ("force", "vertical", "horizontal", "couple")},
    "bearing": "mains",
}


WAY_HEADS: dict[Way, str] = {"pan": "on the pan", "support": "rod ends"}


def repeatability(result: Result, show: Display) -> list[str]:
    """What is known of the scatter of one load, and what is not; a clause a way of weighing."""
    weighed = {way_of(reading.kind) for reading in result.job.readings()}
    return [_scatter(way, result.certainty.scatter_on(way), show) for way in WAYS if way in weighed]


def _scatter(way: Way, scatter: Scatter, show: Display) -> str:
    said = f"{WAY_HEADS[way]}: repeatability {show.masses(scatter.standard_g, finer=2)}"
    times = f"the ± has {scatter.factor:.2f} times that"
    match scatter.known:
        case "assumed":
            return (
                f"{said}, only assumed, a step of the scale (common practice, no source): nothing is called "
                "inside by it"
            )
        case "declared" if math.isinf(scatter.freedom):
            return f"{said}, declared: {times}"
        case "declared":
            return f"{said}, declared, ν = {scatter.freedom:g}: {times}"
    return f"{said}, from the repeats, ν = {scatter.freedom:g}: {times}"


def peak_places(expanded: float) -> int:
    """Decimal places of a peak and of how sure it is: what its uncertainty leaves, three at the most."""
    return min(digits_for(expanded), 3)


def best_share(found: Shares) -> str:
    """The headline: the best share for the aim that counts, and whether it lies at the end of the range."""
    if found.share is None or found.aim is None:
        return "The share makes no difference to anything here."
    at_end = ", at the end of the range" if found.share in (0.0, 1.0) else ""
    return f"Best share: {found.share:.6f} ({AIM_WORDS[found.aim]}{at_end})"
