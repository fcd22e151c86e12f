"""The result on the screen, section by section; every command shows the sections that it is asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from truethrow.balance.parts import label
from truethrow.balance.work import Result
from truethrow.cli.show import heading, line, table, verdict
from truethrow.worksheets import wording
from truethrow.worksheets.display import Display, angle

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console

    from truethrow.balance.spread import Spread


def head(out: Console, result: Result, show: Display) -> None:
    """Which job this is, and the plain figures in which a slip of the stroke or the speed shows first."""
    job, engine, facts = result.job, result.job.engine, result.facts
    out.print(f"Job {job.id}", style="bold" if out.is_terminal else None, end="", soft_wrap=True)
    line(out, f"  {job.title}" if job.title else "")
    said = [
        engine.layout_name,
        f"stroke {show.length(engine.stroke_mm)}",
        f"rod {show.length(engine.rod_length_mm)}",
    ]
    if facts.displacement_cm3 is not None:
        inch = show.length_unit == "in"
        said.append(
            f"{facts.displacement_cm3 / 16.387064:.1f} in³" if inch else f"{facts.displacement_cm3:.0f} cm³"
        )
    line(out, ", ".join(said))
    if facts.mean_piston_speed_m_s is not None and facts.peak_piston_acceleration_m_s2 is not None:
        speed, peak = facts.mean_piston_speed_m_s, facts.peak_piston_acceleration_m_s2
        mean = f"{speed / 0.00508:.0f} ft/min" if show.length_unit == "in" else f"{speed:.1f} m/s"
        line(
            out,
            f"at {engine.top_speed_rpm:g} r/min: mean piston speed {mean}, peak piston acceleration {peak:.0f} m/s²",
        )
    line(out, f"digest {job.digest}, share {job.share:g}, scale step {show.as_given(job.scale.resolution_g)}")


def bobweights(out: Console, result: Result, show: Display) -> None:
    """What each throw carries, what to hang, and what that leaves in the planes."""
    weights, sure, unit = result.bobweights, result.certainty, show.mass_unit
    heading(out, f"Bobweights [{unit}]")
    table(
        out,
        ["cylinder", "rotating", "reciprocating", "gives to its throw"],
        [
            [
                str(c.cylinder),
                show.mass(c.rotating.value_g),
                show.mass(c.reciprocating.value_g),
                show.mass(c.contribution.value_g, finer=1),
            ]
            for c in weights.cylinders
        ],
    )
    out.print()
    table(
        out,
        ["throw", "at", "carries", "oil", "bobweight", "±", "hang", "true less hung"],
        [
            [
                t.throw.name,
                f"{t.throw.angle_deg:g}°",
                ", ".join(map(str, t.cylinders)),
                show.mass(t.oil_g),
                show.mass(t.bobweight.value_g, finer=1),
                show.mass(sure.expanded_g(t.bobweight), finer=1),
                show.mass(t.hung_g),
                show.mass(t.deviation.value_g, finer=1),
            ]
            for t in weights.throws
        ],
    )
    out.print()
    if weights.hung_g is None:
        line(out, "Hang on each throw its own bobweight, to the scale's step.", style="bold")
    else:
        why = "the mean" if weights.rule == "mean" else "declared by the job"
        line(out, f"Hang {show.masses(weights.hung_g)} on every throw ({why}).", style="bold")
    _cost(out, result, show)


def _cost(out: Console, result: Result, show: Display) -> None:
    cost = result.cost
    line(out, f"What that leaves, in {show.unbalance_unit} at the throws' radius, angle from throw 1:")
    rows = []
    for plane in (cost.static, cost.front, cost.rear):
        allowed = plane.permissible_gmm
        rows.append(
            [
                plane.plane if plane is cost.static else f"{plane.plane}, z {show.length(plane.z_mm)}",
                show.unbalance(plane.amount_gmm, plane.expanded_gmm),
                show.unbalance(plane.expanded_gmm, plane.expanded_gmm),
                angle(plane.angle_deg) if plane.amount_gmm > plane.expanded_gmm else "",
                "" if allowed is None else show.unbalance(allowed, plane.expanded_gmm),
                "" if plane.verdict is None else verdict(plane.verdict),
            ]
        )
    table(out, ["plane", "unbalance", "±", "at", "may stay", "verdict"], rows)


def spreads(out: Console, result: Result, show: Display) -> None:
    heading(out, f"Spreads: largest less smallest [{show.mass_unit}]")
    _spread_table(out, result.spreads, show)


def _spread_table(out: Console, found: Sequence[Spread], show: Display) -> None:
    rows = []
    for s in found:
        finer = 1 if s.quantity == "bobweight" else 0
        rows.append(
            [
                label(s.quantity),
                f"{show.mass(s.members[s.lightest].value_g, finer)} ({s.lightest})",
                f"{show.mass(s.members[s.heaviest].value_g, finer)} ({s.heaviest})",
                show.mass(s.spread_g, finer),
                show.mass(s.expanded_g, finer=1),
                "" if s.limit_g is None else show.mass(s.limit_g, finer),
                verdict(s.verdict),
            ]
        )
    table(out, ["of", "lightest (no.)", "heaviest (no.)", "spread", "±", "limit", "verdict"], rows)


def slips(out: Console, result: Result, show: Display) -> None:
    heading(out, "Look again")
    if not result.slips:
        line(out, "No reading stands out, and no two disagree.")
    for found in result.slips:
        line(out, f"- {wording.slip(found, show)}")


def trim(out: Console, result: Result, show: Display) -> None:
    """What to take where, what to expect, and the cautions that go with it."""
    plan = result.trim
    heading(out, "Trim")
    if plan is None:
        line(out, "Nothing to trim: no spread is outside its limit as far as the scale can tell.")
        return
    for shortfall in plan.shortfalls:
        line(out, f"Out of reach: {wording.shortfall(shortfall, show)}.", style="bold")
    if plan.swap is not None:
        line(out, f"First: {wording.swap(plan.swap, show)}.", style="bold")
    for part in plan.parts:
        line(out, f"- {wording.cut(part, show)}")
    if plan.parts:
        line(out, f"{show.masses(plan.grams)} in all, off {len(plan.parts)} parts. Afterwards:")
        out.print()
        _spread_table(out, [s for s in plan.after if s.limit_g is not None], show)
        out.print()
    if result.job.pads_assumed:
        line(out, f"! {wording.assumed_pads(result.job.pads_assumed)}")
    for caution in wording.TRIM_CAUTIONS:
        line(out, f"! {caution}")


def station_cautions(out: Console) -> None:
    for caution in wording.STATION_CAUTIONS:
        line(out, f"! {caution}")
