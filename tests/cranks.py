"""Cranks and tools that the tests of the correction share: a cross-plane V8's, all figures invented."""

from __future__ import annotations

import cmath
import math
import random
from typing import NamedTuple

from truethrow.balance.base import fields
from truethrow.balance.crank.crank import Crank, CrankTable, crank_of
from truethrow.balance.crank.holes import Drill, Hole, Slug, Tools

PLANES_MM = (0.0, 336.0)
THROWS = ((0.0, 0.0), (112.0, 90.0), (224.0, 270.0), (336.0, 180.0))  # z, angle
IN_LINE = ((0.0, 0.0), (112.0, 180.0), (224.0, 180.0), (336.0, 0.0))
FLAT = ((0.0, 0.0), (112.0, 180.0), (224.0, 0.0), (336.0, 180.0))  # an opposed four


def drill(diameter_mm, deepest_mm=30.0, step_mm=0.5):
    return Drill(diameter_mm, 118.0, step_mm, deepest_mm)


TOOLS = Tools(
    drills=(drill(6.0, 12.0), drill(8.0, 20.0), drill(10.0), drill(12.0)),
    slugs=(Slug(12.0, 12.0, 1), Slug(16.0, 16.0, 1), Slug(20.0, 20.0, 1)),
)


def weight(name, at, middle_deg, span_deg=120.0, **more):
    """A counterweight about an angle."""
    arc = {"from": (middle_deg - span_deg / 2) % 360, "to": (middle_deg + span_deg / 2) % 360}
    return {"name": name, "at": at, "thickness": 24.0, "outer_radius": 90.0, "inner_radius": 52.0} | arc | more


def v8_weights(count=8, span_deg=120.0, turned_deg=0.0, throws=THROWS, **more):
    """Counterweights opposite the throws, in front and rear of each; with six, the inner throws have one."""
    found = []
    for number, (z, angle) in enumerate(throws, start=1):
        for letter, side in (("a", -22.0), ("b", 22.0)):
            if count == 6 and (number, letter) in ((2, "b"), (3, "a")):
                continue
            found.append(weight(f"{number}{letter}", z + side, angle + 180 + turned_deg, span_deg, **more))
    return found


def crank(weights=None, **tables) -> Crank:
    """A crank of its tables; raises where they have a fault."""
    faults = []
    raw = {"counterweight": v8_weights() if weights is None else weights} | tables
    table = fields.validate(CrankTable, raw, "crank", fields.Units(), faults)
    made = None if table is None else crank_of(table, faults)
    if made is None:
        raise ValueError([str(fault) for fault in faults])
    return made


def faults_of(weights, **tables):
    try:
        crank(weights, **tables)
    except ValueError as error:
        return error.args[0]
    return []


class Scattered(NamedTuple):
    """A crank with what it measures in both planes, and what it may keep. [g·mm]"""

    crank: Crank
    measured: tuple[complex, complex]
    allowed_gmm: tuple[float, float]


def scattered(seed) -> Scattered:
    """One of the cranks that plans are judged on: a cross-plane V8, an in-line four or an opposed four of six or
    eight counterweights of any make, and up to 1,200 g·mm somewhere."""
    rng = random.Random(seed)
    throws, count = (THROWS, IN_LINE, FLAT)[seed % 3], (6, 8)[seed // 3 % 2]
    make = {
        "outer_radius": rng.uniform(80, 95),
        "thickness": rng.uniform(20, 25),
        "inner_radius": rng.uniform(48, 60),
    }
    made = crank(v8_weights(count, rng.uniform(90, 150), throws=throws, **make))
    hidden, front = rng.uniform(150, 1200), rng.random()
    amounts = hidden * front, hidden * (1 - front)
    measured = [cmath.rect(amount, math.radians(rng.uniform(0, 360))) for amount in amounts]
    return Scattered(made, (measured[0], measured[1]), rng.choice([(60.0, 60.0), (130.0, 130.0), (25.0, 40.0)]))


def hole_told(operation):
    """The hole that an operation of --json is of."""
    names = {name: "crank_angle_deg" if name == "angle_deg" else name for name in Hole._fields}
    return Hole(**{name: operation[told] for name, told in names.items()})


# Throws of other cranks, z and angle: a twin, a three, a V6, a five, a six.
ODD_THROWS = (
    ((0.0, 0.0), (112.0, 180.0)),
    ((0.0, 0.0), (112.0, 120.0), (224.0, 240.0)),
    ((0.0, 0.0), (112.0, 60.0), (224.0, 120.0)),
    ((0.0, 0.0), (112.0, 144.0), (224.0, 288.0), (336.0, 216.0), (448.0, 72.0)),
    ((0.0, 0.0), (112.0, 120.0), (224.0, 240.0), (336.0, 240.0), (448.0, 120.0), (560.0, 0.0)),
)


def odd(seed) -> tuple[Scattered, tuple[float, float]]:
    """Another one, and its planes: of two to six throws, some counterweights turned or left out, any wall, and
    what may stay in one plane has nothing to do with the other."""
    rng = random.Random(seed)
    throws = ODD_THROWS[seed % len(ODD_THROWS)]
    make = {
        "outer_radius": rng.uniform(75, 98),
        "thickness": rng.uniform(18, 28),
        "inner_radius": rng.uniform(45, 62),
    }
    weights = v8_weights(8, rng.uniform(70, 160), rng.uniform(-10, 10), throws, **make)
    kept = sorted(rng.sample(range(len(weights)), rng.randint(4, len(weights))))
    made = crank([weights[at] for at in kept], wall=rng.uniform(3.0, 6.0))
    hidden, front = rng.uniform(100, 1500), rng.random()
    amounts = hidden * front, hidden * (1 - front)
    measured = [cmath.rect(amount, math.radians(rng.uniform(0, 360))) for amount in amounts]
    allowed_gmm = rng.uniform(20, 120), rng.uniform(20, 120)
    return Scattered(made, (measured[0], measured[1]), allowed_gmm), (throws[0][0], throws[-1][0])
