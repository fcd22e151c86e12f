"""What must be looked at again before metal comes off, what to do about it, and a reading confirmed.

No metal comes off after a reading that looks like a slip, and none in plenty after a reading that was taken once.
"""

from __future__ import annotations

import shlex
import string
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, NamedTuple

from truethrow.balance.base.errors import BadInput, Fault, shown, who_and_why
from truethrow.balance.base.parts import BY_NAME, UNITS, label, way_of
from truethrow.balance.base.readings import Reading, is_weighed_twice
from truethrow.balance.job.job import Job, own_readings
from truethrow.balance.log.place import Place, must_have_a_log, open_log, source_of
from truethrow.balance.log.records import Confirmed, Cut, Struck, Traded, Weighed
from truethrow.balance.result.big_cuts import BIG_CUT

if TYPE_CHECKING:
    from truethrow.balance.result.slips import Slip
    from truethrow.balance.result.work import Result

# Of a part's name, what no shell takes for anything else.
_PLAIN = frozenset(string.ascii_letters + string.digits + " -_.")


def part_of(kinds: Sequence[str]) -> str:
    """The part that some kinds of reading are of: the kind itself, rod for what is of both its ends."""
    return kinds[0] if len(kinds) == 1 else "rod"


def typed(job: Job, kinds: Sequence[str], cylinder: int | None) -> str:
    """A part as it is named to a command: piston 3, rod R11, rings all."""
    kind = part_of(kinds)
    name = job.names.typed(kind, cylinder) if cylinder else f"{label(kind)} all"
    return name if set(name) <= _PLAIN else shlex.quote(name)


def said(job: Job, kinds: Sequence[str], cylinder: int | None) -> str:
    """A part as a person is told of it."""
    kind = part_of(kinds)
    return job.names.said(kind, cylinder) if cylinder else f"the {label(kind)} of every cylinder"


def listed(job: Job, places: Sequence[tuple[int, str]]) -> str:
    """Parts as a person is told of them, each once."""
    return ", ".join(dict.fromkeys(said(job, (kind,), at) for at, kind in places))


def named(job: Job, slips: Sequence[Slip]) -> list[str]:
    """What looks like a slip, each part once."""
    return list(dict.fromkeys(said_of(job, slip) if slip.kinds else "mass to hang" for slip in slips))


def said_of(job: Job, slip: Slip) -> str:
    """The part that a slip is about, or the parts of the heap that is in doubt."""
    if not slip.heaps:
        return said(job, slip.kinds, slip.cylinder)
    in_doubt = [heap[0] for heap in slip.heaps] if slip.is_a_pair else slip.heaps[0]
    return ", ".join(said(job, slip.kinds, number) for number in sorted(in_doubt))


def parts_in_doubt(result: Result) -> list[str]:
    """The parts to look at again before anything is ground, each once."""
    again = named(result.job, result.doubts)
    more = (said(result.job, (kind,), at) for at, kind in (*result.unsure, *result.once_more))
    return list(dict.fromkeys([*again, *more]))


def faults(result: Result) -> list[Fault]:
    """Why nothing may be ground, part by part, with the way out."""
    found = slipped(result, "nothing is to be ground")
    if result.once_more or result.unsure:
        found.append(Fault("", second_weighing(result)))
    return [*found, *([Fault("", entering(result.job))] if found and result.job.sheet else [])]


def _listed(grams: Iterable[float], job: Job) -> str:
    """Several readings, in the unit of the job's scale."""
    told_in = job.told_in()
    return f"{', '.join(told_in.weighed(one).digits for one in grams)} {told_in.scale}"


def slipped(result: Result, so: str) -> list[Fault]:
    """Each reading that looks like a slip, with the way out. so: what is not to be done before it is settled."""
    return [
        Fault(
            said_of(result.job, slip),
            f"{_listed(slip.found_g, result.job)} looks like a slip "
            f"({slip.check}, {result.job.told_in().weighed(slip.apart_g)}), "
            f"so {so}; {way_out(result.job, slip)}",
        )
        for slip in result.doubts
    ]


