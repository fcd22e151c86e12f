"""The balancing station as plain data: stacks, spins, the plan, test masses, the sign-off."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from truethrow.balance.base.amounts import ToldIn
from truethrow.balance.correction import Arriving, Converted, HolePlan, TwoPlanes
from truethrow.balance.correction.alike import Alike
from truethrow.balance.crank.crank import Member
from truethrow.balance.crank.holes import Hole
from truethrow.balance.log.lines import as_data as as_data_of
from truethrow.balance.log.records import Built, SignedOff
from truethrow.balance.result.bobweight import ThrowMass
from truethrow.balance.station import may_go, revisions
from truethrow.balance.station.balancing import PLANES, Balancing
from truethrow.balance.station.built import is_of
from truethrow.balance.station.inengine import Vector
from truethrow.balance.station.next_steps import next_steps, what_the_edit_was
from truethrow.balance.station.spin import Instrument, Measured
from truethrow.balance.station.spinning import Spin
from truethrow.balance.station.stacked import Stack, Stacks
from truethrow.balance.station.testmass import Finding, Trial
from truethrow.worksheets.data import division_data
from truethrow.worksheets.words import station_words as words


def as_data(state: Balancing, told_in: ToldIn | None = None) -> dict[str, Any]:
    """Where the loop stands: everything that was read and done, the residual, the plan. told_in: the units of its
    sentences, None for those of the job."""
    last, own, told_in = state.last, state.instrument, told_in or state.told_in
    return {
        "job": {"id": state.job.id, "digest": state.job.digest, "log": state.job.head},
        "planes": {
            plane: {"z_mm": z, "tolerance_gmm": round(limit, 3), "least_uncertainty_gmm": round(least, 3)}
            for plane, z, limit, least in zip(
                PLANES, state.planes_mm, state.limits_gmm, state.least_expanded_gmm, strict=True
            )
        },
        "spins": [spin(state, one, told_in) for one in state.spins],
        "residual": spin(state, last, told_in)["planes"]
        if last and last.is_told and not (state.since or state.is_edited)
        else None,
        "drilled_since": [operation(one.hole, own) | {"record": one.record.id} for one in state.since],
        "response": {
            plane: {"factor": round(abs(one), 4), "turn_deg": round(words.degrees(one), 3)}
            for plane, one in zip(PLANES, state.answers.response, strict=True)
        },
        "test_mass": state.tested and trial_data(*state.tested, own, told_in),
        "proved_by": None if state.proved_by is None else as_data_of(state.proved_by.record),
        "edited_since_spin": state.last.number if state.last and state.is_edited else None,
        "profile": profile(state, told_in),
        "proved": state.is_proved,
        "unproved": None if state.unproved is None else as_data_of(state.unproved),
        "in_engine": in_engine(state),
        "hung": hung(state),
        "members": members(state),
        "divisions": division_data.calibration(state) if state.reads_divisions and state.last else None,
        "for_these_parts": None if state.for_these_parts is None else as_data_of(state.for_these_parts),
        "agrees_with_spin": state.agreeing.number if last and not state.is_edited and state.agreeing else None,
        "withheld": [one.said(told_in) for one in may_go.withheld(state)],
        "next": next_steps(state),
        "plan": plan(state, told_in),
        "inside": may_go.is_inside(state),
        "signed": _signed(state.signed) if may_go.holds(state) else None,
        "signed_before": _signed(before.signed) if (before := may_go.no_longer(state)) else None,
        "void": [one.said(told_in) for one in may_go.void(state)],
        "edited_since_signed": list(words.edited_since_signed(state, told_in)),
        "not_signable": [one.said(told_in) for one in may_go.not_signable(state)],
    }


def profile(state: Balancing, told_in: ToldIn) -> dict[str, Any]:
    """The profile's revision and how it reads; what an edit changed of which nobody said what it was; and what was
    said of earlier ones."""
    return {
        "revision": revisions.revision(state.instrument),
        "read_as": revisions.read_as(state.instrument, told_in),
        "edited": list(revisions.changes(state.last_read_by, state.instrument, told_in) if state.last else ()),
        "said": [
            as_data_of(one.record) | {"changes": list(revisions.changes(one.was, one.now, told_in))}
            for one in state.edits
        ],
        "next": [str(step) for step in what_the_edit_was(state)] if state.unsaid else [],
    }


def in_engine(state: Balancing) -> dict[str, Any] | None:
    """What is signed for: the last spin, what hanging leaves, and both together; None where no spin counts."""
    if state.last is None or state.in_engine is None or state.is_edited:
        return None
    own = state.instrument
    return {
        one.plane: {
            "spin": _measured(one.spin, own),
            "hanging": _sum(one.hanging, own),
            "members": _sum(one.members, own) if state.members.off(state.last) else None,
            "whole": _sum(one.whole, own),
            "verdict": one.verdict,
        }
        for one in state.in_engine
    }


def hung(state: Balancing) -> list[dict[str, Any]]:
    """What hung at the last spin on each throw that carries a bobweight: asked for, and as it was weighed."""
    if state.in_engine is None or state.is_edited:
        return []
    return [
        {
            "throw": one.throw.throw.name,
            "asked_g": one.throw.hung_g,
            "weighed_g": one.record and one.record.grams,
            "off_g": one.record and round(one.record.grams - one.throw.hung_g, 6),
            "uncertainty_g": round(one.expanded_g, 4),
            "record": one.record and one.record.id,
        }
        for one in state.hung
        if one.throw.hung_g
    ]


def members(state: Balancing) -> list[dict[str, Any]]:
    """Damper, flexplate and so on: what each brings to both planes and how that is known, and whether it was on
    the crank at the last spin; nothing for a job without any."""
    found = []
    for one in state.job.crank.externals if state.job.crank else ():
        own = state.members.brings(one.name, state.last) if state.last else state.members.declared(one.name)
        brought = own and {
            plane: vector(gmm, state.instrument) | {"uncertainty_gmm": round(sure, 3)}
            for plane, gmm, sure in zip(PLANES, own.gmm, own.expanded_gmm, strict=True)
        }
        found.append(
            {
                "name": one.name,
                "z_mm": one.z_mm,
                "keyway_deg": one.keyway_deg,
                "offset": one.offset and vector(one.offset.gmm, state.instrument),
                "source": own and own.source,
                "brings": brought,
                "on": state.last is not None and one.name in state.last.record.members,
            }
        )
    return found


def _sum(found: Vector, instrument: Instrument) -> dict[str, Any]:
    return vector(found.gmm, instrument) | {"uncertainty_gmm": round(found.expanded_gmm, 3)}


def spin(state: Balancing, found: Spin, told_in: ToldIn) -> dict[str, Any]:
    is_fresh = state.is_fresh(found)
    ruled = dict(zip(PLANES, state.verdicts_of(found) if is_fresh else (None, None), strict=True))
    own = found.basis.instrument
    return {
        "number": found.number,
        "record": found.record.id,
        "at": found.record.at,
        "by": found.record.by,
        "note": found.record.why,
        "digest": found.record.digest,
        "typed": found.typed.told(told_in),
        "turned": [one.runs.told(told_in) for one in found.turned],
        "drilled_before": [
            operation(one.hole, state.instrument) | {"record": one.record.id} for one in found.drilled
        ],
        "fixture": None if found.fixture is None else two(found.fixture, own),
        "read_as": found.basis.told(told_in),
        "revision": found.basis.revision,
        "read_anew": found.is_read_anew,
        "unit": found.record.unit or None,
        "speed_rpm": found.record.speed_rpm or None,
        "on": list(found.record.members),
        "looked_over": found.record.looked_over,
        "counts": is_fresh,
        "planes": {p: _measured(getattr(found, p), own) | {"verdict": ruled[p]} for p in PLANES}
        if found.is_told
        else {},
    }


def _signed(made: SignedOff | None) -> dict[str, Any] | None:
    return None if made is None else as_data_of(made) | {"names": sorted((*made.spins, *made.holes))}


def plan(state: Balancing, told_in: ToldIn) -> dict[str, Any] | None:
    """The plan as far as it may be done, what is done of it as it really is; None where it is withheld."""
    made = state.plan
    if made is None or may_go.withheld(state):
        return None
    assert state.expected
    own = state.instrument
    return plan_data(made, own) | {
        "name": state.plan_name,
        "operations": [
            operation(one.hole, state.instrument) | {"number": one.number, "done": one.record}
            for one in words.operations(state)
        ],
        "halted": state.halted and state.halted.said(told_in),
        "expect": two(state.expected, own),
        "stage": _stage(made, state.expected, own),
    }


def plan_data(made: HolePlan, instrument: Instrument | None = None) -> dict[str, Any]:
    """A plan of holes; angles by both names, the station's where its profile is known."""
    return {
        "operations": [
            operation(one, instrument) | {"number": n} for n, one in enumerate(made.operations, start=1)
        ],
        "mass_g": round(made.mass_g, 3),
        "expect": two(made.residual, instrument),
        "stage": _stage(made, made.residual, instrument),
        "stays": [one._asdict() | {"left_gmm": vector(one.left_gmm, instrument)} for one in made.stays],
        "misfits": [
            one._asdict() | {"slug": one.slug._asdict(), "fits": one.fits and one.fits._asdict()}
            for one in made.misfits
        ],
        "cautions": [
            {
                "operation": operation(one.operation, instrument),
                "wall_mm": round(one.wall_mm, 3) if math.isfinite(one.wall_mm) else None,
                "force_n": one.force_n and round(one.force_n, 1),
            }
            for one in made.cautions
        ],
    }


