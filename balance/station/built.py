"""The bobweights as they were really built: weighed, clamp and all.

A weighed bobweight hung at every spin after it was written down, until that throw's is weighed anew or another
mass is asked for; at the spin that went before only if somebody says that it hung there. Where none was weighed,
the mass that was asked for counts, and with it what a stack may be off by and its pieces may be wrong by.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import NamedTuple

from truethrow.balance.base.amounts import Amount
from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.base.readings import COVERAGE_FACTOR, Certainty, Mass, Reading, combine, tidy
from truethrow.balance.job.job import own_readings
from truethrow.balance.log.place import Place, must_have_a_log, open_log, source_of, to_paste
from truethrow.balance.log.records import Built, Record, Spun, struck_ids
from truethrow.balance.result.bobweight import ThrowMass
from truethrow.balance.result.work import Result, work

# A bobweight is weighed on the pan, whatever hangs from it.
KIND = "bobweight"
# Two halves of a clamp and seven pieces on each. Common practice, no source.
PIECES = 16
# What is off by more than this part of what is asked for is a slip of the pen sooner than a bobweight: it is asked
# back. Beyond the larger it is no bobweight of this throw at all. Common practice, no source.
ASKED_BACK = 0.01
REFUSED = 0.1
# The same where no part was seen, and what was built is the only witness of the number on a tag: two figures of it
# that changed places (1864 for 1846) are more. Common practice, no source.
OFF_THE_TAG = 0.002
SAME_G = 1e-6


class Hung(NamedTuple):
    """What hung on one throw at a spin. deviation: what the throw truly carries less that; expanded_g: the ± of
    what hung; record: of its weighing, None without one."""

    throw: ThrowMass
    deviation: Mass
    expanded_g: float
    record: Built | None

    @property
    def nominal_g(self) -> float:
        """The ± of what hung where nobody weighed it; 0 where somebody did, and its deviation has it."""
        return 0.0 if self.record else self.expanded_g


def hung(result: Result, weighed: Mapping[str, Built], step_g: float | None) -> tuple[Hung, ...]:
    """What hung on each throw. weighed: throw → what was weighed of it; step_g: how near a stack comes, None for
    the scale's step."""
    sure = result.certainty
    unsure_g = nominal_expanded_g(step_g or result.job.scale.resolution_g, sure)
    return tuple(
        _hung(number, throw, weighed.get(throw.throw.name), unsure_g, sure)
        for number, throw in enumerate(result.bobweights.throws, start=1)
    )


def _hung(number: int, throw: ThrowMass, record: Built | None, unsure_g: float, sure: Certainty) -> Hung:
    if record is None or not is_of(record, throw):
        return Hung(throw, throw.deviation, unsure_g if throw.hung_g else 0.0, None)
    # Its number keeps two that weigh the same from being one reading.
    own = Mass.read(Reading(number, KIND, (record.grams,), (record.typed,)))
    return Hung(throw, combine([(1.0, throw.bobweight), (-1.0, own)]), sure.expanded_g(own), record)


def is_of(record: Built, throw: ThrowMass) -> bool:
    """Whether a bobweight was built for what its throw is asked for now."""
    return abs(record.asked_g - throw.hung_g) < SAME_G


def nominal_expanded_g(step_g: float, sure: Certainty) -> float:
    """How far a bobweight that nobody weighed may be off what was asked for, expanded, k = 2. [g]

    step_g: how near a stack comes: a rectangle, step/√3 (JCGM 100:2008, 4.3.7). With it the masses of the pieces,
    each weighed once on a scale such as the job's, as many as PIECES, in quadrature. A wrong plate is in
    neither."""
    each_g = math.hypot(sure.rounding_g, sure.pan.standard_g)
    return COVERAGE_FACTOR * math.hypot(step_g / math.sqrt(3), math.sqrt(PIECES) * each_g)


def at_last_spin(
    events: Sequence[object], records: Iterable[Record]
) -> tuple[dict[str, Built], tuple[Built, ...]]:
    """What hung at the last spin, by throw; and what was weighed since. events: in their order, each bobweight
    that was weighed late before the spin that it hung at (stationlog.events); records: as they were written."""
    overtaken = _overtaken(events, records)
    now: dict[str, Built] = {}
    then, since = dict(now), dict(now)
    for event in events:
        if isinstance(event, Built) and event.id in overtaken:
            continue
        if isinstance(event, Built):
            now[event.throw] = since[event.throw] = event
        elif isinstance(spun := getattr(event, "record", None), Spun) and not spun.turned:
            then, since = dict(now), {}
    return then, tuple(since.values())


def _overtaken(events: Sequence[object], records: Iterable[Record]) -> frozenset[str]:
    """The ids of weighings that were said again, later, to have hung at an earlier spin: the last one counts."""
    written = {one.id: at for at, one in enumerate(records)}
    found, late = set(), dict[str, int]()
    for event in events:
        if isinstance(event, Built):
            if event.before:
                late[event.throw] = written[event.id]
            elif written[event.id] < late.get(event.throw, -1):
                found.add(event.id)
    return frozenset(found)


