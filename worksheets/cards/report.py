"""The sign-off report, for the customer: what was weighed, how alike it is, what it shakes, how it was balanced,
and who signed it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from truethrow.balance.base.parts import label, way_of
from truethrow.balance.base.quantiles import COVERAGE
from truethrow.balance.base.readings import Mass
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
)
from truethrow.worksheets.cards.figures import VERDICTS, Figures, verdict
from truethrow.worksheets.cards.known import Known
from truethrow.worksheets.data import history_data
from truethrow.worksheets.data import result_data as plain
from truethrow.worksheets.shown.display import Amount, Display, finer_for
from truethrow.worksheets.words import card_words, history_words, physics_words, result_words
from truethrow.worksheets.words import station_words as words
from truethrow.worksheets.words.cautions import REPORT_CAUTION, SHAKE_CAUTION, SIGN_CAUTION, STATION_CAUTIONS

# What a report tells of the log: what was read once and no longer counts, or counts elsewhere.
TOLD = (Cut, Traded, Confirmed)
# So many that weigh the same are named.
NAMED = 3
STRIP_MM = 84.0  # two beside each other


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
        "members_uncertainty_g": {spread.quantity: _bars(result, spread) for spread in result.spreads},
        "ground": result.job.ground and plain.ground(result.job.ground, shown, result.job.names),
        "shake": known.shake and shaking.data(known.shake),
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


def _told(known: Known) -> list[PastRecord]:
    return [event for event in known.events if event.struck_by or isinstance(event.record, TOLD)]


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
    shakes = (SHAKE_CAUTION,) if known.job.engine.top_speed_rpm is not None else ()
    return (REPORT_CAUTION, *signed, *shakes, *STATION_CAUTIONS)


def blocks(known: Known, data: dict[str, Any], display: Display) -> tuple[Block, ...]:
    assert known.result
    result, state, figures = known.result, known.balancing, Figures(data, display)
    made: list[Block] = [*bobweight.not_seen(known), *_outcome(known, figures)]
    made += [Lines(tuple(data["job"]["notes"]), "Mind", "framed")] if data["job"]["notes"] else []
    made.append(_engine(result, figures))
    made += _of_the_parts(known, figures) if result.job.has_parts else [_how_sure(result, figures)]
    if data["history"]:
        made.append(_history(known, data))
    made += [*bobweight.to_hang(result.bobweights, figures), bobweight.throws(figures, result.bobweights)]
    if result.job.has_parts:
        made.append(_cylinders(figures))
    made += [_cost(figures)] if result.left else []
    made += shaking.told(known.shake, figures) if result.job.has_parts else []
    if state is not None and state.spins:
        made += way.told(state, figures)
    return tuple(made)


def _of_the_parts(known: Known, figures: Figures) -> list[Block]:
    """What was weighed, how sure that is, and what it says."""
    assert known.result
    result = known.result
    made: list[Block] = [_readings(known, figures)]
    if figures.value("for_all"):
        made.append(bench.for_all(figures))
    made.append(_how_sure(result, figures))
    job = result.job
    said = (
        *result_words.of_no_cut(job, figures.show),
        *(result_words.slip_alone(found, figures.show, job.names, known.name) for found in result.slips),
    )
    made.append(
        Lines(said or (result_words.NO_SLIP,), "Look again" if said else "", "framed" if said else "plain")
    )
    return [*made, *_spreads(result, figures)]


def _outcome(known: Known, figures: Figures) -> list[Block]:
    """At one look: whether it is signed, by whom, and what is left."""
    state = known.balancing
    if state is None:
        has_spins = any(isinstance(event.record, Spun) and not event.struck_by for event in known.events)
        return [Lines((card_words.NOT_READ if has_spins else card_words.NO_STATION,), weight="framed")]
    if state.last is None:
        return [Lines((card_words.NO_SPIN,), weight="framed")]
    made: list[Block] = []
    if state.signed and may_go.holds(state):
        record = state.signed
        told = f"{when(record.at)} UTC, record {record.id}"
        made.append(Bigs((Big("signed by", Word(record.by), told),)))
        if edited := words.signed_by_its_day(state):
            made.append(Lines((edited,)))
    else:
        reasons = list(map(str, may_go.not_signable(state))) or [words.MAY_BE_SIGNED]
        told_before = (before,) if (before := words.signed_before(state)) else ()
        made += stop("NOT SIGNED", (*told_before, *map(result_words.sentence, reasons)))
    if said := words.for_these_parts(state):
        made.append(Lines((f"{said}.",), words.FOR_THESE_PARTS, "framed"))
    if said := words.not_proved(state):
        made += stop("NOT PROVED", (said,))
    elif state.is_proved:
        made.append(Lines((card_words.PROVED, f"{words.proved_by(state)}.")))
    if figures.value("balancing", "in_engine"):
        made.append(Bigs(tuple(big for plane in PLANES for big in _whole(state, figures, plane))))
        made.append(station.in_engine(figures, words.in_engine(state)))
        made += station.members(figures)
        made += station.as_hung(state, figures)
    return made


def _whole(state: Balancing, figures: Figures, plane: str) -> tuple[Big, Big]:
    """What turns in a plane of the engine with the tolerance, and its verdict."""
    path = ("balancing", "in_engine", plane)
    sure_gmm = figures.value(*path, "whole", "uncertainty_gmm")
    left = figures.unbalance(*path, "whole", "unbalance_gmm", sure_gmm=sure_gmm)
    sure = figures.unbalance(*path, "whole", "uncertainty_gmm", sure_gmm=sure_gmm)
    limit = figures.limit("balancing", "planes", plane, "tolerance_gmm")
    since = "not spun since" if state.since else ""
    return (
        Big(f"{plane} plane", left, f"± {sure.text}; tolerance {limit.text}"),
        Big(f"{plane} plane is", VERDICTS[figures.value(*path, "verdict")], since),
    )


def _engine(result: Result, figures: Figures) -> CardTable:
    show, facts, engine = figures.show, result.facts, result.job.engine
    rows: list[tuple[Cell, ...]] = [("layout", engine.layout_name)]
    rows += [
        (name, figures.length("job", key))
        for name, key in (("stroke", "stroke_mm"), ("rod, centre to centre", "rod_length_mm"), ("bore", "bore_mm"))
        if figures.value("job", key) is not None
    ]
    if engine.rods_apart_mm is not None:
        rows += [("rods side by side, apart", figures.length("job", "rods_apart_mm"))]
        rows += [("in front of the two", f"the rods of bank {engine.rod_in_front}")]
    if facts.displacement_cm3 is not None:
        rows.append(("displacement", _fact(figures, "displacement_cm3", show.displacement)))
    if engine.top_speed_rpm is not None:
        rows.append(("top speed", figures.number("job", "top_speed_rpm", unit="r/min")))
    if facts.mean_piston_speed_m_s is not None:
        rows.append(("mean piston speed", _fact(figures, "mean_piston_speed_m_s", show.piston_speed)))
    if facts.peak_piston_acceleration_m_s2 is not None:
        told = _fact(figures, "peak_piston_acceleration_m_s2", show.acceleration)
        rows.append(("peak piston acceleration", told))
    if engine.firing_order:
        rows.append(("firing order", " ".join(map(str, engine.firing_order))))
    return CardTable("engine", ("", ""), tuple(rows), "The engine", wide=0)


def _fact(figures: Figures, key: str, shown: Callable[[float], Amount]) -> Figure:
    value = figures.value("job", key)
    return Figure(shown(value), value, ("job", key))


def _readings(known: Known, figures: Figures) -> CardTable:
    """Every reading, and how sure one is, or the mean of several."""
    grid = bench.grid(known, figures)
    ways = []
    for weighed, counts in figures.value("readings_uncertainty_g").items():
        sure = []
        for count in counts:
            told = figures.mass("readings_uncertainty_g", weighed, count, finer=1)
            sure.append(f"{'one' if count == '1' else f'×{count}'} ± {told.text}")
        ways.append(f"{physics_words.WAY_HEADS[weighed]}: {', '.join(sure)}")
    return replace(grid, caption=f"{grid.caption}   {'; '.join(ways)}")


def _how_sure(result: Result, figures: Figures) -> Lines:
    """What the ± are made of."""
    step = figures.given("job", "scale_resolution_g", unit=result.job.mass_unit)
    covered = figures.number("covered_percent")
    said = [f"Expanded uncertainty, {covered.text} %; scale step {step.text}."]
    said += map(result_words.sentence, physics_words.repeatability(result, figures.show))
    if result.job.scale.calibration_g:
        said.append(f"Calibration {figures.given('calibration_g').text}.")
    if result.job.scale.gain:
        said.append(f"Calibration {figures.number('calibration_percent').text} % of the load.")
    return Lines(tuple(said))


def _spreads(result: Result, figures: Figures) -> list[Block]:
    from truethrow.worksheets.drawn import strips  # noqa: PLC0415 (as all drawings, only where one is)

    made: list[Picture] = []
    for found in result.spreads:
        bars = figures.value("members_uncertainty_g", found.quantity)
        finer = finer_for(found.quantity)
        said = f"{label(found.quantity)}: spread {figures.show.masses(found.spread_g, finer)}"
        if found.limit_g is not None:
            said += f", limit {figures.show.masses(found.limit_g, finer)}"
            said += f", {VERDICTS[found.verdict].text}" if found.verdict else ""
        drawn = strips.strip(found, bars, figures.show, wide_mm=STRIP_MM)
        made.append(Picture(f"strip-{found.quantity.replace('_', '-')}", drawn, said))
    pairs = (tuple((one,) for one in made[at : at + 2]) for at in range(0, len(made), 2))
    beside = [Side(pair if len(pair) > 1 else (*pair, ()), (0.5, 0.5)) for pair in pairs]
    return [_spread_table(result, figures), *beside] if made else []


def _spread_table(result: Result, figures: Figures) -> CardTable:
    rows: list[tuple[Cell, ...]] = []
    for at, found in enumerate(result.spreads):
        spread, finer, kind = figures.value("spreads", at), finer_for(found.quantity), plain.members_in(found)
        members: list[Cell] = []
        for name in ("lightest", "heaviest"):
            figure = figures.mass("spreads", at, kind, spread[name], finer=finer, bare=True)
            members += [figure, _alike(spread[kind], figure.value)]
        limit = "" if spread["limit_g"] is None else figures.mass("spreads", at, "limit_g", finer=finer, bare=True)
        rows.append(
            (
                label(spread["quantity"]),
                *members,
                figures.mass("spreads", at, "spread_g", finer=finer, bare=True),
                figures.mass("spreads", at, "uncertainty_g", finer=1, bare=True),
                limit,
                verdict(spread["verdict"]),
            )
        )
    heads = ("of", "lightest", "which", "heaviest", "which", "spread", "±", "limit", "")
    caption = result_words.SPREADS.format(unit=figures.show.mass_unit)
    return CardTable("spreads", heads, tuple(rows), caption, wide=0)


def _alike(members: dict[str, float], grams: float) -> str:
    """The members that weigh so much, the first of them where they are many."""
    names = [name for name, own in members.items() if own == grams]
    return ", ".join(names) if len(names) <= NAMED else f"{names[0]}…"


def _cylinders(figures: Figures) -> CardTable:
    names = ("rotating_g", "reciprocating_g")
    rows = tuple(
        (
            figures.number("bobweights", "cylinders", at, "cylinder", places=0),
            *(figures.mass("bobweights", "cylinders", at, name, bare=True) for name in names),
            figures.mass("bobweights", "cylinders", at, "contribution_g", finer=1, bare=True),
        )
        for at in range(len(figures.value("bobweights", "cylinders")))
    )
    heads = ("cylinder", "rotating", "reciprocating", "adds to bobweight")
    return CardTable("cylinders", heads, rows, f"What each cylinder gives [{figures.show.mass_unit}]")


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
                figures.degrees(*path, "angle_deg") if found["unbalance_gmm"] > sure else "",
                "" if allowed is None else figures.limit(*path, "permissible_gmm", bare=True),
                verdict(found["verdict"]),
            )
        )
    unit = figures.show.unbalance_unit
    heads = ("plane", "z", f"unbalance [{unit}]", "±", "at", "tolerance", "")
    caption = "What hanging these masses leaves, at the throws' radius, angle from throw 1"
    return CardTable("left by hanging", heads, tuple(rows), caption)


def _history(known: Known, data: dict[str, Any]) -> CardTable:
    """What was struck, ground, moved or confirmed, in short."""
    rows = []
    for event, told in zip(_told(known), data["history"], strict=True):
        record, struck = event.record, told["struck_out"]
        said = history_words.told(event)
        if record.why:
            said += f" ({record.why})"
        if struck is not None:
            by = f" {struck['by']}" if struck["by"] else ""
            said += f"; canceled {struck['when']}{by}" + (f": {struck['why']}" if struck["why"] else "")
        rows.append((told["when"], record.by, record.action, said))
    heads = ("when (UTC)", "who", "", "what")
    return CardTable("history", heads, tuple(rows), "What was canceled, ground, moved or confirmed", wide=3)
