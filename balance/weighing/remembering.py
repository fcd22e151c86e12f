"""What a bench profile remembers of its scale: how far loads scatter, from job to job, so that nobody weighs parts
twice for ever.

A session tells what its own second weighings add to that; a person puts it into the profile, and the next job.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from truethrow.balance.base.parts import WAYS, Way
from truethrow.balance.base.readings import certainty
from truethrow.balance.base.scatter import Scatter
from truethrow.balance.weighing.session import Session
from truethrow.balance.weighing.standing import reading_of


def to_remember(session: Session) -> dict[Way, Scatter]:
    """What a bench profile knows of its scale with the second weighings of a session, by way of weighing; only of
    the ways in which the session weighed a part twice itself: what others weighed is theirs to tell."""
    taken = (
        reading_of(cylinder, kind, tuple(record.grams for record in records if session.took(record)))
        for (cylinder, kind), records in session.now.readings.items()
    )
    bare = session.job.scale._replace(repeatability_g=None, rod_end_repeatability_g=None)
    sure = certainty(bare, (reading for reading in taken if len(reading.repeats_g) > 1))
    found = {way: sure.scatter_on(way) for way in WAYS}
    known = session.job.remembered
    return {way: pooled(known.get(way), new) for way, new in found.items() if new.known == "repeats"}


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
