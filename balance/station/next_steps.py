"""What comes next at the station, as commands ready to paste: first what to do about what keeps a plan or a
signature back, in the order in which that blocks; then the plan, the signature and the closed job."""

from __future__ import annotations

import shlex
from typing import TYPE_CHECKING, NamedTuple

from truethrow.balance.base.amounts import factor
from truethrow.balance.base.units import LENGTH
from truethrow.balance.crank.as_said import THROUGH_MM
from truethrow.balance.engine.lengths import listed
from truethrow.balance.result.doubts import look_first, weighing
from truethrow.balance.station import divisions, may_go, surprise
from truethrow.balance.station.balancing import Balancing
from truethrow.balance.station.built import is_of, newest
from truethrow.balance.station.divisions import NOTHING
from truethrow.balance.station.may_go import reasons, withheld
from truethrow.balance.station.mishaps import OF_THE_CRANK, Mishap
from truethrow.balance.station.pair import radius_for, sizes_in
from truethrow.balance.station.proof import TOO_SMALL, wrong
from truethrow.balance.station.reasons import Reason, Why
from truethrow.balance.station.stationlog import KnownMass
from truethrow.balance.station.testmass import FindingKind

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from truethrow.balance.correction import HolePlan
    from truethrow.balance.crank.holes import Hole


# What a test finds that may be set at the station itself, and what may be a slip of whoever hung or typed it.
OF_THE_STATION: tuple[FindingKind, ...] = ("planes", "separation", "aside", "crossed", "differ")
OF_THE_HAND: tuple[FindingKind, ...] = (
    *("planes", "exchanged", "aside", "crossed", "differ", "units"),
    *("sense", "zero", "either", "scale"),
)

# What has the profile changed.
MENDED: tuple[FindingKind, ...] = ("sense", "zero", "either")
MENDING = "mend [spin] in the profile as the test says, say so, spin without the masses, then"

HUNG_OTHERWISE = "or, if a mass, its radius, its angle or a reading was not as it was typed, cancel that test"

ANOTHER_LIMIT = "another limit agreed with the customer"


def next_steps(state: Balancing) -> list[str]:
    """What comes next: one command, or one for each case that only a person can tell."""
    if may_go.holds(state):
        return [close_it(state.called)]
    if state.beyond_limits or withheld(state):
        return ways_out(state)
    if state.last is None:
        return [_before_the_first_spin(state)]
    if state.since and (state.halted or not state.to_do):
        return [f"spin again: {command(state, 'spin', 'FRONT REAR')}"]
    if not state.to_do:
        return _nothing_to_do(state)
    by_the_sum = () if state.since else _by_the_sum(state)[1:]
    told = f"drill as planned ({command(state, 'holes')} shows each hole), and record it"
    return [f"{told}: {recording(state)}", *by_the_sum]


def _nothing_to_do(state: Balancing) -> list[str]:
    """What comes next where no hole is to be made."""
    if not may_go.is_inside(state):
        return ways_out(state) or [_by_hand(state)]
    mounting = to_mount(state)
    signing = f"sign it off: {command(state, 'sign', '--by INITIALS')}"
    return [signing, *([f"or mount the next one, and spin: {mounting}"] if mounting else [])]


def _before_the_first_spin(state: Balancing) -> str:
    """The bobweights weighed, where the shop builds them, then the spin."""
    if waiting := unbuilt(state):
        typed = " ".join(f"{name}=MASS" for name in waiting)
        build = command(state, "stack")
        return f"build the bobweights ({build}), and weigh them: {command(state, 'stack', f'--built {typed}')}"
    hangs = any(throw.hung_g for throw in state.worked.bobweights.throws)
    how = "hang the bobweights, and spin" if hangs else "spin it bare"
    return f"{how}: {command(state, 'spin', 'FRONT REAR')}"


def unbuilt(state: Balancing) -> list[str]:
    """The throws whose bobweight is still to be built and weighed, in a shop that has plates."""
    if not state.profile.inventory:
        return []
    weighed = newest(state.records)
    throws = [throw for throw in state.worked.bobweights.throws if throw.hung_g]
    waiting = [one for one in throws if not ((own := weighed.get(one.throw.name)) and is_of(own, one))]
    return [one.throw.name for one in waiting]


