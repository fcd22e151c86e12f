"""The parts of the station's page: bobweights and plates, known masses, what was read, the holes."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from truethrow.balance.base.readings import tidy
from truethrow.balance.correction import apply
from truethrow.balance.log.log import when
from truethrow.balance.station.balancing import PLANES, Balancing
from truethrow.balance.station.built import is_of, newest
from truethrow.balance.station.next_steps import masses_to_hang
from truethrow.balance.station.spin import plain
from truethrow.balance.station.stack import stacks
from truethrow.worksheets.pages.floor.station_state import (
    UNITS,
    HoleNow,
    HoleRow,
    Mass,
    PlaneRow,
    PlateStack,
    Throw,
)
from truethrow.worksheets.shown.display import Display, angle
from truethrow.worksheets.words import division_words, result_words, station_words
from truethrow.worksheets.words import station_screen_words as words

if TYPE_CHECKING:
    from truethrow.balance.station.inengine import Vector
    from truethrow.balance.station.spin import Measured

# Bobweights


def throws(state: Balancing, show: Display) -> tuple[Throw, ...]:
    weighed = newest(state.records)
    found = []
    for one in state.worked.bobweights.throws:
        if not one.hung_g:
            continue
        record, asked = weighed.get(one.throw.name), str(show.as_given(one.hung_g))
        if record is None or not is_of(record, one):
            found.append(Throw(one.throw.name, asked))
            continue
        off_g = tidy(record.grams - one.hung_g)
        off = f"{show.mass(off_g)} {show.mass_unit}"
        found.append(Throw(one.throw.name, asked, str(show.as_given(record.grams)), off))
    return tuple(found)


def what_stacks(state: Balancing) -> object:
    """What the plates to stack depend on: another value, other plates."""
    hung_g = {one.throw.name: one.hung_g for one in state.worked.bobweights.throws}
    return hung_g, state.profile.inventory, state.profile.step_g, state.job.scale.resolution_g


def stacks_of(state: Balancing, show: Display) -> tuple[tuple[PlateStack, ...], str]:
    """How each bobweight is built out of the shop's plates; and what to mind of that. It takes a while."""
    if not any(one.hung_g for one in state.worked.bobweights.throws):
        return (), words.BARE
    if state.profile.inventory is None:
        return (), words.NO_PLATES
    inventory = state.profile.inventory_for(state.job.scale.resolution_g)
    best = stacks({one.throw.name: one.hung_g for one in state.worked.bobweights.throws}, inventory)
    made = []
    for one in best.stacks:
        title = f"{station_words.throws_of(one)}: {show.masses(one.target_g)}"
        if one.halves is None:
            made.append(PlateStack(title, (station_words.unmet(one, inventory, show),)))
            continue
        front, rear = map(station_words.half, one.halves)
        lines = (f"on one half: {front}", f"on the other: {rear}")
        made.append(PlateStack(title, (f"on each half: {front}",) if front == rear else lines))
    note = f"Clamp halves of {show.as_given(inventory.clamp_half_g)}."
    if best.lacking:
        note = f"{note} Not all at once: that takes {', '.join(station_words.lacking(best))}."
    return tuple(made), note


# Spins


def unit_note(state: Balancing) -> str:
    radius = state.instrument.radius_mm
    return "" if radius is None else words.AT_RADIUS.format(radius=state.told_in.set_at(radius))


def units_shown(state: Balancing) -> tuple[str, ...]:
    """What the display may be set to, for the hand to say which it is: it is never taken from the profile."""
    own = plain(state.instrument.unit)
    return () if state.instrument.reads_divisions else tuple(dict.fromkeys((*UNITS, own)))


def over(state: Balancing) -> tuple[str, ...]:
    """What is still to be looked over before the next spin."""
    asked, records = state.profile.over, [spin.record for spin in state.spins]
    if asked is None or not asked.is_due(records, datetime.now().astimezone().date()):
        return ()
    return asked.of


def masses(state: Balancing, show: Display) -> tuple[Mass, ...]:
    """The known masses to hang next."""
    if state.last is None or state.is_edited:
        return ()
    speed, instrument = station_words.speed_of(state), state.instrument
    found = []
    for one in masses_to_hang(state):
        own = "" if instrument.reads_divisions else angle(instrument.own_deg(one.angle_deg))
        found.append(
            Mass(
                one.plane,
                show.told_in.weighed(one.mass_g).digits,
                f"{one.angle_deg:g}",
                own,
                angle(one.angle_deg),
                str(show.told_in.set_at(one.radius_mm)),
                f"{show.force(one.pulls_n(speed))} at {speed:g} r/min" if speed else "",
            )
        )
    return tuple(found)


def tested(state: Balancing, show: Display) -> tuple[str, ...]:
    """What the last known masses said."""
    if proved := station_words.proved_by(state, show.told_in):
        return (f"{proved}.", *([f"{kept}."] if (kept := division_words.kept(state)) else []))
    if not state.tested:
        return ()
    trials, findings = state.tested
    lines = []
    for one in trials:
        read = one.front_gmm if one.plane == "front" else one.rear_gmm
        amounts = [
            f"{show.unbalance(abs(gmm), 10.0)} {show.unbalance_unit} at "
            f"{station_words.at(state.instrument, station_words.degrees(gmm), 0)}"
            for gmm in (one.expected_gmm, read)
        ]
        lines.append(f"{one.plane}: expected a change of {amounts[0]}; read {amounts[1]}.")
    return (*lines, *(result_words.sentence(station_words.finding(one, show.told_in)) for one in findings))


