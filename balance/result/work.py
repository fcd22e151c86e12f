"""One job worked through: bobweights, what they cost, spreads, slips and trim, as one result."""

from __future__ import annotations

import html
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from truethrow.balance.base.errors import printable
from truethrow.balance.base.parts import BY_NAME, ENDS, label
from truethrow.balance.base.readings import Certainty, tidy
from truethrow.balance.base.told import table
from truethrow.balance.engine.engine import displacement_cm3, mean_piston_speed_m_s, peak_piston_acceleration_m_s2
from truethrow.balance.engine.lengths import NotDeclared
from truethrow.balance.job.job import Job
from truethrow.balance.result.bobweight import Bobweights, bobweights
from truethrow.balance.result.settling import Places, before_trim, planes_to_settle, spreads_to_settle
from truethrow.balance.result.slips import Slip, slips
from truethrow.balance.result.spread import Spread, spreads
from truethrow.balance.result.unbalance import Cost, cost

if TYPE_CHECKING:
    from truethrow.balance.job.grinding import Grind
    from truethrow.balance.result.trim import TrimPlan


class EngineFacts(NamedTuple):
    """Plain geometry, shown so that a slip in stroke, bore or speed is seen. None where it is not declared."""

    displacement_cm3: float | None
    mean_piston_speed_m_s: float | None
    peak_piston_acceleration_m_s2: float | None


@dataclass(frozen=True)
class Result:
    """Everything that a job's readings say. left: what hanging leaves in the planes, None where a length that it
    rests on is not declared, and without parts; promised, done: of a plan that is under way, as trim.plan has
    them."""

    job: Job
    certainty: Certainty
    facts: EngineFacts
    bobweights: Bobweights
    left: Cost | None
    spreads: tuple[Spread, ...]
    slips: tuple[Slip, ...]
    promised: frozenset[str] = frozenset()
    done: frozenset[tuple[str, int]] = frozenset()

    def __repr__(self) -> str:
        hang = repr(self.bobweights).removeprefix("Bobweights: ")
        held = f"; {count} readings to look at again" if (count := len(self.slips)) else ""
        over = [label(spread.quantity) for spread in self.spreads if spread.verdict == "outside"]
        outside = f"; outside: {', '.join(over)}" if over else ""
        estimates = f"; estimates for {', '.join(map(label, self.job.estimated))}" if self.job.estimated else ""
        return printable(f"Result {self.job.id}: {hang}{estimates}{held}{outside}")

    def _repr_html_(self) -> str:
        rows = [
            [label(one.quantity), f"{tidy(one.spread_g):.6g}", one.limit_g, one.verdict] for one in self.spreads
        ]
        spread = table("Spread = heaviest − lightest [g]", ["of", "spread", "limit", "verdict"], rows)
        left = self.left._repr_html_() if self.left else ""
        return f"<p>{html.escape(repr(self))}</p>{self.bobweights._repr_html_()}{left}{spread}"

    @property
    def cost(self) -> Cost:
        """The same, for what cannot do without it. Raises NotDeclared."""
        if self.left is None:
            raise NotDeclared(self.job.engine.not_placed, self.job.name)
        return self.left

    @property
    def doubts(self) -> tuple[Slip, ...]:
        """The slips that a trim would rest on: while there are any, nothing is planned, and nothing is ground. The
        rod in one go is only a check of its ends, and the mass that is hung says nothing of the parts."""
        return tuple(slip for slip in self.slips if any(BY_NAME[kind].motion != "check" for kind in slip.kinds))

    @cached_property
    def once_more(self) -> Places:
        """Cylinder and kind of the parts to weigh a second time before so much comes off; nothing is planned until
        then, either."""
        from truethrow.balance.result.big_cuts import once_more  # noqa: PLC0415 (needs the plan)

        if self.doubts or self.unsure or not self._plan:
            return ()
        return once_more(self.job, self._plan.parts, self.spreads)

    @cached_property
    def unsure(self) -> Places:
        """Cylinder and kind of the parts to weigh a second time before anything is cut for the ± alone."""
        return () if self.doubts else before_trim(self.job, self.certainty, self.spreads)

    @cached_property
    def to_settle(self) -> Places:
        """The parts of which a second weighing would settle the spreads that are too close to call."""
        return spreads_to_settle(self.job, self.certainty, self.spreads)

    @cached_property
    def to_settle_planes(self) -> Places:
        """The same of the planes."""
        if self.left is None:
            return ()
        return planes_to_settle(self.job, self.certainty, self.bobweights, self.left)

    @cached_property
    def trim(self) -> TrimPlan | None:
        """The trim, None when no spread is outside its limit, empty while readings are to be looked at again;
        worked out when first asked for, because it needs a solver that takes longer to load than all the rest
        takes to work out."""
        from truethrow.balance.result.trim import NO_PLAN  # noqa: PLC0415

        if self.doubts or self.unsure:
            return NO_PLAN if self._is_to_trim else None
        return NO_PLAN if self.once_more else self._plan

    @cached_property
    def _plan(self) -> TrimPlan | None:
        has_rods = not {*ENDS} <= {*self.job.engine.without}
        if has_rods and self.job.engine.declared_rod_length_mm is None and self._is_to_trim:
            raise NotDeclared(["rod_length"], self.job.name)
        from truethrow.balance.result.trim import plan  # noqa: PLC0415

        return plan(self.job, self.spreads, self.certainty, self.promised, self.done)

    @property
    def _is_to_trim(self) -> bool:
        return any(spread.verdict == "outside" for spread in self.spreads)

    @property
    def is_held(self) -> bool:
        """Whether readings are to be looked at again before anything is ground."""
        return bool(self.doubts or self.unsure or self.once_more)

    @property
    def of_no_cut(self) -> tuple[Grind, ...]:
        """The cuts that cannot have left what was read after them."""
        return self.job.ground.again if self.job.ground else ()

    @property
    def outside(self) -> bool:
        """Whether anything is outside its limit, looks like a slip or cannot come from its cut: the shop must not
        go on as it is."""
        planes = (self.left.front, self.left.rear) if self.left else ()
        return bool(self.slips or self.of_no_cut) or "outside" in {
            *(s.verdict for s in self.spreads),
            *(p.verdict for p in planes),
        }


