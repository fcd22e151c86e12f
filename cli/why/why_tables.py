"""The engine room on the screen: a layout drawn, what shakes, the shares, and how sure every figure is."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from truethrow.balance.base.formulas import unbalance_gmm
from truethrow.balance.base.parts import label
from truethrow.balance.base.readings import digits_for
from truethrow.balance.engine.layout import Layout, firing_intervals_deg
from truethrow.balance.engine.shaking import Peak, inherent
from truethrow.balance.engine.share import AIMS, Optimum, Shares
from truethrow.cli.show import Screen
from truethrow.worksheets.shown import strokes
from truethrow.worksheets.shown.display import Display, angle
from truethrow.worksheets.words import physics_words, result_words
from truethrow.worksheets.words.cautions import SHAKE_CAUTION

if TYPE_CHECKING:
    from collections.abc import Sequence

    from truethrow.balance.result.work import Result
    from truethrow.balance.running.budget import Budget
    from truethrow.balance.running.draws import Drawn
    from truethrow.balance.running.running import Shake

# Shown as nothing: rounding, against the largest figure of its kind.
NOTHING = 1e-9
SOURCES = ("rounding", "on_the_pan", "rod_ends", "calibration", "zero", "estimated")


TENTHS = range(0, 101, 10)


def layout(out: Screen, name: str, made: Layout, firing_order: tuple[int, ...]) -> None:
    """End view and side view, the inherent balance, and the firing intervals where an order is declared."""
    out.line(f"Layout {name}", strong=True)
    end = ["from the front, turning clockwise; banks dotted", *strokes.end_view(made)]
    side = ["from the side, front on the left", *strokes.side_view(made)]
    for text in (
        strokes.beside(end, side) if out.fits(max(map(len, end)) + max(map(len, side)) + 3) else end + side
    ):
        out.raw(text)
    out.heading("Inherent balance of equal masses: what turns with the crank, and what against it")
    rows = []
    for order in (1, 2):
        amounts = inherent(made, order).amounts()
        rows.append([str(order), *(_multiple(value) for value in amounts)])
    out.table(["order", "force with", "force against", "couple with", "couple against"], rows)
    out.line("order 1 over m·r·ω², order 2 over m·r·ω²·λ; couples times the unit of z, about the middle")
    if firing_order:
        intervals = firing_intervals_deg(made, firing_order)
        out.heading("Firing")
        out.line(f"order {'-'.join(map(str, firing_order))}, degrees from each to the next:")
        out.line(", ".join(f"{value:g}" for value in intervals))


def shares(out: Screen, name: str, found: Shares, show: Display | None = None, rods: str | None = None) -> None:
    """What bobweights can do here, the best share for every aim, and the curve in tenths. show: the units of a
    job, None for a layout, whose figures are multiples; rods: of rods side by side."""
    units = dict.fromkeys(AIMS, (show.force_unit, show.per_newton) if show else ("m·r·ω²", 1.0))
    units["couple"] = (show.couple_unit, show.per_newton_metre) if show else ("m·r·ω²·z", 1.0)
    out.line(f"Share of the reciprocating mass for {name}", strong=True)
    out.line(result_words.ADVICE[found.sense])
    if rods:
        out.line(rods)
    out.line(physics_words.best_share(found), strong=True)
    out.line()
    out.table(
        ["aim", "best share", "peak there", "at 0.5", "at none", "unit"],
        [_optimum(o, *units[o.aim]) for o in found.optima],
        words=["unit"],
    )
    out.heading("Peak against share")
    columns = [_alike([float(found.peaks[aim][i]) * units[aim][1] for i in TENTHS]) for aim in AIMS]
    rows = [[f"{found.shares[i]:.1f}", *values] for i, *values in zip(TENTHS, *columns, strict=True)]
    out.table(["share", *(physics_words.AIM_HEADS[aim] for aim in AIMS)], rows)
    out.line("Main bearing: each throw a beam of its own between its two mains, inertia only.")


def shake(out: Screen, result: Result, found: Shake, show: Display) -> None:
    """Peaks, orders, mounts, the polar curves, and what the masses pull."""
    out.line(f"Job {result.job.id} at {found.speed_rpm:g} r/min", strong=True)
    hung = result.bobweights.hung_g
    known = "by [estimate] where not weighed" if result.job.estimated else "as weighed"
    out.line(f"{known}, with {'each throw its own' if hung is None else show.masses(hung)} hung")
    if rods := result_words.rods(result, show):
        out.line(rods)
    out.heading(f"Largest over one turn; couple about z {show.length(found.curve.about_mm)}")
    force, couple = found.force, found.couple
    # A couple counts over a metre.
    no_force, no_couple = (peak.amount <= NOTHING * found.pulls.pull_n for peak in (force, couple))
    equal = show.unbalance(
        unbalance_gmm(force.amount, found.speed_rpm), unbalance_gmm(found.force_expanded_n, found.speed_rpm)
    )
    equal_couple = "0" if no_couple else show.moment(unbalance_gmm(couple.amount * 1000, found.speed_rpm))
    unit, one, of_couple, one_of_couple = (
        show.force_unit,
        show.per_newton,
        show.couple_unit,
        show.per_newton_metre,
    )
    rows = [
        [f"force [{unit}]", *_with_expanded(force.amount, found.force_expanded_n, one)],
        [f"vertical [{unit}]", *_with_expanded(found.vertical_n, found.vertical_expanded_n, one), "", "", ""],
        [
            f"horizontal [{unit}]",
            *_with_expanded(found.horizontal_n, found.horizontal_expanded_n, one),
            "",
            "",
            "",
        ],
        [f"couple [{of_couple}]", *_with_expanded(couple.amount, found.couple_expanded_nm, one_of_couple)],
    ]
    rows[0] += [*_where(force, found.force_expanded_n), f"{equal} {show.unbalance_unit}"]
    rows[3] += [*_where(couple, found.couple_expanded_nm), f"{equal_couple} {show.unbalance_unit}²"]
    for m in found.mounts:
        name = f"{m.plane} mount, z {show.length(m.z_mm)} [{unit}]"
        rows.append([name, *_with_expanded(m.peak.amount, m.expanded_n, one), *_where(m.peak, m.expanded_n), ""])
    out.table(["what", "amount", "±", "at crank", "direction", "equals"], rows)
    out.heading("By order: what turns with the crank, and what against it")
    out.table(
        [
            "order",
            f"force with [{unit}]",
            f"against [{unit}]",
            f"couple with [{of_couple}]",
            f"against [{of_couple}]",
        ],
        [
            [
                str(o.order),
                *(
                    _figure(value * by)
                    for value, by in zip(o.amounts(), (one, one, one_of_couple, one_of_couple), strict=True)
                ),
            ]
            for o in found.orders
        ],
    )
    out.heading("Force and couple round the turn; up is up, seen from the front")
    step = max(1, len(found.curve.crank_rad) // 360)
    left, right = (
        ["no force: it cancels out"]
        if no_force
        else [
            f"force, outer ring {_figure(force.amount * one)} {unit}",
            *strokes.polar(found.curve.force_n[::step]),
        ],
        ["no couple: it cancels out"]
        if no_couple
        else [
            f"couple, outer ring {_figure(couple.amount * one_of_couple)} {of_couple}",
            *strokes.polar(found.curve.couple_nm[::step]),
        ],
    )
    for text in strokes.beside(left, right, gap=2):
        out.raw(text)
    pulls = found.pulls
    out.heading("What the masses pull")
    peak, top = show.acceleration(pulls.acceleration_m_s2), show.acceleration(pulls.top_acceleration_m_s2)
    out.line(f"piston acceleration {peak} at the peak, {top} at top dead center")
    out.line(
        f"heaviest reciprocating mass, cylinder {pulls.cylinder}: {show.masses(pulls.reciprocating_g)} pulls "
        f"{_figure(pulls.pull_n * one)} {unit} at top dead center, {_figure(pulls.bolt_n * one)} {unit} on each "
        f"of {pulls.bolts} rod bolts (without the upper half of the big end, gas and preload)"
    )
    radius = show.length(result.job.engine.throw_radius_mm)
    out.line(f"one gram at the throws' radius, {radius}, pulls {_figure(pulls.gram_n * one)} {unit}")
    out.line(f"! {SHAKE_CAUTION}")


def sure(
    out: Screen, result: Result, found: Sequence[Budget], made: Sequence[Drawn] | None, show: Display
) -> None:
    """Every figure with its uncertainty, what that is made of, and the draws beside it."""
    out.line(f"Job {result.job.id}: how sure, expanded uncertainty (95 %)", strong=True)
    scale = result.job.scale
    out.line(f"step {show.as_given(scale.resolution_g)}, {'tared' if scale.tared else 'not tared'}")
    for said in physics_words.repeatability(result, show):
        out.line(said)
    known = [str(show.as_given(scale.calibration_g))] if scale.calibration_g else []
    known += [f"{100 * scale.gain:g} % of the load"] if scale.gain else []
    out.line(f"calibration {' and '.join(known) or 'not given'}")
    out.line()
    sources = [name for name in SOURCES if any(getattr(b, name) > 0 for b in found)]
    sources = sources if len(sources) > 1 else []  # one alone is the whole ±
    rows = []
    for b in found:
        numbers = [b.value, b.expanded, *(getattr(b, name) for name in sources)]
        gram = b.unit == "g"
        shown = [show.mass(x, finer=1) if gram else show.unbalance(x, b.expanded) for x in numbers]
        most = ", ".join(f"{kind.replace('_', ' ')} {part:.0%}" for kind, part in b.kinds[:2])
        rows.append([_name(b.figure, b.unit, show), *shown, most])
    heads = [label(name) for name in sources]
    out.table(["figure", "value", "±", *heads, "most of it from"], rows, words=["most of it from"])
    if made is None:
        return
    out.heading("Monte Carlo: 95 of 100 draws lie between")
    rows = []
    for d in made:
        gram = d.unit == "g"
        numbers = [d.value, d.expanded, d.reach, d.low, d.high]
        shown = [show.mass(x, finer=1) if gram else show.unbalance(x, d.expanded) for x in numbers]
        rows.append([_name(d.figure, d.unit, show), *shown, "agrees" if d.agrees else "differs"])
    out.table(["figure", "value", "±", "± drawn", "from", "to", "first order"], rows, words=["first order"])
    if not all(d.agrees for d in made):
        out.line("Where the first order differs, the draws are right: the figure bends there.")


def _name(figure: str, unit: str, show: Display) -> str:
    return f"{figure.replace('_', ' ')} [{show.mass_unit if unit == 'g' else show.unbalance_unit}]"


def _where(peak: Peak, expanded: float) -> tuple[str, str]:
    """Crank angle and direction of a peak; what is less than its own uncertainty points nowhere."""
    if peak.amount <= expanded:
        return "", ""
    return angle(peak.crank_deg), angle(peak.direction_deg)


def _optimum(found: Optimum, unit: str, one: float) -> list[str]:
    if found.share is None:
        best = "no difference"
    elif found.width > 1e-6:
        best = f"{found.share - found.width:.3f} to {found.share + found.width:.3f}"
    else:
        best = f"{found.share:.6f}"
    peaks = _alike([peak * one for peak in (found.least, found.at_half, found.at_none)])
    return [physics_words.AIM_WORDS[found.aim], best, *peaks, unit]


def _alike(values: Sequence[float]) -> list[str]:
    """Figures of one column, with the decimals that give the largest four digits."""
    largest = max(map(abs, values))
    places = 4 if largest < 1 else max(0, 3 - math.floor(math.log10(largest)))
    return [f"{value:.{places}f}" for value in values]


def _multiple(value: float) -> str:
    return "0" if value < NOTHING else f"{value:.4f}"


def _with_expanded(value: float, expanded: float, one: float) -> tuple[str, str]:
    """A figure and its uncertainty, to two digits of the latter. one: how many of the unit that is shown one of
    theirs is."""
    value, expanded = value * one, expanded * one
    if expanded < NOTHING:
        return _figure(value), ""
    places = digits_for(expanded)
    return f"{value:.{places}f}", f"{expanded:.{places}f}"


def _figure(value: float) -> str:
    """Four significant digits, no exponent; what is only rounding is 0."""
    if abs(value) < NOTHING:
        return "0"
    return f"{value:.{max(0, 3 - math.floor(math.log10(abs(value))))}f}"
