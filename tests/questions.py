"""Invented matching questions as arrays, and every arrangement of a small one, for the checks of the search."""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Callable

import numpy as np

from truethrow.balance.engine.layout import Layout, generic_layout, numbered, throws
from truethrow.balance.matching.question import NANOGRAMS, Limited, Question, Unit, nanograms, share_of
from truethrow.balance.result.unbalance import plane_share

LOOK_S = 0.01
# Mean and standard deviation of reciprocating and rotating mass [g], as the scenario of the demo has them.
KINDS = {
    "rod": (171.0, 1.8, 452.0, 1.8),
    "piston": (538.0, 1.2, 0.0, 0.0),
    "pin": (112.0, 0.3, 0.0, 0.0),
    "rings": (41.0, 0.2, 0.0, 0.0),
}

# How masses may scatter about their mean, each with a standard deviation near 1.
SCATTERS: dict[str, Callable[[np.random.Generator, int], np.ndarray]] = {
    "normal": lambda draw, count: draw.normal(0.0, 1.0, count),
    "outliers": lambda draw, count: draw.normal(0.0, 0.8, count) * np.where(draw.random(count) < 0.15, 5.0, 1.0),
    "skewed": lambda draw, count: draw.exponential(1.0, count),
    "two-humped": lambda draw, count: draw.normal(0.0, 0.3, count) + draw.choice([-1.0, 1.0], count),
    "ties": lambda draw, count: np.round(draw.normal(0.0, 1.0, count)),
}


def layout_of(name: str) -> Layout:
    """A layout of the library, or a 90-degree V16: two in-line eights on one crank."""
    if name != "v16-90":
        return generic_layout(name)
    placed, banks = throws((0, 90, 270, 180, 180, 270, 90, 0), range(8)), {"left": 45.0, "right": -45.0}
    return Layout(placed, numbered(placed, list(banks), False, "alternating"), banks)


def by_looks() -> Callable[[], float]:
    """A clock that goes on by LOOK_S with each look at it, which is about what a common machine does between two:
    how far an answer gets is the same on any machine."""
    looks = itertools.count()
    return lambda: LOOK_S * next(looks)


def question(
    seed: int,
    layout: str = "v8-90-crossplane",
    units: tuple[str, ...] = ("rod", "piston", "pin"),
    share: float = 0.5,
    step_g: float = 0.1,
    limits_g: dict[str, float] | None = None,
    scatter: str = "normal",
) -> Question:
    """A question of invented masses on the steps of a scale."""
    draw = np.random.default_rng(seed)
    made = layout_of(layout)
    cylinders, throws = len(made.cylinders), made.throws
    fraction = share_of(share, 10**6)
    per_g = NANOGRAMS * fraction[1]
    everywhere = np.ones((cylinders, cylinders), dtype=np.bool_)

    def masses(mean_g: float, deviation_g: float) -> np.ndarray:
        steps = np.round((mean_g + deviation_g * SCATTERS[scatter](draw, cylinders)) / step_g)
        return np.array(nanograms((steps * step_g).tolist()), dtype=np.int64) * fraction[1]

    listed = []
    for unit in units:
        reciprocating = masses(*KINDS[unit][:2])
        listed.append(Unit(unit, reciprocating, masses(*KINDS[unit][2:]), everywhere, np.arange(cylinders)))
    throw_of = {c: at for at, throw in enumerate(throws) for c in made.cylinders_on(throw)}
    none = np.zeros(cylinders, dtype=np.int64)
    radius_mm, planes = 46.0, made.outer_planes_mm(46.0)
    arms = [[], []]
    for throw in throws:
        turned = radius_mm * np.exp(1j * math.radians(throw.angle_deg))
        for plane, part in zip(arms, plane_share(throw.z_mm, *planes), strict=True):
            plane.append(part * turned)
    bare = Question(
        units=tuple(listed),
        cylinder_reciprocating=none,
        cylinder_rotating=none,
        throw_of=np.array([throw_of[c] for c in made.cylinders]),
        oil=np.zeros(len(throws), dtype=np.int64),
        share=fraction,
        per_g=per_g,
        pairs={},
        limited={
            name: Limited(*[int(limit * per_g)] * 3, lowers=1.0, raises=0.0)
            for name, limit in (limits_g or {}).items()
        },
        metal_anyway=False,
        arms_mm=np.array(arms),
        hung_g=None,
    )
    mean_g = bare.masses(as_listed(bare)).bobweight.mean() / per_g
    return dataclasses.replace(bare, hung_g=np.full(len(throws), round(mean_g, 1)))


def as_listed(asked: Question) -> np.ndarray:
    return np.tile(np.arange(asked.cylinders), (len(asked.units), 1))


def every(asked: Question) -> np.ndarray:
    """Every arrangement that keeps to the rules; up to 8! ones of one unit, 6! of two and 4! of three."""
    orders = np.array(list(itertools.permutations(range(asked.cylinders))))
    grids = np.meshgrid(*[np.arange(len(orders))] * len(asked.units), indexing="ij")
    arrangements = np.stack([orders[grid.ravel()] for grid in grids], axis=1)
    return arrangements[asked.broken(arrangements) == 0]


def shuffled(asked: Question, seed: int) -> Question:
    """The same parts, listed in another order."""
    draw = np.random.default_rng(seed)
    units = []
    for unit in asked.units:
        order = draw.permutation(asked.cylinders)
        units.append(
            unit._replace(
                reciprocating=unit.reciprocating[order], rotating=unit.rotating[order], allowed=unit.allowed[order]
            )
        )
    return dataclasses.replace(asked, units=tuple(units))
