"""What the station's page shows of a job by now: the same as the commands say, made of the same sentences."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from truethrow.balance.base.errors import TruethrowError
from truethrow.balance.log.log import when
from truethrow.balance.log.place import open_log, text_of
from truethrow.balance.station import balancing, may_go, what_now
from truethrow.balance.station.at_hand import at_hand
from truethrow.balance.station.balancing import Balancing
from truethrow.balance.station.next_steps import next_commands, next_steps
from truethrow.balance.station.reasons import broken
from truethrow.balance.station.spin import plain
from truethrow.cli.floor import station_shown as shown
from truethrow.cli.floor import station_ways
from truethrow.cli.floor.bench_state import head_of
from truethrow.cli.floor.by_hand import lines_of, to_do
from truethrow.cli.profiles import found_or_refused
from truethrow.worksheets.pages.floor.station_state import HoleNow, OnCrank, Stage, StationState
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import cautions as told
from truethrow.worksheets.words import result_words, station_words
from truethrow.worksheets.words import station_screen_words as words

if TYPE_CHECKING:
    from truethrow.balance.base.files import KeptText
    from truethrow.balance.log.place import Snapshot


class Look(NamedTuple):
    """A job at its station, looked at once. profile: as it was read; state: where it stands, by the profile as it
    is; head: the number of the log's last record; stamp: names the log, the job's text and the profile."""

    place: Snapshot
    profile: KeptText
    state: Balancing
    head: int
    stamp: str

    @property
    def display(self) -> Display:
        return Display.of(self.state.job).with_drills(self.state.profile.tools)


def look(place: Snapshot) -> Look:
    """Raises BadInput as the station's commands do."""
    from truethrow.balance.base import files  # noqa: PLC0415

    found, _ = found_or_refused(place)
    profile = files.KeptText(str(found), files.read_text(found))
    state = balancing.load(place, profile)
    log = open_log(place)
    seen = f"{text_of(place)}\0{files.read_text(profile)}\0{log.head}"
    return Look(place, profile, state, head_of(log), hashlib.sha256(seen.encode()).hexdigest()[:12])


def profile_text(place: Snapshot) -> str:
    """The station's profile as it is now; why there is none, where that is so."""
    from truethrow.balance.base import files  # noqa: PLC0415

    try:
        found, _ = found_or_refused(place)
        return files.read_text(found)
    except TruethrowError as error:
        return str(error)


def state_of(place: Snapshot, name: str) -> tuple[StationState, Look | None]:
    """The page of a job, without the plates to stack; and the look that it was made from, None where the job
    cannot be read. name: of it in addresses. What the commands would refuse is told on the page."""
    try:
        found = look(place)
        return _of(found, name), found
    except TruethrowError as error:
        waiting = _still_to_weigh(place)
        lines = (waiting,) if waiting else tuple(map(station_ways.here, lines_of(error)))
        stamp = hashlib.sha256("\0".join(lines).encode()).hexdigest()[:12]
        step = words.WEIGH_FIRST if waiting else words.STEP["stop"]
        return StationState(
            name, "", 0, stamp, "stop", words.DO["stop"], step, stops=lines, waits_for_bench=bool(waiting)
        ), None


def _still_to_weigh(place: Snapshot) -> str:
    """How many parts, where that is what the station waits for; empty where it is something else."""
    from truethrow.worksheets.cards.known import load  # noqa: PLC0415

    try:
        known = load(place)
    except TruethrowError:
        return ""
    return known.still_to_weigh if known.open else ""


def _of(found: Look, name: str) -> StationState:
    state = may_go.as_it_counts(found.state)
    show, last = found.display, state.last
    now, own = what_now.of_state(found.place, state), tuple(next_steps(state))
    first = () if now.steps == own else now.steps
    stage: Stage = "look" if first and not may_go.holds(state) else at_hand(state)
    hole = shown.hole_now(state, show) if stage == "hole" else None
    do_now, step = _do_now(state, stage, hole)
    instrument, cancelings = state.instrument, station_ways.cancelings(found.place, show)
    canceled = frozenset(one.id for one in cancelings)
    ways = station_ways.ways(_ways(state), canceled)
    in_crank, in_crank_at = station_ways.in_crank(state, show)
    made = StationState(
        job=name,
        title=state.job.title,
        name=state.job.id,
        head=found.head,
        stamp=found.stamp,
        stage=stage,
        do_now=do_now,
        step=step,
        first=tuple(station_ways.here(to_do(one, at_desk=True)) for one in first),
        ways=ways if not first and (stage == "look" or (stage in ("spin", "prove") and len(ways) > 1)) else (),
        stops=_stops(state),
        minds=_minds(state, show),
        cautions=_cautions(state),
        unit="" if instrument.reads_divisions else plain(instrument.unit),
        unit_note=shown.unit_note(state),
        units=shown.units_shown(state),
        throws=shown.throws(state, show),
        over=shown.over(state),
        asked=state.profile.over.asked if state.profile.over else "",
        on=tuple(OnCrank(one, bool(last) and one in last.record.members) for one in state.members.names)
        if last and state.members.must_be_told
        else tuple(OnCrank(one, True) for one in state.members.names if state.members.must_be_told),
        mass_unit=show.mass_unit,
        length_unit=show.length_unit,
        test=shown.tested(state, show),
        hole=hole,
        holes=tuple(shown.hole_row(state, one, show) for one in station_words.operations(state)),
        plan=state.plan_name if state.plan and last else "",
        waits=station_words.OTHER_DEPTH if station_words.waits(state) else "",
        hung=bool(last and state.unweighed and not may_go.holds(state)),
        unbalance_unit=show.unbalance_unit,
        against=tuple(result_words.sentence(one.said(show.told_in)) for one in may_go.not_signable(state))
        if stage != "signed"
        else (),
        history=shown.history(state, show),
        cancelings=cancelings,
        did=station_ways.did_form(state, show),
        in_crank=in_crank,
        in_crank_at=in_crank_at,
        beyond=station_ways.beyond(state),
        was_signed=station_ways.here(station_words.signed_before(state, show.told_in)),
    )
    if stage not in ("bobweights", "hole", "signed"):
        made = replace(made, masses=shown.masses(state, show))
    if last is not None:
        said, rows = shown.planes(state, show)
        drawn, changed = shown.drawings(state, show), shown.changed(state)
        made = replace(made, said=said, planes=rows, drawings=drawn, changed=changed)
    if stage == "signed" and state.signed:
        signed = words.SIGNED.format(by=state.signed.by, at=when(state.signed.at))
        made = replace(made, signed=signed, signature=words.SIGNATURE.format(id=state.signed.id))
    return made


