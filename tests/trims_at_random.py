"""Invented jobs to be trimmed, of all kinds: scales of 0.01 to 1 g, several layouts, plain, skewed and two-humped
parts, outliers, ties in the middle of two steps, limits on kinds and on sums, in reach and out of it."""

from __future__ import annotations

import random
from typing import Any

import invented

from truethrow.balance.engine.layout import generic_layout
from truethrow.balance.job.job import Job

SCALES = (0.01, 0.1, 0.5, 1.0)
# A rod's length and its pads: levers that leave no middle between two steps, some that often do, and crude ones.
RODS = ((155.0, -48.0, 182.0), (150.0, -45.0, 172.5), (160.0, -40.0, 200.0))
LAYOUTS = (
    *("v8-90-crossplane",) * 6,
    "v8-90-flatplane",
    "inline-4",
    "v6-90-even",
    "vtwin-90",
    "v12-60",
    "inline-6",
)
SCATTER_G = {"piston": 1.5, "pin": 0.4, "big_end": 1.8, "small_end": 1.0}
LIMITED = ("piston", "big_end", "small_end", "both_ends", "rotating", "reciprocating", "bobweight")


def job(seed: int) -> Job:
    """One of them. Every part was weighed, some twice, on a scale of which the scatter is known."""
    draw = random.Random(seed)
    step_g = draw.choice(SCALES)
    layout = draw.choice(LAYOUTS)
    length, big_at, small_at = draw.choice(RODS)
    shape, times = draw.choice(("plain", "skewed", "two humps", "outlier")), draw.choice((1, 1, 1, 2, 0))
    count = len(generic_layout(layout).cylinders)
    parts = [{"number": n} | dict(invented.PARTS) for n in range(1, count + 1)]
    for kind, scatter_g in SCATTER_G.items():
        for part in parts:
            grams = invented.PARTS[kind] + _off(draw, shape) * scatter_g
            reads = [grams + draw.gauss(0, step_g / 2) for _ in range(times or draw.choice((1, 2)))]
            typed = [round(round(one / step_g) * step_g, 3) for one in reads]
            part[kind] = typed if len(typed) > 1 else typed[0]
    tight = draw.choice((0.3, 1.0, 1.0, 2.0)) + 3 * step_g
    names = draw.sample(LIMITED, draw.randint(1, 4))
    most_g = draw.choice((1.0, 6.0, 12.0, 12.0))
    return invented.build(
        invented.document(
            parts,
            engine=invented.V8 | {"layout": layout, "rod_length": length},
            scale={"resolution": step_g, "capacity": 3000, "repeatability": step_g / 4}
            | {"rod_end_repeatability": step_g / 3},
            bobweight={"share": draw.choice((0.5, 0.5, 0.48)), "oil": draw.choice((0.0, 4.0))},
            limits={name: _limit_g(name, tight, step_g) for name in names},
            trim={
                "piston": draw.choice((0.0, most_g, most_g)),
                "pin": draw.choice((0.0, 0.0, 1.0)),
                "big_end_pad": {"at": big_at, "most": most_g * 1.5},
                "small_end_pad": {"at": small_at, "most": most_g},
            },
        )
    )


def _off(draw: random.Random, shape: str) -> float:
    if shape == "skewed":
        return draw.expovariate(1.0)
    if shape == "two humps":
        return draw.choice((-1.5, 1.5)) + draw.gauss(0, 0.4)
    return draw.gauss(0, 1.0) * (3.0 if shape == "outlier" and draw.random() < 0.15 else 1.0)


def _limit_g(name: str, tight_g: float, step_g: float) -> float:
    sums: dict[str, Any] = {"reciprocating": 1.7, "rotating": 1.2, "both_ends": 1.4, "bobweight": 2.0}
    return round(tight_g * sums.get(name, 1.0) / step_g) * step_g
