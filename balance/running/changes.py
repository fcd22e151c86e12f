"""What if: the changes that somebody asks about, and the frozen job, or its crank, as it would be with them.

Nothing is written anywhere. A mass that a part would have counts like one weighing of it on the job's scale; one
that is so much lighter or heavier keeps the weighings that it had, all moved by that.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from truethrow.balance.base import units
from truethrow.balance.base.amounts import METRIC, ToldIn
from truethrow.balance.base.digits import digits
from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.base.fields import HEAVIEST_G
from truethrow.balance.base.parts import BY_NAME, ENDS, label
from truethrow.balance.base.readings import Reading, tidy
from truethrow.balance.base.units import ANGLE, LENGTH, MASS, UNBALANCE, Dimension
from truethrow.balance.crank import turning
from truethrow.balance.crank.crank import Crank, Member
from truethrow.balance.crank.holes import Hole
from truethrow.balance.crank.offset import Offset, polar
from truethrow.balance.job import plausible_masses
from truethrow.balance.job.job import Job

KINDS = tuple(kind.name for kind in BY_NAME.values() if kind.motion != "check")
_PART = "such as 'piston -12', 'piston 3 = 512', 'big end R7 = 620' or 'rod 7 = 620 + 190' (big end + small end)"
_MEMBER = (
    "such as 'damper = 900 at 30' or 'damper = 1.2 oz in at 30': its offset, in g·mm without a unit, at an angle "
    "from its keyway or dowel; or by its name a new one that replaces another"
)
_SET = re.compile(r"(?P<who>[^=]+?)\s*=\s*(?P<what>[^=]+)")
_MOVED = re.compile(r"(?P<who>[^=]+?)\s+(?P<sign>[+-])\s*(?P<what>[\d.][^=]*)")
_OFFSET = re.compile(r"(?P<amount>.+?)\s+at\s+(?P<angle>.+)")


class PartChange(NamedTuple):
    """One kind of reading, of a cylinder, or of all where that is None: what it would weigh, or by how much it
    would be heavier. [g]"""

    kind: str
    cylinder: int | None
    grams: float
    is_by: bool


class OtherOffset(NamedTuple):
    """A damper or a flexplate with this unbalance of its own, as a vector from throw 1. [g·mm]"""

    name: str
    gmm: complex


class Changes(NamedTuple):
    """All that is asked about at once. said: as it was typed, one a change; to_mm: what counterweights are turned
    to, those named, else all that reach beyond it; swapped: members that are not on the crank yet, each put in the
    place of the one that it replaces."""

    said: tuple[str, ...]
    share: float | None = None
    oil_g: float | None = None
    parts: tuple[PartChange, ...] = ()
    to_mm: float | None = None
    counterweights: tuple[str, ...] = ()
    members: tuple[OtherOffset, ...] = ()
    swapped: tuple[str, ...] = ()

    @property
    def of_crank(self) -> bool:
        return self.to_mm is not None or bool(self.members or self.swapped)


class ChangedCrank(NamedTuple):
    """turned: counterweights, as the lathe leaves them; acts: each change of unbalance, and where along the crank
    it is [g·mm, mm]; swapped: each member that would come off, and the one in its place."""

    crank: Crank
    turned: tuple[turning.Turned, ...]
    acts: tuple[tuple[complex, float], ...]
    swapped: Mapping[str, str] = {}


def read(
    job: Job,
    *,
    share: str | None = None,
    oil: str | None = None,
    parts: Sequence[str] = (),
    turned_to: str | None = None,
    counterweights: Sequence[str] = (),
    members: Sequence[str] = (),
) -> Changes:
    """Changes as they are typed. A bare number is in the job's units. Raises BadInput with every fault."""
    faults: list[Fault] = []
    said = [
        *([] if share is None else [f"share {share}"]),
        *([] if oil is None else [f"oil {_with_unit(oil, job.mass_unit)}"]),
        *parts,
        *([] if turned_to is None else [_turned_said(_with_unit(turned_to, job.length_unit), counterweights)]),
        *map(_member_said, members),
    ]
    if not said:
        way = "say what: --share, --oil, --part, --turned-to, --member"
        faults.append(Fault("what if", "nothing is changed", remedy=way))
    to_mm = None
    if turned_to is not None:
        to_mm = _quantity("--turned-to", turned_to, LENGTH, job.length_unit, (0, units.LONGEST_MM), faults)
    elif counterweights:
        faults.append(Fault("--counterweight", "turned to what?", "with --turned-to RADIUS"))
    others, swapped = _members(members, job, faults)
    found = Changes(
        tuple(said),
        _share(share, job, faults),
        _oil(oil, job, faults),
        tuple(change for typed in parts for change in _parts(typed, job, faults)),
        to_mm,
        tuple(counterweights),
        others,
        swapped,
    )
    if found.of_crank and job.crank is None:
        faults.append(Fault("crank", "missing", "a table [crank] with its counterweights and members, in the job"))
    if faults:
        raise BadInput(faults)
    return found