def _do_now(state: Balancing, stage: Stage, hole: HoleNow | None) -> tuple[str, str]:
    if stage == "spin":
        return words.DO[stage], words.STEP[stage].format(number=len(state.spins) + 1)
    if stage == "hole" and hole is not None:
        kind = next(one.hole.kind for one in station_words.operations(state) if one.number == hole.number)
        do, step = {
            "slug": (words.SLUG_DO, words.SLUG_STEP),
            "grind": (words.GRIND_DO, words.GRIND_STEP),
        }.get(kind, (words.DO[stage], words.STEP[stage]))
        return do, step.format(number=hole.number, count=hole.count)
    if stage == "signed" and state.signed:
        return words.DO[stage], words.STEP[stage].format(by=state.signed.by)
    return words.DO[stage], words.STEP[stage]


# What stops, what is to be minded


def _stops(state: Balancing) -> tuple[str, ...]:
    if may_go.holds(state):
        return ()
    told_in = state.told_in
    reasons = [*may_go.withheld(state), *([state.halted] if state.halted else [])]
    found = [result_words.sentence(one.said(told_in)) for one in reasons]
    found += [result_words.sentence(broken(*one, told_in)) for one in state.beyond_limits]
    return tuple(dict.fromkeys(found))


def _ways(state: Balancing) -> tuple[str, ...]:
    """What to do about what only a person can tell, a way each."""
    if not (reasons := may_go.withheld(state)):
        return tuple(next_steps(state))
    return tuple(str(step) for step in next_commands(state, reasons[0]))


def _minds(state: Balancing, show: Display) -> tuple[str, ...]:
    if may_go.holds(state):
        kept = (station_words.signed_by_its_day(state, show.told_in), station_words.if_it_was_wrong(state))
        return tuple(filter(None, kept))
    found = [station_words.for_these_parts(state)]
    found += station_words.of_the_proof(state, show.told_in)
    if state.last is not None:
        found.append(station_words.read_before(state, state.last, show.told_in))
        found += station_words.never_inside(state, show)
        if not state.is_edited and state.in_engine is not None:
            found += station_words.minds_of_the_bobweights(state, show)
        if state.plan is not None and not may_go.withheld(state):
            found += [
                station_words.stage_of(state, show),
                *(station_words.stays(one, show) for one in state.plan.stays),
            ]
            found += [station_words.misfit(one, show) for one in state.plan.misfits]
            found += station_words.pulls(state.plan, show)
            found.append(station_words.OTHER_DEPTH if station_words.waits(state) else "")
            found.append(station_words.unweighed_slugs(state))
    if not state.job.has_parts:
        found.append(result_words.PARTS_NOT_SEEN)
    stopped = _stops(state)
    sentences = (result_words.sentence(one) for one in found if one)
    return tuple(one for one in dict.fromkeys(sentences) if one not in stopped)


def _cautions(state: Balancing) -> dict[str, tuple[str, ...]]:
    hangs = any(one.hung_g for one in state.worked.bobweights.throws)
    spin = told.SPIN_CAUTION if hangs else told.BARE_CAUTION
    waiting = state.to_do if state.plan and not may_go.withheld(state) else ()
    drill = [told.DRILL_CAUTION]
    drill += [told.SLUG_CAUTION] if any(one.kind == "slug" for one in waiting) else []
    external = {one.name for one in state.job.crank.externals} if state.job.crank else set()
    drill += [told.MEMBER_CAUTION] if any(one.member in external for one in waiting) else []
    drill += [told.LIMIT_CAUTION] if state.beyond_limits else []
    return {
        "bobweights": (told.STACK_CAUTION,),
        "spin": (spin,),
        "prove": (told.MASS_CAUTION,),
        "hole": tuple(drill),
        "sign": (told.SIGN_CAUTION,),
        "signed": (told.SIGN_CAUTION,),
        "look": (told.LIMIT_CAUTION,) if state.beyond_limits else (),
    }
