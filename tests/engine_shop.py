"""A crank with a damper and a flexplate that carry unbalance of their own, on a shop's balancing machine: for
stories, which go through the command line. All figures are invented."""

from __future__ import annotations

import cmath
import json
import math
import random

from balancing_shop import Station, polar

PLANES_MM = (0.0, 336.0)
DAMPER = {"name": "damper", "at": -80.0, "radius": 70.0, "thickness": 22.0, "keyway": 45.0}
FLEXPLATE = {"name": "flexplate", "at": 410.0, "radius": 130.0, "thickness": 12.0, "keyway": 200.0}


def member(table, gmm, at_deg, sure_gmm=30.0, **more):
    """A table of the job whose maker tells an offset, counted from throw 1 here and from the keyway there."""
    offset = {
        "unbalance": f"{gmm:.6f} g mm",
        "angle": round((at_deg - table["keyway"]) % 360, 6),
        "uncertainty": f"{sure_gmm} g mm",
    }
    return table | {"offset": offset} | more


def in_planes(vector, z_mm, planes_mm=PLANES_MM):
    """By hand: moments about the other plane."""
    front_mm, rear_mm = planes_mm
    long_mm = rear_mm - front_mm
    return [vector * (rear_mm - z_mm) / long_mm, vector * (z_mm - front_mm) / long_mm]


class Engine(Station):
    """own: what the crank has without its members; carried: what each of them really has, from throw 1; on: which
    are mounted; turned: by how much one sits off its keyway. noise: of each reading, in each direction. [g·mm]"""

    def __init__(self, folder, members=(), own=(0j, 0j), seed=1, noise=0.0, **tables):
        self.random, self.noise = random.Random(seed), noise
        self.own, self.on, self.turned = list(own), set(), {}
        self.carried = {one["name"]: (one["at"], self._of(one)) for one in members}
        crank = tables.pop("crank", None) or {}
        super().__init__(folder, unit="g·mm", crank=self._crank(crank, members), **tables)

    @staticmethod
    def _crank(crank, members):
        import cranks

        return {"counterweight": cranks.v8_weights()} | crank | {"external": list(members)}

    @staticmethod
    def _of(table):
        if "offset" not in table:
            return 0j
        return polar(float(table["offset"]["unbalance"].split()[0]), table["keyway"] + table["offset"]["angle"])

    @property
    def crank(self):
        read = list(self.own)
        for name in self.on:
            z_mm, vector = self.carried[name]
            brought = in_planes(vector * polar(1, self.turned.get(name, 0.0)), z_mm)
            read = [one + other for one, other in zip(read, brought, strict=True)]
        return [one + complex(self.random.gauss(0, self.noise), self.random.gauss(0, self.noise)) for one in read]

    @crank.setter
    def crank(self, _):
        pass

    @property
    def whole(self):
        """What turns in the engine, all members where they should be."""
        read = list(self.own)
        for z_mm, vector in self.carried.values():
            read = [one + other for one, other in zip(read, in_planes(vector, z_mm), strict=True)]
        return read

    def spin_with(self, *names):
        """Spin with these members on, and say so."""
        self.on = set(names)
        return self.spin(*self.shows(), "--on", ",".join(names) or "none")

    def drill(self, sure_mm=0.0):
        """Do the plan as told, and record it as deep as it came out; how many holes."""
        plan = json.loads(self.run("holes", "--json")[1])["plan"]
        if not plan:
            return 0
        for one in plan["operations"]:
            deep = one["depth_mm"] + self.random.gauss(0, sure_mm)
            gone = polar(one["removes_gmm"] * (deep / one["depth_mm"]), one["crank_angle_deg"])
            self.take_off(one["member"], gone, one["z_mm"])
        self.run("holes", "--done")
        return len(plan["operations"])

    def take_off(self, name, vector, z_mm):
        if name in self.carried:
            at_mm, was = self.carried[name]
            self.carried[name] = (at_mm, was - vector)
        else:
            gone = in_planes(vector, z_mm)
            self.own = [one - other for one, other in zip(self.own, gone, strict=True)]


def true_crank(*members):
    """What a crank has, front and rear, that is true with these members on."""
    brought = [in_planes(Engine._of(one), one["at"]) for one in members]
    return [-sum(one) for one in zip(*brought, strict=True)]


def angle_of(vector):
    return math.degrees(cmath.phase(vector)) % 360
