"""The result on the screen, section by section; every command shows the sections that it is asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from truethrow.balance.base.parts import label
from truethrow.balance.result.work import Result
from truethrow.cli.show import Screen, verdict
from truethrow.worksheets.shown.display import Display, angle, finer_of
from truethrow.worksheets.words import about_words, result_words
from truethrow.worksheets.words.cautions import STATION_CAUTIONS, TRIM_CAUTIONS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from truethrow.balance.base.naming import Names
    from truethrow.balance.job.grinding import Ground
    from truethrow.balance.job.job import Job
    from truethrow.balance.result.bobweight import CylinderMass
    from truethrow.balance.result.so_far import SoFar
    from truethrow.balance.result.spread import Spread
    from truethrow.balance.result.unbalance import Cost


def head(out: Screen, result: Result, show: Display) -> None:
    """Which job this is, and the plain figures in which a slip of the stroke or the speed shows first."""
    job, engine, facts = result.job, result.job.engine, result.facts
    _name(out, job)
    lengths = {"stroke": engine.declared_stroke_mm, "rod": engine.declared_rod_length_mm}
    told = (f"{name} {show.length(length)}" for name, length in lengths.items() if length is not None)
    said = [engine.layout_name, *told]
    if facts.displacement_cm3 is not None:
        said.append(str(show.displacement(facts.displacement_cm3)))
    out.line(", ".join(said))
    if facts.mean_piston_speed_m_s is not None and facts.peak_piston_acceleration_m_s2 is not None:
        mean = show.piston_speed(facts.mean_piston_speed_m_s)
        peak = show.acceleration(facts.peak_piston_acceleration_m_s2)
        out.line(f"at {engine.top_speed_rpm:g} r/min: mean piston speed {mean}, peak acceleration {peak}")
    for note in (*job.notes, *result_words.off_boxes(job, show)):
        out.line(f"! {note}", strong=True)
    out.line(f"digest {job.digest}, share {job.share:g}, scale step {show.as_given(job.scale.resolution_g)}")


def _name(out: Screen, job: Job) -> None:
    out.line(f"Job {job.id}" + (f": {job.title}" if job.title else ""), strong=True)
    for text in (about_words.line(job.about), job.about.notes):
        if text:
            out.line(text)


def so_far(out: Screen, found: SoFar, show: Display, section: Literal["bobweights", "spreads"]) -> None:
    """What a job that is not wholly weighed says already: of its bobweights, or of its spreads and readings."""
    _name(out, found.job)
    for note in (*found.job.notes, *result_words.off_boxes(found.job, show)):
        out.line(f"! {note}", strong=True)
    if section == "bobweights":
        out.heading(f"Bobweights, as far as weighed [{show.mass_unit}]")
        if found.cylinders:
            _adds(out, found.cylinders, show)
            out.line()
        if found.throws:
            rows = [
                [
                    throw.name,
                    show.mass(bobweight.value_g, finer=1),
                    show.mass(found.certainty.expanded_g(bobweight), finer=1),
                ]
                for throw, bobweight in found.throws
            ]
            out.table(["throw", "bobweight", "±"], rows)
            out.line()
        out.line(result_words.nothing_to_hang_yet(found), strong=True)
        return
    out.heading(result_words.spreads_head(show, found.job.names))
    if found.spreads:
        _spread_table(out, found.spreads, show, found.job.names)
    out.line(result_words.ONLY_WHOLE_SPREADS)
    _slips(out, found, show)


def _adds(out: Screen, cylinders: Sequence[CylinderMass], show: Display) -> None:
    """What each cylinder adds to the bobweight of its throw."""
    out.table(
        ["cylinder", "rotating", "reciprocating", "adds to bobweight"],
        [
            [
                str(c.cylinder),
                show.mass(c.rotating.value_g),
                show.mass(c.reciprocating.value_g),
                show.mass(c.contribution.value_g, finer=1),
            ]
            for c in cylinders
        ],
    )


def bobweights(out: Screen, result: Result, show: Display) -> None:
    """What each throw carries, what to hang, and what that leaves in the planes."""
    weights, sure, unit = result.bobweights, result.certainty, show.mass_unit
    out.heading(f"Bobweights [{unit}]")
    if weights.rule == "given":
        rows = [[t.throw.name, f"{t.throw.angle_deg:g}°", show.mass(t.hung_g)] for t in weights.throws]
        out.table(["throw", "at", "hang"], rows)
        out.line()
        out.line(result_words.hang(weights, show), strong=True)
        out.line(f"! {result_words.PARTS_NOT_SEEN}.", strong=True)
        return
    _adds(out, weights.cylinders, show)
    out.line()
    out.table(
        ["throw", "at", "carries", "oil", "bobweight", "±", "hang", "off by"],
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
    out.line()
    out.line(result_words.hang(weights, show), strong=True)
    if said := result_words.slips_beside(result):
        out.line(f"! {said}", strong=True)
    if advice := result_words.advice(result):
        out.line(f"! {advice}")
    if result.left is None:
        out.line(result_words.no_planes(result))
    else:
        _cost(out, result, result.left, show)


def _cost(out: Screen, result: Result, cost: Cost, show: Display) -> None:
    out.line(f"What that leaves, in {show.unbalance_unit} at the throws' radius, angle from throw 1:")
    rows = []
    for plane in (cost.static, cost.front, cost.rear):
        allowed = plane.permissible_gmm
        rows.append(
            [
                plane.plane if plane is cost.static else f"{plane.plane}, z {show.length(plane.z_mm)}",
                show.unbalance(plane.amount_gmm, plane.expanded_gmm),
                show.unbalance(plane.expanded_gmm, plane.expanded_gmm),
                angle(plane.angle_deg) if plane.amount_gmm > plane.expanded_gmm else "",
                "" if allowed is None else show.limit(allowed),
                "" if plane.verdict is None else verdict(plane.verdict),
            ]
        )
    out.table(["plane", "unbalance", "±", "at", "tolerance", "verdict"], rows)
    for said in (result_words.rods(result, show), result_words.rods_leave(result, show)):
        if said:
            out.line(said)
    if said := result_words.unsure_planes(result):
        out.line(said)


def spreads(out: Screen, result: Result, show: Display) -> None:
    out.heading(result_words.spreads_head(show, result.job.names))
    _spread_table(out, result.spreads, show, result.job.names)
    for said in result_words.unsure(result):
        out.line(said)


def _spread_table(out: Screen, found: Sequence[Spread], show: Display, names: Names) -> None:
    rows = []
    for s in found:
        finer = finer_of(s, show)
        rows.append(
            [
                label(s.quantity),
                *(
                    f"{show.mass(s.members[end].value_g, finer)} ({result_words.member_in_short(s, end, names)})"
                    for end in (s.lightest, s.heaviest)
                ),
                show.mass(s.spread_g, finer),
                show.mass(s.expanded_g, finer=1),
                "" if s.limit_g is None else show.allowed(s.limit_g, finer).digits,
                verdict(s.verdict),
            ]
        )
    out.table(["of", "lightest", "heaviest", "spread", "±", "limit", "verdict"], rows)


def slips(out: Screen, result: Result, show: Display) -> None:
    _slips(out, result, show)


def _slips(out: Screen, result: Result | SoFar, show: Display) -> None:
    out.heading("Look again")
    of_no_cut = result_words.of_no_cut(result.job, show)
    if not (result.slips or of_no_cut):
        out.line(result_words.NO_SLIP)
    for said in of_no_cut:
        out.line(f"- {said}")
    for found in result.slips:
        out.line(f"- {result_words.slip(found, show, result.job.names, result.job.name)}")
    for one in result.job.replaced:
        out.line(f"- {result_words.replaced(one, show, result.job.names)}")


def trim(out: Screen, result: Result, show: Display) -> None:
    """What to take where, what to expect, and the cautions that go with it."""
    plan, ground, names = result.trim, result.job.ground, result.job.names
    if ground is not None:
        _pads_gave(out, ground, show, names)
    out.heading(f"Trim, round {ground.rounds + 1}" if ground and plan else "Trim")
    if _held(out, result, show):
        return
    if plan is None:
        out.line(result_words.nothing_to_trim(result))
        return
    for shortfall in plan.shortfalls:
        out.line(f"Out of reach: {result_words.shortfall(shortfall, show, names)}.", strong=True)
    if plan.swap is not None:
        out.line(f"First: {result_words.swap(plan.swap, show, names)}.", strong=True)
    for said in result_words.learned_for(plan, ground):
        out.line(f"{said}.")
    for part in plan.parts:
        out.line(f"- {result_words.cut(part, show, names)}")
    if plan.parts:
        parts = "1 part" if len(plan.parts) == 1 else f"{len(plan.parts)} parts"
        out.line(f"{show.masses(plan.grams)} in all, off {parts}. Afterwards:")
        out.line()
        _spread_table(out, [s for s in plan.after if s.limit_g is not None], show, names)
        out.line()
        from truethrow.balance.result.trim import name_of  # noqa: PLC0415 (few commands show a plan)

        name = name_of(result.job, plan)
        out.line(f"This is plan {name}.")
    if result.job.pads_assumed:
        out.line(f"! {result_words.assumed_pads(result.job.pads_assumed)}")
    for caution in TRIM_CAUTIONS:
        out.line(f"! {caution}")


def _held(out: Screen, result: Result, show: Display) -> bool:
    """What is to be looked at, or weighed, once more before anything is planned; whether there is any of it."""
    held = result_words.look_again(result, show)
    if held:
        out.line(result_words.HELD, strong=True)
    for said in held:
        out.line(f"- {said}")
    for grind in result.of_no_cut:
        out.line(f"{result_words.weigh_again(grind, result.job.names, result.job.name)}.", strong=True)
    return bool(held or result.of_no_cut)


def _pads_gave(out: Screen, ground: Ground, show: Display, names: Names) -> None:
    out.heading(
        f"What the pads gave in {ground.rounds} round{'s' if ground.rounds > 1 else ''} [{show.mass_unit}]"
    )
    rows = [
        [
            label(p.kind),
            str(p.grinds),
            show.mass(p.asked_g),
            show.mass(p.given_g),
            "" if p.ratio is None else f"{p.ratio:.2f}",
        ]
        for p in ground.responses.values()
    ]
    if rows:
        out.table(["pad", "grinds", "asked", "gave", "ratio"], rows)
    for grind in ground.doubted:
        out.line(f"! {result_words.doubted(grind, show, names)}")


def station_notes(out: Screen, result: Result) -> None:
    if result.outside:
        out.line(result_words.AS_WEIGHED, strong=True)
    for caution in STATION_CAUTIONS:
        out.line(f"! {caution}")
