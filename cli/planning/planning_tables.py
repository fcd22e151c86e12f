"""The lathe and what must clear, on the screen."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence

from truethrow.balance.base.amounts import Amount
from truethrow.balance.base.readings import digits_for
from truethrow.balance.correction.lathe import OnTheLathe
from truethrow.balance.correction.ordering import DrillingRange
from truethrow.balance.result.work import Result
from truethrow.balance.running.clearance import Gap
from truethrow.balance.running.forecast import Figure, Forecast
from truethrow.balance.running.plausible_clearance import Odd
from truethrow.balance.station.spin import Instrument
from truethrow.cli.show import Screen
from truethrow.cli.station.station_tables import planned
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import planning_words as words
from truethrow.worksheets.words import result_words, station_words
from truethrow.worksheets.words.cautions import DRILL_CAUTION, MAKERS_FIRST

# A vector that was worked out from drawings' figures: to ten g·mm.
ABOUT_GMM = 10.0
# So many that have too little are a screenful.
MOST_ROWS = 12


def forecast(out: Screen, result: Result, found: Forecast, show: Display) -> None:
    job = result.job
    out.line(f"Job {job.id}" + (f": {job.title}" if job.title else ""), strong=True)
    if said := result_words.estimated(job):
        out.line(f"! {said}", strong=True)
    for said in result_words.off_boxes(job, show):
        out.line(f"! {said}", strong=True)
    heads = ["", f"about [{show.mass_unit}]", "±", "from", "to", "most of the doubt is from"]
    rows = [
        [words.FORECAST[name], *_masses(figure, show), words.doubts(figure)]
        for name, figure in zip(found._fields, found, strict=True)
    ]
    out.table(heads, rows, ("", "most of the doubt is from"))
    out.line(f"Target bobweight: {_masses(found.target, show)[0]} {show.mass_unit}.", strong=True)
    out.line(words.weigh_in(found.target, job, show))


def order(
    out: Screen,
    result: Result,
    forecast: Figure,
    target_g: float,
    taken: DrillingRange,
    allowed_gmm: tuple[float, float],
    show: Display,
) -> None:
    """One page for the crank's maker."""
    job, made = result.job, result.job.engine
    out.line(f"Order for a crank: job {job.id}" + (f", {job.title}" if job.title else ""), strong=True)
    if said := result_words.estimated(job):
        out.line(f"! {said}", strong=True)
    lengths = {"stroke": made.declared_stroke_mm, "rod": made.declared_rod_length_mm}
    told = (f"{name} {show.length(length)}" for name, length in lengths.items() if length is not None)
    out.line(", ".join([words.called(made), *told]))
    out.table(["throw", "angle", f"at [{show.length_unit}]"], words.throws(job.layout, show))
    out.line(words.ANGLES)
    out.line(f"Target bobweight: {show.masses(target_g)} on every throw.", strong=True)
    out.line(words.weigh_in(forecast, job, show))
    out.line(words.drilling_alone(target_g, taken, show))
    out.line(words.members(job))
    front, rear = (show.limit(one) for one in allowed_gmm)
    out.line(f"Tolerance: {front} {show.unbalance_unit} in the front plane, {rear} in the rear.")
    out.line(words.assumed(job, show))
    out.line(words.ordered(forecast, target_g, taken, show), strong=True)
    out.line(f"! {words.ORDER_CAUTION}")


def _masses(figure: Figure, show: Display) -> list[str]:
    """No more digits than are known."""
    places = digits_for(show.weighed(figure.expanded_g).number)
    return [
        Amount(show.weighed(grams).number, places).digits
        for grams in (figure.value_g, figure.expanded_g, figure.least_g, figure.most_g)
    ]