def changed(job: Job, changes: Changes) -> Job:
    """The job as it would be, its readings, share and oil; it has no digest, so that nothing is recorded, hung or
    signed by it. Raises BadInput for masses that no part and no set has."""
    parts = {number: dict(own) for number, own in job.parts.items()}
    faults: list[Fault] = []
    for change in changes.parts:
        _weigh(parts, change, job, faults)
    if not faults and not plausible_masses.beside(job.parts):
        faults += plausible_masses.beside(parts, job.told_in())
    oil_g = job.oil_g if changes.oil_g is None else (changes.oil_g,) * len(job.oil_g)
    if changes.oil_g is not None:
        faults += _too_much_oil(job, changes.oil_g)
    if faults:
        raise BadInput([replace(fault, remedy="") for fault in faults])
    share = job.share if changes.share is None else changes.share
    return replace(job, parts=parts, share=share, oil_g=oil_g, digest="")


def changed_crank(
    crank: Crank, changes: Changes, drilled: Sequence[Hole] = (), told_in: ToldIn = METRIC
) -> ChangedCrank:
    """The crank as the lathe and other members would leave it. Another member is as the old one, but for its
    offset and its holes, of which it has none yet. drilled: what of the crank's holes was drilled in this job, and
    is in no offset. Raises BadInput as turning.turn does."""
    turned = () if changes.to_mm is None else turning.turn(crank, changes.to_mm, changes.counterweights, told_in)
    acts = [act for one in turned for act in one.acts]
    members = {one.name: one for one in turning.after(crank, turned).members}
    for other in changes.members:
        old = members[other.name]
        acts.append((other.gmm - (old.offset.gmm if old.offset else 0j), old.z_mm))
        acts += [(-hole.change_gmm, hole.z_mm) for hole in drilled if hole.member == old.name]
        members[other.name] = old._replace(offset=Offset(other.gmm, 0.0, "maker"), holes=())
    waiting = {one.name: one for one in crank.waiting}
    swapped = {waiting[name].replaces: name for name in changes.swapped}
    for name, new_name in swapped.items():
        old, new = members.pop(name), waiting[new_name]
        assert old.offset and new.offset
        acts += [(-old.offset.gmm, old.z_mm), (new.offset.gmm, new.z_mm)]
        acts += [(-hole.change_gmm, hole.z_mm) for hole in drilled if hole.member == name]
        members[new_name] = new._replace(replaces="")
    there = tuple(sorted(members.values(), key=lambda one: one.z_mm))
    return ChangedCrank(crank._replace(members=there), turned, tuple(acts), swapped)


def _turned_said(turned_to: str, counterweights: Sequence[str]) -> str:
    which = ", ".join(counterweights) if counterweights else "counterweights"
    return f"{which} turned to {turned_to}"


def _member_said(typed: str) -> str:
    told = _SET.fullmatch(" ".join(typed.split()))
    split = told and _OFFSET.fullmatch(told["what"])
    if told is None or split is None:
        return typed
    return f"{told['who']} = {_with_unit(split['amount'], UNBALANCE.inside)} at {split['angle']}"


def _with_unit(typed: str, unit: str) -> str:
    """A bare number with the unit that it is taken in: whoever meant another sees it."""
    try:
        float(typed)
    except ValueError:
        return typed
    return f"{typed} {unit}"


def _quantity(
    where: str, typed: str, dimension: Dimension, unit: str, reach: tuple[float, float], faults: list[Fault]
) -> float | None:
    """What somebody typed, above the first of its reach, and up to the other."""
    least, most = reach
    try:
        value = units.parse(typed.strip(), dimension, unit)
    except units.NotAQuantity as error:
        faults.append(Fault(where, str(error), f"a {dimension.name}"))
        return None
    if not (least < value <= most):
        one = float(units.factor(unit, dimension))
        allowed = f"{'0 to' if least < 0 else f'above {least:g} and at most'} {digits(most / one)} {unit}"
        faults.append(Fault(where, f"{shown(typed)} is out of reach", allowed))
        return None
    return value


