"""The sign-off report, for the customer: what was weighed, how alike it is, what it shakes, how it was balanced,
and who signed it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from truethrow.balance.base.amounts import Amount, ToldIn
from truethrow.balance.base.parts import label, way_of, weighed_by
from truethrow.balance.base.quantiles import COVERAGE
from truethrow.balance.base.readings import Mass, tidy
from truethrow.balance.crank.holes import Hole
from truethrow.balance.job.history import PastRecord
from truethrow.balance.log.log import when
from truethrow.balance.log.records import Confirmed, Cut, Spun, Traded
from truethrow.balance.result.spread import Spread
from truethrow.balance.result.work import Result
from truethrow.balance.station import may_go
from truethrow.balance.station.balancing import PLANES, Balancing
from truethrow.worksheets.cards import bench, bobweight, shaking, spun, station, way
from truethrow.worksheets.cards.card import (
    Big,
    Bigs,
    Block,
    CardTable,
    Cell,
    Figure,
    Lines,
    Picture,
    Side,
    Word,
    stop,
    without_empty,
)
from truethrow.worksheets.cards.figures import VERDICTS, Figures, verdict
from truethrow.worksheets.cards.known import Known
from truethrow.worksheets.data import history_data
from truethrow.worksheets.data import result_data as plain
from truethrow.worksheets.shown.display import Display, finer_of
from truethrow.worksheets.words import card_words, history_words, physics_words, result_words
from truethrow.worksheets.words import station_words as words
from truethrow.worksheets.words.cautions import INERTIA_CAUTION, REPORT_CAUTION, SIGN_CAUTION

# What a report tells of the log: what was read once and no longer counts, or counts elsewhere.
TOLD = (Cut, Traded, Confirmed)
SUMS = ("reciprocating", "rotating", "bobweight")
STRIPS = 3  # beside each other
MOST_LINES = 12  # of a record: which part went where is never cut


def data(known: Known) -> dict[str, Any]:
    assert known.result
    result, state = known.result, known.balancing
    shown = Display("g", "mm", result.job.scale.resolution_g)
    sections = plain.as_data(result, ("bobweights", "spreads", "slips"))
    del sections["job"]["log"]  # it stands in every card's head; none grows old by it
    weighed = bench.data(known)
    return sections | {
        "firing_order": list(result.job.engine.firing_order),
        "for_all": weighed["for_all"],
        "cylinders": weighed["cylinders"],
        "readings_uncertainty_g": _sure(result),
        "covered_percent": round(100 * COVERAGE),
        "calibration_g": result.job.scale.calibration_g,
        "calibration_percent": round(100 * result.job.scale.gain, 9),
        "first": known.first and [plain.spread(one) for one in known.first.spreads],
        "came_off": _came_off(known),
        "typed": [*way.typed(state, spun.IN_DATA)] if state else [],
        "crank": spun.crank(result.job.crank, known.profile and known.profile.instrument),
        "holes": [{"number": number} for number, _ in enumerate(_holes(state), start=1)],
        "members_uncertainty_g": {spread.quantity: _bars(result, spread) for spread in result.spreads},
        "ground": result.job.ground and plain.ground(result.job.ground, shown, result.job.names),
        "shake": known.shake and shaking.data(known.shake),
        "share": shaking.share_data(known),
        "advice": result_words.advice(result),
        "tolerance": spun.planes(known),
        "balancing": state and spun.loop(state),
        "history": [_event(event, known) for event in _told(known)],
    }


def _sure(result: Result) -> dict[str, dict[str, float]]:
    """The expanded uncertainty of a reading, or of the mean of several, by way of weighing and number."""
    found: dict[str, dict[str, float]] = {}
    for reading in sorted(result.job.readings(), key=lambda reading: len(reading.repeats_g)):
        bare = reading._replace(zero_g=0.0)
        sure = round(result.certainty.expanded_g(Mass.read(bare)), 4)
        found.setdefault(way_of(reading.kind), {})[str(len(reading.repeats_g))] = sure
    return found


def _bars(result: Result, spread: Spread) -> dict[str, float]:
    return {name: round(result.certainty.expanded_g(mass), 4) for name, mass in spread.members.items()}


def _came_off(known: Known) -> list[dict[str, Any]]:
    """What each part lost that was cut, by the scale: what it weighed before the first cut less what it weighs
    now."""
    assert known.job
    if known.first is None:
        return []
    before, now = known.first.job, known.job
    made = []
    for unit, cylinder in sorted(known.cut):
        part = now.names.part(unit, cylinder)
        at_first = (c for c in before.layout.cylinders if before.names.part(unit, c).weighed_in == part.weighed_in)
        was, own = before.parts[next(at_first)], now.parts[cylinder]
        off = {kind: tidy(was[kind].mean_g - own[kind].mean_g) for kind in weighed_by(unit)}
        total = {"part": unit, "off_g": tidy(math.fsum(off.values())), "off_of_g": off}
        made.append(plain.part_data(part) | total)
    return made


def _holes(state: Balancing | None) -> list[Hole]:
    """All that was done to the crank, in its order: what a spin saw, and what none saw yet."""
    if state is None:
        return []
    return [one.hole for spin in state.spins for one in spin.drilled] + [one.hole for one in state.since]


def _told(known: Known) -> list[PastRecord]:
    """Of the cuts only what was canceled, where the scale tells what came off."""
    told = (Traded, Confirmed) if known.first else TOLD
    return [event for event in known.events if event.struck_by or isinstance(event.record, told)]


def _event(event: PastRecord, known: Known) -> dict[str, Any]:
    """A record as plain data, and with it the strike that took it out."""
    struck = next((other.record for other in known.events if other.record.id == event.struck_by), None)
    made = history_data.as_data(event) | {"when": when(event.record.at), "struck_out": None}
    if struck is not None:
        made["struck_out"] = {"when": when(struck.at), "by": struck.by, "why": struck.why}
    return made


def cautions(known: Known) -> tuple[str, ...]:
    assert known.job
    state = known.balancing
    signed = (SIGN_CAUTION,) if state and state.signed and may_go.holds(state) else ()
    shakes = (INERTIA_CAUTION,) if known.job.engine.top_speed_rpm is not None else ()
    return (REPORT_CAUTION, *signed, *shakes)


def blocks(known: Known, data: dict[str, Any], display: Display) -> tuple[Block, ...]:
    assert known.result
    result, state, figures = known.result, known.balancing, Figures(data, display)
    made: list[Block] = [*bobweight.not_seen(known), *_outcome(known, figures)]
    made += _before_and_after(known, figures)
    made += [Lines(tuple(f"{note}." for note in data["job"]["notes"]))] if data["job"]["notes"] else []
    left = _left(known, figures)
    is_signed = state is not None and state.signed is not None and may_go.holds(state)
    # A crank that may go is drawn on the first page; of one that may not, it says there what is left.
    made += [] if is_signed else left
    made += _crank(known, [_engine(result, figures), *_on_what_proof(known, figures.show.told_in)])
    if state is not None and state.spins:
        made += way.told(state, figures)
    made += left if is_signed else []
    if data["history"]:
        made.append(_history(known, figures))
    made += _of_the_parts(known, figures) if result.job.has_parts else [_how_sure(result, figures)]
    made += [Lines((data["advice"],), is_small=True)] if data["advice"] else []
    made += shaking.told(known.shake, known.shares, figures) if result.job.has_parts else []
    return tuple(map(_close, made))


def _left(known: Known, figures: Figures) -> list[Block]:
    """What turns in the engine; before anything was read, what hangs and what that leaves."""
    if figures.value("balancing") and figures.value("balancing", "in_engine"):
        assert known.balancing
        return _sum(known.balancing, figures)
    assert known.result
    weights = known.result.bobweights
    cost = [_cost(figures)] if known.result.left else []
    return [*bobweight.to_hang(weights, figures), bobweight.throws(figures, weights), *cost]


def _close(block: Block) -> Block:
    """As it is read at a desk: its rows near each other."""
    return replace(block, close=True) if isinstance(block, CardTable) else block


def _of_the_parts(known: Known, figures: Figures) -> list[Block]:
    """What was weighed, how sure that is, and what it says."""
    assert known.result
    result = known.result
    made: list[Block] = [_readings(known, figures)]
    job = result.job
    said = (
        *result_words.of_no_cut(job, figures.show),
        *(result_words.slip_alone(found, figures.show, job.names, known.name) for found in result.slips),
    )
    of_all = [f"{label(k)} {figures.mass('for_all', k, 'mean_g').text}" for k in figures.value("for_all")]
    made.append(_how_sure(result, figures, [f"In every cylinder: {', '.join(of_all)}."] if of_all else []))
    if said:
        made.append(Lines(said, "Look again", "framed"))
    return [*made, *_strips(result, figures)]


def _outcome(known: Known, figures: Figures) -> list[Block]:
    """At one look: whether the crank is in balance, who signed that, and what is left."""
    state = known.balancing
    if state is None:
        has_spins = any(isinstance(event.record, Spun) and not event.struck_by for event in known.events)
        return [Lines((card_words.NOT_READ if has_spins else card_words.NO_STATION,), weight="framed")]
    before = words.signed_before(state, figures.show.told_in)
    made: list[Block] = [*stop(card_words.SIGNATURE_VOID, (before,))] if before else []
    if state.last is None:
        return [*made, Lines((card_words.NO_SPIN,), weight="framed")]
    is_told = bool(figures.value("balancing", "in_engine"))
    holds = state.signed is not None and may_go.holds(state)
    left = [_whole(state, figures, plane, with_verdict=holds) for plane in PLANES] if is_told else []
    if state.signed and holds:
        record = state.signed
        by = f"signed by {record.by}, {when(record.at)} UTC, record {record.id}"
        made.append(Bigs((Big(card_words.IN_BALANCE, Word("YES"), by), *left)))
        if edited := words.signed_by_its_day(state, figures.show.told_in):
            made.append(Lines((edited,)))
    else:
        reasons = tuple(one.said(figures.show.told_in) for one in may_go.not_signable(state)) or (
            words.MAY_BE_SIGNED,
        )
        made += stop("NOT SIGNED", tuple(map(result_words.sentence, reasons)))
        if is_told:
            ruled = [figures.value("balancing", "in_engine", plane, "verdict") for plane in PLANES]
            told = (Big(f"{plane} plane is", VERDICTS[one]) for plane, one in zip(PLANES, ruled, strict=True))
            made.append(Bigs(tuple(big for pair in zip(left, told, strict=True) for big in pair)))
    if said := words.for_these_parts(state):
        made.append(Lines((f"{said}.",), words.FOR_THESE_PARTS, "framed"))
    if said := words.not_proved(state):
        made += stop("NOT PROVED", (said,))
    return made


def _whole(state: Balancing, figures: Figures, plane: str, *, with_verdict: bool) -> Big:
    """What turns in a plane of the engine, said to be that, with the tolerance, and its verdict, where that is not
    told large beside it."""
    path = ("balancing", "in_engine", plane)
    sure_gmm = figures.value(*path, "whole", "uncertainty_gmm")
    left = figures.unbalance(*path, "whole", "unbalance_gmm", sure_gmm=sure_gmm)
    sure = figures.unbalance(*path, "whole", "uncertainty_gmm", sure_gmm=sure_gmm)
    limit = figures.limit("balancing", "planes", plane, "tolerance_gmm")
    ruled = f", {VERDICTS[figures.value(*path, 'verdict')].text}" if with_verdict else ""
    since = ", not spun since" if figures.value("balancing", "drilled_since") else ""
    of = card_words.IN_ENGINE if state.job.has_parts else card_words.OF_GIVEN
    return Big(f"{plane} plane {of}{ruled}{since}", left, f"± {sure.text}; tolerance {limit.text}")


def _sum(state: Balancing, figures: Figures) -> list[Block]:
    """What is signed for, as vectors, a line a plane, and what hung while it was read; in tables of a crank of
    which a damper, a flexplate and the like are part."""
    if members := station.members(figures):
        table = station.in_engine(figures, words.in_engine(state))
        return [table, *members, *station.as_hung(state, figures)]
    of_each = (("spin", "spin"), ("hanging", "hanging"), ("whole", "sum"))
    said = []
    for plane in PLANES:
        parts = []
        for which, name in of_each:
            path = ("balancing", "in_engine", plane, which)
            if figures.value(*path) is None:
                continue
            sure_gmm = figures.value(*path, "uncertainty_gmm")
            left, sure = (
                figures.unbalance(*path, key, sure_gmm=sure_gmm) for key in ("unbalance_gmm", "uncertainty_gmm")
            )
            is_pointing = left.value > sure_gmm
            at = f" at crank {figures.degrees(*path, 'crank_angle_deg').text}" if is_pointing else ""
            parts.append(f"{name} {left._replace(shown=left.shown._replace(unit='')).text} ± {sure.text}{at}")
        said.append(f"{plane} plane: {'; '.join(parts)}.")
    hung = words.weighed_bobweights(state, figures.show)
    minds = words.minds_of_the_bobweights(state, figures.show)
    asked = ", ".join(
        dict.fromkeys(
            figures.mass("bobweights", "throws", at, "hang_g").text
            for at, one in enumerate(figures.value("bobweights", "throws"))
            if one["hang_g"] is not None
        )
    )
    said += [f"{hung}; asked for: {asked}."] if hung else []
    heading = card_words.SUM if state.job.has_parts else words.in_engine(state)
    return [Lines((*said, *(f"{mind}." for mind in minds)), heading)]


def _before_and_after(known: Known, figures: Figures) -> list[Block]:
    """What the work brought: unbalance from the first spin to the last, spreads from before the first cut to
    now."""
    spun, spreads = _spun_rows(known.balancing, figures), _spread_rows(known, figures)
    if not (spun or spreads):
        return []
    heads, rows = without_empty(("", "before", "now", "±", "limit", ""), (*spun, *spreads))
    when = card_words.BEFORE_AND_NOW if "before" in heads else card_words.NOW
    what = card_words.AS_SPUN_AND_SPREADS if spun else card_words.SPREADS
    return [CardTable("before and after", heads, rows, f"{when}: {what}", wide=0)]


def _spun_rows(state: Balancing | None, figures: Figures) -> list[tuple[Cell, ...]]:
    counted = [at for at, one in enumerate(state.spins) if one.is_told] if state else []
    rows: list[tuple[Cell, ...]] = []
    for plane in PLANES if counted else ():
        paths = [("balancing", "spins", at, "planes", plane) for at in (counted[0], counted[-1])]
        sures = [figures.value(*path, "uncertainty_gmm") for path in paths]
        read = [
            figures.unbalance(*path, "unbalance_gmm", sure_gmm=sure)
            for path, sure in zip(paths, sures, strict=True)
        ]
        sure = figures.unbalance(*paths[-1], "uncertainty_gmm", sure_gmm=sures[-1])
        limit = figures.limit("balancing", "planes", plane, "tolerance_gmm")
        rows.append(
            (
                card_words.AS_SPUN.format(plane=plane),
                read[0] if len(counted) > 1 else "",
                read[-1],
                sure,
                limit,
                "",
            )
        )
    return rows


def _spread_rows(known: Known, figures: Figures) -> list[tuple[Cell, ...]]:
    """Each spread that has a limit."""
    first = {one["quantity"]: at for at, one in enumerate(figures.value("first") or ())}
    rows: list[tuple[Cell, ...]] = []
    for at, found in enumerate(figures.value("spreads")):
        if found["limit_g"] is None:
            continue
        finer = figures.finer("spreads", at)
        was = first.get(found["quantity"])
        rows.append(
            (
                f"{label(found['quantity'])} spread",
                "" if was is None else figures.mass("first", was, "spread_g", finer=finer),
                figures.mass("spreads", at, "spread_g", finer=finer),
                figures.mass("spreads", at, "uncertainty_g", finer=1),
                figures.allowed("spreads", at, "limit_g", finer=finer),
                verdict(found["verdict"]),
            )
        )
    return rows


def _crank(known: Known, beside: list[Lines]) -> list[Block]:
    """The crank with all that was done to it, numbered as in the table, and some lines beside it; these alone
    where nobody declares a crank, or nothing was done to it."""
    from truethrow.worksheets.drawn.front import end_view  # noqa: PLC0415 (as all drawings, only where one is)

    job, holes = known.job, dict(enumerate(_holes(known.balancing), start=1))
    assert job
    if job.crank is None or not holes:
        return [*beside]
    radius = job.engine.known_throw_radius_mm
    drawn = end_view(job.layout, job.crank, holes, set(holes), throw_radius_mm=radius, is_named=False)
    said = "The crank from its front, with its holes."
    picture = Picture("end-view", drawn, said, card_words.FROM_FRONT, 0.86)
    return [Side(((picture,), tuple(beside)), (0.48, 0.52))]


def _on_what_proof(known: Known, told_in: ToldIn) -> list[Lines]:
    state = known.balancing
    if state is None or state.last is None or not state.is_proved or words.not_proved(state):
        return []
    return [Lines((card_words.PROVED, f"{words.proved_by(state, told_in)}."))]


def _engine(result: Result, figures: Figures) -> Lines:
    """The engine in a line or two."""
    show, facts, engine = figures.show, result.facts, result.job.engine
    said = [engine.layout_name]
    said += [
        f"{name} {figures.length('job', key).text}"
        for name, key in (("stroke", "stroke_mm"), ("rod, center to center", "rod_length_mm"), ("bore", "bore_mm"))
        if figures.value("job", key) is not None
    ]
    if engine.rods_apart_mm is not None:
        apart = figures.length("job", "rods_apart_mm").text
        said.append(f"rods side by side {apart} apart, in front the rods of bank {engine.rod_in_front}")
    if facts.displacement_cm3 is not None:
        said.append(_fact(figures, "displacement_cm3", show.displacement).text)
    if engine.top_speed_rpm is not None:
        said.append(f"top speed {figures.number('job', 'top_speed_rpm', unit='r/min').text}")
    if facts.mean_piston_speed_m_s is not None:
        said.append(f"mean piston speed {_fact(figures, 'mean_piston_speed_m_s', show.piston_speed).text}")
    if facts.peak_piston_acceleration_m_s2 is not None:
        told = _fact(figures, "peak_piston_acceleration_m_s2", show.acceleration).text
        said.append(f"peak piston acceleration {told}")
    if engine.firing_order:
        said.append(f"firing order {' '.join(map(str, engine.firing_order))}")
    return Lines((f"{'; '.join(said)}.",))


def _fact(figures: Figures, key: str, shown: Callable[[float], Amount]) -> Figure:
    value = figures.value("job", key)
    return Figure(shown(value), value, ("job", key))


def _readings(known: Known, figures: Figures) -> CardTable:
    """Every reading, and what came off."""
    return _with_what_came_off(bench.grid(known, figures), figures)


def _with_what_came_off(grid: CardTable, figures: Figures) -> CardTable:
    """The readings, and behind them what was ground off each part in all, as the scale has it."""
    found = figures.value("came_off")
    units = dict.fromkeys(one["part"] for one in found)
    at_each = {(one["part"], one["cylinder"]): at for at, one in enumerate(found)}
    heads = (*grid.heads, *(f"{unit}: came off" for unit in units))
    rows = []
    for row, cylinder in zip(grid.rows, figures.value("cylinders"), strict=True):
        ats = (at_each.get((unit, cylinder["cylinder"])) for unit in units)
        rows.append(
            (*row, *("" if at is None else figures.mass("came_off", at, "off_g", bare=True) for at in ats))
        )
    return replace(grid, heads=heads, rows=tuple(rows))


def _how_sure(result: Result, figures: Figures, before: Sequence[str] = ()) -> Lines:
    """What the ± are made of; before: what is said first."""
    step = figures.given("job", "scale_resolution_g")
    covered = figures.number("covered_percent")
    said = [f"Expanded uncertainty, {covered.text} %; scale step {step.text}."]
    said += map(result_words.sentence, physics_words.repeatability(result, figures.show))
    for weighed, counts in figures.value("readings_uncertainty_g").items():
        sure = []
        for count in counts:
            told = figures.mass("readings_uncertainty_g", weighed, count, finer=1)
            sure.append(f"{'one' if count == '1' else f'×{count}'} ± {told.text}")
        said.append(f"{physics_words.WAY_HEADS[weighed].capitalize()}: {', '.join(sure)}.")
    if result.job.scale.calibration_g:
        said.append(f"Calibration {figures.given('calibration_g').text}.")
    if result.job.scale.gain:
        said.append(f"Calibration {figures.number('calibration_percent').text} % of the load.")
    if result.job.has_parts and not result.slips:
        said.append(result_words.NO_SLIP)
    return Lines((" ".join([*before, *said]),), is_small=True)


def _strips(result: Result, figures: Figures) -> list[Block]:
    """A strip of each spread that is outside its limit, so that all see which parts differ: of the others the
    figures say it all, and of a sum the strips of its parts."""
    from truethrow.worksheets.drawn import strips  # noqa: PLC0415 (as all drawings, only where one is)

    made: list[Picture] = []
    outside = [found for found in result.spreads if found.verdict == "outside"]
    for found in [one for one in outside if one.quantity not in SUMS] or outside:
        bars = figures.value("members_uncertainty_g", found.quantity)
        finer = finer_of(found, figures.show)
        said = f"{label(found.quantity)}: spread {figures.show.masses(found.spread_g, finer)}"
        assert found.limit_g is not None
        said += f", limit {figures.show.allowed(found.limit_g, finer)}, {VERDICTS['outside'].text}"
        drawn = strips.strip(found, bars, figures.show)
        made.append(Picture(f"strip-{found.quantity.replace('_', '-')}", drawn, said))
    rows = (made[at : at + STRIPS] for at in range(0, len(made), STRIPS))
    return [Side((*((one,) for one in row), *((),) * (STRIPS - len(row))), (1.0,) * STRIPS) for row in rows]


def _cost(figures: Figures) -> CardTable:
    """What hanging these masses leaves in the planes."""
    rows: list[tuple[Cell, ...]] = []
    for plane in figures.value("bobweights", "cost"):
        path = ("bobweights", "cost", plane)
        found = figures.value(*path)
        sure = found["uncertainty_gmm"]
        allowed = found["permissible_gmm"]
        rows.append(
            (
                plane,
                "" if plane == "static" else figures.length(*path, "z_mm"),
                figures.unbalance(*path, "unbalance_gmm", sure_gmm=sure, bare=True),
                figures.unbalance(*path, "uncertainty_gmm", sure_gmm=sure, bare=True),
                figures.degrees(*path, "crank_angle_deg") if found["unbalance_gmm"] > sure else "",
                "" if allowed is None else figures.limit(*path, "permissible_gmm", bare=True),
                verdict(found["verdict"]),
            )
        )
    unit = figures.show.unbalance_unit
    heads = ("plane", "z", f"unbalance [{unit}]", "±", "at", "tolerance", "")
    caption = "What hanging these masses leaves, at the throws' radius, angle from throw 1"
    return CardTable("left by hanging", *without_empty(heads, tuple(rows)), caption)


def _history(known: Known, figures: Figures) -> CardTable:
    """What was struck, ground, moved or confirmed, in short."""
    rows = []
    for event, told in zip(_told(known), figures.value("history"), strict=True):
        record, struck = event.record, told["struck_out"]
        said = history_words.told(event, figures.show.told_in)
        if record.why:
            said += f" ({record.why})"
        if struck is not None:
            by = f" {struck['by']}" if struck["by"] else ""
            said += f"; canceled {struck['when']}{by}" + (f": {struck['why']}" if struck["why"] else "")
        rows.append((told["when"], record.by, record.action, said))
    caption = "What was canceled, ground, moved or confirmed (UTC)"
    heads, cells = without_empty(("", "", "", ""), tuple(rows))
    return CardTable("history", heads, cells, caption, wide=len(heads) - 1, most_lines=MOST_LINES)