def second_weighing(result: Result) -> str:
    """What to do before a big cut, or before one for the ± alone, in one sentence."""
    if result.unsure:
        return surer_first(result)
    job, (places, right) = result.job, once_more(result)
    again = f"weigh once more {listed(job, places)}: {weighing(job, places)}"
    return (
        f"weighed once, and more than {BIG_CUT:.0%} of a part would come off: that takes two readings that agree "
        f"(common practice, no source); {again}; or, if the reading is right, {confirming(job, right)}"
    )


def surer_first(result: Result) -> str:
    """What to do before metal is cut for the ± alone, in one sentence."""
    parts = listed(result.job, result.unsure)
    return (
        "the ± is more than a quarter of a limit, or only assumed, and metal would be cut for the ± alone; "
        f"weigh a second time first {parts}: {weighing(result.job, result.unsure)}"
    )


def settling(job: Job, places: Sequence[tuple[int, str]]) -> str:
    """What would settle what is too close to call, in a clause. places: which parts, weighed a second time."""
    who = listed(job, places)
    return f"a second weighing of {who} would settle what is too close to call: {weighing(job, places)}"


class WayOut(NamedTuple):
    """What may be done about readings in doubt. again: what to weigh once more, by cylinder and kind; right: the
    parts that may be confirmed instead, by cylinder, 0 for what is read of all, and what is read of them."""

    again: tuple[tuple[int, str], ...] = ()
    right: tuple[tuple[int, tuple[str, ...]], ...] = ()


def ways_out(slip: Slip) -> WayOut:
    """What may be done about a reading that looks like a slip; where nothing may, the job is to be mended."""
    if slip.is_a_pair:
        both = sorted(heap[0] for heap in slip.heaps)
        again = tuple((number, kind) for number in both for kind in slip.kinds)
        return WayOut(again, ((both[0], tuple(slip.kinds)),))
    if slip.heaps:
        return WayOut(right=tuple((number, tuple(slip.kinds)) for number in slip.heaps[0]))
    if slip.check == "repeats":
        return WayOut(((slip.cylinder, slip.kind),) if slip.cylinder else ())
    again = tuple((slip.cylinder, kind) for kind in slip.kinds) if slip.cylinder else ()
    return WayOut(again, ((slip.cylinder or 0, tuple(slip.kinds)),))


def once_more(result: Result) -> WayOut:
    """What may be done before a big cut, or before one for the ± alone."""
    if result.unsure:
        return WayOut(tuple(result.unsure))
    places = tuple(result.once_more)
    return WayOut(places, tuple((number, (kind,)) for number, kind in places))


def way_out(job: Job, slip: Slip) -> str:
    """What to do about a reading that looks like a slip, as commands."""
    again, right = ways_out(slip)
    if slip.check == "repeats" and slip.cylinder:
        return f"{_mending(job, slip.cylinder, slip.kind)}; or, {_declaring(slip.kind)}"
    if slip.is_a_pair:
        return f"weigh both once more: {weighing(job, again)}; or, if they are right, {confirming(job, right)}"
    if slip.heaps:
        return f"look whether they are all of one set; if they belong together, {confirming(job, right)}"
    weigh = f"weigh it once more: {weighing(job, again)}" if again else "mend it in the job's [every_cylinder]"
    if slip.check == "repeats":
        return f"{weigh}; or, {_declaring(slip.kind)}"
    return f"{weigh}; or, if it is right, {confirming(job, right)}"


def look_first(result: Result) -> str:
    """The first reading to look at again, with the way out."""
    slip = result.doubts[0]
    return f"look again at {said_of(result.job, slip)}: {way_out(result.job, slip)}"


def weighing(job: Job, places: Sequence[tuple[int, str]]) -> str:
    """How the bench is asked for a part out of its turn, weighed or not."""
    asked = [f"go {job.names.typed(kind, at)}" for at, kind in places if BY_NAME[kind].motion != "check"]
    return f"truethrow weigh {job.name}, then type {', '.join(asked)}"


def confirming(job: Job, parts: Sequence[tuple[int, Sequence[str]]]) -> str:
    """The commands that confirm some parts."""
    named_parts = (typed(job, kinds, at) for at, kinds in parts)
    return "; ".join(f'truethrow confirm {job.name} {name} --why "..." --by INITIALS' for name in named_parts)


def entering(job: Job) -> str:
    """What has to be done first where the readings come from a weigh sheet; empty where they do not."""
    if not job.sheet:
        return ""
    return f"what a weigh sheet says can be confirmed once it is entered: truethrow enter {job.name} {job.sheet}"