def lathe(
    out: Screen,
    found: OnTheLathe,
    show: Display,
    instrument: Instrument | None,
    *,
    is_spun: bool,
    stale: str = "",
) -> None:
    """instrument: the station's, None where no profile was given; is_spun: whether what was before is a spin;
    stale: why what was spun is not."""
    out.heading("What the lathe takes off")
    rows = [
        [
            one.member.name,
            show.length(one.member.outer_mm).digits,
            show.length(one.to_mm).digits,
            show.mass(one.mass_g),
            _at(one.change_gmm, show),
            _at(change.front, show),
            _at(change.rear, show),
        ]
        for one, change in zip(found.turned, found.changes, strict=True)
    ]
    length, mass, unit = show.length_unit, show.mass_unit, show.unbalance_unit
    out.table(
        ["counterweight", f"from [{length}]", "to", f"off [{mass}]", f"adds [{unit}]", "front", "rear"], rows
    )
    out.line("Unbalance at the crank's angle, counted from throw 1.")
    for one in found.turned:
        for hole in one.opened:
            out.line(f"! {words.opened(one.member.name, hole, one.to_mm, show)}.")
    if stale:
        out.line(f"! {words.not_counted(stale)}", strong=True)
    out.line(
        f"Together {show.masses(found.mass_g)} off. {_planes(found, show, instrument, is_spun=is_spun)}",
        strong=True,
    )
    if found.plan is not None:
        out.heading("What it takes to bring that back")
        out.line("To be planned again from a spin once the crank is turned.")
        planned(out, found.plan, show, instrument)
        out.line("Heavy metal is needed." if found.plan.heavy_metal else "Taking metal off will do.", strong=True)
        out.line(f"! {DRILL_CAUTION}")
    out.line(f"! {words.TURNING_CAUTION}")
    out.line(f"Once they are turned: {words.once_turned(found.turned[0].to_mm, show)}", strong=True)


def _planes(found: OnTheLathe, show: Display, instrument: Instrument | None, *, is_spun: bool) -> str:
    unit = show.unbalance_unit
    front, rear = (
        f"{show.unbalance(abs(v), ABOUT_GMM)} {unit} at {station_words.at(instrument, _degrees(v), 0)}"
        for v in found.then
    )
    if is_spun:
        return f"From the last spin on, the crank should then read {front} front and {rear} rear."
    return f"A crank that is in balance now should then read {front} front and {rear} rear."


def clearance(
    out: Screen,
    found: Sequence[Gap],
    least_mm: float | None,
    not_looked_at: Sequence[str],
    show: Display,
    doubts: Sequence[Odd] = (),
) -> None:
    """The nearest of each kind of pair, and every other one that has too little; before them the lengths that
    hardly belong to the engine."""
    for doubt in doubts:
        out.line(f"! {words.doubted(doubt, show)}", strong=True)
    out.heading("What comes nearest over a turn")
    nearest: dict[tuple[str, str], Gap] = {}
    for gap in found:  # the least first
        nearest.setdefault(words.kind_of(gap), gap)
    short = [gap for gap in found if words.gap_verdict(gap, least_mm) in words.TOO_LITTLE]
    rows = [_row(gap, least_mm, show) for gap in dict.fromkeys((*short[:MOST_ROWS], *nearest.values()))]
    columns = ["what", "against", f"least [{show.length_unit}]", "crank", "verdict"]
    out.table(columns, rows, ("what", "against", "verdict"))
    if len(short) > MOST_ROWS:
        out.line(f"… and {len(short) - MOST_ROWS} more that have too little.")
    out.line(
        f"{len(found)} pairs were looked at; of each kind the nearest is shown. Crank: how far throw 1 is turned"
    )
    out.line("from straight up.")
    if least_mm is not None:
        out.line(f"Wanted at every place: {show.length(least_mm)}.")
    for one in not_looked_at:
        out.line(f"Not looked at: {one}")
    for caution in (*words.CLEARANCE_CAUTIONS, MAKERS_FIRST):
        out.line(f"! {caution}")


def _row(gap: Gap, least_mm: float | None, show: Display) -> list[str]:
    what, against = words.gap_names(gap)
    verdict = words.gap_verdict(gap, least_mm)
    return [what, against, _length(gap.least_mm, show), f"{gap.crank_deg:.1f}°", verdict]


def _length(mm: float, show: Display) -> str:
    """To a hundredth of a millimetre, a thousandth of an inch."""
    return f"{mm / 25.4:.3f}" if show.inch else f"{mm:.2f}"


def _at(vector: complex, show: Display) -> str:
    return f"{show.unbalance(abs(vector), ABOUT_GMM)} at {_degrees(vector):.0f}°"


def _degrees(vector: complex) -> float:
    """Whole degrees, and never 360."""
    return round(math.degrees(cmath.phase(vector))) % 360
