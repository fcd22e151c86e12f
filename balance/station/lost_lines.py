"""A damaged line of a log settled: what became of it, and what was entered again in its place."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from truethrow.balance.base import trades, units
from truethrow.balance.base.amounts import ToldIn, factor
from truethrow.balance.base.digits import digits
from truethrow.balance.base.errors import BadInput, Fault, shown, wrong_why
from truethrow.balance.base.parts import CUT_AT
from truethrow.balance.base.units import ANGLE, LENGTH, MASS, UNBALANCE, Dimension
from truethrow.balance.log.damage import AGAIN, DONE, NEVER, NOTED, Way, said, unsettled
from truethrow.balance.log.records import (
    KINDS,
    MOST_CUT_G,
    Acknowledged,
    Begun,
    Cut,
    Damaged,
    Drilled,
    Record,
    Traded,
    again_for,
    again_id,
    struck_ids,
)

if TYPE_CHECKING:
    from truethrow.balance.log.place import Place

# What is written again in the place of the lost line; all else by its own command.
WRITTEN_AGAIN = (Cut, Drilled, Traded)
# A hole as a hand types it, its figures in the order in which the history tells them.
FIGURES = {
    "at crank": "angle_deg",
    "radius": "radius_mm",
    "z": "z_mm",
    "diameter": "diameter_mm",
    "depth": "depth_mm",
    "point": "point_deg",
    "arc": "arc_deg",
    "takes": "removes_gmm",
    "mass": "mass_g",
}
_TYPED = f"cut 3 big_end 2.4, hole KIND MEMBER: {' '.join(FIGURES)} …, or trade piston 3>5 5>3"
# What is entered again by the command that wrote it.
OWN_COMMAND = tuple(name for name, kind in KINDS.items() if kind not in (*WRITTEN_AGAIN, Begun))
_QUANTITY = r"(-?\d+(?:\.\d+)?(?:e[+-]?\d+)?(?: ?[^\W\d_]+(?:·[a-z]+)?|°)?)"
_HOLE = re.compile(r"(.+): " + " ".join(f"{word} {_QUANTITY}" for word in FIGURES))
_DIMENSIONS = {"deg": ANGLE, "mm": LENGTH, "gmm": UNBALANCE, "g": MASS}


def figures_of(hole: Drilled, told_in: ToldIn) -> str:
    """A hole's figures as the history tells them, so that a hand can type them again."""
    return " ".join(f"{word} {_quantity(getattr(hole, name), name, told_in)}" for word, name in FIGURES.items())


def _quantity(value: float, name: str, told_in: ToldIn) -> str:
    match _dimension_of(name):
        case units.ANGLE:
            return f"{digits(value, 9)}°"
        case units.LENGTH:
            return f"{digits(value / factor(told_in.length, LENGTH))} {told_in.length}"
        case units.MASS:
            return f"{digits(value / factor(told_in.scale, MASS))} {told_in.scale}"
    return f"{digits(value / told_in.unbalance_gmm)} {told_in.unbalance_unit}"


def _dimension_of(name: str) -> Dimension:
    return _DIMENSIONS[name.rpartition("_")[2]]


def needs(line: Damaged) -> tuple[Way, ...]:
    """How a damaged line can be settled."""
    claim = said(line)
    return (AGAIN, NEVER) if claim is None or isinstance(claim, DONE) else (NOTED,)


