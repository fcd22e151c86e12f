"""Before anything is cut, in sentences: the lathe, and what must clear."""

from __future__ import annotations

import math

from truethrow.balance.base.amounts import Amount
from truethrow.balance.base.parts import label
from truethrow.balance.base.readings import digits_for
from truethrow.balance.correction.ordering import DrillingRange
from truethrow.balance.crank.holes import Hole
from truethrow.balance.engine.engine import Engine
from truethrow.balance.engine.layout import Layout
from truethrow.balance.job.job import Job
from truethrow.balance.running.clearance import Gap
from truethrow.balance.running.forecast import Figure
from truethrow.balance.running.plausible_clearance import Odd
from truethrow.worksheets.shown.display import Display

CLEARANCE_CAUTIONS = (
    "Cold and at rest: bearing play, a stretched rod and a rocking piston take some of it at speed. The makers' "
    "clearances and your own measuring, turned by hand with clay or feeler gauges, come first.",
)
TURNING_CAUTION = (
    "A turned counterweight is weaker round its holes, and whatever the lathe opens can leave at speed: guard "
    "shut, and let whoever is qualified judge what is left. The crank maker's limits come first."
)


FORECAST = {
    "target": "bobweight of a throw",
    "reciprocating": "reciprocating, a cylinder",
    "rotating": "rotating, a cylinder",
}
# A kind that brings less of a doubt than this is not worth weighing first.
WORTH_NAMING = 0.05


def doubts(figure: Figure) -> str:
    named = [f"{label(kind)} {part:.0%}" for kind, part in figure.doubts[:2] if part >= WORTH_NAMING]
    return ", ".join(named)


def weigh_in(figure: Figure, job: Job, show: Display) -> str:
    """What the parts will weigh in at, and what would tell it better."""
    places = digits_for(show.weighed(figure.expanded_g).number)
    about, least, most = (
        Amount(show.weighed(grams).number, places, show.mass_unit)
        for grams in (figure.value_g, figure.least_g, figure.most_g)
    )
    said = f"These parts: about {about}, between {least.digits} and {most}."
    first = next((kind for kind, _ in figure.doubts if kind in job.estimated), None)
    return said if first is None else f"{said} Weigh first, or ask the maker: {label(first)}."


ORDER_TITLE = "A crank to be made, and the bobweight that it is balanced for"
ANGLES = (
    "Angles count from throw 1 in the direction in which the crank turns: a crank made the other way round is its "
    "mirror image. Places count rearwards from throw 1."
)
ORDER_CAUTION = (
    "Worked out from what the job declares and the tools of this shop; the maker's own limits for its crank, and "
    "his word on it, come first."
)


def called(engine: Engine) -> str:
    """The layout by its name, or what there is of one that has none."""
    if engine.is_named:
        return engine.layout_name
    return f"{len(engine.layout.throws)} throws as told here, {len(engine.layout.cylinders)} cylinders"


def throws(layout: Layout, show: Display) -> list[list[str]]:
    return [
        [t.name, f"{t.angle_deg:g}°", "" if t.place_mm is None else show.length(t.place_mm).digits]
        for t in layout.throws
    ]


def drilling_alone(target_g: float, taken: DrillingRange, show: Display) -> str:
    """How far the parts may weigh from the target before it takes heavy metal."""

    def end(grams: float) -> str:
        return "any" if math.isinf(grams) else show.masses(grams)

    if taken == (math.inf, math.inf, 0, 0):
        return "This crank does not feel what all throws carry alike: parts of any weight take no heavy metal."
    least, most = end(target_g - taken.lighter_g), end(target_g + taken.heavier_g)
    if "any" in (least, most):
        least, most = least.replace("any", "nothing"), most.replace("any", "any weight")
    return (
        f"Drilling these counterweights alone takes parts from {least} ({_holes(taken.lighter_holes)}) to {most} "
        f"({_holes(taken.heavier_holes)})."
    )


def _holes(count: int) -> str:
    return "no hole" if not count else "1 hole" if count == 1 else f"{count} holes"


