"""A job as far as it is weighed: what rests on no reading that is still missing, and nothing else.

Each figure is the one of the whole job. What is to hang is not among them: it is of all throws, or of none.
"""

from __future__ import annotations

from dataclasses import dataclass

from truethrow.balance.base.parts import KINDS
from truethrow.balance.base.readings import Certainty, Mass
from truethrow.balance.engine.layout import Throw
from truethrow.balance.job.job import Job
from truethrow.balance.result.bobweight import Bobweights, CylinderMass, cylinder_mass, throw_bobweight
from truethrow.balance.result.slips import Slip, slips
from truethrow.balance.result.spread import Spread, spreads


@dataclass(frozen=True)
class SoFar:
    """cylinders, throws: those of which every part is weighed, a throw with its bobweight; spreads: of what is
    weighed in every cylinder; slips: among the readings there are."""

    job: Job
    certainty: Certainty
    cylinders: tuple[CylinderMass, ...]
    throws: tuple[tuple[Throw, Mass], ...]
    spreads: tuple[Spread, ...]
    slips: tuple[Slip, ...]


def so_far(job: Job) -> SoFar:
    """What can be said of a job that has readings waiting."""
    sure = job.certainty()
    wanted = {kind.name for kind in KINDS if kind.motion != "check" and kind.name not in job.engine.without}
    whole = {
        number: cylinder_mass(number, parts, job.share)
        for number, parts in job.parts.items()
        if wanted <= parts.keys()
    }
    throws = tuple(
        (throw, throw_bobweight(whole, on_throw, oil_g))
        for throw, oil_g in zip(job.layout.throws, job.oil_g, strict=True)
        if {*(on_throw := job.layout.cylinders_on(throw))} <= whole.keys()
    )
    none = Bobweights(tuple(whole.values()), (), "", None)
    return SoFar(
        job=job,
        certainty=sure,
        cylinders=none.cylinders,
        throws=throws,
        spreads=spreads(job, none, sure),
        slips=slips(job, none, sure),
    )
