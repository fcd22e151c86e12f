"""What the balancing station read and did, as the data of the cards that tell of it."""

from __future__ import annotations

import math
from typing import Any

from truethrow.balance.base.amounts import ToldIn
from truethrow.balance.base.readings import digits_for
from truethrow.balance.correction import TwoPlanes
from truethrow.balance.crank.crank import Crank, Member
from truethrow.balance.crank.holes import Hole
from truethrow.balance.log.log import when
from truethrow.balance.result.unbalance import allowed_gmm
from truethrow.balance.station import may_go
from truethrow.balance.station.balancing import PLANES, Balancing
from truethrow.balance.station.spin import Instrument
from truethrow.balance.station.spinning import Spin
from truethrow.worksheets.cards import drilling
from truethrow.worksheets.cards.known import Known
from truethrow.worksheets.data import result_data, station_data
from truethrow.worksheets.words import station_words as words

# The units of the sentences in the data: a card is no other card in another shop's units.
IN_DATA = ToldIn()


def data(known: Known) -> dict[str, Any]:
    assert known.result and known.job
    result, state = known.result, known.balancing
    told = result_data.job(result)
    made: dict[str, Any] = {
        "job": {key: told[key] for key in ("id", "title", "digest", "notes", "layout", "stroke_mm")},
        "banks": dict(known.job.layout.banks),
        "bobweights": {key: result_data.bobweights(result)[key] for key in ("rule", "hang_g", "throws")},
        "slips": result_data.slips(result),
        "planes": planes(known),
        "instrument": known.profile and known.profile.instrument and _instrument(known.profile.instrument),
        "crank": crank(known.job.crank, known.profile and known.profile.instrument),
        "balancing": None,
        "operations": [],
        "reads": {},
    }
    if state is not None:
        made["balancing"] = loop(state)
        made["operations"] = [_operation(state, one) for one in drilling.planned(state)]
        made["reads"] = _reads(state)
        made["turning"] = _turning(state)
        made["changed_since"] = state.has_changed
        made["tested"] = None if state.tested is None else [words.finding(one, IN_DATA) for one in state.tested[1]]
        made["not_proved"] = words.not_proved(state)
        made["proved_by"] = words.proved_by(state, IN_DATA)
    return made


def loop(state: Balancing) -> dict[str, Any]:
    """Where the loop at the station stands, and when each thing was done as a person reads it."""
    made = station_data.as_data(state, IN_DATA)
    del made["job"]["log"]  # it stands in every card's head; none grows old by it
    del made["next"]  # a command with the file's name: a card of a job that was moved is no old card
    for one in (*made["spins"], made["signed"], made["signed_before"]):
        if one is not None:
            one["when"] = when(one["at"])
    return made


def planes(known: Known) -> dict[str, Any]:
    assert known.job
    station, instrument = known.job.station, known.profile and known.profile.instrument
    made: dict[str, Any] = {}
    for plane, z_mm, limit in zip(
        PLANES, (station.front_plane_mm, station.rear_plane_mm), allowed_gmm(known.job), strict=True
    ):
        is_known = instrument is not None and not instrument.reads_divisions
        reads = None if limit is None or instrument is None or not is_known else _down(limit, instrument)
        made[plane] = {"z_mm": z_mm, "tolerance_gmm": limit, "tolerance_reads": reads}
    return made


def _down(limit_gmm: float, instrument: Instrument) -> float:
    """The tolerance as the station shows it, never more than it is."""
    digits = digits_for(instrument.floor_gmm / instrument.gmm)
    return round(math.floor(limit_gmm / instrument.gmm * 10.0**digits + 1e-9) / 10.0**digits, digits)


def _instrument(found: Instrument) -> dict[str, Any]:
    return {
        "unit": found.unit,
        "radius_mm": found.radius_mm,
        "sense": "with" if found.with_rotation else "against",
        "zero_deg": found.zero_deg,
        "floor_gmm": found.floor_gmm,
        "one_gmm": found.gmm,
    }


