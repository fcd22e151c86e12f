"""The metal that was on the crank at a spin: what a lathe, a grinder or a drill changes, by the job's [crank].

A spin is of the crank as it was. A counterweight that was turned since, or a hole that somebody put into the job
file, make it another one, and what it read says nothing of that. Nobody can tell such an edit from a slip of the
pen that is mended: what was read counts again once a spin reads the same (Balancing), or the edit is taken back.

Not kept is what no machine changes, or what is a limit for plans: where a counterweight is along the crank, its
material, how far down it may be drilled. Of a damper or a flexplate its own unbalance counts instead of a rim, and
where it is. One that was off is not of the spin; what the job says of it is held against the spins with it on
(Members).
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable, Iterator, Sequence

from truethrow.balance.base.amounts import METRIC, ToldIn, factor
from truethrow.balance.base.units import LENGTH
from truethrow.balance.crank.crank import Crank, Member
from truethrow.balance.log.records import Metal, Spun

# As exactly as two figures are held against each other: an inch typed for its millimeters is no edit.
PLACES, SAME = 4, 2e-4
FINER_PLACES = 5  # of inches and ounce inches, so that an edit shows as one
MOST_NAMED = 3
_DEGREES = ("from", "to", "angle", "keyway")


def metal_of(crank: Crank | None, mounted: Iterable[str]) -> tuple[Metal, ...]:
    """The metal of a crank with these of its members on; nothing of a job without a crank."""
    if crank is None:
        return ()
    return tuple(
        Metal(member.name, key, round(value, PLACES) + 0.0)
        for member in crank.only(mounted).members
        for key, value in _figures(member)
    )


def _figures(member: Member) -> Iterator[tuple[str, float]]:
    """By the keys of the job file, which is where they are mended."""
    yield "thickness", member.thickness_mm
    if member.pitch_mm is None:
        (arc,) = member.arcs
        yield "outer_radius", member.outer_mm
        yield "from", arc.from_deg
        yield "to", (arc.from_deg + arc.span_deg) % 360
    else:
        yield "radius", member.pitch_mm
        if member.keyway_deg is not None:
            yield "keyway", member.keyway_deg
        if member.offset is not None:
            yield "offset", abs(member.offset.gmm)
            # What it brings to the planes is by where it is.
            yield "at", member.z_mm
            yield "offset angle", math.degrees(cmath.phase(member.offset.gmm)) % 360
    for number, hole in enumerate(member.holes, start=1):
        yield f"hole {number} angle", hole.angle_deg
        yield f"hole {number} diameter", hole.diameter_mm
        yield f"hole {number} depth", hole.depth_mm
        yield f"hole {number} offset", hole.z_mm - member.z_mm
        if hole.kind == "axial":  # one from the rim begins where that is
            yield f"hole {number} radius", hole.radius_mm


def changes(was: Sequence[Metal], now: Sequence[Metal], told_in: ToldIn = METRIC) -> tuple[str, ...]:
    """What of the metal is otherwise, in words; nothing where none is."""
    if not (was and now):
        return () if not (was or now) else ("there was none then",) if now else ("there is none now",)
    before, after = ({(one.name, one.key): one.value for one in metal} for metal in (was, now))
    names = [{one.name for one in metal} for metal in (was, now)]
    found: list[str] = []
    for name, key in dict.fromkeys([*before, *after]):
        old, new = before.get((name, key)), after.get((name, key))
        if old is not None and new is not None and _is_same(old, new, key):
            continue
        if name not in names[0] or name not in names[1]:
            found.append(f"{name} {'came off' if name in names[0] else 'is new'}")
        else:
            unit, one = _unit(key, told_in)
            found.append(f"{key} of {name} {_said(old, one)} → {_said(new, one)} {unit}")
    found = list(dict.fromkeys(found))
    more = len(found) - MOST_NAMED
    return (*found[:MOST_NAMED], *([f"and {more} more"] if more > 0 else []))


def changed_metal(spin: Spun, crank: Crank | None, told_in: ToldIn = METRIC) -> tuple[str, ...]:
    """What a job says otherwise of the metal than at a spin, in words, of what was on the crank then; nothing
    where it says the same."""
    return changes(spin.metal, metal_of(crank, spin.members), told_in)


def changed_member(
    spins: Sequence[Spun], name: str, crank: Crank, told_in: ToldIn = METRIC
) -> tuple[int, tuple[str, ...]]:
    """Which of these spins is the last that tells of a member's metal, by its place, and what a job says otherwise
    of it, in words; nothing where none tells of any, as before there was a [crank]."""
    for at, spin in reversed([*enumerate(spins)]):
        if not spin.metal:
            continue
        was = [one for one in spin.metal if one.name == name]
        if was:
            return at, changes(was, [one for one in metal_of(crank, (name,)) if one.name == name], told_in)
    is_new = any(spin.metal for spin in spins) and not crank.member(name).external  # one that was off is not
    return (len(spins) - 1, (f"{name} is new",)) if is_new else (0, ())


def has_metal(spin: Spun, name: str) -> bool:
    """Whether a member was on the crank at a spin, by the metal that was kept of it."""
    return any(one.name == name for one in spin.metal)


def same_metal(before: Spun, after: Spun) -> bool:
    """Whether two spins are of the same metal, members aside that were on at one of them alone."""
    aside = set(before.members) ^ set(after.members)
    was, now = ([one for one in spin.metal if one.name not in aside] for spin in (before, after))
    return not changes(was, now)


def _is_same(one: float, other: float, key: str) -> bool:
    apart = abs(one - other)
    if key.endswith(_DEGREES):
        apart = min(apart % 360, -apart % 360)
    return apart < SAME


def _said(value: float | None, one: float) -> str:
    """one: of the unit that is told, in the one kept."""
    places = PLACES if one == 1.0 else FINER_PLACES
    return "none" if value is None else f"{round(value / one, places):.9g}"


def _unit(key: str, told_in: ToldIn) -> tuple[str, float]:
    """The unit of a figure, and one of it in degrees, g·mm or mm."""
    if key.endswith(_DEGREES):
        return "deg", 1.0
    if key == "offset":
        return told_in.unbalance_unit, told_in.unbalance_gmm
    return told_in.length, factor(told_in.length, LENGTH)
