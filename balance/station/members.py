"""Damper, flexplate, clutch cover: which of them were on the crank at a spin, and what those bring that were not.

What turns in the engine has all of them on. Of one that was off, its own unbalance is added to what the spin read,
as a vector in both planes: by the job, where its maker told it or an arbor did; else by the spins themselves, with
it less without it, where nothing else was done between. Of one that was on, the spin has it already; whether it
sits where its keyway or dowel should be is told by such a pair of spins alone.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

from truethrow.balance.base.errors import Fault, shown
from truethrow.balance.correction import TwoPlanes, changed_by
from truethrow.balance.correction.planes import split
from truethrow.balance.crank.crank import Crank, Member
from truethrow.balance.crank.holes import Hole
from truethrow.balance.log.records import Metal
from truethrow.balance.result.unbalance import plane_share
from truethrow.balance.station.metal import changes, metal_of, same_metal
from truethrow.balance.station.spinning import Spin

NOTHING = TwoPlanes(0j, 0j)


class Brought(NamedTuple):
    """What members bring to the two planes, and how sure that is in each (k = 2). source: how it is known."""

    gmm: TwoPlanes = NOTHING
    expanded_gmm: tuple[float, float] = (0.0, 0.0)
    source: str = ""

    def plus(self, other: Brought, sign: int = 1) -> Brought:
        front, rear = map(math.hypot, self.expanded_gmm, other.expanded_gmm)
        return Brought(self.gmm.plus(_times(sign, other.gmm)), (front, rear), self.source or other.source)


NONE = Brought()


class Contradiction(NamedTuple):
    """Members that are off, and did not bring what the job says now when they were on. names: what two spins
    differ by, the last with them and one without; measured_gmm, told_gmm: both planes together, by these spins and
    by the job. Where there is no spin without them to hold against it (without None), edited: the metal when they
    were on last, and what the job says otherwise now."""

    names: tuple[str, ...]
    with_it: Spin
    without: Spin | None = None
    measured_gmm: complex = 0j
    told_gmm: complex = 0j
    edited: tuple[tuple[Metal, ...], tuple[Metal, ...]] = ((), ())


@dataclass(frozen=True)
class Members:
    """crank: None for a job without one; spins: in order; counted: the numbers of those that count."""

    crank: Crank | None
    planes_mm: tuple[float, float]
    spins: tuple[Spin, ...]
    counted: frozenset[int]

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(one.name for one in self.crank.externals) if self.crank else ()

    @property
    def gone(self) -> tuple[str, ...]:
        """Those that came off for good."""
        return tuple(one.name for one in self.crank.gone) if self.crank else ()

    @property
    def must_be_told(self) -> bool:
        """Whether a spin has to say which were on: where one of them has an unbalance of its own."""
        return self.crank is not None and any(one.offset for one in self.crank.externals)

    def off(self, spin: Spin) -> tuple[str, ...]:
        """The members that were not on the crank at a spin."""
        return tuple(name for name in self.names if name not in spin.record.members)

    def unknown(self, spin: Spin) -> tuple[str, ...]:
        """Those that were off, and of which nobody knows what they bring."""
        return tuple(name for name in self.off(spin) if self.brings(name, spin) is None)

    def missing(self, spin: Spin) -> Brought:
        """What those bring that were off at a spin, as far as it is known."""
        whole = NONE
        for name in self.off(spin):
            whole = whole.plus(self.brings(name, spin) or NONE)
        return whole

    def brings(self, name: str, spin: Spin) -> Brought | None:
        """What a member brings as it was at a spin; None where nobody knows."""
        return self.declared(name, spin.number) or self._by_spins(name, spin.number)

    def at_its_place(self, member: Member) -> tuple[complex, float] | None:
        """What a member has at its own place along the crank, and how sure that is (k = 2), with all holes in it;
        by spins as the sum of what both planes saw. None where nobody knows."""
        known = self.declared(member.name) or (self.brings(member.name, self.spins[-1]) if self.spins else None)
        if known is None:
            return None
        if member.offset is not None:
            return known.gmm.front + known.gmm.rear, member.offset.expanded_gmm
        return known.gmm.front + known.gmm.rear, math.hypot(*known.expanded_gmm)

    def declared(self, name: str, upto: int | None = None) -> Brought | None:
        """What the job says of a member, with the holes in it that are recorded up to a spin, or all of them; None
        where it says nothing."""
        member = self._member(name)
        if member.offset is None:
            return None
        came = split(member.offset.gmm, member.z_mm, self.planes_mm)
        front, rear = (abs(one) * member.offset.expanded_gmm for one in plane_share(member.z_mm, *self.planes_mm))
        return Brought(came.plus(self._drilled(name, 0, upto)), (front, rear), member.offset.source)

    def differ(self, before: Spin, after: Spin) -> Brought | None:
        """What members that were put on or taken off between two spins change, by the job or by
        spins before; None where nobody knows."""
        was, now = set(before.record.members), set(after.record.members)
        change = NONE
        for name in (*self.names, *self.gone):
            if (name in was) == (name in now):
                continue
            own = self.known(name, before, after)
            if own is None:
                return None
            change = change.plus(own, 1 if name in now else -1)
        return change

    def known(self, name: str, before: Spin, after: Spin) -> Brought | None:
        """What a member brings, told without what these two spins differ by: by the job, or by spins before."""
        return self.declared(name, after.number) or self._by_spins(name, after.number, before.number)

    def mended_on(self, is_inside: Callable[[Spin], bool]) -> tuple[str, ...]:
        """The members that were put on since the last spin that was inside without them; nothing where there is
        none. Assembled in steps, each is mended on itself: what is left is of what came last."""
        if not self.spins:
            return ()
        now = set(self.spins[-1].record.members)
        for spin in reversed(self._counted[:-1]):
            was = set(spin.record.members)
            if was < now and is_inside(spin):
                return tuple(name for name in self.names if name in now - was)
        return ()

    def seen(self, holes: Iterable[Hole], spin: Spin) -> list[Hole]:
        """The holes that are in what was on the crank at a spin."""
        off = self.off(spin)
        return [one for one in holes if one.member not in off]

    @cached_property
    def unindexed(self) -> tuple[str, ...]:
        """Those that are on at the last spin and could sit otherwise than declared, as long as no spin with one
        and one without it show what it must bring."""
        if not self.spins or self.crank is None:
            return ()
        return tuple(
            one.name
            for one in self.crank.externals
            if one.offset and not one.one_way and not self._is_indexed(one.name)
        )

    def _is_indexed(self, name: str) -> bool:
        """By the last spin without it, and the last one with it after that before anything else was done."""
        counted = self._counted
        without = [spin for spin in counted if name not in spin.record.members]
        if not without:
            return False
        after = counted[counted.index(without[-1]) + 1 :]
        alike = list(itertools.takewhile(lambda spin: not spin.drilled, after))
        return not after or (bool(alike) and self._agree(without[-1], alike[-1]))

    @cached_property
    def contradicted(self) -> tuple[Contradiction, ...]:
        """What is off at the last spin, and did not bring what the job says of it now when it was on: it sat
        otherwise, or the job was edited since. Nothing may rest on what such a one would bring, although the last
        spin is of the crank alone."""
        if not self.spins or self.crank is None:
            return ()
        off = self.off(self.spins[-1])
        found = [self._contradicts(one.name) for one in self.crank.externals if one.offset and one.name in off]
        return tuple(one for one in found if one)

    def _contradicts(self, name: str) -> Contradiction | None:
        """By the latest spin with a member that one without it can be held against, whether they count or not."""
        assert self.crank
        with_it = [spin for spin in reversed(self.spins) if name in spin.record.members]
        for spin in with_it:
            beside = [(one, self._by_the_job(one, spin)) for one in self._beside(spin, name)]
            pairs = [(one, told) for one, told in beside if told is not None]
            if any(agree(one, spin, told) for one, told in pairs):
                return None
            for without, told in pairs:
                names = set(without.record.members) ^ set(spin.record.members)
                both = tuple(one for one in self.names if one in names)
                brought = spin.residual.plus(_times(-1, without.residual))
                return Contradiction(both, spin, without, sum(brought), sum(told.gmm))
        if with_it:
            metal = with_it[0].record.metal, metal_of(self.crank, (name,))
            was, now = (tuple(one for one in of if one.name == name) for of in metal)
            return Contradiction((name,), with_it[0], edited=(was, now)) if changes(was, now) else None
        return None

    def _beside(self, spin: Spin, name: str) -> list[Spin]:
        """The spins without a member that differ from one with it by members alone, the latest first."""
        at = self.spins.index(spin)
        after = [*itertools.takewhile(lambda one: not one.drilled, self.spins[at + 1 :])]
        undrilled = itertools.takewhile(lambda n: not self.spins[n].drilled, range(at, 0, -1))
        before = [self.spins[n - 1] for n in undrilled]
        return [
            one
            for one in (*reversed(after), *before)
            if name not in one.record.members
            and one.is_told
            and spin.is_told
            and one.basis.read_as == spin.basis.read_as
            and one.record.hung_g == spin.record.hung_g
            and same_metal(one.record, spin.record)
        ]

    def _by_the_job(self, without: Spin, with_it: Spin) -> Brought | None:
        """What two spins differ by as the job has it, in the planes that both were read in."""
        return replace(self, planes_mm=with_it.basis.planes_mm).differ(without, with_it)

    def _agree(self, before: Spin, after: Spin) -> bool:
        change = self.differ(before, after)
        return change is not None and agree(before, after, change)

    @property
    def _counted(self) -> list[Spin]:
        return [spin for spin in self.spins if spin.number in self.counted]

    def _by_spins(self, name: str, upto: int, told_by: int | None = None) -> Brought | None:
        """By the last spin with it and the last one without it, where nothing else was done between. told_by: the
        number of the last spin that may tell it, None for any."""
        told = [spin for spin in self._counted if told_by is None or spin.number <= told_by]
        for after, before in zip(reversed(told), reversed(told[:-1]), strict=False):
            was, now = set(before.record.members), set(after.record.members)
            if was ^ now != {name} or after.drilled or before.record.digest != after.record.digest:
                continue
            sign = 1 if name in now else -1
            change = _times(sign, after.residual.plus(_times(-1, before.residual)))
            front, rear = map(math.hypot, before.expanded_gmm, after.expanded_gmm)
            return Brought(change.plus(self._drilled(name, after.number, upto)), (front, rear), "spins")
        return None

    def _drilled(self, name: str, since: int, upto: int | None) -> TwoPlanes:
        """What was done to a member after a spin, up to another."""
        done = [
            one.hole
            for spin in self.spins
            if since < spin.number and (upto is None or spin.number <= upto)
            for one in spin.drilled
        ]
        return changed_by([hole for hole in done if hole.member == name], self.planes_mm)

    def _member(self, name: str) -> Member:
        assert self.crank
        return self.crank.member(name)


def lost_members(crank: Crank | None, spins: Sequence[Spin], holes: Sequence[Hole]) -> list[Fault]:
    """What was drilled, or was on the crank at a spin, and the job does not have any more: its holes would be
    forgotten, and what turns in the engine would be told without it."""
    there = {member.name for member in (*crank.members, *crank.gone)} if crank else set()
    waiting = {member.name for member in crank.waiting} if crank else set()
    was_on = {name: spin.number for spin in spins for name in spin.record.members}
    faults = []
    for name in dict.fromkeys([*was_on, *(hole.member for hole in holes if crank)]):
        if name in there:
            continue
        drilled = sum(hole.member == name for hole in holes)
        told = [f"was on at spin {was_on[name]}"] if name in was_on else []
        told += [f"has {drilled} {'hole' if drilled == 1 else 'holes'} in the log"] if drilled else []
        lacks = f"the [crank] has no {shown(name)!r}, which {' and '.join(told)}"
        if name in waiting:
            lacks = (
                f"{shown(name)!r} {' and '.join(told)}, and by replaces in its table it is not on the crank yet"
            )
            ways = "take replaces out of it"
        elif name in was_on:
            ways = "if it was renamed, name it as it was; "
            ways += "if it came off for good, put its table back and set gone = true in it"
        else:
            ways = "put its table back, named as it was"
        faults.append(Fault("crank", lacks, remedy=ways))
    return faults


def agree(before: Spin, after: Spin, change: Brought) -> bool:
    """Whether two spins differ by a change, within the ± of all three."""
    return all(
        abs(was + own - now) <= sure + one.widest_gmm + other.widest_gmm
        for was, now, own, sure, one, other in zip(
            *(before.raw, after.raw, change.gmm, change.expanded_gmm),
            *((before.front, before.rear), (after.front, after.rear)),
            strict=True,
        )
    )


def bare(crank: Crank, planes_mm: tuple[float, float], off: Sequence[str]) -> TwoPlanes:
    """What a crank must read without these members where what turns in the engine is true: the reverse of what
    they bring, as declared."""
    whole = NOTHING
    for one in crank.externals:
        if one.name in off and one.offset:
            whole = whole.plus(_times(-1, split(one.offset.gmm, one.z_mm, planes_mm)))
    return whole


def _times(sign: int, vectors: TwoPlanes) -> TwoPlanes:
    return TwoPlanes(sign * vectors.front, sign * vectors.rear)
