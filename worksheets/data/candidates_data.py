"""Candidates side by side, as plain data."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from truethrow.balance.planning.candidates import Candidates
from truethrow.balance.planning.comparing import Candidate, Cost, Doubt, Expected, Ranked
from truethrow.worksheets.data.planning_data import figure


def candidates(file: Candidates, order: Sequence[Ranked], by: str) -> dict[str, Any]:
    return {
        "id": file.id,
        "title": file.title,
        "sorted_by": by,
        "currency": file.prices.currency if file.prices else None,
        "candidates": [_ranked(one) for one in order],
    }


def _ranked(one: Ranked) -> dict[str, Any]:
    who = one.candidate
    speed = who.result.facts.mean_piston_speed_m_s
    return {
        "rank": one.rank if one.is_known else None,
        "set": who.parts.name,
        "crank": who.crank.name,
        "maker_target_g": who.crank.target_g,
        "estimated": list(who.result.job.estimated),
        "one_weighed_for_all": list(who.parts.one_for_all),
        "bobweight": figure(who.masses.target),
        "reciprocating": figure(who.masses.reciprocating),
        "rotating": figure(who.masses.rotating),
        "mean_piston_speed_m_s": None if speed is None else round(speed, 3),
        "at_top_speed": _running(who),
        "expected": None if who.expected is None else _expected(who.expected),
        "price": None if who.cost is None else _cost(who.cost),
        "doubt_before": None if one.doubt is None else _doubt(one.doubt),
    }


def _running(who: Candidate) -> dict[str, Any] | None:
    if who.running is None:
        return None
    shaking = who.shaking
    return {
        "speed_rpm": who.running.speed_rpm,
        "pull_n": round(who.running.pull_n, 2),
        "pull_uncertainty_n": round(who.running.pull_expanded_n, 2),
        "rod_bolt_n": round(who.running.bolt_n, 2),
        "rod_bolt_uncertainty_n": round(who.running.pull_expanded_n / who.running.bolts, 2),
        "force_n": None if shaking is None else round(shaking.force.amount, 3),
        "force_uncertainty_n": None if shaking is None else round(shaking.force_expanded_n, 3),
        "couple_nm": None if shaking is None else round(shaking.couple.amount, 4),
        "couple_uncertainty_nm": None if shaking is None else round(shaking.couple_expanded_nm, 4),
    }


def _expected(found: Expected) -> dict[str, Any]:
    """light, middle, heavy: parts at the ends and in the middle of their range."""
    return {name: work._asdict() | {"metal_g": round(work.metal_g, 2)} for name, work in found._asdict().items()}


def _cost(found: Cost) -> dict[str, Any]:
    return {
        "parts": float(found.parts),
        "crank": float(found.crank),
        "shop": [float(amount) for amount in found.shop],
        "unpriced": list(found.unpriced),
        "totals": [float(amount) for amount in found.totals],
    }


def _doubt(found: Doubt) -> dict[str, Any]:
    return found._asdict() | {"kinds": dict(found.kinds)}