def _by_hand(state: Balancing) -> str:
    """What goes on where nothing plans the holes: a crank or tools that nobody told."""
    if not state.profile.source:
        return f"see what to do by the station's profile: {command(state, 'spins')}"
    if state.job.crank is None:
        again = command(state, "spin", "FRONT REAR")
        return f"fill in [crank] in {state.called}, and spin again, so that the holes are planned: {again}"
    return f"fill in [[drill]] in {state.profile.source}, and the holes are planned: {command(state, 'holes')}"


def close_it(job: str) -> str:
    """What comes after the signature. job: as to_paste has it."""
    return f'hand it over, and close the job: truethrow close {job} --by INITIALS --why "REASON"'


def to_mount(state: Balancing) -> str:
    """The spin with the next member on, once what is on is inside; empty where all are on, or it is not."""
    if state.last is None or not may_go.is_inside(state) or not (off := state.members.off(state.last)):
        return ""
    on = [name for name in state.members.names if name not in off]
    return command(state, "spin", f"FRONT REAR --on {on_text([*on, off[0]])}")


def must_be_named(state: Balancing) -> bool:
    """Whether the plan has to be named when it is recorded as done: it may be another than at the spin."""
    return state.has_changed and not state.since


def recording(state: Balancing) -> str:
    """The command that records the plan as done."""
    named = f" --plan {state.plan_name}" if must_be_named(state) else ""
    numbered = enumerate(state.plan.operations if state.plan else (), start=1)
    slugs = [number for number, one in numbered if one.kind == "slug" and state.done(one) is None]
    weighed = "".join(f" {number}=MASS{state.told_in.scale}" for number in slugs)
    return command(state, "holes", f"--done{weighed}{named}")


def ways_out(state: Balancing) -> list[str]:
    """What to do about what keeps a plan or a signature back, where it is not in the plan itself."""
    if reason := next(iter([*reasons(state, to_sign=True), *withheld(state)]), None):
        if reason.why == "doubted":
            return [look_first(state.worked)]
        return [str(step) for step in next_commands(state, reason)]
    if state.beyond_limits:
        return [str(step) for step in _beyond_limits(state)]
    if state.plan and not state.plan.operations:
        return [_would_help(state.plan)]
    return _by_the_sum(state)


def _by_the_sum(state: Balancing) -> list[str]:
    """What to do where spin and sum are not ruled alike."""
    if state.last is not None and state.not_placed and state.ruled == ("inside", "inside"):
        return [str(step) for step in next_commands(state, Reason("not placed", named=listed(state.not_placed)))]
    if state.last is None or state.in_engine is None or state.for_these_parts:
        return []
    ruled = {one.verdict for one in state.in_engine}
    if state.verdicts_of(state.last) == ("inside", "inside"):
        return [] if ruled == {"inside"} else _less_by_hanging(state, "too close to call" in ruled)
    if ruled != {"inside"}:
        return []
    return [command(state, "holes"), *([f"or {aim_at_the_sum(state)}"] if state.job.has_parts else [])]


def _would_help(plan: HolePlan) -> str:
    """The way out where no hole helps."""
    frees = dict.fromkeys(one for stays in plan.stays for one in stays.frees)
    return " or ".join(["what would help: " + ", ".join(frees) if frees else "another station", ANOTHER_LIMIT])


def _less_by_hanging(state: Balancing, is_close: bool) -> list[str]:
    """How the parts and what hangs come nearer to each other."""
    job, ways = state.called, []
    if is_close and (places := state.to_settle):
        ways.append(f"weigh these a second time, so that it is surer: {weighing(state.job, places)}; spin again")
    if state.unweighed:
        ways.append(f"weigh the bobweights that hung: {weigh_the_bobweights(state)}")
    if not state.job.has_parts:
        return [*_by_the_tag(state), *(f"or {way}" for way in ways)]
    if state.job.hang != "own":
        own = command(state, "stack")
        ways.append(f'hang on each throw its own: in {job} set [bobweight] hang = "own"; {own}; spin again')
    ways.append(f"trim closer: in {job} set a lower [limits] bobweight; truethrow trim {job}")
    ways.append(aim_at_the_sum(state))
    return [ways[0], *(f"or {way}" for way in ways[1:])]