def _share(typed: str | None, job: Job, faults: list[Fault]) -> float | None:
    if typed is None:
        return None
    if not job.has_parts:
        faults.append(_no_parts("--share"))
    try:
        share = float(typed)
    except ValueError:
        share = math.nan
    if not 0 <= share <= 1:
        faults.append(Fault("--share", shown(typed), "a number, 0 to 1"))
    return share


def _oil(typed: str | None, job: Job, faults: list[Fault]) -> float | None:
    if typed is None:
        return None
    if not job.has_parts:
        faults.append(_no_parts("--oil"))
    return _quantity("--oil", typed, MASS, job.mass_unit, (-1e-9, HEAVIEST_G), faults)


def _no_parts(where: str) -> Fault:
    wrong = "the job has no parts, only the bobweights given"
    return Fault(where, wrong, remedy="ask for --turned-to or --member")


def _parts(typed: str, job: Job, faults: list[Fault]) -> list[PartChange]:
    """What one --part says: a rod that is replaced is two readings."""
    text = " ".join(typed.replace("\N{MINUS SIGN}", "-").split())
    told = _SET.fullmatch(text) or _MOVED.fullmatch(text)
    if not job.has_parts:
        faults.append(_no_parts("--part"))
        return []
    if told is None:
        faults.append(Fault("--part", f"{shown(typed)!r} says no part and mass", _PART))
        return []
    kind, cylinder = _who(told["who"], job, faults)
    sign = told.groupdict().get("sign")
    if kind == "rod":
        return _rod(typed, told["what"] if sign is None else "", cylinder, job, faults)
    if kind is None:
        return []
    grams = _mass_g(told["what"], job, faults)
    return [] if grams is None else [PartChange(kind, cylinder, -grams if sign == "-" else grams, bool(sign))]


def _mass_g(typed: str, job: Job, faults: list[Fault]) -> float | None:
    return _quantity("--part", typed, MASS, job.mass_unit, (0, HEAVIEST_G), faults)


def _rod(typed: str, what: str, cylinder: int | None, job: Job, faults: list[Fault]) -> list[PartChange]:
    ends = what.split("+")
    if len(ends) != 2:
        faults.append(Fault("--part", f"{shown(typed)!r}: a rod is two masses", "'rod 7 = 620 + 190', or one end"))
        return []
    grams = [_mass_g(end, job, faults) for end in ends]
    return [PartChange(kind, cylinder, g, False) for kind, g in zip(ENDS, grams, strict=True) if g is not None]


def _who(words: str, job: Job, faults: list[Fault]) -> tuple[str | None, int | None]:
    """The kind and the cylinder that words mean, None for every cylinder; no kind with a fault added."""
    split = words.split()
    for count in (2, 1):
        kind = "_".join(split[:count]).lower().replace("-", "_")
        if kind not in KINDS and kind != "rod":
            continue
        if (ENDS[0] if kind == "rod" else kind) in job.engine.without:
            break
        name = " ".join(split[count:])
        if not name:
            return kind, None
        part = job.names.meant(kind, name, faults, "--part")
        return (None, None) if part is None else (kind, part.cylinder)
    allowed = [label(kind) for kind in KINDS if kind not in job.engine.without]
    allowed += [] if ENDS[0] in job.engine.without else ["rod"]
    faults.append(Fault("--part", f"{shown(words)!r} is no part of this engine", ", ".join(allowed)))
    return None, None


def _members(
    typed: Sequence[str], job: Job, faults: list[Fault]
) -> tuple[tuple[OtherOffset, ...], tuple[str, ...]]:
    """Other offsets, and new members by their names. A member is changed once."""
    waiting = {one.name: one for one in job.crank.waiting} if job.crank else {}
    others, swapped, touched = [], [], []
    for one in typed:
        if (new := waiting.get(" ".join(one.split()))) is not None:
            _offsets_known(new, job, faults)
            swapped.append(new.name)
            touched.append(new.replaces)
        elif (other := _member(one, job, faults)) is not None:
            others.append(other)
            touched.append(other.name)
    twice = sorted({name for name in touched if touched.count(name) > 1})
    faults += [Fault("--member", f"{shown(name)} is changed twice", "each member once") for name in twice]
    return tuple(others), tuple(swapped)


