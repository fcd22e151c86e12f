"""What a bench profile remembers of its scale: how far loads scatter, from job to job, so that nobody weighs parts
twice for ever.

A session tells what its own second weighings add to that; a person puts it into the profile, and the next job.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from truethrow.balance.base.parts import WAYS, Way, way_of
from truethrow.balance.base.scatter import Scatter, scatter_of
from truethrow.balance.weighing.session import Session


def to_remember(session: Session) -> dict[Way, Scatter]:
    """What a bench profile knows of its scale with the second weighings of a session, by way of weighing; only of
    the ways in which the session weighed a part twice itself: what others weighed is theirs to tell."""
    groups: dict[Way, list[tuple[float, ...]]] = {way: [] for way in WAYS}
    for (_, kind), records in session.now.readings.items():
        mine = tuple(record.grams for record in records if session.took(record))
        if len(mine) > 1:
            groups[way_of(kind)].append(mine)
    step_g = session.job.scale.resolution_g
    found = {way: scatter_of(own, step_g)[0] for way, own in groups.items() if own}
    return {
        way: pooled(session.job.remembered.get(way), new) for way, new in found.items() if new.known == "repeats"
    }


def pooled(known: Scatter | None, new: Scatter) -> Scatter:
    """Two estimates of one scatter as one (JCGM 100:2008, H.3.6); what is taken as well known stays as it is."""
    if known is None:
        return new
    if math.isinf(known.freedom):
        return known
    freedom = known.freedom + new.freedom
    squares = (known.freedom * known.standard_g**2, new.freedom * new.standard_g**2)
    return Scatter(math.sqrt(math.fsum(squares) / freedom), freedom, "repeats")


def for_the_job(session: Session) -> Mapping[Way, Scatter]:
    """What the profile knows that the job's [scale] does not say."""
    scale = session.job.scale
    declared = {"pan": scale.repeatability_g, "support": scale.rod_end_repeatability_g}
    return {way: scatter for way, scatter in session.job.remembered.items() if declared[way] is None}
