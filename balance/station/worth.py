"""Whether a crank that is not inside is worth drilling by what the station says: no hole is ordered on noise.

Average first. Where the station is less sure than the tolerance is wide it cannot prove it, and nothing is drilled
by it. A plane that is too close to call after that is drilled only where the change can be told from none. And a
plan that leaves most of what is over tolerance takes metal for nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from truethrow.balance.station.balancing import PLANES, Balancing
from truethrow.balance.station.reasons import Reason
from truethrow.balance.station.spin import measured
from truethrow.balance.station.spinning import Spin

# Runs to average where nothing is known of their scatter, and the most that anybody makes in one go. Common
# practice, no source.
FIRST_RUNS = 3
MOST_RUNS = 12
# Where the runs' scatter is less than this part of the profile's own doubt, it adds a tenth of it: enough.
ENOUGH = 0.5
# A plan that leaves more than this part of what is over tolerance is not worth its metal. A choice, not measured;
# no source.
LITTLE = 0.75


def not_worth(state: Balancing) -> Iterator[Reason]:
    """Why nothing is to be drilled by the last spin, whatever the station is; nothing where it is worth it, or
    both planes are inside. Holes that are begun are gone on with."""
    last = state.last
    if last is None or state.since or not last.is_told:
        return
    ruled = state.ruled
    if ruled == ("inside", "inside"):
        return
    both = zip(state.floor_expanded_gmm, state.beside_expanded_gmm, strict=True)
    best_gmm = [math.hypot(floor_gmm, beside) for floor_gmm, beside in both]
    blind = [at for at, limit in enumerate(state.limits_gmm) if ruled[at] != "inside" and best_gmm[at] >= limit]
    if blind:
        at = blind[0]
        yield Reason("blind", named=PLANES[at], amount_gmm=best_gmm[at], beside_gmm=state.limits_gmm[at])
        return
    if "outside" not in ruled:
        if more := runs_to_average(state, last):
            yield Reason("average", (last,), number=more)
            return
        if state.plan and state.plan.operations and not state.can_tell(state.plan):
            changes, sure = zip(*state.changes_gmm(state.plan), strict=True)
            yield Reason("noise", amount_gmm=max(changes), beside_gmm=max(sure))
            return
    if state.plan is not None and (little := _little(state)):
        yield little


def runs_to_average(state: Balancing, last: Spin) -> int:
    """How many runs in one go would make the reading of the last spin surer where it is too close to call; 0 where
    more of them would not help."""
    if not any(one.is_seen for one in state.scatter):
        return 0 if last.runs >= FIRST_RUNS else FIRST_RUNS
    wanted = 0
    # In the instrument's own terms, as its scatter is.
    reads = last.shown if state.reads_divisions else last.residual
    for ruled, scatter, read in zip(state.ruled, state.scatter, reads, strict=True):
        if ruled != "inside":
            declared = measured(read, 0.0, state.instrument).along_gmm
            worth = (scatter.of(abs(read)) / (ENOUGH * declared)) ** 2 if declared else math.inf
            wanted = max(wanted, math.ceil(min(worth, MOST_RUNS)))
    return wanted if wanted > last.runs else 0


def _little(state: Balancing) -> Reason | None:
    """That the plan leaves most of what is over tolerance."""
    plan = state.plan
    assert plan
    now, after = (
        max(abs(one) - limit for one, limit in zip(vectors, state.limits_gmm, strict=True))
        for vectors in (state.aimed_at, plan.at_last)
    )
    if not plan.operations or now <= 0 or after <= LITTLE * now:
        return None
    frees = tuple(dict.fromkeys(one for stays in plan.stays for one in stays.frees))
    worst = [max(map(abs, vectors)) for vectors in (state.aimed_at, plan.at_last)]
    return Reason(
        "little",
        number=len(plan.operations) + len(plan.then),
        kinds=frees,
        amount_gmm=worst[0],
        beside_gmm=worst[1],
    )