def _by_the_tag(state: Balancing) -> list[str]:
    """The same of a job that has the number on a tag alone: its bobweights come nearer to that."""
    own = command(state, "stack")
    ways = [f"build the bobweights nearer to the given mass, weigh them, hang them and spin again: {own}"]
    if state.worked.certainty.pan.known == "assumed":
        return [f"tell how far loads scatter on the scale: repeatability in [scale] of {state.called}", *ways]
    return ways


def aim_at_the_sum(state: Balancing) -> str:
    """The way out by holes that are right for these parts alone."""
    said = command(state, "holes", '--aim sum --by INITIALS --why "REASON"')
    return f"let the holes aim at the sum, for these parts in these cylinders alone: {said}"


def weigh_the_bobweights(state: Balancing, *, hung: bool = True) -> str:
    """The command that takes what the built bobweights weigh. hung: at the last spin."""
    typed = " ".join(f"{name}=MASS" for name in state.unweighed)
    return command(state, "stack", f"--built {typed}{' --hung' if hung else ''}")


class Step(NamedTuple):
    """A command ready to paste; when: in which of two cases, empty where there is one."""

    command: str
    when: str = ""

    def __str__(self) -> str:
        return f"{self.when}: {self.command}" if self.when else self.command


def next_commands(state: Balancing, reason: Reason) -> list[Step]:
    """What to do about a reason: one command, or one for each case that only a person can tell."""
    if reason.why in _WAYS:
        return _WAYS[reason.why](state)
    if reason.why == "broken":
        return _beyond_limits(state)
    if reason.why == "not placed":
        first = f"fill in {reason.named} in [engine] of {state.called}, then spin again"
        return [Step(command(state, "spin", "FRONT REAR"), first)]
    if reason.why == "rebuilt":
        said = " ".join(f"{one.throw}={one.typed or one.grams}" for one in state.rebuilt)
        return [
            Step(command(state, "spin", "FRONT REAR"), "if it hangs from now on"),
            Step(command(state, "stack", f"--built {said} --hung"), "if it hung at the last spin"),
        ]
    if reason.why == "unanswered":
        number = reason.about[-1].number if reason.about else len(state.spins)
        return [*_as_it_looks(state, number), *_as_recorded(state, number)]
    hung_or_not = _hung_or_not(state) if reason.why == "implausible" else []
    return hung_or_not or [Step(_next_command(state, reason))]


def _hung_or_not(state: Balancing) -> list[Step]:
    """What to do where a bobweight looks missing; nothing where none does."""
    lacking = surprise.unhung(state)
    if not lacking:
        return []
    said = " ".join(f"{name}=MASS" for name in lacking[0].throws)
    return [
        Step(command(state, "spin", "FRONT REAR"), "if it is missing, hang it and spin again"),
        Step(command(state, "stack", f"--built {said} --hung"), "if it hung at the last spin, weigh it"),
    ]


def _as_it_looks(state: Balancing, number: int) -> list[Step]:
    """What to do first where a spin after holes looks like something that can be put right."""
    is_last = state.last is not None and state.last.number == number
    return _put_right(state, surprise.looks(state)) if is_last else []


def _put_right(state: Balancing, looks: Sequence[Mishap]) -> list[Step]:
    """What to do first where bobweights, known masses or members look otherwise than they should be."""
    if not any(one.kind in OF_THE_CRANK for one in looks):
        return []
    return [Step(command(state, "spin", "FRONT REAR"), "if something is as it looks, put it right and spin again")]


def _proved_before(state: Balancing) -> list[Step]:
    """What to do where the known masses were held against a spin that the last one does not agree with."""
    looks = surprise.looks_since(state, state.unlike) if state.unlike else ()
    first = [*_not_recorded(state), *_put_right(state, looks)]
    return [*first, Step(hang_masses(state), "if all is as it should be" if first else "")]


