"""The whole result as plain data for machines: numbers in g, mm, g·mm, degrees and r/min, unit in the name."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from truethrow.balance.base.readings import Mass
from truethrow.balance.result.slips import Slip
from truethrow.balance.result.spread import Spread
from truethrow.balance.result.trim import PartTrim, Shortfall, name_of
from truethrow.balance.result.unbalance import PlaneUnbalance
from truethrow.balance.result.work import Result
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import result_words
from truethrow.worksheets.words.cautions import TRIM_CAUTIONS

if TYPE_CHECKING:
    from truethrow.balance.base.naming import Names, Part
    from truethrow.balance.base.scatter import Scatter
    from truethrow.balance.job.boxes import OffBox
    from truethrow.balance.job.grinding import Ground
    from truethrow.balance.job.sources import Replaced
    from truethrow.balance.result.settling import Places

# A card's code is made of its data: it must not change with the folder from which the job is named.
JOB = "JOB"


def as_data(result: Result, sections: tuple[str, ...]) -> dict[str, Any]:
    """The sections that a command shows: head, bobweights, spreads, slips, trim; and whether all is inside."""
    made: dict[str, Any] = {"job": job(result) | {"about": result.job.about._asdict(), "log": result.job.head}}
    if "bobweights" in sections:
        made["bobweights"] = bobweights(result)
    if "spreads" in sections:
        made["spreads"] = [spread(s) for s in result.spreads]
        made["to_settle"] = _places(result, result.to_settle)
    if "slips" in sections:
        made["slips"] = slips(result)
        made["replaced"] = [_replaced(one, _grams(result), result.job.names) for one in result.job.replaced]
    if "trim" in sections:
        made["trim"] = trim(result)
        made["look_again"] = result_words.look_again(result, _grams(result))
        if result.job.ground is not None:
            made["ground"] = ground(result.job.ground, _grams(result), result.job.names)
    return made | {"outside": result.outside}


def _off_box(found: OffBox) -> dict[str, Any]:
    return {
        "kind": found.kind,
        "cylinders": list(found.cylinders),
        "least_g": found.least_g,
        "most_g": found.most_g,
        **found.box._asdict(),
    }


def job(result: Result) -> dict[str, Any]:
    """Without what it says of itself: no card grows old by that."""
    made, engine, facts = result.job, result.job.engine, result.facts
    return {
        "id": made.id,
        "title": made.title,
        "digest": made.digest,
        "notes": list(made.notes),
        "layout": engine.layout_name,
        "stroke_mm": engine.declared_stroke_mm,
        "rod_length_mm": engine.declared_rod_length_mm,
        "bore_mm": engine.bore_mm,
        "rods_apart_mm": engine.rods_apart_mm,
        "rod_in_front": engine.rod_in_front,
        "top_speed_rpm": engine.top_speed_rpm,
        "displacement_cm3": _rounded(facts.displacement_cm3, 3),
        "mean_piston_speed_m_s": _rounded(facts.mean_piston_speed_m_s, 3),
        "peak_piston_acceleration_m_s2": _rounded(facts.peak_piston_acceleration_m_s2, 1),
        "scale_resolution_g": made.scale.resolution_g,
        **(
            {"estimated": {kind: list(numbers) for kind, numbers in made.estimated.items()}}
            if made.estimated
            else {}
        ),
        **({"off_the_estimate": [_off_box(one) for one in made.off_boxes]} if made.off_boxes else {}),
        "repeatability": {
            "on_the_pan": _scatter(result.certainty.pan),
            "rod_ends": _scatter(result.certainty.support),
        },
    }


def _scatter(found: Scatter) -> dict[str, Any]:
    """freedom: null where it is taken as well known."""
    return {
        "standard_g": round(found.standard_g, 4),
        "freedom": None if math.isinf(found.freedom) else found.freedom,
        "factor": round(found.factor, 4),
        "known": found.known,
    }


def bobweights(result: Result) -> dict[str, Any]:
    weights, left = result.bobweights, result.left
    return {
        "share": result.job.share,
        "rule": weights.rule,
        "hang_g": weights.hung_g,
        "cylinders": [
            {
                "cylinder": c.cylinder,
                "rotating_g": c.rotating.value_g,
                "reciprocating_g": c.reciprocating.value_g,
                "contribution_g": c.contribution.value_g,
                "uncertainty_g": _expanded(result, c.contribution),
            }
            for c in weights.cylinders
        ],
        "throws": [
            {
                "throw": t.throw.name,
                "crank_angle_deg": t.throw.angle_deg,
                "position_mm": t.throw.place_mm,
                "cylinders": list(t.cylinders),
                "oil_g": t.oil_g,
                "bobweight_g": t.bobweight.value_g,
                "uncertainty_g": _expanded(result, t.bobweight) if result.job.has_parts else None,
                "hang_g": t.hung_g,
                "deviation_g": t.deviation.value_g if result.job.has_parts else None,
            }
            for t in weights.throws
        ],
        "cost": left and {p.plane: _plane(p) for p in (left.static, left.front, left.rear)},
        "rods": _rods(result),
        "to_settle": _places(result, result.to_settle_planes),
    }


def _rods(result: Result) -> dict[str, Any] | None:
    """What rods side by side make of the front plane, and its reverse of the rear plane; null where every rod lies
    in the middle of its throw."""
    found = result.left and result.left.rods
    if found is None:
        return None
    return {
        "front_unbalance_gmm": round(found.amount_gmm, 6),
        "front_crank_angle_deg": round(found.angle_deg, 6),
        "uncertainty_gmm": round(found.expanded_gmm, 4),
    }


def _replaced(found: Replaced, show: Display, names: Names) -> dict[str, Any]:
    return {
        "kind": found.kind,
        **part_data(names.part(found.kind, found.cylinder)),
        "file_g": found.file_g,
        "bench_g": found.bench_g,
        "sentence": result_words.replaced(found, show, names),
    }


def _places(result: Result, places: Places) -> list[dict[str, Any]]:
    """The parts of which a second weighing would settle what is too close to call."""
    return [{"kind": kind, **part_data(result.job.names.part(kind, at))} for at, kind in places]


def slips(result: Result) -> list[dict[str, Any]]:
    return [_slip(found, _grams(result), result.job.names) for found in result.slips]


def members_in(found: Spread) -> str:
    """Under which key a spread has what its members weigh."""
    return f"{found.member_kind}s_g"


def spread(found: Spread) -> dict[str, Any]:
    return {
        "quantity": found.quantity,
        members_in(found): {name: mass.value_g for name, mass in found.members.items()},
        "lightest": found.lightest,
        "heaviest": found.heaviest,
        "spread_g": found.spread_g,
        "uncertainty_g": round(found.expanded_g, 4),
        "limit_g": found.limit_g,
        "verdict": found.verdict,
    }


def trim(result: Result) -> dict[str, Any] | None:
    plan = result.trim
    if plan is None:
        return None
    show, names = _grams(result), result.job.names
    return {
        "grams": plan.grams,
        "plan": name_of(result.job, plan) if plan.parts else None,
        "parts": [_part(part, names, show) for part in plan.parts],
        "after": [spread(s) for s in plan.after],
        "shortfalls": [_shortfall(found, show, names) for found in plan.shortfalls],
        "swap": plan.swap
        and {
            "part": plan.swap.part,
            **part_data(names.part(plan.swap.part, plan.swap.cylinder)),
            "wanted_g": dict(plan.swap.wanted_g),
            "grams": round(plan.swap.grams, 3),
            "sentence": result_words.swap(plan.swap, show, names),
        },
        "pads_assumed": list(result.job.pads_assumed),
        "cautions": list(TRIM_CAUTIONS),
    }


def part_data(part: Part) -> dict[str, Any]:
    """What a part is called, and what its name is made of."""
    return {"cylinder": part.cylinder, "weighed_in": part.weighed_in, "label": part.label, "name": part.said}


def ground(found: Ground, show: Display, names: Names) -> dict[str, Any]:
    """What the pads gave in the rounds so far; per gram: how far a gram asked lowers each reading, as learned."""
    return {
        "rounds": found.rounds,
        "pads": [
            {
                "kind": pad.kind,
                "grinds": pad.grinds,
                "asked_g": pad.asked_g,
                "given_g": pad.given_g,
                "ratio": _rounded(pad.ratio, 4),
                "uncertainty_g": round(pad.expanded_g, 4),
                "per_gram": {kind: round(fall, 4) for kind, fall in pad.per_gram.items()},
            }
            for pad in found.responses.values()
        ],
        "doubted": [result_words.doubted(grind, show, names) for grind in found.doubted],
        "weigh_again": [result_words.weigh_again(grind, names, JOB) for grind in found.again],
        "sentences": result_words.learned(found.responses.values()),
    }


def _part(part: PartTrim, names: Names, show: Display) -> dict[str, Any]:
    return {
        "part": part.part,
        **part_data(names.part(part.part, part.cylinder)),
        "cuts": [{"kind": c.pad.kind, "at_mm": c.pad.at_mm, "grams": c.grams} for c in part.cuts],
        "expect_g": dict(part.expected_g),
        "sentence": result_words.cut(part, show, names),
    }


def _shortfall(found: Shortfall, show: Display, names: Names) -> dict[str, Any]:
    return {
        "quantity": found.spread.quantity,
        "limit_g": found.limit_g,
        "reachable_g": found.spread.spread_g,
        "enough_g": found.enough_g,
        "sentence": result_words.shortfall(found, show, names),
    }


def _slip(found: Slip, show: Display, names: Names) -> dict[str, Any]:
    is_part = found.cylinder is not None and found.check != "hang"
    named = part_data(names.part(found.kind, found.cylinder)) if is_part and found.cylinder else {}
    return {
        "check": found.check,
        "cylinder": found.cylinder,
        "kind": found.kind,
        "found_g": list(found.found_g),
        "against_g": list(found.against_g),
        "apart_g": found.apart_g,
        "allowed_g": found.allowed_g,
        "suspicion": found.suspicion,
        **({"heaps": [list(heap) for heap in found.heaps]} if found.heaps else {}),
        **named,
        "sentence": result_words.slip(found, show, names, JOB),
    }


def _plane(found: PlaneUnbalance) -> dict[str, Any]:
    return {
        "z_mm": found.z_mm,
        "unbalance_gmm": round(found.amount_gmm, 6),
        "crank_angle_deg": round(found.angle_deg, 6),
        "uncertainty_gmm": round(found.expanded_gmm, 4),
        "permissible_gmm": _rounded(found.permissible_gmm, 4),
        "verdict": found.verdict,
    }


def _grams(result: Result) -> Display:
    return Display("g", "mm", result.job.scale.resolution_g)


def _expanded(result: Result, mass: Mass) -> float:
    return round(result.certainty.expanded_g(mass), 4)


def _rounded(value: float | None, places: int) -> float | None:
    return None if value is None else round(value, places)
