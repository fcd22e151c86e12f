"""A replacement in sentences: what it may weigh, what holds it there, how one would fit, what to do next."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from typing import TYPE_CHECKING

from truethrow.balance.base.parts import BY_NAME, ENDS, UNIT_OF, label
from truethrow.balance.result.doubts import entering, way_out, weighing
from truethrow.balance.result.fitting import Trial
from truethrow.balance.result.replacing import Leeway, Replacement
from truethrow.balance.result.spread import Spread
from truethrow.worksheets.shown.display import Display, finer_for, finer_of, inward
from truethrow.worksheets.words.book_words import move_command
from truethrow.worksheets.words.result_words import member, sentence, slip_alone, weigh_again

if TYPE_CHECKING:
    from truethrow.balance.base.naming import Names
    from truethrow.balance.book.stock_shelf import InJob
    from truethrow.balance.job.replaced import OldRecord
    from truethrow.balance.result.slips import Slip

NO_LIMIT = "The job sets no limit that this part counts in: any mass is inside."
HELD = "No window is told yet. Look at these readings of the other parts again first:"
NOTHING_FITS = "No mass of this part alone brings the set inside, whatever is taken off it."
NO_READING = "No reading of the scale is inside every limit: the others are too far apart for it."
# As one of a kind is called that comes in sets.
_ONE_OF = {"rings": "set of rings", "locks": "pair of locks", "bearings": "pair of bearings"}
# A grid's cell that no cut reaches.
OUT_OF_REACH = "-"


def head(wanted: Replacement) -> str:
    old = wanted.job.names.said(wanted.unit, wanted.cylinder)
    return f"Another {_ONE_OF.get(wanted.unit, label(wanted.unit))} in the place of {old}"


def held(wanted: Replacement, slips: Sequence[Slip], show: Display) -> list[str]:
    """What is to be looked at again before a window is worth anything, each with the way out."""
    job = wanted.job
    said = [f"{slip_alone(one, show, job.names, job.name)} {sentence(way_out(job, one))}" for one in slips]
    said += [f"{weigh_again(grind, job.names, job.name)}." for grind in (job.ground.again if job.ground else ())]
    return [*said, entering(job)] if slips and job.sheet else said


def already_out(spread: Spread, show: Display, names: Names) -> str:
    """A spread that no replacement can mend."""
    finer = finer_of(spread, show)
    ends = " and ".join(member(spread, name, names) for name in (spread.lightest, spread.heaviest))
    said = {"outside": "OUTSIDE"}.get(str(spread.verdict), str(spread.verdict))
    return (
        f"{label(spread.quantity)}: {ends} are {show.masses(spread.spread_g, finer)} apart, "
        f"± {show.mass(spread.expanded_g, 1)}, limit {show.allowed(spread.limit_g or 0.0, finer).digits}: {said}"
    )


def reading(leeway: Leeway) -> str:
    """What of the part a leeway bounds: ``big end + 0.5 × small end``."""
    terms = (label(k) if count == 1 else f"{count:g} × {label(k)}" for k, count in leeway.counts.items())
    return " + ".join(terms)


def bounds(leeway: Leeway, show: Display) -> tuple[str, str]:
    """From where to where a sum of both readings of a rod may be, never wider than it is."""
    return inward(show, leeway.least_g - leeway.rest_g, leeway.most_g - leeway.rest_g, finer=1)


def holds(leeway: Leeway, other: str, show: Display, names: Names) -> str:
    """What holds the window at one side: ``piston limit 1.0: piston P6 (sits in 3)``."""
    limit = show.allowed(leeway.limit_g, finer_for(leeway.quantity, (), show)).digits
    return f"{label(leeway.quantity)} {limit}: {_member(leeway.quantity, other, names)}"


def _member(quantity: str, name: str, names: Names) -> str:
    if quantity == "bobweight":
        return f"throw {name}"
    part = "rod" if quantity == "both_ends" else UNIT_OF.get(quantity, quantity)
    return names.said(part, int(name)) if quantity in BY_NAME or part == "rod" else f"cylinder {name}"


def with_metal_off(top_g: float, window_top_g: float, show: Display) -> str:
    return f"With metal off it alone up to {show.masses(top_g)}: all above {show.mass(window_top_g)} comes off."


def twice(kind: str, low_g: float, high_g: float, show: Display) -> str:
    window = f"{show.mass(low_g)} to {show.masses(high_g)}"
    return f"{label(kind).capitalize()}, weighed twice and reading the same both times: {window}."


TAKE_OFF = "take off"


def taken(trial: Trial, show: Display) -> str:
    """What it takes to bring the set inside with one, for a table: ``nothing``, ``1.2 off it``, of a rod at both
    its ends ``0.1 + 1.2 off it``, ``13.1 off 9 parts``."""
    if trial.way == "as it is":
        return "nothing"
    if trial.way == "metal off it":
        grams = {cut.pad.kind: cut.grams for cut in trial.cuts}
        pads = ENDS if set(trial.masses) == set(ENDS) else grams
        return f"{' + '.join(show.mass(grams.get(pad, 0.0)) for pad in pads)} off it"
    parts = len(trial.plan.parts) if trial.plan else 0
    said = f"{show.mass(trial.grams)} off {parts} part{'' if parts == 1 else 's'}" if parts else "nothing"
    if trial.way == "metal off others":
        return said
    return f"{said}: still {'OUTSIDE' if trial.worst == 'outside' else trial.worst}"


def take_off(wanted: Replacement) -> str:
    """The heading above it."""
    return f"{TAKE_OFF} (big end + small end)" if wanted.unit == "rod" else TAKE_OFF


def least_metal(trial: Trial, show: Display) -> str:
    reads = " / ".join(show.mass(grams) for grams in trial.masses.values())
    return f"Least metal in all: one of about {reads} {show.mass_unit} (to take: {taken(trial, show)})."


def next_steps(wanted: Replacement, old: Sequence[OldRecord], written: Sequence[str]) -> list[str]:
    """What to do once the new part is at hand, each line a command or a hand's work, in order. written: the kinds
    of reading that the job file has of the old one."""
    job, names = wanted.job, wanted.job.names
    part = names.part(wanted.unit, wanted.cylinder)
    steps = [f"truethrow enter {job.name} {job.sheet} (from then on leave the sheet out)"] if job.sheet else []
    if written:
        steps.append(
            f"in {job.name}, cylinder {part.weighed_in}: take out {' and '.join(written)}, the old one's weight"
        )
    why = shlex.quote(f"{names.typed(wanted.unit, wanted.cylinder)} replaced")
    steps += [f"truethrow strike {job.name} {shlex.quote(one.id)} --why {why}" for one in old]
    if part.label:
        its_own = f"or put its own mark in the job file: cylinder {part.weighed_in}, labels, {part.unit}"
        steps.append(f"mark it {part.label}, as the old one; {its_own}")
    return [*steps, weighing(job, [(wanted.cylinder, kind) for kind in wanted.kinds])]


def stock_steps(wanted: Replacement, mark: str, job: str, old: str) -> list[str]:
    """How the stock learns that a part of it went in. job: its id; old: the mark of the stock's part that is in
    its cylinder by now, empty for none."""
    part = wanted.job.names.part(wanted.unit, wanted.cylinder)
    needs = "once the job file has its mark" if part.label not in ("", mark) else "so that the stock knows"
    when = "once the job file has the new mark; " if part.label == old else ""
    away = [f"{move_command(wanted.unit, old)} ({when}the stock has it as loose then: it must not go in anywhere)"]
    move = f"{move_command(wanted.unit, mark, job, wanted.cylinder)} ({needs})"
    return [*(away if old else []), move]


def may_sit(mark: str, where: InJob) -> str:
    """A part of the stock that a job seems to have."""
    return f"{mark}: job {where.job} has one of that mark in cylinder {where.cylinder}; look before it goes in"
