"""Spread: the largest minus the smallest of one kind within the set, and the verdict against its limit."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from truethrow.balance.base.parts import SUMS, label
from truethrow.balance.base.readings import Certainty, Mass, Reading, Verdict, combine, tidy
from truethrow.balance.job.job import Job
from truethrow.balance.result.bobweight import Bobweights, total


class Spread(NamedTuple):
    """One spread. quantity: a kind, a sum of kinds, or bobweight; members: mass by cylinder number or throw
    name; lightest and heaviest name two of them, and apart is their difference; limit_g and verdict are None
    where the job sets no limit."""

    quantity: str
    members: Mapping[str, Mass]
    lightest: str
    heaviest: str
    apart: Mass
    spread_g: float
    expanded_g: float
    limit_g: float | None
    verdict: Verdict | None

    def __repr__(self) -> str:
        limit = "" if self.limit_g is None else f", limit {self.limit_g:g} g: {self.verdict}"
        ends = f"{self.member_kind} {self.lightest} to {self.heaviest}"
        return f"Spread: {label(self.quantity)} {tidy(self.spread_g):.6g} g ({ends}){limit}"

    @property
    def member_kind(self) -> str:
        return "throw" if self.quantity == "bobweight" else "cylinder"


def spreads(job: Job, weights: Bobweights, sure: Certainty) -> tuple[Spread, ...]:
    """Every spread of the job: each kind, both ends of a rod, rotating and reciprocating mass, and the
    bobweights; none of a single member, and none of which a member waits for the scale."""
    found = [
        spread_of(name, {str(number): total(parts, name) for number, parts in job.parts.items()}, job, sure)
        for name in SUMS
        if _weighed(job.parts, name) and not _waits(job, name)
    ]
    if throws := {throw.throw.name: throw.bobweight for throw in weights.throws}:
        found.append(spread_of("bobweight", throws, job, sure))
    return tuple(spread for spread in found if len(spread.members) > 1)


def _weighed(parts: Mapping[int, Mapping[str, Reading]], name: str) -> bool:
    """Whether some kind of this sum was weighed cylinder by cylinder; one reading for all has no spread."""
    return any(
        reading.cylinder is not None for own in parts.values() for kind in SUMS[name] if (reading := own.get(kind))
    )


def _waits(job: Job, name: str) -> bool:
    """Whether a reading of this sum is still missing."""
    wanted = {*SUMS[name]} - {*job.engine.without}
    return any(not wanted <= parts.keys() for parts in job.parts.values())


def spread_of(quantity: str, members: Mapping[str, Mass], job: Job, sure: Certainty) -> Spread:
    """The spread of these members of a quantity, be they all of the set or not."""
    lightest = min(members, key=lambda name: members[name].value_g)
    heaviest = max(members, key=lambda name: members[name].value_g)
    difference = combine([(1.0, members[heaviest]), (-1.0, members[lightest])])
    # All alike: lightest and heaviest are one member, but the uncertainty is that of any two.
    if lightest == heaviest and len(members) > 1:
        other = next(name for name in members if name != lightest)
        difference = combine([(1.0, members[heaviest]), (-1.0, members[other])])
    limit_g = job.limits_g.get(quantity)
    expanded_g = sure.expanded_g(difference)
    judged = None if limit_g is None else sure.judged(difference, limit_g)
    return Spread(
        quantity, members, lightest, heaviest, difference, difference.value_g, expanded_g, limit_g, judged
    )