def planes(state: Balancing, show: Display) -> tuple[str, tuple[PlaneRow, ...]]:
    """What the last spin read and what turns in the engine, against the tolerance."""
    last = state.last
    assert last
    if not last.is_told:
        return division_words.in_divisions(last), ()
    is_fresh = state.is_fresh(last)
    if state.in_engine is None or state.is_edited:
        rows = [
            _row(state, show, plane, f"spin {last.number}", getattr(last, plane), limit, ruled if is_fresh else "")
            for plane, limit, ruled in zip(PLANES, state.limits_gmm, state.verdicts_of(last), strict=True)
        ]
        return "", tuple(rows)
    rows = []
    spin_by_plane = zip(state.in_engine, state.limits_gmm, state.verdicts_of(last), strict=True)
    for one, limit, ruled in spin_by_plane:
        rows.append(_row(state, show, one.plane, f"spin {last.number}", one.spin, limit, ruled))
        if state.members.off(last):
            rows.append(_row(state, show, one.plane, "members off", one.members))
        rows.append(_row(state, show, one.plane, "hanging", one.hanging))
        rows.append(_row(state, show, one.plane, "sum", one.whole, one.limit_gmm, one.verdict))
    return station_words.in_engine(state), tuple(rows)


def _row(
    state: Balancing,
    show: Display,
    plane: str,
    name: str,
    found: Measured | Vector,
    limit_gmm: float | None = None,
    ruled: str = "",
) -> PlaneRow:
    expanded, points = found.expanded_gmm, found.amount_gmm > found.expanded_gmm
    own = points and not state.instrument.reads_divisions
    return PlaneRow(
        plane,
        name,
        show.unbalance(found.amount_gmm, expanded),
        show.unbalance(expanded, expanded),
        angle(state.instrument.own_deg(found.angle_deg)) if own else "",
        angle(found.angle_deg) if points else "",
        "" if limit_gmm is None else show.limit(limit_gmm),
        ruled,
    )


def drawings(state: Balancing, show: Display) -> tuple[str, ...]:
    from truethrow.worksheets.drawn.spin_by_spin import spin_by_spin  # noqa: PLC0415
    from truethrow.worksheets.drawn.spins import spins  # noqa: PLC0415

    if not state.counted:
        return ()
    return spins(state, "front", show), spins(state, "rear", show), spin_by_spin(state, show)


def changed(state: Balancing) -> tuple[str, ...]:
    """What the holes before the last spin did, and what the next should read."""
    found = []
    if learned := station_words.learned(state):
        found.append(f"{learned}.")
    if state.expected is not None:
        front, rear = station_words.reads(state, state.expected)
        found.append(f"The station should then read about {front} front and {rear} rear, at its own angles.")
    return tuple(found)


def history(state: Balancing, show: Display) -> tuple[str, ...]:
    """Spin by spin, with what was done between, newest last."""
    found = []
    for spin in state.spins:
        found += [f"done: {station_words.hole(one.hole, show, state.instrument)}" for one in spin.drilled]
        who = f", {spin.record.by}" if spin.record.by else ""
        found.append(f"spin {spin.number}, {when(spin.record.at)} UTC{who}: {spin.typed.told(show.told_in)}")
        found += [f"turned: {back.runs.told(show.told_in)}" for back in spin.turned]
    found += [f"done since: {station_words.hole(one.hole, show, state.instrument)}" for one in state.since]
    return tuple(found)


# Holes


def hole_row(state: Balancing, one: station_words.Operation, show: Display) -> HoleRow:
    said, done = station_words.hole(one.hole, show, state.instrument), ""
    if one.record is not None:
        record = next(each.record for each in state.since if each.record.id == one.record)
        by = f" by {record.by}" if record.by else ""
        done = words.RECORDED.format(by=by, at=when(record.at))
    return HoleRow(one.number, said, done)


def hole_now(state: Balancing, show: Display) -> HoleNow | None:
    """The first operation that is still to be done, with its counterweight turned as it is on the machine."""
    from truethrow.worksheets.drawn.face import face  # noqa: PLC0415

    operations = station_words.operations(state)
    one = next((one for one in operations if not one.is_done), None)
    if one is None or state.job.crank is None:
        return None
    hole, instrument = one.hole, state.instrument
    numbered = {each.number: each.hole for each in operations if each.hole.member == hole.member}
    done = {each.number for each in operations if each.is_done}
    drilled = {each.record for each in operations}
    crank = apply(state.job.crank, [each.hole for each in state.drilled if each.record.id not in drilled])
    member = next(each for each in crank.members if each.name == hole.member)
    shown_up = state.profile.shows_with_up(hole.angle_deg)
    is_slug = hole.kind == "slug"
    return HoleNow(
        number=one.number,
        count=len(state.plan.operations) if state.plan else 0,
        member=hole.member,
        own=""
        if instrument.reads_divisions
        else f"{station_words.turned(instrument.own_deg(hole.angle_deg), 1)}°",
        crank=f"{station_words.turned(hole.angle_deg, 1)}°",
        up="" if shown_up is None or instrument.reads_divisions else f"{station_words.turned(shown_up, 1)}°",
        what=station_words.tool(hole, show, member.bore or ""),
        deep=str(show.length(round(hole.depth_mm, 2))),
        tip=str(show.worked_out(hole.tip_mm)) if hole.kind in ("radial", "axial") else "",
        drawing=face(member, numbered, done, show, instrument, hole.angle_deg),
        drawn=words.FROM_THE_FRONT,
        is_slug=is_slug,
        unit=show.mass_unit if is_slug else show.length_unit,
    )
