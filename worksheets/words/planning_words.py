"""Before anything is cut, in sentences: the lathe, and what must clear."""

from __future__ import annotations

from truethrow.balance.base.parts import label
from truethrow.balance.base.readings import digits_for
from truethrow.balance.crank.holes import Hole
from truethrow.balance.job.job import Job
from truethrow.balance.running.clearance import Gap
from truethrow.balance.running.forecast import Figure
from truethrow.worksheets.shown.display import Amount, Display

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


def target(figure: Figure, job: Job, show: Display) -> str:
    """What to order for, and what would tell it better."""
    places = digits_for(show.weighed(figure.expanded_g).number)
    about, least, most = (
        Amount(show.weighed(grams).number, places, show.mass_unit)
        for grams in (figure.value_g, figure.least_g, figure.most_g)
    )
    said = f"Target bobweight: {about}; these parts will weigh in between {least.digits} and {most}."
    first = next((kind for kind, _ in figure.doubts if kind in job.estimated), None)
    return said if first is None else f"{said} Weigh first, or ask the maker: {label(first)}."


def once_turned(to_mm: float, show: Display) -> str:
    return f"put outer_radius = {show.length(to_mm).digits} in the job for each, then spin the crank."


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
    return f"{which} keeps {show.length(round(wall_mm, 1))} of wall to the rim"