def _stage(made: HolePlan, leaves: TwoPlanes, instrument: Instrument | None) -> dict[str, Any] | None:
    """What a stage of heavy metal leaves, and how many holes are foreseen after it: their places are told once
    they are planned from the spin with it."""
    if not made.then:
        return None
    return {
        "number": 1,
        "of": 2,
        "leaves": two(leaves, instrument),
        "foreseen": len(made.then),
        "then": two(made.at_last, instrument),
    }


def operation(found: Hole, instrument: Instrument | None = None) -> dict[str, Any]:
    made = {k: round(v, 4) if isinstance(v, float) else v for k, v in found._asdict().items()}
    return angles(made.pop("angle_deg"), instrument) | made


def two(found: TwoPlanes, instrument: Instrument | None = None) -> dict[str, Any]:
    return {plane: vector(one, instrument) for plane, one in zip(PLANES, found, strict=True)}


def vector(gmm: complex, instrument: Instrument | None = None) -> dict[str, float | None]:
    return {"unbalance_gmm": round(abs(gmm), 3)} | angles(words.degrees(gmm), instrument)


def on_arbor(gmm: complex) -> dict[str, float]:
    """An unbalance of two runs on an arbor: its angle is of neither crank nor station, but counted as was said."""
    return {"unbalance_gmm": round(abs(gmm), 3), "angle_deg": round(words.degrees(gmm) % 360, 3)}