def ordered(forecast: Figure, target_g: float, taken: DrillingRange, show: Display) -> str:
    """Whether the parts may need heavy metal on a crank that is ordered so."""
    if taken.covers(forecast.least_g - target_g, forecast.most_g - target_g):
        return "Wherever in their range the parts weigh in, drilling alone will do."
    if forecast.most_g - target_g > taken.heavier_g:
        over = show.masses(forecast.most_g - target_g - taken.heavier_g)
        enough = show.masses(math.ceil(forecast.most_g - taken.heavier_g))
        return (
            f"OUTSIDE: parts at the heavy end of their range are {over} beyond what drilling does: heavy metal. A "
            f"crank that is ordered for {enough} or more needs none."
        )
    under = show.masses(target_g - taken.lighter_g - forecast.least_g)
    return f"OUTSIDE: parts at the light end of their range are {under} beyond what drilling does."


def members(job: Job) -> str:
    """How the crank is to be balanced."""
    carried = [one.name for one in job.crank.externals if one.offset] if job.crank else []
    if not carried:
        return "Internal balance: the counterweights carry all of it."
    return f"External balance: with {', '.join(carried)} on, whose offsets the job declares."


def assumed(job: Job, show: Display) -> str:
    said = [f"share {job.share:g} of what goes up and down"]
    oil = sorted(set(job.oil_g))
    said.append(f"oil {', '.join(str(show.told_in.given(one)) for one in oil)} a throw")
    if job.station.crank_mass_g is not None:
        said.append(f"a crank of {show.told_in.heavy(job.station.crank_mass_g / 1000)}")
    return f"Assumed: {'; '.join(said)}."


def not_counted(stale: str) -> str:
    """That figures do not go on from what was spun."""
    return f"Nothing here goes on from the last spin: {stale}."


def once_turned(to_mm: float, show: Display) -> str:
    return (
        f"put outer_radius = {show.length(to_mm).digits} in the job for each, then spin the crank. Until that "
        "spin no hole is to be drilled: any plan before it is of the crank as it was."
    )


def gap_names(gap: Gap) -> tuple[str, str]:
    """What comes near, and what it comes near."""
    if gap.mover == "counterweight":
        return f"counterweight {gap.what}", gap.against
    if gap.mover == "skirt":
        return f"piston {gap.cylinder}, skirt", f"counterweight {gap.against}"
    return f"rod {gap.cylinder}, {gap.what}", gap.against


def kind_of(gap: Gap) -> tuple[str, str]:
    """What kind of pair it is, of whichever cylinder."""
    return gap.what if gap.mover == "rod" else gap.mover, "" if gap.mover == "skirt" else gap.against


def doubted(found: Odd, show: Display) -> str:
    """A length that must clear and hardly belongs to the engine, with what is usual."""
    least, most = (show.worked_out(mm) for mm in (found.least_mm, found.most_mm))
    beside = f" beside a {found.beside} of {show.length(found.beside_mm)}" if found.beside else ""
    return (
        f"{found.name}: {show.length(found.length_mm)} looks wrong{beside}; usual: {least.digits} to {most} "
        "(common practice, no source). Is the point in its place, and the unit right? Until then no distance told "
        f'here may be relied on. If it is right: checked = ["{found.name}"] in [clearance].'
    )


TOO_LITTLE = ("TOUCHES", "OUTSIDE")


def gap_verdict(gap: Gap, least_mm: float | None) -> str:
    if gap.least_mm <= 0:
        return "TOUCHES"
    if least_mm is None:
        return "no limit"
    return "inside" if gap.least_mm >= least_mm else "OUTSIDE"


def opened(member: str, hole: Hole, to_mm: float, show: Display) -> str:
    """A hole along the crank that the lathe opens, or leaves too thin a wall."""
    wall_mm = to_mm - hole.radius_mm - hole.diameter_mm / 2
    which = f"{member}: the hole along the crank at crank {hole.angle_deg:g}°"
    if wall_mm <= 0:
        return f"{which} is opened at the rim"
    return f"{which} keeps {show.worked_out(wall_mm)} of wall to the rim"
