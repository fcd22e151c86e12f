"""What if: a job as it is beside the same job with something else, both worked through by the same physics."""

from __future__ import annotations

from typing import NamedTuple

from truethrow.balance.job.job import Job
from truethrow.balance.result.slips import Slip
from truethrow.balance.result.spread import Spread
from truethrow.balance.result.work import Result, work
from truethrow.balance.running.running import Shake, shake


class Side(NamedTuple):
    """One of the two. shake: at top speed, with the crank balanced for what hangs; None where no speed or not
    every length is declared."""

    result: Result
    shake: Shake | None


class WhatIf(NamedTuple):
    """now: the job as it is; then: as it would be, which is never hung, cut, recorded or signed by."""

    now: Side
    then: Side

    @property
    def spreads(self) -> tuple[tuple[Spread | None, Spread | None], ...]:
        """Each spread as it is and as it would be; None where one side has none, as all pieces are one figure."""
        now, then = ({one.quantity: one for one in side.result.spreads} for side in self)
        return tuple((now.get(name), then.get(name)) for name in dict.fromkeys([*now, *then]))

    @property
    def new_slips(self) -> tuple[Slip, ...]:
        """What would look like a slip, and does not now."""
        known = {(slip.check, slip.cylinder, slip.kinds) for slip in self.now.result.slips}
        return tuple(s for s in self.then.result.slips if (s.check, s.cylinder, s.kinds) not in known)


def what_if(result: Result, then: Job) -> WhatIf:
    """A job that was worked through, beside another."""
    return WhatIf(_side(result), _side(work(then)))


def _side(result: Result) -> Side:
    made = result.job.engine
    is_whole = result.job.has_parts and made.declared_rod_length_mm is not None and not made.not_placed
    speed_rpm = made.top_speed_rpm
    return Side(result, shake(result, speed_rpm) if is_whole and speed_rpm is not None else None)