def crank(found: Crank | None, instrument: Instrument | None) -> dict[str, Any] | None:
    """The crank as declared; None for a length that has no end."""
    if found is None:
        return None
    return {"wall_mm": found.wall_mm, "members": [_member(member, instrument) for member in found.members]}


def _member(found: Member, instrument: Instrument | None) -> dict[str, Any]:
    lengths = ("z_mm", "thickness_mm", "outer_mm", "inner_mm", "pitch_mm", "deepest_radial_mm", "deepest_axial_mm")
    made: dict[str, Any] = {"name": found.name, "bore": found.bore}
    for name in lengths:
        value = getattr(found, name)
        made[name] = value if value is None or math.isfinite(value) else None
    made["arcs"] = [
        arc._asdict() | {"to_deg": round((arc.from_deg + arc.span_deg) % 360, 9)} for arc in found.arcs
    ]
    made["holes"] = [_hole(hole, instrument) for hole in found.holes]
    return made


def _hole(found: Hole, instrument: Instrument | None) -> dict[str, Any]:
    return station_data.operation(found, instrument) | {"tip_mm": round(found.tip_mm, 4)}


def _operation(state: Balancing, one: words.Operation) -> dict[str, Any]:
    assert state.plan
    planned_mm = round(state.plan.operations[one.number - 1].depth_mm, 4)
    told = {
        "number": one.number,
        "done": one.is_done,
        "planned_mm": planned_mm,
        "display_deg": state.profile.shows_with_up(one.hole.angle_deg),
    }
    there = {"through": _is_through(state.job.crank, one.hole), "from": _face(state.job.crank, one.hole)}
    return _hole(one.hole, state.instrument) | told | there


def _face(found: Crank | None, hole: Hole) -> str | None:
    """From which face a bore along the crank is made."""
    return found.member(hole.member).bored_from(hole) if found else None


def _turning(state: Balancing) -> list[dict[str, Any]]:
    """What the display shows with each throw up, so that a hand can see that it counts as the profile says;
    nothing where the profile does not tell."""
    throws = {throw.name: throw.angle_deg for throw in state.job.layout.throws}
    shows = {name: state.profile.shows_with_up(angle) for name, angle in throws.items()}
    return [{"throw": name, "display_deg": round(one, 6)} for name, one in shows.items() if one is not None]


def _is_through(found: Crank | None, hole: Hole) -> bool:
    """Whether a hole along the crank comes out at the other side, if only with the drill's point."""
    members = found.members if found else ()
    thin = next((one.thickness_mm for one in members if one.name == hole.member), math.inf)
    return hole.kind == "axial" and hole.tip_mm >= thin


def _reads(state: Balancing) -> dict[str, Any]:
    """The last spin and the next one as the station shows them, with the digits that were typed."""
    if state.last is None or state.is_edited or not state.last.is_told:
        return {}
    made: dict[str, Any] = {"digits": _digits(state.instrument, state.last)}
    made["last"] = _shown(state, state.last.residual, state.last.expanded_gmm)
    if state.expected is not None and not (may_go.withheld(state) or words.waits(state)):
        made["next"] = _shown(state, state.expected, state.least_expanded_gmm)
    return made


def _digits(instrument: Instrument, last: Spin) -> int:
    """Decimal places of an amount: those that were typed, one more in a mean, no more than the station is sure
    of."""
    typed = max(one.places for run in last.typed.readings for one in run)
    return min(typed + (last.runs > 1), digits_for(instrument.floor_gmm / instrument.gmm))


def _shown(state: Balancing, vectors: TwoPlanes, sure_gmm: tuple[float, float]) -> dict[str, Any]:
    """Amount and angle of each plane as the station shows them; None for the angle of what may as well be
    nothing."""
    made: dict[str, Any] = {}
    shown = state.shows(vectors)
    for plane, vector, sure, (amount, degrees) in zip(PLANES, vectors, sure_gmm, shown, strict=True):
        made[plane] = {"amount": amount, "station_angle_deg": round(degrees) % 360 if abs(vector) > sure else None}
    return made