def _offsets_known(new: Member, job: Job, faults: list[Fault]) -> None:
    """What a swap changes is the difference of two offsets, so both have to be told."""
    assert job.crank
    for one in (job.crank.member(new.replaces), new):
        if one.offset is None:
            allowed = "what it brings, so that the swap can be told: its offset, or two runs on an arbor"
            faults.append(Fault(f"external {one.name}, offset", "missing", allowed))


def _member(typed: str, job: Job, faults: list[Fault]) -> OtherOffset | None:
    told = _SET.fullmatch(" ".join(typed.split()))
    if told is None:
        faults.append(Fault("--member", f"{shown(typed)!r} says no member and offset", _MEMBER))
        return None
    externals = {one.name: one for one in job.crank.externals} if job.crank else {}
    member = externals.get(told["who"])
    if member is None:
        allowed = ", ".join(externals) or "none: the job declares no [[crank.external]]"
        faults.append(Fault("--member", f"{shown(told['who'])} is no damper or flexplate of the job", allowed))
        return None
    split = _OFFSET.fullmatch(told["what"])
    amount, angle = (split["amount"], split["angle"]) if split else (told["what"], "0")
    before = len(faults)
    gmm = _quantity("--member", amount, UNBALANCE, UNBALANCE.inside, (-1e-9, 1e9), faults)
    deg = _quantity("--member", angle, ANGLE, ANGLE.inside, (-360.0001, 360), faults)
    if gmm and split is None:
        faults.append(Fault("--member", f"{shown(typed)!r}: at which angle?", _MEMBER))
    if gmm and member.keyway_deg is None:
        allowed = "keyway in its [[crank.external]]: where it sits on the crank, in degrees from throw 1"
        faults.append(Fault(f"external {member.name}, keyway", "missing", allowed))
    if len(faults) > before:
        return None
    assert gmm is not None and deg is not None
    return OtherOffset(member.name, polar(gmm, deg + (member.keyway_deg or 0.0)))


def _weigh(parts: dict[int, dict[str, Reading]], change: PartChange, job: Job, faults: list[Fault]) -> None:
    """Put a change into the readings. One reading that stands for all cylinders stays one where all change alike.
    The rod in one go says nothing of a rod that is another."""
    numbers = tuple(parts) if change.cylinder is None else (change.cylinder,)
    for number in numbers:
        old = parts[number][change.kind]
        if change.is_by:
            new = _moved(old, change.grams)
            new = new if change.cylinder is None else new._replace(cylinder=number)
        else:
            new = Reading(change.cylinder, change.kind, (change.grams,), (f"{change.grams:g}",))
        parts[number][change.kind] = new
        if change.kind in ENDS:
            parts[number].pop("rod_total", None)
    least_g = job.scale.resolution_g
    number = min(numbers, key=lambda number: parts[number][change.kind].mean_g)
    would_g = parts[number][change.kind].mean_g
    if not least_g <= would_g <= HEAVIEST_G:
        name, told_in = job.names.said(change.kind, number), job.told_in()
        told_range = f"{told_in.weighed(least_g).digits} to {told_in.weighed(HEAVIEST_G)}"
        faults.append(Fault("--part", f"{name} would weigh {job.told_in().weighed(would_g)}", told_range))


def _moved(old: Reading, by_g: float) -> Reading:
    grams = tuple(tidy(g + by_g) for g in old.repeats_g)
    earlier = tuple(tidy(g + by_g) for g in old.earlier_g)
    return old._replace(repeats_g=grams, typed=tuple(f"{g:g}" for g in grams), earlier_g=earlier)


def _too_much_oil(job: Job, oil_g: float) -> list[Fault]:
    """As the job file's check of it."""
    throws_g = [
        sum(reading.mean_g for n in job.layout.cylinders_on(throw) for reading in job.parts[n].values())
        for throw in job.layout.throws
    ]
    most_g = plausible_masses.MOST_OIL * max(throws_g)
    if oil_g <= max(most_g, *job.oil_g):
        return []
    told_in = job.told_in()
    most, parts = (told_in.about(one) for one in (most_g, max(throws_g)))
    return [Fault("--oil", str(told_in.weighed(oil_g)), f"0 to {most}, on parts of {parts} a throw")]
