"""A balancing station that is not calibrated: it reads divisions, at any zero, with gains of its own and
cross-talk, and may count its angles either way. Independent of truethrow's own reckoning; for stories, through the
command line."""

from __future__ import annotations

import cmath
import json
import math
import random

import cranks
import invented
from balancing_shop import Station, polar

METER = """
[spin]
unit = "divisions"
amount_uncertainty = {amount}
angle_uncertainty = {angle}
floor = {floor}
speed = 500

[stack]
clamp_half = 352.4

[[piece]]
name = "shim 0.1"
mass = 0.1
count = 999

[[drill]]
diameter = 10.0
"""


class Meter(Station):
    """crank: what both planes really have, from throw 1. [g·mm] matrix: what it shows of one g·mm; mirrored:
    whether its angles count the other way; noise: of each reading in each direction. [divisions]"""

    def __init__(self, folder, matrix, *, mirrored=False, noise=0.0, seed=1, sure=(0.0, 0.0, 0.02), **tables):
        self.matrix, self.mirrored, self.noise, self.random = matrix, mirrored, noise, random.Random(seed)
        self.sure = sure
        super().__init__(folder, unit="g·mm", **tables)

    def edit(self):  # type: ignore[override]
        amount, angle, floor = self.sure
        self.profile.write_text(METER.format(amount=amount, angle=angle, floor=floor), encoding="utf-8")

    def shows(self, mass=0j, rear=0j, places=(4, 3)):
        on = [one + known for one, known in zip(self.crank, (mass, rear), strict=True)]
        texts = []
        for row in self.matrix:
            shown = sum(a * u for a, u in zip(row, on, strict=True))
            shown += complex(self.random.gauss(0, self.noise), self.random.gauss(0, self.noise))
            shown = shown.conjugate() if self.mirrored else shown
            degrees = math.degrees(cmath.phase(shown)) % 360
            texts.append(f"{abs(shown):.{places[0]}f}@{degrees:.{places[1]}f}")
        return texts

    def trial(self, *readings, **masses):
        """One or two masses on, at a radius of 100 mm: front="60g@30"; its answer as data."""
        on = {"front": 0j, "rear": 0j}
        for plane, text in masses.items():
            grams, degrees = text.split("g@")
            on[plane] = polar(float(grams) * 100, float(degrees))
        typed = [word for plane, text in masses.items() for word in (f"--{plane}", text)]
        said = (*typed, "--radius", "100mm", *(readings or self.shows(*on.values())))
        status, out = self.run("spin", *said, "--json")
        assert status in (0, 1), out
        return json.loads(out)

    def as_told(self):
        """Hang what is told next, until both at once have been on; how that ended."""
        for _ in range(8):
            found = self.state()["divisions"]
            if found["proved"]:
                break
            (step, *_) = [one for one in found["next"] if "--radius" in one]
            words = step.split()
            masses = {words[n][2:]: words[n + 1] for n, one in enumerate(words) if one in ("--front", "--rear")}
            radius = float(words[words.index("--radius") + 1].removesuffix("mm"))
            on = {"front": 0j, "rear": 0j}
            for plane, text in masses.items():
                grams, degrees = text.split("g@")
                on[plane] = polar(float(grams) * radius, float(degrees))
            start, end = words.index("spin"), words.index("FRONT")
            options = words[start + 4 : end]
            self.run("spin", *options, *self.shows(*on.values()))
        return self.state()["divisions"]


def any_matrix(rng):
    """Any zero and gain a plane, and cross-talk of up to four tenths. [divisions per g·mm]"""
    gains = [rng.uniform(0.005, 0.05) for _ in "fr"]
    turns = [rng.uniform(0, 360) for _ in "fr"]
    rows = []
    for at in (0, 1):
        other = rng.uniform(0, 0.4) * gains[at]
        row = [polar(other, turns[at] + rng.uniform(-40, 40)), polar(other, turns[at] + rng.uniform(-40, 40))]
        row[at] = polar(gains[at], turns[at])
        rows.append(row)
    return rows


def drilled(state, crank):
    """What the plan takes off both planes, by where each hole is."""
    front_mm, rear_mm = cranks.PLANES_MM
    left = list(crank)
    for one in state["plan"]["operations"]:
        gone = polar(one["removes_gmm"], one["crank_angle_deg"])
        left[0] -= gone * (rear_mm - one["z_mm"]) / (rear_mm - front_mm)
        left[1] -= gone * (one["z_mm"] - front_mm) / (rear_mm - front_mm)
    return left


__all__ = ["Meter", "any_matrix", "cranks", "drilled", "invented", "polar"]
