"""What if, in sentences: nothing of it may be taken for the job."""

from __future__ import annotations

from collections.abc import Sequence

from truethrow.balance.crank.turning import Turned
from truethrow.balance.result.bobweight import Bobweights
from truethrow.balance.running.changes import Changes
from truethrow.balance.running.what_if import WhatIf
from truethrow.balance.station.by_now import Reading
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import result_words

# Before every heading: whoever reads one table alone must see what it is.
HEAD = "What-if: {}"
NOT_THE_JOB = (
    "This is not the job: job {} stays as it is, nothing is recorded, and nothing here is to be hung, ground, "
    "drilled or signed by."
)
TOGETHER = (
    "All of it is worked through as the job itself would be; a mass that is typed here counts as weighed once on "
    "the job's scale."
)
BALANCED = "With the crank balanced for what hangs, now and then."
CRANK_ANGLES = "Angles of the crank, counted from throw 1."
HOLES_LATER = "To be planned again from a spin once it is so."


def title(changes: Changes) -> str:
    return f"What if: {'; '.join(changes.said)}"


def would_hang(now: Bobweights, then: Bobweights, show: Display) -> str:
    """What would hang, which is never said as something to do."""
    if then.rule == "none":
        return "Would hang nothing: this crank is balanced bare."
    if then.rule == "given":
        return "What hangs is given by the job, and would stay."
    if then.hung_g is None or now.hung_g is None:
        return "Each throw would hang its own." if then.rule == "own" else "What the job declares would stay."
    if then.rule == "declared":
        return f"Would hang {show.masses(then.hung_g)} on every throw as now: the job declares it."
    if show.mass(then.hung_g) == show.mass(now.hung_g):
        return f"Would hang {show.masses(then.hung_g)} on every throw (the mean), as now."
    return (
        f"Would hang {show.masses(then.hung_g)} on every throw (the mean), not {show.masses(now.hung_g)} as now."
    )


def no_shake(found: WhatIf) -> str:
    """Why what shakes is not told."""
    made = found.now.result.job.engine
    if made.top_speed_rpm is None:
        return "Not told: what shakes, without top_speed in [engine]."
    return "Not told: what shakes, without stroke, rod_length and cylinder_spacing in [engine]."


def turned(found: Sequence[Turned], show: Display) -> str:
    return (
        f"The lathe would take {show.masses(sum(one.mass_g for one in found))} off {len(found)} counterweight(s)."
    )


def from_where(*, is_spun: bool, is_stale: bool = False) -> str:
    if is_stale:
        return "As if the crank were in balance now for what hangs."
    if is_spun:
        return "From the last spin and what was drilled since, with damper and flexplate on."
    return "Never spun: as if the crank were in balance now for what hangs."


def why_outside(found: WhatIf, crank: Reading | None) -> str:
    """What would be outside, or would look like a slip."""
    said = [result_words.why_outside(found.then.result)] if found.then.result.outside else []
    if crank is not None and crank.stays:
        said.append("outside: the crank, whatever this shop drills")
    return "; ".join(said) and f"what if: {'; '.join(said)}"