def _apart(state: Balancing) -> list[Step]:
    """What to do where a spin reads otherwise than the one before it, and nothing is recorded between."""
    first = _not_recorded(state)
    return [*first, Step(command(state, "spin", "FRONT REAR"), "if nothing was drilled" if first else "")]


def _not_recorded(state: Balancing) -> list[Step]:
    """The record of holes that look drilled by the plan and are in no record: spun again they would only be
    confirmed, and the crank signed, or drilled on, without them."""
    number, sets = surprise.not_recorded(state)
    return [_record_of(state, holes, number) for holes in sets]


def _record_of(state: Balancing, holes: Sequence[Hole], number: int) -> Step:
    """The record of holes that look drilled before the spin of a number."""
    said = " ".join(f"--did {shlex.quote(as_hand_says(state, one))}" for one in holes)
    which, each = ("this one was", "it") if len(holes) == 1 else (f"these {len(holes)} were", "each")
    when = f"look at the crank: if {which} drilled by the plan, record {each} as deep as it is"
    return Step(command(state, "holes", f"{said} --before {number}"), when)


def as_hand_says(state: Balancing, hole: Hole) -> str:
    """An operation in the words that --did takes."""
    unit = state.told_in.length

    def long(mm: float) -> str:
        return f"{round(mm / factor(unit, LENGTH), 4):g} {unit}"

    said = [hole.member, f"{hole.angle_deg:g} deg crank"]
    assert state.job.crank
    member = state.job.crank.member(hole.member)
    face = [f"from the {of_face}"] if (of_face := member.bored_from(hole)) else []
    if hole.kind == "grind":
        return ", ".join([*said, f"ground {hole.arc_deg:g} deg wide", f"{long(hole.depth_mm)} deep"])
    if hole.kind == "slug":
        slug = f"{long(hole.diameter_mm)} slug", f"{long(hole.depth_mm)} long", f"{long(hole.radius_mm)} radius"
        return ", ".join([*said, *slug, *face, f"MASS {state.told_in.scale}"])
    is_through = hole.kind == "axial" and hole.depth_mm > member.thickness_mm - THROUGH_MM
    said += [f"{long(hole.diameter_mm)} drill", "through" if is_through else f"{long(hole.depth_mm)} deep"]
    if hole.kind == "axial":
        said += ["along the crank", f"{long(hole.radius_mm)} radius"]
    return ", ".join([*said, *face])


def _cancel(state: Balancing, records: Sequence[str]) -> Step:
    """How records of holes that were not drilled are canceled."""
    struck = "; ".join(f"truethrow strike {state.called} {one}" for one in records)
    if len(records) == 1:
        return Step(struck, "if one is recorded that was not drilled, cancel it")
    return Step(struck, f"if these {len(records)} are recorded and were not drilled, cancel them")


def _as_recorded(state: Balancing, number: int) -> list[Step]:
    """What to do where a spin does not show the holes before it: a hole that is not recorded, or one that is and
    was not drilled; else known masses tell."""
    drilled = [one.id for spin in state.spins if spin.number == number for one in spin.drilled]
    is_last = state.last is not None and state.last.number == number
    looks = surprise.not_drilled(state) if is_last else ()
    return [
        *(_not_recorded(state) if is_last else []),
        Step(did_before(state, number), "if a hole was drilled that is not recorded"),
        *(_cancel(state, one) for one in looks or (drilled if len(drilled) == 1 else ["RECORD"],)),
        Step(hang_masses(state), "if all of it is recorded"),
    ]


def _disagreeing(state: Balancing) -> list[Step]:
    """What to do after a test that does not agree: hang what tells more; or say that the station was set for it,
    so that what was read before counts no more; or take a slip back."""
    found = state.tested[1] if state.tested else ()
    mended = any(one.kind in MENDED or one.unit or one.radius_mm for one in found)
    steps = [Step(hang_masses(state), MENDING if mended else "")]
    if any(one.kind in OF_THE_STATION or (one.kind == "scale" and one.calibrate) for one in found):
        steps.append(Step(changed_today(state), "or, once the station is set for it (cables, planes, gain)"))
    if state.last_test and any(one.kind in OF_THE_HAND for one in found):
        back = f"truethrow strike {state.called} {state.last_test.id}"
        steps.append(Step(back, HUNG_OTHERWISE))
    return steps


