"""The correction of a crank: which holes to make, from what the station measured, and what came of them.
May import: base, engine, crank, result."""

from truethrow.balance.correction.arriving import Arriving, ThrowOff, against_target
from truethrow.balance.correction.converting import Converted, converted
from truethrow.balance.correction.learning import NEUTRAL, CrankResponse, DrilledStep, learned, verdicts
from truethrow.balance.correction.planes import TwoPlanes, changed_by
from truethrow.balance.correction.planning import Caution, HolePlan, Stays, apply, plan, still_fits

__all__ = [
    "NEUTRAL",
    "Arriving",
    "Caution",
    "Converted",
    "CrankResponse",
    "DrilledStep",
    "HolePlan",
    "Stays",
    "ThrowOff",
    "TwoPlanes",
    "against_target",
    "apply",
    "changed_by",
    "converted",
    "learned",
    "plan",
    "still_fits",
    "verdicts",
]
