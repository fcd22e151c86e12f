"""The physics of a layout and of a running engine in sentences."""

from __future__ import annotations

from truethrow.balance.base.readings import digits_for
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


def repeatability(result: Result, show: Display) -> str:
    """What is known of the scatter of one load, and what is not."""
    scale, scatter = result.job.scale, show.masses(result.certainty.repeatability_g, finer=1)
    if scale.repeatability_g is not None:
        return f"repeatability {scatter}, declared"
    if any(len(reading.repeats_g) > 1 for reading in result.job.readings()):
        return f"repeatability {scatter}, from the repeats"
    return "repeatability not known (no part weighed twice, none declared): the figures below hold rounding only"


def peak_places(expanded: float) -> int:
    """Decimal places of a peak and of how sure it is: what its uncertainty leaves, three at the most."""
    return min(digits_for(expanded), 3)


def peak_text(value: float, expanded: float) -> str:
    """A peak, or how sure it is."""
    return f"{value:.{peak_places(expanded)}f}"


def best_share(found: Shares) -> str:
    """The headline: the best share for the aim that counts, and whether it lies at the end of the range."""
    if found.share is None or found.aim is None:
        return "The share makes no difference to anything here."
    at_end = ", at the end of the range" if found.share in (0.0, 1.0) else ""
    return f"Best share: {found.share:.6f} ({AIM_WORDS[found.aim]}{at_end})"
