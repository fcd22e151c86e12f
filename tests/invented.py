"""Invented jobs for the tests: a document as data, its text, and the job built from it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import tomlkit

from truethrow.balance.job import job
from truethrow.balance.matching import proposing
from truethrow.balance.result.work import Result, work

V8 = {
    "layout": "v8-90-crossplane",
    "stroke": 92.0,
    "bore": 105.0,
    "rod_length": 155.0,
    "cylinder_spacing": 112.0,
    "top_speed": 5600,
}
PARTS = {
    "piston": 538.4,
    "pin": 112.1,
    "locks": 3.2,
    "rings": 41.0,
    "small_end": 171.2,
    "big_end": 452.3,
    "bearings": 46.0,
}


def cylinders(count: int = 8, **changes: Mapping[int, Any]) -> list[dict[str, Any]]:
    """Cylinders 1 … count with like parts; changes: kind → {cylinder: reading}, as
    cylinders(piston={3: 540.0})."""
    return [
        {"number": n, **PARTS} | {kind: at[n] for kind, at in changes.items() if n in at}
        for n in range(1, count + 1)
    ]


# What hundreds of exact figures are worked out with: nothing scatters. Who asks how sure says so.
NO_SCATTER = {"repeatability": 0.0, "rod_end_repeatability": 0.0}


def document(parts: list[dict[str, Any]] | None = None, **tables: Any) -> dict[str, Any]:
    """A whole V8 job as data; tables replace whole tables: document(limits={"piston": 1.0}). None drops one. A
    scale has NO_SCATTER unless it says otherwise; repeatability=None declares none."""
    made: dict[str, Any] = {
        "job": {"id": "launch-7"},
        "engine": dict(V8),
        "scale": {"resolution": 0.1, "capacity": 3000},
        "bobweight": {"share": 0.5, "oil": 4.0},
    }
    made |= tables
    if isinstance(made["scale"], dict):
        scale = NO_SCATTER | made["scale"]
        made["scale"] = {key: value for key, value in scale.items() if value is not None}
    made["cylinder"] = cylinders() if parts is None else parts
    return {name: table for name, table in made.items() if table is not None}


def text(data: Mapping[str, Any]) -> str:
    return tomlkit.dumps(data)


def build(data: Mapping[str, Any], sheet: Path | None = None) -> job.Job:
    return job.build(text(data), "invented.toml", sheet)


def worked(parts: list[dict[str, Any]] | None = None, **tables: Any) -> Result:
    """A job of these parts and tables, worked through."""
    return work(build(document(parts, **tables)))


def propose(path: Path, moves: Mapping[str, Mapping[int, int]]) -> None:
    """Write a trade of a test's own choice into a job's log, as match writes the best one."""
    proposing.propose(path, job.load(path), moves, "by hand")