def changed_today(state: Balancing) -> str:
    """The command that says that the station itself was changed: a fresh spin is next."""
    return command(state, "profile", '--changed-today --by INITIALS --why "REASON"')


def how_to_mount(state: Balancing) -> list[Step]:
    """The two spins that tell what members bring, or that they sit where they should: without them, and with
    them."""
    assert state.last
    names = state.members.unknown(state.last) or state.members.unindexed
    on = [name for name in state.members.names if name in state.last.record.members and name not in names]
    both = [name for name in state.members.names if name in on or name in names]
    without, with_them = (command(state, "spin", f"FRONT REAR --on {on_text(one)}") for one in (on, both))
    return [Step(without, f"with {' and '.join(names)} off"), Step(with_them, "then with it on")]


def _put_on_again(state: Balancing) -> list[Step]:
    """The spin that shows what members bring that are off, and brought something else than the job says; or, where
    they sat as they should, the figures of the job are mended, which is no command."""
    assert state.last
    names = {name for found in state.members.contradicted for name in found.names}
    both = [name for name in state.members.names if name in names or name in state.last.record.members]
    on = command(state, "spin", f"FRONT REAR --on {on_text(both)}")
    return [Step(on, "with it on, where its keyway or dowel is declared")]


def on_text(names: Sequence[str]) -> str:
    """Names of members as --on takes them."""
    return shlex.quote(",".join(names)) if names else "none"


def _which_turned(state: Balancing) -> list[Step]:
    """How turned runs are proved, at the last spin, or taken back."""
    spin = state.untold
    is_last = spin is not None and state.last is not None and spin.id == state.last.id
    prove = f"{hang_the_pair(state)} --turned" if is_last else command(state, "spin", "FRONT REAR --turned")
    back = [f"truethrow strike {state.called} {one.id} --with-later" for one in (spin.turned if spin else ())]
    return [
        Step(prove, "if those angles were counted from throw 1, with the fixture still turned"),
        *(Step(one, "if they were counted from the fixture, cancel them") for one in reversed(back)),
    ]


def _turned_back(state: Balancing) -> list[Step]:
    """How a spin that was made with the fixture still turned is made good."""
    return [
        Step(command(state, "spin", "FRONT REAR"), "with the fixture turned back"),
        Step(command(state, "spin", "FRONT REAR --turned"), "or, if it was not turned, turn it and tell both"),
    ]


def what_the_edit_was(state: Balancing) -> list[Step]:
    """The two commands that say what an edit of the profile was."""
    since = state.last_read_first
    who = '--by INITIALS --why "REASON"'
    return [
        Step(
            command(state, "profile", f"--wrong-since {since} {who}"), f"if it had been wrong since spin {since}"
        ),
        Step(changed_today(state), "if the station was changed today"),
    ]


def which_crank(state: Balancing) -> list[Step]:
    """The ways out of a mark that was changed: the same crank, or the mark put back."""
    now, was = state.job.about.crank, state.other_cranks[0] if state.other_cranks else "MARK"
    same = f'truethrow crank {state.called} {shlex.quote(now or "MARK")} --by INITIALS --why "REASON"'
    return [
        Step(same, "if that mark is on the crank that was drilled"),
        Step(f'in {state.called}, [about] crank = "{was}"', "if it is not, put the mark back"),
    ]


def _as_it_is_now(state: Balancing) -> list[Step]:
    """How a crank goes on of which the job says otherwise than at the last spin: whatever the edit was, a spin
    tells. Taken back, the spin counts again, and what was drilled by its plan can still be recorded."""
    return [
        Step(command(state, "spin", "FRONT REAR"), "with the crank as it is now"),
        Step(
            f"in {state.called}, put [crank] back as it was",
            f"if that was a slip, or what was drilled after spin {len(state.spins)} is not recorded yet",
        ),
    ]


