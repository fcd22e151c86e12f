"""The balancing station on the screen: stacks, spins, what is left, the plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from truethrow.balance.base.readings import tidy
from truethrow.balance.correction import Arriving, HolePlan
from truethrow.balance.log.log import when
from truethrow.balance.station import may_go, revisions
from truethrow.balance.station.balancing import PLANES, Balancing
from truethrow.balance.station.built import SAME_G, Off, is_of
from truethrow.balance.station.next_steps import (
    MENDED,
    aim_at_the_sum,
    look_at_it,
    masses_to_hang,
    must_be_named,
    recorded_late,
    recording,
    weigh_the_bobweights,
    what_the_edit_was,
)
from truethrow.balance.station.reasons import broken
from truethrow.balance.station.spinning import Spin
from truethrow.balance.station.stacked import Inventory, Stacks
from truethrow.balance.station.testmass import HARMLESS, Finding, Trial
from truethrow.cli.show import Screen, verdict
from truethrow.worksheets.shown.display import Display, angle
from truethrow.worksheets.words import division_words, result_words
from truethrow.worksheets.words import station_words as words
from truethrow.worksheets.words.cautions import (
    DRILL_CAUTION,
    LIMIT_CAUTION,
    MASS_CAUTION,
    SIGN_CAUTION,
    SLUG_CAUTION,
    SPIN_CAUTION,
    STACK_CAUTION,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from truethrow.balance.correction import TwoPlanes
    from truethrow.balance.log.records import Built
    from truethrow.balance.result.bobweight import ThrowMass
    from truethrow.balance.station.inengine import Vector
    from truethrow.balance.station.spin import Instrument, Measured

# What an angle is of: this station's own first, as what is drilled.
AT = ("at (station)", "at (crank)")
HEAVY_AT = ("heavy at (station)", "(crank)")


def stacks(out: Screen, found: Stacks, inventory: Inventory, show: Display) -> None:
    out.line(f"Bobweight stacks, clamp halves of {show.told_in.given(inventory.clamp_half_g)}", strong=True)
    if not found.stacks:
        out.line("Nothing is hung on this crank: it is spun bare.")
        return
    for one in found.stacks:
        out.line(f"{words.throws_of(one)}: {show.masses(one.target_g)}", strong=True)
        if one.halves is None:
            out.line(f"  {words.unmet(one, inventory, show)}")
            continue
        front, rear = one.halves
        if front == rear:
            out.line(f"  on each half: {words.half(front)}")
        else:
            out.line(f"  on one half: {words.half(front)}")
            out.line(f"  on the other: {words.half(rear)}")
        assert one.mass_g is not None and one.off_g is not None
        out.line(f"  makes {show.masses(one.mass_g, 1)}, {show.masses(one.off_g, 1)} off, {one.pieces} pieces")
    if found.lacking:
        out.line(f"Not all at once: that takes {', '.join(words.lacking(found))}.", strong=True)
    elif found.is_met:
        proved = "no stacks with fewer exist" if found.is_proved else "the search was stopped; fewer may do"
        out.line(f"{found.pieces} pieces in all; {proved}.")
    out.line(f"! {STACK_CAUTION}")


def built(
    out: Screen, throws: Sequence[ThrowMass], weighed: Mapping[str, Built], step_g: float, show: Display
) -> None:
    """What the built bobweights weigh, beside what is asked for."""
    rows = []
    for throw in throws:
        record = weighed.get(throw.throw.name)
        if not throw.hung_g:
            continue
        if record is None or not is_of(record, throw):
            rows.append([throw.throw.name, show.masses(throw.hung_g), "not weighed", ""])
            continue
        off_g = tidy(record.grams - throw.hung_g)
        told = [show.masses(throw.hung_g), str(show.as_given(record.grams))]
        rows.append([throw.throw.name, *told, f"{show.mass(off_g)} {show.mass_unit}"])
    if rows:
        out.line("Built, clamp and all", strong=True)
        out.table(["throw", "asked for", "weighed", "off"], rows)
    for throw in throws:
        record = weighed.get(throw.throw.name)
        if record and is_of(record, throw) and abs(record.grams - throw.hung_g) > step_g + SAME_G:
            off = Off(throw.throw.name, record.grams, throw.hung_g)
            out.line(f"! {words.off_by_more(off, show)}.", strong=True)


def history(out: Screen, state: Balancing, show: Display) -> None:
    """Spin by spin, with what was done between."""
    out.line(f"Job {state.job.id}: spins: {len(state.spins)}, operations: {len(state.drilled)}", strong=True)
    for spin in state.spins:
        for one in spin.drilled:
            out.line(f"  done: {words.hole(one.hole, show, state.instrument)} ({one.record.id})")
        who = f", {spin.record.by}" if spin.record.by else ""
        at, typed = when(spin.record.at), spin.typed.told(show.told_in)
        out.line(f"Spin {spin.number}, {at}{who} ({', '.join(spin.ids)}), as the station showed it: {typed}")
        _mounted(out, state, spin)
        for back in spin.turned:
            out.line(f"  turned, as the station showed it: {back.runs}")
        if spin.record.why:
            out.line(f"  note: {spin.record.why}")
        if before := words.read_before(state, spin, show.told_in):
            out.line(f"  {before}")
        _planes(out, state, spin, show)
    for one in state.since:
        out.line(f"  done since: {words.hole(one.hole, show, state.instrument)} ({one.record.id})")


def profile(out: Screen, state: Balancing) -> None:
    """What was edited in the profile, and how to say what that was."""
    out.line(
        f"Profile {revisions.revision(state.instrument)}: {revisions.read_as(state.instrument, state.told_in)}"
    )
    for edit in state.edits:
        out.line(f"  {words.said_of(edit, state.told_in)}")
    if not state.unsaid:
        out.line(
            "Nothing in it was edited that reads otherwise since the last spin." if state.last else "No spin yet."
        )
        return
    out.line(f"! Edited since the last spin: {', '.join(state.unsaid)}.", strong=True)
    for step in what_the_edit_was(state):
        out.line(f"{result_words.sentence(step.when)}\n  {step.command}", strong=True)


def standing(out: Screen, state: Balancing, show: Display) -> None:
    """What is left, and what comes next."""
    last = state.last
    for said in words.members(state, show):
        out.line(f"{said}.")
    if last is None:
        out.line("No spin yet.")
        out.line(f"! {SPIN_CAUTION}")
        return
    out.heading(f"After spin {last.number}")
    _mounted(out, state, last)
    if before := words.read_before(state, last, show.told_in):
        out.line(f"! Spin {last.number} was {before}.", strong=True)
    _planes(out, state, last, show)
    _in_engine(out, state, show)
    if last.fixture is not None:
        fixture = ", ".join(
            f"{plane} {show.unbalance(abs(one), 10.0)} {show.unbalance_unit} at "
            f"{words.at(state.instrument, _degrees(one), 0)}"
            for plane, one in zip(PLANES, last.fixture, strict=True)
        )
        out.line(f"The fixture's own is taken off: {fixture}.")
    for unsure in words.never_inside(state, show):
        out.line(f"! {unsure}.")
    if learned := words.learned(state):
        out.line(f"{learned}.")
    _of_the_proof(out, state, show)
    if state.signed and may_go.holds(state):
        out.line(f"Signed by {state.signed.by}, record {state.signed.id}.", strong=True)
        for said in filter(None, (words.signed_by_its_day(state, show.told_in), words.if_it_was_wrong(state))):
            out.line(said)
        out.line(f"! {SIGN_CAUTION}")
        return
    _beyond_limits(out, state, show)
    if may_go.is_inside(state):
        _inside(out, state)
    else:
        _to_come(out, state, show)
    out.line(f"! {SPIN_CAUTION}")


def _inside(out: Screen, state: Balancing) -> None:
    """That it may be signed, or what is mounted next."""
    inside = "What turns in the engine is inside" if state.for_these_parts else "Both planes are inside"
    out.line(f"{inside}: it may be signed.", strong=True)
    if mount := words.next_to_mount(state):
        out.line(f"{mount}.")


def _mounted(out: Screen, state: Balancing, spin: Spin) -> None:
    """Which members were on at a spin, for a crank that has any."""
    if mounted := words.mounted(state, spin):
        out.line(f"  {mounted}")


def _of_the_proof(out: Screen, state: Balancing, show: Display) -> None:
    for mind in words.of_the_proof(state, show.told_in):
        out.line(f"! {mind}.", strong=True)
    for said in filter(None, (words.proved_by(state, show.told_in), division_words.kept(state))):
        out.line(f"{said}.")


def _to_come(out: Screen, state: Balancing, show: Display) -> None:
    """What is to be done to a crank that may not go yet."""
    withheld = may_go.withheld(state)
    for reason in withheld:
        out.line(f"! {result_words.sentence(reason.said(show.told_in))}", strong=True)
    if withheld:
        out.line(f"! {words.NOTHING_UNTIL}", strong=True)
    elif state.ruled == ("inside", "inside"):
        for told in may_go.against(state):
            out.line(f"! Not to be signed: {told.said(show.told_in)}.")
        if state.since:
            _should_read(out, state)
    elif state.plan is not None:
        _of_the_job(out, state, state.plan, show)
    if state.job.crank is None:
        out.line(f"{words.NO_CRANK}.")
    elif not state.has_tools:
        out.line(words.NO_TOOLS)
    if (withheld or state.plan is None) and (hang := words.to_hang(state, show)):
        out.line(f"Hang {hang}.")
        out.line(f"! {MASS_CAUTION}")
    for late in recorded_late(state):
        out.line(f"If it was drilled already by this spin's plan, which held before the job changed: {late}")


def _in_engine(out: Screen, state: Balancing, show: Display) -> None:
    """What is signed for: the spin, what hanging leaves, and the sum; that the parts were not seen."""
    if not state.job.has_parts:
        out.line(f"! {result_words.PARTS_NOT_SEEN}.", strong=True)
    if state.is_edited:
        return
    if state.in_engine is None:
        if state.not_placed:
            out.line(f"! {words.not_placed(state)}.")
        return
    rows = []
    for one in state.in_engine:
        parts: list[tuple[str, Measured | Vector]] = [("spin", one.spin)]
        if state.last and state.members.off(state.last):
            parts.append(("members off", one.members))
        for name, found in (*parts, ("hanging", one.hanging), ("sum", one.whole)):
            expanded = found.expanded_gmm
            is_sum = found is one.whole
            rows.append(
                [
                    one.plane,
                    name,
                    show.unbalance(found.amount_gmm, expanded),
                    show.unbalance(expanded, expanded),
                    *(_both(state.instrument, found.angle_deg) if found.amount_gmm > expanded else ("", "")),
                    show.limit(one.limit_gmm) if is_sum else "",
                    verdict(one.verdict) if is_sum else "",
                ]
            )
    out.line(words.in_engine(state))
    if rods := result_words.rods(state.worked, show):
        out.line(rods)
    heads = ["plane", "", f"unbalance [{show.unbalance_unit}]", "±", *HEAVY_AT, "tolerance", "verdict"]
    out.table(heads, rows, words=("plane", ""))
    if said := words.weighed_bobweights(state, show):
        out.line(f"{said}.")
    for mind in words.minds_of_the_bobweights(state, show):
        out.line(f"! {mind}.", strong=True)
    if state.unweighed and not may_go.holds(state):
        out.line(f"As they hung at this spin: {weigh_the_bobweights(state)}")
    if said := words.for_these_parts(state):
        out.line(f"! {said}.", strong=True)


def _of_the_job(out: Screen, state: Balancing, plan: HolePlan, show: Display) -> None:
    """The plan for the last spin: what is done of it as deep as it is, the rest as far as it may be done."""
    _what_it_mends(out, state)
    _plan(out, plan, words.operations(state), show, state.instrument)
    if staged := words.stage_of(state, show):
        out.line(f"{staged}.", strong=True)
    for one in state.since if state.halted else ():
        if not one.record.step:
            out.line(f"  done, not in the plan: {words.hole(one.hole, show, state.instrument)} ({one.id})")
    if not plan.operations:
        out.line(words.NO_HELP, strong=True)
    elif state.halted:
        out.line(f"Spin before going on: {state.halted.said(show.told_in)}.", strong=True)
    elif not state.to_do:
        out.line(words.all_done(plan), strong=True)
    else:
        if words.is_otherwise(state):
            out.line(f"! {words.OTHER_DEPTH}")
        if must_be_named(state):
            out.line(f"! {words.CHANGED}")
        has_slugs = any(one.kind == "slug" for one in state.to_do)
        once = "Weigh each slug before it goes in. Once done" if has_slugs else "Once done"
        out.line(f"{once} (plan {state.plan_name}): {recording(state)}", strong=True)
    if unweighed := words.unweighed_slugs(state):
        out.line(f"! {unweighed}")
    _should_read(out, state)
    out.line(f"! {DRILL_CAUTION}")


def _what_it_mends(out: Screen, state: Balancing) -> None:
    """What a plan makes true, and on which members."""
    if words.sum_is_inside(state) and not state.since:
        out.line(f"! {words.SUM_IS_INSIDE}", strong=True)
        out.line(f"Or {aim_at_the_sum(state)}")
    if state.for_these_parts:
        out.line(f"! {words.FOR_THESE_PARTS}:", strong=True)
    if mended := words.mended_on(state):
        out.line(f"{mended}.", strong=True)


def _should_read(out: Screen, state: Balancing) -> None:
    if state.expected is not None:
        front, rear = words.reads(state, state.expected)
        out.line(f"The station should then read about {front} front and {rear} rear, at its own angles.")


def _beyond_limits(out: Screen, state: Balancing, show: Display) -> None:
    """What was done that breaks a limit, and who has to look at it."""
    for one in state.beyond_limits:
        out.line(f"! {broken(*one, show.told_in)}.", strong=True)
    if state.beyond_limits:
        out.line(f"! {LIMIT_CAUTION}", strong=True)
        out.line(f"Once it was looked at: {look_at_it(state)}")


def _planes(out: Screen, state: Balancing, spin: Spin, show: Display) -> None:
    rows = []
    if unknown := division_words.in_divisions(spin):
        out.line(f"{unknown}.")
        return
    is_fresh = state.is_fresh(spin)
    for plane, limit, ruled in zip(PLANES, state.limits_gmm, state.verdicts_of(spin), strict=True):
        found: Measured = getattr(spin, plane)
        expanded, sure = found.expanded_gmm, found.expanded_deg
        rows.append(
            [
                plane,
                show.unbalance(found.amount_gmm, expanded),
                show.unbalance(expanded, expanded),
                *(("", "") if sure is None else _both(spin.basis.instrument, found.angle_deg)),
                "" if sure is None else f"{sure:.0f}°",
                show.limit(limit),
                verdict(ruled) if is_fresh else "",
            ]
        )
    unit = show.unbalance_unit
    out.table(["plane", f"unbalance [{unit}]", "±", *HEAVY_AT, "±", "tolerance", "verdict"], rows)


def _both(instrument: Instrument, crank_deg: float) -> tuple[str, str]:
    """An angle as this station shows it, and as the crank has it."""
    own = "" if instrument.reads_divisions else angle(instrument.own_deg(crank_deg))
    return own, angle(crank_deg)


def _plan(
    out: Screen,
    plan: HolePlan,
    operations: Sequence[words.Operation],
    show: Display,
    instrument: Instrument | None,
    heading: str = "To do",
) -> None:
    """operations: those to show."""
    out.line(f"{heading}:" if plan.operations else f"{heading}: nothing")
    for one in operations:
        out.line(f"{one.number:3d}  {words.hole(one.hole, show, instrument)}{'  (done)' if one.is_done else ''}")
    for left in plan.stays:
        out.line(f"! {words.stays(left, show)}.")
    for unfit in plan.misfits:
        out.line(f"! {result_words.sentence(words.misfit(unfit, show))}.")
    for pull in words.pulls(plan, show):
        out.line(f"! {pull}.")
    if any(one.kind == "slug" for one in plan.operations):
        out.line(f"! {SLUG_CAUTION}")


def trial(
    out: Screen, state: Balancing, trials: Sequence[Trial], findings: Sequence[Finding], show: Display
) -> None:
    """What known masses changed. state: with them; trials: one for each."""
    unit, is_pair = show.unbalance_unit, len(trials) > 1
    where = "both planes" if is_pair else f"the {trials[0].plane} plane"
    out.line(f"Test {'masses' if is_pair else 'mass'} on {where}, change in {unit}", strong=True)
    rows = []
    for found in trials:
        mass = found.expected_gmm
        expected = _both(state.instrument, _degrees(mass))
        rows.append(["expected", found.plane, show.unbalance(abs(mass), 10.0), *expected])
        for plane, one in zip(PLANES, (found.front_gmm, found.rear_gmm), strict=True):
            if is_pair and plane != found.plane:
                continue
            is_seen = abs(one) > 2 * found.standard_gmm
            at = _both(state.instrument, _degrees(one)) if is_seen else ("", "")
            rows.append(["read", plane, show.unbalance(abs(one), 2 * found.standard_gmm), *at])
    out.table(["", "plane", "change", *AT], rows, words=("plane",))
    for said in findings:
        out.line(f"- {words.finding(said, show.told_in)}", strong=True)
    if not findings:
        out.line(words.ALL_AGREE if is_pair else words.ONE_AGREES, strong=True)
    elif any(said.kind not in HARMLESS for said in findings):
        out.line(f"! {words.NOTHING_UNTIL_IT_AGREES}")
        if any(said.kind in MENDED or said.unit or said.radius_mm for said in findings):
            out.line(f"! {words.THEN_SPIN}")
        elif not any(said.kind == "turned" for said in findings):
            masses = masses_to_hang(state)
            out.line(f"Hang {words.of_masses(masses, words.speed_of(state), show, state.instrument)}.")
            out.line(f"! {MASS_CAUTION}")
    out.line(f"! {SPIN_CAUTION}")


def arriving_bare(out: Screen, without: TwoPlanes, show: Display, instrument: Instrument | None) -> None:
    """What a crank shows without the members that carry part of its balance."""
    front, rear = (
        f"{show.unbalance(abs(v), 10.0)} {show.unbalance_unit} at {words.at(instrument, _degrees(v), 0)}"
        for v in without
    )
    out.line(f"Without damper, flexplate and so on the first spin should show {front} front and {rear} rear.")
    out.line("What follows is with all of them on.")


def arriving(out: Screen, found: Arriving, show: Display, instrument: Instrument | None) -> None:
    """instrument: the station's, None where its profile has none."""
    unit = show.unbalance_unit
    out.line("Against the maker's target bobweight", strong=True)
    rows = [
        [one.throw.name, angle(one.throw.angle_deg), show.mass(one.over_g, finer=1)]
        + [f"{show.unbalance(abs(v), 10.0)} at crank {angle(_degrees(v))}" for v in one.unbalance]
        for one in found.throws
    ]
    out.table(["throw", "at (crank)", f"over [{show.mass_unit}]", f"front [{unit}]", f"rear [{unit}]"], rows)
    front, rear = (
        f"{show.unbalance(abs(v), 10.0)} {unit} at {words.at(instrument, _degrees(v), 0)}" for v in found.unbalance
    )
    out.line(f"The first spin should show {front} front and {rear} rear, if the maker's balance is true.")
    heavy = "Heavy metal is needed" if found.plan.heavy_metal else "Taking metal off will do"
    out.line(f"{heavy}. A plan for those figures, to be made again from the first spin:", strong=True)
    planned(out, found.plan, show, instrument)
    if staged := words.stage(found.plan, found.unbalance, found.plan.residual, show):
        out.line(f"{staged}.", strong=True)
    out.line(f"! {DRILL_CAUTION}")


def planned(out: Screen, plan: HolePlan, show: Display, instrument: Instrument | None = None) -> None:
    """A plan that is an outlook: what is done is planned again, from a spin."""
    operations = [words.Operation(number, one, None) for number, one in enumerate(plan.operations, start=1)]
    _plan(out, plan, operations, show, instrument, "What it would take (drill nothing by this)")


def _degrees(vector: complex) -> float:
    return words.degrees(vector)
