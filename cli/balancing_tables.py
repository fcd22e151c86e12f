"""The balancing station on the screen: stacks, spins, what is left, the plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from truethrow.balance.balancing import PLANES, Balancing
from truethrow.balance.correction import Arriving, Plan
from truethrow.balance.spinning import Spin
from truethrow.balance.stack import Inventory, Stacks
from truethrow.balance.testmass import Finding, Trial
from truethrow.cli.show import Screen, verdict
from truethrow.worksheets import balancing as words
from truethrow.worksheets.display import Display, angle

if TYPE_CHECKING:
    from collections.abc import Sequence

    from truethrow.balance.spin import Measured


def stacks(out: Screen, found: Stacks, inventory: Inventory, show: Display) -> None:
    out.line(f"Bobweight stacks, clamp halves of {show.as_given(inventory.clamp_half_g)}", strong=True)
    if not found.stacks:
        out.line("Nothing is hung on this crank: it is spun bare.")
        return
    for one in found.stacks:
        throws = f"throw{'s' if len(one.throws) > 1 else ''} {', '.join(one.throws)}"
        out.line(f"{throws}: {show.masses(one.target_g)}", strong=True)
        if one.halves is None:
            near = [show.as_given(g) for g in (one.below_g, one.above_g) if g is not None]
            nearest = " and ".join(near) or "none"
            out.line(f"  cannot be met within {show.as_given(inventory.step_g)}; nearest: {nearest}")
            continue
        front, rear = one.halves
        if front == rear:
            out.line(f"  on each half: {words.half(front)}")
        else:
            out.line(f"  on one half: {words.half(front)}")
            out.line(f"  on the other: {words.half(rear)}")
        assert one.mass_g is not None and one.off_g is not None
        out.line(f"  makes {show.as_given(one.mass_g)}, {show.as_given(one.off_g)} off, {one.pieces} pieces")
    if found.lacking:
        lacking = ", ".join(f"{count} more of {name}" for name, count in found.lacking.items())
        out.line(f"Not all at once: that takes {lacking}.", strong=True)
    elif found.is_met:
        proved = "no stacks with fewer exist" if found.is_proved else "the search was stopped; fewer may do"
        out.line(f"{found.pieces} pieces in all; {proved}.")
    out.line(f"! {words.STACK_CAUTION}")


def history(out: Screen, state: Balancing, show: Display) -> None:
    """Spin by spin, with what was done between."""
    out.line(f"Job {state.job.id}: {len(state.spins)} spins, {len(state.drilled)} operations", strong=True)
    for spin in state.spins:
        for one in spin.drilled:
            out.line(f"  done: {words.hole(one.hole, show)} ({one.record.id})")
        who = f", {spin.record.by}" if spin.record.by else ""
        when = spin.record.at[:16].replace("T", " ")
        out.line(f"Spin {spin.number}, {when}{who} ({', '.join(spin.ids)}): {spin.record.typed}")
        for back in spin.turned:
            out.line(f"  turned: {back.record.typed}")
        if spin.record.why:
            out.line(f"  note: {spin.record.why}")
        _planes(out, state, spin, show)
    for one in state.since:
        out.line(f"  done since: {words.hole(one.hole, show)} ({one.record.id})")


def standing(out: Screen, state: Balancing, show: Display) -> None:
    """What is left, and what comes next."""
    last = state.last
    if last is None:
        out.line("No spin yet: truethrow spin JOB --station STATION FRONT REAR")
        return
    out.heading(f"After spin {last.number}")
    _planes(out, state, last, show)
    if last.fixture is not None:
        fixture = ", ".join(
            f"{plane} {show.unbalance(abs(one), 10.0)} {show.unbalance_unit} at {angle(_degrees(one))}"
            for plane, one in zip(PLANES, last.fixture, strict=True)
        )
        out.line(f"The fixture's own is taken off: {fixture}.")
    for plane, limit, least in zip(PLANES, state.limits_gmm, state.least_expanded_gmm, strict=True):
        if least >= limit:
            said = f"± {show.unbalance(least, least)} {show.unbalance_unit} at best"
            out.line(
                f"! {plane} plane: the station is sure to {said}, so it can never say inside; spin more runs."
            )
    for found in state.tested[1] if state.tested else ():
        out.line(f"! By the last test mass {words.finding(found)}.", strong=True)
    if not state.tested:
        out.line("! No test mass yet: nothing proves that sense, zero and scale are right (truethrow test-mass).")
    if state.signed:
        out.line(f"Signed by {state.signed.record.by}, record {state.signed.record.id}.", strong=True)
        out.line(f"! {words.SIGN_CAUTION}")
    elif state.is_inside:
        out.line("Both planes are inside: truethrow sign JOB --station STATION --by INITIALS", strong=True)
    elif state.job.crank is None:
        out.line("The job has no [crank], so there is no plan.")
    elif not state.has_tools:
        out.line("The profile has no [[drill]], so there is no plan.")
    elif state.plan is not None:
        _plan(out, state.plan, show, [state.done(one) is not None for one in state.plan.operations])
        _next(out, state)


def _next(out: Screen, state: Balancing) -> None:
    assert state.plan
    if not state.plan.operations:
        out.line("Nothing that these tools can do would help.", strong=True)
    elif all(state.done(one) for one in state.plan.operations):
        out.line("All of it is done: spin again.", strong=True)
    else:
        out.line("Once done: truethrow holes JOB --station STATION --done", strong=True)
    front, rear = (words.reads(state.instrument, one) for one in state.plan.residual)
    out.line(f"The station should then read about {front} front and {rear} rear.")
    out.line(f"! {words.DRILL_CAUTION}")
    out.line(f"! {words.SPIN_CAUTION}")


def _planes(out: Screen, state: Balancing, spin: Spin, show: Display) -> None:
    rows = []
    for plane, limit, ruled in zip(PLANES, state.limits_gmm, state.verdicts_of(spin), strict=True):
        found: Measured = getattr(spin, plane)
        expanded, sure = found.expanded_gmm, found.expanded_deg
        rows.append(
            [
                plane,
                show.unbalance(found.amount_gmm, expanded),
                show.unbalance(expanded, expanded),
                "" if sure is None else angle(found.angle_deg),
                "" if sure is None else f"{sure:.0f}°",
                show.unbalance(limit, expanded),
                verdict(ruled),
            ]
        )
    out.table(["plane", f"unbalance [{show.unbalance_unit}]", "±", "at", "±", "may stay", "verdict"], rows)


def _plan(out: Screen, plan: Plan, show: Display, done: Sequence[bool]) -> None:
    out.line("To do:" if plan.operations else "To do: nothing")
    for number, (one, is_done) in enumerate(zip(plan.operations, done, strict=True), start=1):
        out.line(f"{number:3d}  {words.hole(one, show)}{'  (done)' if is_done else ''}")
    for left in plan.stays:
        out.line(f"! {words.stays(left, show)}.")
    for caution in plan.cautions:
        if caution.force_n is not None:
            member, wall = caution.operation.member, show.length(round(caution.wall_mm, 1))
            out.line(f"! slug in {member}: {caution.force_n:.0f} N pull at a wall of {wall} at top speed.")
    if any(one.kind == "slug" for one in plan.operations):
        out.line(f"! {words.SLUG_CAUTION}")


def trial(out: Screen, found: Trial, findings: Sequence[Finding], show: Display) -> None:
    unit = show.unbalance_unit
    out.line(f"Test mass on the {found.plane} plane, change in {unit}", strong=True)
    rows = [
        [
            "expected",
            found.plane,
            show.unbalance(abs(found.expected_gmm), 10.0),
            angle(_degrees(found.expected_gmm)),
        ]
    ]
    for plane, one in zip(PLANES, (found.front_gmm, found.rear_gmm), strict=True):
        at = angle(_degrees(one)) if abs(one) > 2 * found.standard_gmm else ""
        rows.append(["read", plane, show.unbalance(abs(one), 2 * found.standard_gmm), at])
    out.table(["", "plane", "change", "at"], rows, words=("plane",))
    for said in findings:
        out.line(f"- {words.finding(said)}", strong=True)
    if not findings:
        out.line("Sense, zero, scale and planes agree. Take the test mass off.", strong=True)
    else:
        out.line("! Drill nothing by this station until a test mass agrees.")


def arriving(out: Screen, found: Arriving, show: Display) -> None:
    unit = show.unbalance_unit
    out.line("Against the maker's target bobweight", strong=True)
    rows = [
        [one.throw.name, angle(one.throw.angle_deg), show.mass(one.over_g, finer=1)]
        + [f"{show.unbalance(abs(v), 10.0)} at {angle(_degrees(v))}" for v in one.unbalance]
        for one in found.throws
    ]
    out.table(["throw", "at", f"over [{show.mass_unit}]", f"front [{unit}]", f"rear [{unit}]"], rows)
    front, rear = (f"{show.unbalance(abs(v), 10.0)} {unit} at {angle(_degrees(v))}" for v in found.unbalance)
    out.line(f"The first spin should show {front} front and {rear} rear, if the maker's balance is true.")
    heavy = "Heavy metal is needed" if found.heavy_metal else "Taking metal off will do"
    out.line(f"{heavy}. A plan for those figures, to be made again from the first spin:", strong=True)
    _plan(out, found.plan, show, [False] * len(found.plan.operations))
    out.line(f"! {words.DRILL_CAUTION}")


def _degrees(vector: complex) -> float:
    return words.vector(vector)["angle_deg"]