# Where only a person can tell which of several ways it is.
_WAYS: dict[Why, Callable[[Balancing], list[Step]]] = {
    "recut": _as_it_is_now,
    "edited": what_the_edit_was,
    "another crank": which_crank,
    "disagrees": _disagreeing,
    "no offset": how_to_mount,
    "unindexed": how_to_mount,
    "contradicted": _put_on_again,
    "mended off": _put_on_again,
    "turned": _which_turned,
    "still turned": _turned_back,
    "unlike": _proved_before,
    "apart": _apart,
}

SPIN_AGAIN: frozenset[Why] = frozenset(
    (
        *("damaged", "rehung", "mended", "changed", "moved", "apart", "lost", "thin", "unplanned", "wrong"),
        *("canceled", "looser", "unspun", "drilled"),
    )
)


A_MASS_TELLS: frozenset[Why] = frozenset(
    (
        *("unproved", "unanswered", "implausible"),
        *("trials", "rough trial", "not apart", "fourth run", "not foretold", "rough fourth"),
    )
)


def _next_command(state: Balancing, reason: Reason) -> str:
    if reason.why in A_MASS_TELLS and not (reason.why == "implausible" and state.is_proved):
        return hang_masses(state)
    if reason.why in SPIN_AGAIN or (reason.why == "implausible" and state.is_proved):
        return command(state, "spin", "FRONT REAR")
    match reason.why:
        case "doubted":
            return f"truethrow check {state.called}"
        case "average":
            return command(state, "spin", " ".join(["FRONT REAR"] * reason.number))
        case "not inside" | "not inside in engine":
            return command(state, "holes")
        case _:
            return command(state, "spins")


def _beyond_limits(state: Balancing) -> list[Step]:
    """The ways out of what breaks a limit: it is so, and somebody qualified lets it be; or it was said wrong."""
    struck = "; ".join(f"truethrow strike {state.called} {one.id}" for one, _ in state.beyond_limits)
    return [
        Step(look_at_it(state), "if it is so, once whoever is qualified has looked at it"),
        Step(struck, "if it was recorded wrong, cancel it, and record it as it is"),
    ]


def look_at_it(state: Balancing) -> str:
    """The command by which somebody qualified lets be what breaks a limit."""
    ids = " ".join(f"--looked-at {one.id}" for one, _ in state.beyond_limits)
    return command(state, "holes", f'{ids} --by INITIALS --why "REASON"')


def did_before(state: Balancing, number: int) -> str:
    """The command for what was in the crank at a spin already, and is not recorded."""
    members = state.job.crank.members if state.job.crank else ()
    name = members[0].name if members else "COUNTERWEIGHT"
    unit = state.told_in.length
    return command(
        state,
        "holes",
        f'--did "{name}, ANGLE deg station, DIAMETER {unit} drill, DEPTH {unit} deep" --before {number}',
    )


def as_did(typed: Sequence[str], before: int | None) -> str:
    """What was done as a hand said it, in the options of the command. before: the number of the spin that it was
    in the crank at, None for the last."""
    said = " ".join(f"--did {shlex.quote(one)}" for one in typed)
    return f"{said} --before {before}" if before else said


def by_its_metal(state: Balancing, before: int | None, typed: Sequence[str]) -> list[str]:
    """The ways to record a hole in metal that was edited in the job since the spin that it is told of: by what the
    job said then, or by today's, at a spin that was made since. before: the number of that spin, None for the
    last; typed: the hole as a hand said it."""
    number = before or len(state.spins)
    since = [spin.number for spin in state.spins[number:] if state.is_fresh(spin)]
    spin = "" if since else f"spin first ({command(state, 'spin', 'FRONT REAR')}), then "
    upto = since[0] if since else len(state.spins) + 1
    return [
        f"if it was made before the edit: in {state.called}, put [crank] back as it was at spin {number}, "
        f"record it ({command(state, 'holes', as_did(typed, before))}), and edit [crank] again",
        f"or {spin}record it as it is in the metal now, its depth measured anew: "
        f"{command(state, 'holes', as_did(typed, upto))}",
    ]