def angles(crank_deg: float, instrument: Instrument | None) -> dict[str, float | None]:
    """An angle of the crank by both its names; None for the station's where no station is known."""
    knows = instrument is not None and not instrument.reads_divisions
    own = round(instrument.own_deg(crank_deg), 3) % 360 if instrument and knows else None
    return {"station_angle_deg": own, "crank_angle_deg": round(crank_deg % 360, 3) % 360}


def _measured(found: Measured, instrument: Instrument) -> dict[str, Any]:
    sure = found.expanded_deg
    return vector(found.vector_gmm, instrument) | {
        "uncertainty_gmm": round(found.expanded_gmm, 3),
        "angle_uncertainty_deg": None if sure is None else round(sure, 3),
    }


def trial_data(
    trials: Sequence[Trial], findings: tuple[Finding, ...], instrument: Instrument, told_in: ToldIn
) -> dict[str, Any]:
    """What one known mass says, or two at once: of these each plane its own."""
    return {
        "masses": [_trial(one, instrument, alone=len(trials) == 1) for one in trials],
        "agrees": not findings,
        "findings": [found._asdict() | {"sentence": words.finding(found, told_in)} for found in findings],
    }


def _trial(trial: Trial, instrument: Instrument, *, alone: bool) -> dict[str, Any]:
    read = {"front": vector(trial.front_gmm, instrument), "rear": vector(trial.rear_gmm, instrument)}
    return {
        "plane": trial.plane,
        "mass_g": trial.mass_g,
        "expected": vector(trial.expected_gmm, instrument),
        "read": read if alone else {trial.plane: read[trial.plane]},
        "uncertainty_gmm": round(2 * trial.standard_gmm, 3),
    }


