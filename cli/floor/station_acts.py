"""What hands do at the station's page, one by one: how it is read back, and how it is recorded, through the
functions of the commands that do the same."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Mapping
from string import Formatter
from typing import TYPE_CHECKING, Any, NamedTuple

from truethrow.balance.base import units
from truethrow.balance.base.errors import BadInput, Fault, shown, wrong_why
from truethrow.balance.job import undoing
from truethrow.balance.station import balancing, built, may_go, stationwork
from truethrow.balance.station.reasons import broken
from truethrow.balance.station.spin import WRITTEN, PlaneReading, Runs, plain, typed_runs
from truethrow.balance.station.stationlog import KnownMass
from truethrow.cli.common import initials
from truethrow.cli.floor import station_ways
from truethrow.cli.station import trials
from truethrow.cli.station.spin_to_sign import checked_mass, checked_pair
from truethrow.cli.station.stack_and_target import masses_typed
from truethrow.worksheets.pages.floor.state import Done
from truethrow.worksheets.words import result_words, station_words, undo_words
from truethrow.worksheets.words import server_words as floor_words
from truethrow.worksheets.words import station_screen_words as words

if TYPE_CHECKING:
    from truethrow.balance.crank.holes import Hole
    from truethrow.balance.station.balancing import Balancing
    from truethrow.balance.station.reasons import Why
    from truethrow.balance.station.spin import Instrument
    from truethrow.cli.floor.bench import Who
    from truethrow.cli.floor.station_state import Look
    from truethrow.worksheets.shown.display import Display

Fields = Mapping[str, Any]
MOST_RUNS = 12


def _nothing(at: Look) -> list[str]:
    return []


class Act(NamedTuple):
    """ask: what is read back before a yes; record: writes it, and says what was written; sure: that what looks
    like a slip was looked at again; told: once it is recorded, what looks wrong with it, as the command would say
    then. The first two raise BadInput as the command does."""

    ask: Callable[[Look, Fields, Who], str]
    record: Callable[[Look, Fields, Who, str, bool], Done]
    told: Callable[[Look], list[str]] = _nothing


# Bobweights


def _ask_built(at: Look, fields: Fields, who: Who) -> str:
    throw, (_, typed) = _mass_of(at, fields)
    asked = next((one for one in at.state.worked.bobweights.throws if one.throw.name == throw), None)
    target = str(at.display.as_given(asked.hung_g)) if asked else ""
    mass = typed if typed[-1:].isalpha() else f"{typed} {at.display.mass_unit}"
    said = words.BUILT_IS.format(throw=throw, mass=mass, asked=target)
    return f"{said}\n{words.HUNG_THERE}" if _is(fields, "hung") else said


def _record_built(at: Look, fields: Fields, who: Who, key: str, sure: bool) -> Done:
    throw, mass = _mass_of(at, fields)
    called = shlex.quote(at.state.profile.source)
    hung, step_g = _is(fields, "hung"), at.state.profile.step_g
    [made] = built.weighed(
        at.place, {throw: mass}, step_g, called, hung_there=hung, sure=sure, by=who.initials, key=key
    )
    return Done(True, words.IS_RECORDED["built"].format(throw=throw, mass=at.display.as_given(made.grams)))


def _mass_of(at: Look, fields: Fields) -> tuple[str, tuple[float, str]]:
    throw, mass = _text(fields, "throw"), _must(fields, "mass")
    [(name, found)] = masses_typed(at.place, [f"{throw}={mass}"]).items()
    return name, found


# Spins, and those with known masses on


def _ask_spin(at: Look, fields: Fields, who: Who) -> str:
    state, runs = at.state, _runs(at, fields)
    turned, on = _is(fields, "turned"), _on(fields)
    heading = words.TURNED_IS if turned else words.SPIN_IS
    number = len(state.spins) + (0 if turned else 1)
    lines = [heading.format(number=number, runs=_count(runs)), *_read_back(runs, state.instrument)]
    if on is not None:
        lines.append(words.ON.format(names=", ".join(on)) if on else words.NOTHING_ON)
    return "\n".join(lines)


def _record_spin(at: Look, fields: Fields, who: Who, key: str, sure: bool) -> Done:
    stationwork.spin(
        *(at.place, at.state, _texts(at, fields)),
        turned=_is(fields, "turned"),
        by=who.initials,
        on=_on(fields),
        looked_over=_is(fields, "looked_over"),
        key=key,
    )
    return Done(
        True, words.IS_RECORDED["spin"].format(number=len(at.state.spins) + (0 if _is(fields, "turned") else 1))
    )


# What is said against a spin that may have been typed, hung or read wrong, and not against the crank.
SURPRISES: frozenset[Why] = frozenset(("apart", "still turned", "implausible", "unlike", "unanswered"))


def _told_of_spin(at: Look) -> list[str]:
    """What the last spin shows that was not expected, and what that looks like."""
    state = balancing.load(at.place, at.profile)
    found = [one for one in may_go.withheld(state) if one.why in SURPRISES and state.last in one.about]
    return [result_words.sentence(one.said(at.display.told_in)) for one in found]


def _ask_prove(at: Look, fields: Fields, who: Who) -> str:
    state, show = at.state, at.display
    masses, _ = _masses(state, fields)
    lines = [words.MASSES_ARE]
    for one in masses:
        lines.append(
            words.MASS_IS.format(
                plane=one.plane,
                grams=show.as_given(one.mass_g),
                at=station_words.at(state.instrument, one.angle_deg, 0),
                radius=show.length(round(one.radius_mm, 2)),
            )
        )
    return "\n".join([*lines, words.WITH_THEM, *_read_back(_runs(at, fields), state.instrument)])


def _record_prove(at: Look, fields: Fields, who: Who, key: str, sure: bool) -> Done:
    masses, typed = _masses(at.state, fields)
    texts, turned = _texts(at, fields), _is(fields, "turned")
    stationwork.known_mass(at.place, at.state, masses, texts, who.initials, typed, turned=turned, key=key)
    if at.state.reads_divisions:
        return Done(True, words.IS_RECORDED["prove"])
    if said := _told_of_masses(at):
        return Done(True, "\n".join((words.MASSES_DISAGREE, *said)), is_warning=True)
    return Done(True, words.MASSES_AGREE)


def _told_of_masses(at: Look) -> list[str]:
    """What the last known masses say against the station; nothing where they agree."""
    state = balancing.load(at.place, at.profile)
    if state.reads_divisions or state.tested is None:
        return []
    return [result_words.sentence(station_words.finding(one, at.display.told_in)) for one in state.tested[1]]


def _masses(state: Balancing, fields: Fields) -> tuple[list[KnownMass], str]:
    """The known masses as they were typed; on a station that reads divisions one on each plane, then both."""
    given = {plane: fields.get(plane) for plane in ("front", "rear")}
    on = {plane: one for plane, one in given.items() if isinstance(one, dict)}
    unit, radius = _text(fields, "mass_unit"), _must(fields, "radius")
    text = {plane: f"{_must(one, 'grams')}{unit}@{_must(one, 'at')}" for plane, one in on.items()}
    if state.reads_divisions:
        return trials.typed(text.get("front", ""), text.get("rear", ""), radius)
    if len(text) != 1:
        return checked_pair(text.get("front", ""), text.get("rear", ""), radius, is_alone=False)
    [(plane, one)] = on.items()
    try:
        at_deg = float(_must(one, "at"))
    except ValueError:
        raise BadInput([Fault("known mass", f"{shown(one.get('at'))!r} is no angle", "degrees")]) from None
    mass = f"{_must(one, 'grams')}{unit}"
    mass_g, radius_mm = checked_mass(mass, radius, at_deg)
    return [KnownMass("front" if plane == "front" else "rear", mass_g, radius_mm, at_deg)], f"{mass} at {radius}"


def _texts(at: Look, fields: Fields) -> list[str]:
    """Runs as the command takes them, in the unit that the hand said the display shows: ``12.4g@37``. Raises
    BadInput for a figure that is missing, and where nobody said the unit: a display that was switched since may
    show figures that look right."""
    unit, runs = _text(fields, "unit"), fields.get("runs")
    if not isinstance(runs, list) or len(runs) > MOST_RUNS:
        raise BadInput([Fault("", floor_words.NO_REQUEST)])
    found: list[str] = []
    faults: list[Fault] = []
    if not unit and not at.state.instrument.reads_divisions:
        faults.append(Fault(words.UNIT_MISSING, "missing", words.UNIT_FIRST))
    for number, run in enumerate(runs, start=1):
        figures = [one.strip() if isinstance(one, str) else "" for one in run] if isinstance(run, list) else []
        for plane, amount, angle in zip(("front", "rear"), figures[::2], figures[1::2], strict=False):
            if not (amount and angle):
                faults.append(Fault(f"run {number}, {plane}", "amount or angle is missing", WRITTEN))
            found.append(f"{amount}{unit}@{angle}")
    if faults:
        raise BadInput(faults)
    return found


def _runs(at: Look, fields: Fields) -> Runs:
    return typed_runs(_texts(at, fields), at.state.instrument)


def _read_back(runs: Runs, instrument: Instrument) -> list[str]:
    """As the display shows it, and where that is on the crank."""
    lines = []
    for run in runs.readings:
        for plane, one in zip(("front", "rear"), run, strict=True):
            lines.append(_reads(plane, one, instrument))
    return lines


def _reads(plane: str, one: PlaneReading, instrument: Instrument) -> str:
    if instrument.reads_divisions:
        return words.READS_RAW.format(plane=plane, amount=one.amount_typed, own=one.angle_typed)
    crank = f"{instrument.crank_deg(one.angle_deg):g}"
    unit = plain(instrument.unit)
    return words.READS.format(plane=plane, amount=one.amount_typed, unit=unit, own=one.angle_typed, crank=crank)


def _count(runs: Runs) -> str:
    count = len(runs.readings)
    return words.RUNS.get(count) or words.MANY_RUNS.format(count=count)


def _on(fields: Fields) -> list[str] | None:
    on = fields.get("on")
    return [str(one) for one in on] if isinstance(on, list) else None


# Holes


def _ask_hole(at: Look, fields: Fields, who: Who) -> str:
    number, depth_mm, mass_g = _hole(at, fields)
    state, show = at.state, at.display
    operations = state.plan.operations if state.plan else ()
    if not 1 <= number <= len(operations) or state.job.crank is None:
        return ""  # what is wrong with it the domain says
    hole, told_in = operations[number - 1], show.told_in
    try:
        if mass_g is not None:
            hole = stationwork.as_weighed(state.job.crank, hole, mass_g, told_in)
        elif depth_mm is not None:
            hole = stationwork.as_deep(state.job.crank, hole, depth_mm, told_in)
    except ValueError:
        return ""
    said = station_words.hole(hole, show, state.instrument)
    if mass_g is not None:
        said = f"{said}; the slug weighs {show.as_given(mass_g)}"
    if _text(fields, "plan") != state.plan_name:
        return words.PLAN_CHANGED.format(said=f"hole {number}: {said}")
    return f"{words.HOLE_IS.format(number=number, said=said)}\n{words.DONE_SO}"


def _record_hole(at: Look, fields: Fields, who: Who, key: str, sure: bool) -> Done:
    number, depth_mm, mass_g = _hole(at, fields)
    masses_g = {} if mass_g is None else {number: mass_g}
    stationwork.must_be_drillable(at.place, at.state)
    plan = at.state.plan_name if at.state.plan and at.state.last else ""
    stationwork.drilled(at.place, at.state, {number: depth_mm}, who.initials, plan, masses_g=masses_g, key=key)
    return Done(True, words.IS_RECORDED["hole"].format(number=number))


def _ask_did(at: Look, fields: Fields, who: Who) -> str:
    holes, _, before = _did(at, fields)
    told = (station_words.hole(one, at.display, at.state.instrument) for one in holes)
    lines = [words.DID_IS.format(said=said) for said in told]
    return "\n".join([*lines, *([words.DID_BEFORE.format(number=before)] if before else []), words.DONE_SO])


def _record_did(at: Look, fields: Fields, who: Who, key: str, sure: bool) -> Done:
    holes, texts, before = _did(at, fields)
    stationwork.did(at.place, at.state, holes, before, who.initials, texts, sure=sure, key=key)
    return Done(True, words.IS_RECORDED["did"])


def _did(at: Look, fields: Fields) -> tuple[list[Hole], list[str], int | None]:
    """What was done, as a hand said it, and the spin that it was in the crank at, if any. Raises BadInput."""
    from truethrow.balance.crank.as_said import holes_said  # noqa: PLC0415

    stationwork.must_be_drillable(at.place, at.state, with_tools=False)
    rows, before, state = fields.get("holes"), fields.get("before"), at.state
    rows = rows if isinstance(rows, list) and len(rows) <= MOST_RUNS else []
    if not rows or not all(isinstance(one, dict) for one in rows) or isinstance(before, bool):
        raise BadInput([Fault("", floor_words.NO_REQUEST)])
    assert state.job.crank
    texts = [_as_said(one, at.display) for one in rows]
    own = None if state.reads_divisions else state.instrument.crank_deg
    told_in = state.told_in._replace(length=at.display.length_unit)
    holes = holes_said(state.job.crank, texts, state.profile.tools.drills, own, told_in)
    return holes, texts, before if isinstance(before, int) and before > 0 else None


def _as_said(row: Fields, show: Display) -> str:
    """What was done as the command takes it: its phrases, and how deep it is or what its slug weighs. As the form
    has it, field by field, or already said but for that."""
    if "kind" in row:
        return _of_kind(row, show)
    said = _must(row, "said")
    if grams := _text(row, "grams"):
        return f"{said}, {grams}{'' if grams[-1:].isalpha() else f' {show.mass_unit}'}"
    deep = _must(row, "deep")
    return f"{said}, {deep}{'' if deep[-1:].isalpha() else f' {show.length_unit}'} deep"


# How the command says each kind; a radius, a depth and so on with their units.
_KINDS = {
    "rim": "{tool}, {deep} deep",
    "bore": "{tool}, {deep} deep, along the crank, {own_radius} radius",
    "slug": "{wide} slug, {long} long, {own_radius} radius, {took}",
    "arc": "ground {arc} deg wide, {deep} deep",
    "took": "took {took}, {own_radius} radius",
    "added": "added {took}, {own_radius} radius",
}


def _of_kind(row: Fields, show: Display) -> str:
    said = _KINDS.get(_text(row, "kind"))
    if said is None or _text(row, "whose") not in ("station", "crank"):
        raise BadInput([Fault("", floor_words.NO_REQUEST)])
    names = ["member", "angle", *(one for _, one, _, _ in Formatter().parse(said) if one)]
    if missing := [name for name in names if not _text(row, name)]:
        raise BadInput([Fault(words.FIELDS[name], "missing") for name in missing])
    found = {name: _text(row, name).replace(",", ".") if name != "member" else _text(row, name) for name in names}
    for name in found.keys() - {"member", "angle", "tool", "arc"}:
        unit = show.mass_unit if name == "took" else show.length_unit
        found[name] += "" if found[name][-1:].isalpha() else f" {unit}"
    face = f", from the {_text(row, 'face')}" if _text(row, "face") in ("front", "rear") else ""
    return f"{{member}}, {{angle}} deg {_text(row, 'whose')}, {said}{face}".format(**found)


def _told_of_hole(at: Look) -> list[str]:
    """Which limits of the crank what was done breaks."""
    after = balancing.load(at.place, at.profile)
    before = {one.id for one, _ in at.state.beyond_limits}
    new = (one for one in after.beyond_limits if one[0].id not in before)
    return [result_words.sentence(broken(*one, at.display.told_in)) for one in new]


def _ask_looked(at: Look, fields: Fields, who: Who) -> str:
    lines = [result_words.sentence(broken(*one, at.display.told_in)) for one in at.state.beyond_limits]
    by, why = (shown(_text(fields, name)) for name in ("by", "why"))
    return "\n".join([*lines, words.LOOKED_IS.format(by=by, why=why)])


def _record_looked(at: Look, fields: Fields, who: Who, key: str, sure: bool) -> Done:
    by, ids = initials(_text(fields, "by")), [one.id for one, _ in at.state.beyond_limits]
    stationwork.looked_at(at.place, at.state, ids, _text(fields, "why"), by, key)
    return Done(True, words.IS_RECORDED["looked"].format(by=by))


# A record canceled


def _ask_cancel(at: Look, fields: Fields, who: Who) -> str:
    undo, told_in = _undo(at, fields), at.display.told_in
    lines = [words.CANCEL_IS.format(said=undo_words.without_id(one, told_in)) for one in undo.step]
    lines += [words.GOES_TOO.format(said=undo_words.without_id(one, told_in)) for one in undo.rests]
    lines += [words.STAYS_SO.format(said=undo_words.without_id(one, told_in)) for one in undo.stays]
    then = undo_words.back(undo, at.state.called, told_in)
    return "\n".join([*lines, *(words.THEN_IT_IS.format(said=station_ways.here(one)) for one in then)])


def _record_cancel(at: Look, fields: Fields, who: Who, key: str, sure: bool) -> Done:
    undo, why = _undo(at, fields), _text(fields, "why")
    if faults := wrong_why(why, "a word of why"):
        raise BadInput(faults)
    undoing.cancel(at.place, undo, why, who.initials, key)
    return Done(True, words.IS_RECORDED["cancel"])


def _undo(at: Look, fields: Fields) -> undoing.Undo:
    """What canceling a record of the station takes back. Raises BadInput, and for any other record."""
    undo = undoing.of_record(at.place, _must(fields, "record"))
    if not all(station_ways.is_of_the_station(one.record) for one in undo.canceled):
        raise BadInput([Fault("", floor_words.NO_REQUEST)])
    return undo


def _hole(at: Look, fields: Fields) -> tuple[int, float | None, float | None]:
    """Which one, how deep it really is or what its slug weighs. [mm, g] Raises BadInput."""
    number = fields.get("number")
    if not isinstance(number, int) or isinstance(number, bool):
        raise BadInput([Fault("", floor_words.NO_REQUEST)])
    deep, grams = (_text(fields, name) for name in ("deep", "grams"))
    try:
        mass_g = units.parse(grams, units.MASS, at.display.mass_unit) if grams else None
        depth_mm = units.parse(deep, units.LENGTH, at.display.length_unit) if deep else None
    except units.NotAQuantity as error:
        allowed = f"a depth in {at.display.length_unit}" if deep else f"a mass in {at.display.mass_unit}"
        raise BadInput([Fault(f"hole {number}", str(error), allowed)]) from None
    return number, depth_mm, mass_g


# The signature


def _ask_sign(at: Look, fields: Fields, who: Who) -> str:
    state, show = at.state, at.display
    lines = [words.SIGN_IS.format(by=shown(_text(fields, "by")))]
    for one in state.in_engine or ():
        sure = one.whole.expanded_gmm
        lines.append(
            words.SUM_IS.format(
                plane=one.plane,
                amount=show.unbalance(one.whole.amount_gmm, sure),
                sure=show.unbalance(sure, sure),
                tolerance=show.limit(one.limit_gmm),
                unit=show.unbalance_unit,
                verdict=one.verdict,
            )
        )
    return "\n".join(lines)


def _record_sign(at: Look, fields: Fields, who: Who, key: str, sure: bool) -> Done:
    """The initials are those that were typed for it, never the device's."""
    by = initials(_text(fields, "by"))
    stationwork.sign(at.place, at.state, by, key=key)
    return Done(True, words.IS_RECORDED["sign"].format(by=by))


ACTS: dict[str, Act] = {
    "built": Act(_ask_built, _record_built),
    "spin": Act(_ask_spin, _record_spin, _told_of_spin),
    "prove": Act(_ask_prove, _record_prove, _told_of_masses),
    "hole": Act(_ask_hole, _record_hole, _told_of_hole),
    "sign": Act(_ask_sign, _record_sign),
    "did": Act(_ask_did, _record_did, _told_of_hole),
    "looked": Act(_ask_looked, _record_looked),
    "cancel": Act(_ask_cancel, _record_cancel),
}


def _text(fields: Fields, name: str) -> str:
    value = fields.get(name, "")
    return value.strip()[:300] if isinstance(value, str) else ""


def _must(fields: Fields, name: str) -> str:
    """A field that has to be typed. Raises BadInput."""
    if found := _text(fields, name):
        return found
    raise BadInput([Fault(words.FIELDS.get(name, name), "missing")])


def _is(fields: Fields, name: str) -> bool:
    return fields.get(name) is True