def recorded_late(state: Balancing) -> list[str]:
    """The command for holes that were drilled by the last spin's plan before the job changed; none where none
    can have been."""
    if not any(one.why == "rehung" for one in withheld(state)) or not state.to_do:
        return []
    return [command(state, "holes", f"--done --plan {state.plan_name}")]


def masses_to_hang(state: Balancing) -> tuple[KnownMass, ...]:
    """What to hang next: two known masses at once; one alone where two did not agree, until they do. On a station
    that reads divisions one on each plane, then both."""
    if state.reads_divisions:
        sizes = sizes_in(state.told_in)
        radius_mm = radius_for(state.instrument, state.job.engine.known_throw_radius_mm, sizes)
        found = state.calibration
        if found.fourth is not None and found.fourth.ended == "apart":
            found = NOTHING
        return divisions.next_masses(found, max(state.limits_gmm), radius_mm, sizes.masses_g)
    return next_pair(state) if is_pair_next(state) else (next_mass(state),)


def is_pair_next(state: Balancing) -> bool:
    """Whether two masses at once are to be hung next, and not one alone, to see what is wrong."""
    return state.tested is None or not any(kind not in TOO_SMALL for kind in wrong(state.tested[1]))


def next_pair(state: Balancing) -> tuple[KnownMass, KnownMass]:
    """The two known masses that prove the station in one spin, that on the front plane first."""
    last = None if state.is_edited else state.last
    radius_mm, sizes = state.job.engine.known_throw_radius_mm, sizes_in(state.told_in)
    return state.proof.next_pair(state.instrument, last, radius_mm, sizes)


def next_mass(state: Balancing) -> KnownMass:
    """The one to hang alone."""
    last = None if state.is_edited else state.last
    radius_mm, sizes = state.job.engine.known_throw_radius_mm, sizes_in(state.told_in)
    return state.proof.next_mass(state.instrument, last, radius_mm, sizes)


def hang_masses(state: Balancing) -> str:
    """The command of what to hang next."""
    if state.reads_divisions:
        masses = masses_to_hang(state)
        on = " ".join(_hung(state, one) for one in masses)
        return command(state, "spin", f"{on} --radius {_radius(state, masses[0])} FRONT REAR")
    return hang_the_pair(state) if is_pair_next(state) else hang_a_mass(state)


def hang_the_pair(state: Balancing) -> str:
    """The command of the two masses that prove the station in one spin."""
    front, rear = next_pair(state)
    on = " ".join(_hung(state, one) for one in (front, rear))
    return command(state, "test-mass", f"{on} --radius {_radius(state, front)} FRONT REAR")


def hang_a_mass(state: Balancing) -> str:
    """The command of the one mass to hang alone."""
    mass = next_mass(state)
    on = (
        f"--mass {_mass(state, mass)} --radius {_radius(state, mass)} --plane {mass.plane} --at {mass.angle_deg:g}"
    )
    return command(state, "test-mass", f"{on} FRONT REAR")


def _hung(state: Balancing, mass: KnownMass) -> str:
    """A known mass as an option of a command."""
    return f"--{mass.plane} {_mass(state, mass)}@{mass.angle_deg:g}"


def _mass(state: Balancing, mass: KnownMass) -> str:
    return str(state.told_in.weighed(mass.mass_g)).replace(" ", "")


def _radius(state: Balancing, mass: KnownMass) -> str:
    return str(state.told_in.set_at(mass.radius_mm)).replace(" ", "")


def command(state: Balancing, name: str, more: str = "") -> str:
    """A command of the station on this job."""
    is_plain = not any(option in more for option in ("--on", "--turned", "--radius"))
    if name == "spin" and state.members.must_be_told and is_plain:
        on = state.last.record.members if state.last else ()
        more = f"{more} --on {on_text(on)}"
    return command_of(state.called, shlex.quote(state.profile.source) if state.profile.source else "", name, more)


def command_of(job: str, station: str, name: str, more: str = "") -> str:
    """A command of the station. job, station: as a shell takes them; empty where the profile is not known: the
    command finds it then, or says which to name."""
    named = f" --station {station}" if station else ""
    return f"truethrow {name} {job}{named} {more}".rstrip()