def newest(records: Sequence[Record]) -> dict[str, Built]:
    """The last weighing of each throw's bobweight, by throw."""
    struck = struck_ids(records)
    return {one.throw: one for one in records if isinstance(one, Built) and one.id not in struck}


class Off(NamedTuple):
    """A bobweight that is not what was asked for, by more than a stack may be."""

    throw: str
    grams: float
    asked_g: float

    @property
    def off_g(self) -> float:
        return tidy(self.grams - self.asked_g)


def off_by_more(result: Result, weighed: Mapping[str, Built], step_g: float) -> list[Off]:
    """The weighed bobweights that are off by more than a step of the stack."""
    asked_g = {throw.throw.name: throw.hung_g for throw in result.bobweights.throws}
    found = (Off(name, one.grams, asked_g.get(name, one.grams)) for name, one in weighed.items())
    return [one for one in found if abs(one.off_g) > step_g + SAME_G]


class AskedBack(BadInput):
    """What may be so all the same: whoever looked again says that it is (sure)."""


def weighed(
    place: Place,
    grams: Mapping[str, tuple[float, str]],
    step_g: float | None,
    station: str,
    *,
    hung_there: bool = False,
    sure: bool = False,
    by: str = "",
    key: str | None = None,
) -> list[Built]:
    """Write down what bobweights weigh. grams: throw → mass and as it was typed; step_g: of the stack, None for
    the scale's; station: the profile, as commands are told it; hung_there: they hung like this at the last spin;
    sure: whoever types it looked again; key: the id of the record, of one alone.

    Raises BadInput for a throw that there is not, or on which nothing hangs; for what is no bobweight of it; and
    where they hung at a spin that there is not; AskedBack for a slip of the pen and for another throw's, unless
    sure."""
    must_have_a_log(place)
    result = work(own_readings(place, given=True))
    throws = {throw.throw.name: throw for throw in result.bobweights.throws}
    log = open_log(place, by=by)
    struck = struck_ids(log.records)
    spins = [one.id for one in log.records if isinstance(one, Spun) and not one.turned and one.id not in struck]
    said_before = newest(log.records)
    faults, asked, told = [], [], result.job.told_in().weighed
    if hung_there and not spins:
        faults.append(
            Fault("--hung", "there is no spin yet that they hung at", "without it: they hang from now on")
        )
    again = " ".join(f"{name}={typed}" for name, (_, typed) in grams.items())
    command = (
        f"truethrow stack {to_paste(place)} --station {station} --built {again}{' --hung' if hung_there else ''}"
    )
    for name, (mass_g, _) in grams.items():
        if name not in throws:
            faults.append(Fault(f"throw {shown(name)}", "is not in the layout", ", ".join(throws)))
        elif not throws[name].hung_g:
            faults.append(Fault(f"throw {name}", "nothing hangs on it: the crank is spun bare"))
        elif abs(mass_g - throws[name].hung_g) > REFUSED * throws[name].hung_g:
            allowed = f"{told(throws[name].hung_g)} asked for, clamp and all"
            faults.append(Fault(f"throw {name}", f"{told(mass_g)} is no bobweight of this throw", allowed))
        else:
            again_so = name in said_before and abs(said_before[name].grams - mass_g) < SAME_G
            near_g = step_g or result.job.scale.resolution_g
            if not (sure or again_so):
                by_tag = not result.job.has_parts
                asked += _asked_back(name, mass_g, throws, near_g, command, told, by_tag=by_tag)
    if faults or asked:
        raise (BadInput if faults else AskedBack)([*faults, *asked], source_of(place))
    before = spins[-1] if hung_there else ""
    made: list[Built] = []
    for name, (mass_g, typed) in grams.items():
        batch = made[0].id if made else ""
        record = Built(name, mass_g, throws[name].hung_g, typed, batch, before)
        made.append(log.append(record, id=None if made else key))
    return made


def _asked_back(
    name: str,
    mass_g: float,
    throws: Mapping[str, ThrowMass],
    step_g: float,
    command: str,
    told: Callable[[float], Amount],
    *,
    by_tag: bool,
) -> list[Fault]:
    """Why a mass is hardly this throw's bobweight. told: a mass with its unit; by_tag: what is asked for is a
    number on a tag alone."""
    asked_g = throws[name].hung_g
    off_g = abs(mass_g - asked_g)
    where, allowed = f"throw {name}", f"{told(asked_g)} asked for, clamp and all"
    others = [
        one for one, other in throws.items() if one != name and abs(mass_g - other.hung_g) <= step_g + SAME_G
    ]
    if off_g > step_g + SAME_G and others:
        wrong = f"{told(mass_g)} is what throw {' and '.join(others)} is asked for: typed for the wrong throw?"
        return [Fault(where, wrong, allowed, remedy=f"look again; if it is so: {command} --sure")]
    if off_g > (OFF_THE_TAG if by_tag else ASKED_BACK) * asked_g:
        slip = (
            "a slip of the pen, or is the tag misread (hang in [bobweight])?" if by_tag else "a slip of the pen?"
        )
        wrong = f"{told(mass_g)} is {told(off_g)} too {'heavy' if mass_g > asked_g else 'light'}: {slip}"
        return [Fault(where, wrong, allowed, remedy=f"look again; if it is so: {command} --sure")]
    return []