def work(job: Job) -> Result:
    """Work a job through."""
    sure = job.certainty()
    weights = bobweights(job)
    if not job.has_parts:
        return Result(job, sure, _facts(job), weights, None, (), ())
    # An estimate looks like no slip, and its pieces are no further apart than it says.
    weighed = job.weighed if job.estimated else job
    return Result(
        job=job,
        certainty=sure,
        facts=_facts(job),
        bobweights=weights,
        left=cost(job, weights, sure),
        spreads=tuple(
            s for s in spreads(weighed, weights, sure) if not (job.estimated and s.quantity == "bobweight")
        ),
        slips=slips(weighed, weights, sure),
    )


def _facts(job: Job) -> EngineFacts:
    made = job.engine
    speed = made.top_speed_rpm
    stroke_mm, rod_length_mm = made.declared_stroke_mm, made.declared_rod_length_mm
    return EngineFacts(
        displacement_cm3=None
        if made.bore_mm is None or stroke_mm is None
        else displacement_cm3(made.bore_mm, stroke_mm, len(made.layout.cylinders)),
        mean_piston_speed_m_s=None
        if speed is None or stroke_mm is None
        else mean_piston_speed_m_s(stroke_mm, speed),
        peak_piston_acceleration_m_s2=None
        if speed is None or stroke_mm is None or rod_length_mm is None
        else peak_piston_acceleration_m_s2(stroke_mm, rod_length_mm, speed, made.desaxe_mm),
    )