def _declaring(kind: str) -> str:
    """What to do where readings disagree only because the scale scatters."""
    name = "repeatability" if way_of(kind) == "pan" else "rod_end_repeatability"
    return f"if the scale scatters so, say it in the job: {name} in [scale]"


def _mending(job: Job, cylinder: int, kind: str) -> str:
    """What to do where readings of one part disagree: only those of the log can be canceled."""
    asked = weighing(job, [(cylinder, kind)])
    if (cylinder, kind) in job.in_log:
        return f"weigh it once more: {asked}, then cancel the one that is wrong: {_striking(job)}"
    if job.sheet:
        return "mend the one that is wrong in the weigh sheet"
    bench = "" if BY_NAME[kind].motion == "check" else f", or weigh it twice at the bench: {asked}"
    return f"mend the one that is wrong in the job file{bench}"


def _striking(job: Job) -> str:
    return f'truethrow strike {job.name} ID --why "..." (truethrow history {job.name} has its ID)'


def confirm(place: Place, part: str, name: str, why: str, by: str) -> tuple[Confirmed, ...]:
    """Write into the log that a part weighs what it reads; what was written, nothing where that already exists.

    part: a kind of part, or rod for all that is read of one; name: its mark, its cylinder, or all for a reading
    that stands for all. Raises BadInput where there is no such reading, without initials and a word of why, and
    for readings of the part that disagree; NotSaved where a record is not on the disk."""
    must_have_a_log(place)
    why = why.strip()
    if wrong := who_and_why(by, why, "who looked at it again", "a word of why it is right"):
        raise BadInput(wrong)
    log = open_log(place, by=by)
    seen = len(log.records)
    job = own_readings(place)
    readings = _readings_of(job, part, name, source_of(place))

    def refuse() -> None:
        if any(isinstance(record, Weighed | Cut | Traded | Struck) for record in log.records[seen:]):
            look = f"look again: truethrow check {job.name}"
            raise BadInput([Fault("", "the log has changed meanwhile", remedy=look)], source_of(place))

    made: list[Confirmed] = []
    for one in (reading for reading in readings if reading.settled != "confirmed"):
        batch = made[0].id if made else ""
        own = Confirmed(one.cylinder or 0, one.kind, one.mean_g, ", ".join(one.typed), batch, why=why)
        made.append(log.append(own, unless=refuse))
    return tuple(made)


def _readings_of(job: Job, part: str, name: str, source: str) -> list[Reading]:
    """The readings that are meant. Raises BadInput for none, and for those that disagree."""
    kinds = UNITS.get(part, (part,) if part in BY_NAME else ())
    if not kinds:
        known = ", ".join(label(one) for one in dict.fromkeys((*UNITS, *BY_NAME)))
        raise BadInput([Fault("PART", f"{shown(label(part))!r} is no part", known)], source)
    faults: list[Fault] = []
    meant = None if name == "all" else job.names.meant(part, name, faults, "PART")
    if faults:
        raise BadInput(faults, source)
    cylinder = meant.cylinder if meant else 0
    own = job.parts[cylinder] if cylinder else next(iter(job.parts.values()))
    found = [own[kind] for kind in kinds if kind in own and (own[kind].cylinder or 0) == cylinder]
    if not found:
        for_all = any(kind in own for kind in kinds)
        other = "is one reading for all cylinders" if cylinder else "was weighed cylinder by cylinder"
        way = (
            f'run: truethrow confirm {job.name} {label(part)} {"all" if cylinder else 1} --why "..." --by INITIALS'
        )
        told, remedy = (other, way) if for_all else ("has no reading", "")
        raise BadInput([Fault(said(job, (part,), cylinder), told, remedy=remedy)], source)
    for reading in found:
        if len(reading.repeats_g) > 1 and not is_weighed_twice(reading._replace(settled=""), job.scale):
            told = f"its readings disagree ({_listed(reading.repeats_g, job)}), and their mean is no part's mass"
            mend = _mending(job, cylinder, reading.kind) if cylinder else "mend it in the job's [every_cylinder]"
            remedy = f"{mend}; or, {_declaring(reading.kind)}"
            faults.append(Fault(said(job, (reading.kind,), cylinder), told, remedy=remedy))
    if faults:
        raise BadInput(faults, source)
    return found