def acknowledge(
    place: Place, number: int, way: Way, why: str, figures: str = "", by: str = ""
) -> tuple[Acknowledged, Record | None]:
    """Write down what became of a damaged line: the acknowledgement, and the cut, hole or trade that was written
    again in its place. figures: of it, where the line does not tell them any more.

    Raises BadInput where no such line waits, or the way does not fit it; NotSaved."""
    from truethrow.balance.log.place import must_have_a_log, open_log  # noqa: PLC0415 (which opens logs with this)

    must_have_a_log(place)
    log = open_log(place, by=by, damaged=True)
    where = f"{log.unit} {number}"
    waiting = unsettled(log.records)
    line = next((record for record in waiting if record.number == number), None)
    if line is None:
        there = any(isinstance(record, Damaged) and record.number == number for record in log.records)
        wrong = "is acknowledged already" if there else "is not damaged"
        raise BadInput([Fault(where, wrong, ", ".join(str(record.number) for record in waiting))], log.name)
    if faults := wrong_why(why, "a word of why: how do you know?"):
        raise BadInput(faults)
    claim = said(line)
    if way not in (ways := needs(line)):
        what = f"was a {claim.action}" if claim else "cannot be read any more"
        say = "say --why alone" if ways == (NOTED,) else "say --entered-again or --never-happened"
        raise BadInput([Fault(where, what, remedy=say)], log.name)
    again = None
    if way == AGAIN:
        again = _written_again(line, claim, figures)
    if again is None and figures and way != AGAIN:
        raise BadInput([Fault("--figures", "goes with --entered-again only")])
    struck = struck_ids(log.records)
    if again is not None:
        before = sum(again_for(record_id) == line.id for record_id in struck)
        log.append(again, id=again_id(line, before + 1))
    # One id for one damaged line: of two who acknowledge it at once, both make the same record. What was struck
    # out is another when it is said again.
    before = sum(isinstance(r, Acknowledged) and r.line == line.id and r.id in struck for r in log.records)
    key = f"{line.id}-acknowledged{f'-{before + 1}' if before else ''}"
    return log.append(Acknowledged(line.id, way, number, why=why), id=key), again


def _written_again(line: Damaged, claim: Record | None, figures: str) -> Record | None:
    """The record in the place of a lost cut, hole or trade; None for what is entered by its own command. figures:
    of it, or by its name alone what is no cut, hole or trade."""
    if isinstance(claim, WRITTEN_AGAIN) and not figures:
        return claim
    if claim is None and not figures:
        wrong = "missing: the line can't be read any more, so nothing would be entered again"
        raise BadInput([Fault("--figures", wrong, f"{_TYPED}; else what it was: {', '.join(OWN_COMMAND)}")])
    if claim is None and figures.strip() in OWN_COMMAND:
        return None
    if not figures:
        return None
    if claim is not None and not isinstance(claim, WRITTEN_AGAIN):
        raise BadInput([Fault("--figures", f"the line was a {claim.action}", "enter it by its own command")])
    try:
        made = _figured(figures, line.id)
    except (ValueError, IndexError) as error:
        raise BadInput([Fault("--figures", f"{shown(figures)!r}: {error}", _TYPED)]) from None
    if claim is None:
        return made
    if type(claim) is not type(made):
        raise BadInput([Fault("--figures", f"{shown(figures)!r} is a {made.action}", f"a {claim.action}")])
    # What the line still tells for sure goes with the figures: the plan and its step, the spin, the proposal.
    rest = {name: getattr(claim, name) for name in _BELONGS if hasattr(claim, name)}
    return replace(made, why=claim.why, **rest)


_BELONGS = ("spin", "plan", "step", "proposal")


def _figured(figures: str, of: str) -> Cut | Drilled | Traded:
    """A cut, a hole or a trade as typed. of: what stands for the spin or the proposal that is not known any more.
    Raises ValueError, IndexError for what is none."""
    action, _, rest = figures.strip().partition(" ")
    if action == Cut.action:
        cylinder, pad, grams = rest.split()[:3]
        mass_g = units.parse(grams, MASS, "g")
        if pad not in CUT_AT or not 0 < mass_g < MOST_CUT_G:
            raise ValueError(f"no cut: {', '.join(CUT_AT)}, and grams above zero")
        return Cut(int(cylinder), pad, mass_g, of)
    if action == Drilled.action:
        from truethrow.balance.station.stationlog import hole_of  # noqa: PLC0415 (the station's alone)

        kind, _, text = rest.partition(" ")
        found = _HOLE.fullmatch(text)
        if found is None:
            raise ValueError("is no hole")
        numbers: dict[str, Any] = {
            name: units.parse(typed, _dimension_of(name), _dimension_of(name).inside)
            for name, typed in zip(FIGURES.values(), found.groups()[1:], strict=True)
        }
        made = Drilled(kind=kind, member=found[1], **numbers, spin=of)
        hole_of(made)
        return made
    if action == Traded.action:
        return Traded(trades.parse(rest), of)
    raise ValueError("is no cut, no hole and no trade")