def stacks(found: Stacks) -> dict[str, Any]:
    return {
        "met": found.is_met,
        "proved": found.is_proved,
        "pieces": found.pieces,
        "lacking": dict(found.lacking),
        "stacks": [_stack(one) for one in found.stacks],
    }


def _stack(found: Stack) -> dict[str, Any]:
    return {
        "throws": list(found.throws),
        "hang_g": found.target_g,
        "halves": found.halves and [dict(half) for half in found.halves],
        "mass_g": found.mass_g,
        "off_g": found.off_g,
        "nearest_below_g": found.below_g,
        "nearest_above_g": found.above_g,
        "short": dict(found.short),
        "finer_g": found.finer_g or None,
    }


def built(throws: Sequence[ThrowMass], weighed: Mapping[str, Built]) -> list[dict[str, Any]]:
    """What each throw's bobweight was asked to weigh, and what it weighs; None where nobody weighed it."""
    found = []
    for throw in throws:
        record = weighed.get(throw.throw.name)
        own = record if record and is_of(record, throw) else None
        weighed_g = own and own.grams
        found.append({"throw": throw.throw.name, "hang_g": throw.hung_g, "weighed_g": weighed_g})
    return found


def alike(new: Member, old: Member, found: Alike, must: TwoPlanes | None) -> dict[str, Any]:
    """What makes a new damper or flexplate equal to an old one; from_keyway_deg: of each hole."""
    made = found.plan
    keyway = new.keyway_deg or 0.0
    return {
        "new": new.name,
        "old": old.name,
        "brings": {"old": vector(found.old_gmm), "new": vector(found.new_gmm)},
        "too_much": vector(found.too_much_gmm) | {"uncertainty_gmm": round(found.expanded_gmm, 3)},
        "equal": found.is_equal,
        "operations": [
            operation(one) | {"number": n, "from_keyway_deg": round((one.angle_deg - keyway) % 360, 3)}
            for n, one in enumerate(made.operations if made else (), start=1)
        ],
        "left": vector(found.left_gmm),
        "or_add": {
            "mass_g": round(found.add_g, 3),
            "radius_mm": new.pitch_mm,
            "crank_angle_deg": round(found.add_deg, 3),
            "from_keyway_deg": round((found.add_deg - keyway) % 360, 3),
        },
        "must_read": must and two(must),
    }


def convert(found: Converted) -> dict[str, Any]:
    return {
        "to": found.to,
        "members": {name: two(one) for name, one in found.brings.items()},
        "counterweights": two(found.whole),
        "unbalance": two(found.unbalance),
        "heavy_metal": found.plan.heavy_metal,
        "has_room": found.has_room,
        "plan": plan_data(found.plan),
    }


def arriving(found: Arriving, instrument: Instrument | None) -> dict[str, Any]:
    return {
        "throws": [
            {"throw": one.throw.name, "over_g": round(one.over_g, 4), "unbalance": two(one.unbalance, instrument)}
            for one in found.throws
        ],
        "unbalance": two(found.unbalance, instrument),
        "heavy_metal": found.plan.heavy_metal,
        "plan": plan_data(found.plan, instrument),
    }
