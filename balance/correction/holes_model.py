"""A plan of holes as a model to solve again: how few holes bring both planes inside the plan's aim.

Real holes have angles of the wheel, depths in steps and walls between them. The model lets them be anything that
no real holes are beyond: of every stretch of metal a number of holes, any mix of what one hole takes there at its
most, no more together than fit side by side, and the rest of each plane in a polygon about the circle of the aim.
So where it takes a number of holes, real ones take no fewer; and those of the plan are an answer to it.

Sines and cosines are no whole numbers: the rows of the planes are written to twelve decimals.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from fractions import Fraction

import numpy as np

from truethrow.balance.base.model import SLACK, Claim, Model, decimals, polygon
from truethrow.balance.correction.planes import changed_by
from truethrow.balance.correction.planning import AIM, HolePlan
from truethrow.balance.correction.room import Site, places
from truethrow.balance.correction.split import WASTE, Stretch, stretches
from truethrow.balance.crank.holes import Hole
from truethrow.balance.result.unbalance import plane_share

# Holes of one stretch whose place along the crank differs by less than this are at one.
SAME_MM = 1e-6


def model(job: str, digest: str, plan: HolePlan) -> tuple[Model, Claim]:
    """The model of a plan that comes inside its aim without heavy metal. job, digest: what it is of."""
    made = _Fewest(plan)
    return made.model, made.claim(job, digest)


def why_not(plan: HolePlan | None) -> str:
    """Why a plan has no model, empty where it has one."""
    if plan is None or not plan.operations:
        return "no hole is planned"
    if any(hole.kind == "slug" for hole in plan.operations):
        return "heavy metal goes in first, which no count of holes is held against"
    asked = plan.asked
    left = asked.target.plus(changed_by(plan.operations, asked.planes_mm))
    if max(abs(one) / most for one, most in zip(left, asked.allowed_gmm, strict=True)) > AIM + float(SLACK):
        return "these holes end beyond the plan's aim, so they are not said to be the fewest"
    return ""


class _Fewest:
    """The model, being put together."""

    def __init__(self, plan: HolePlan) -> None:
        self._plan, self.model = plan, Model()
        asked = plan.asked
        sites = places(asked.crank, asked.tools)
        self._stretches = stretches(sites, asked.planes_mm)
        self._of = self._by_stretch()
        # What a hole takes off each plane as parts of what is allowed there, by its variable.
        self._takes: dict[str, tuple[complex, complex]] = {}
        self._metal: dict[str, Fraction] = {}
        self.is_exact = True
        for at, one in enumerate(self._stretches):
            self._add_stretch(at, one, [site for site in sites if site.member.name == one.member])
        to_go = sum(abs(wanted) for wanted in asked.target)
        self.model.row("no_waste", self._metal, "<=", decimals(WASTE * to_go))
        for plane, name in enumerate(("front", "rear")):
            self._add_plane(plane, name)
        self.model.objective = {f"holes_{at}": Fraction(1) for at in range(len(self._stretches))}

    def claim(self, job: str, digest: str) -> Claim:
        value, fewest = self.model.value, self._plan.asked.fewest
        bound = Fraction(min(int(value), fewest if fewest is not None and self.is_exact else 1))
        planned = [
            f"{hole.member}: {hole.angle_deg:g} deg, {hole.diameter_mm:g} mm, {hole.depth_mm:g} mm deep"
            for hole in self._plan.operations
        ]
        return Claim(
            job=job,
            digest=digest,
            asked=f"the fewest holes that leave each plane no more than {AIM:g} of what is allowed",
            unit="a hole",
            value=value,
            found=f"{value} holes",
            best=None if bound == value else f"{bound} holes",
            bound=bound,
            notes=(
                "All that no real holes are beyond is allowed: any depth, any mix of a stretch's largest holes;",
                f"walls between holes count only in how many fit; {WASTE:g} times what is to go may be taken.",
                "Amounts are parts of what is allowed in a plane; sines and cosines have 12 decimals.",
                *(f"planned: {hole}" for hole in planned),
            ),
        )

    def _by_stretch(self) -> list[list[Hole]]:
        """The planned holes of each stretch."""
        found: list[list[Hole]] = [[] for _ in self._stretches]
        for hole in self._plan.operations:
            own = (
                at
                for at, one in enumerate(self._stretches)
                if one.member == hole.member and hole.angle_deg in one.angle_deg
            )
            found[next(own)].append(hole)
        return found

    def _add_stretch(self, at: int, one: Stretch, sites: Sequence[Site]) -> None:
        """So many whole holes, and mixes of the largest at every angle that are as much in all."""
        model, own = self.model, self._of[at]
        where = f"{one.member}, {one.angle_deg[0]:g} to {one.angle_deg[-1]:g} deg"
        count = model.variable(f"holes_{at}", 0, one.holes, Fraction(len(own)), f"holes in {where}")
        several = [
            model.variable(
                f"are_{at}_{number}", 0, 1, Fraction(int(len(own) == number)), f"{number} holes in {where}"
            )
            for number in range(one.holes + 1)
        ]
        model.row(f"one_number_{at}", dict.fromkeys(several, 1), "=", 1)
        model.row(f"number_{at}", {name: number for number, name in enumerate(several)} | {count: -1}, "=", 0)
        free_mm = np.concatenate([site.depths.z_mm[site.free.any(axis=0)] for site in sites])
        ends_mm = [float(free_mm.min()), float(free_mm.max())]
        if ends_mm[1] - ends_mm[0] < SAME_MM:
            ends_mm = ends_mm[:1]
        else:
            self.is_exact = False
        parts: dict[str, Fraction] = {}
        for angle, (angle_deg, most_gmm) in enumerate(zip(one.angle_deg, one.most_gmm, strict=True)):
            for end, z_mm in enumerate(ends_mm):
                said = f"of a largest hole at {angle_deg:g} deg of {one.member}, at {z_mm:g} mm along the crank"
                used = sum(
                    (
                        decimals(hole.removes_gmm / most_gmm * _towards(hole.z_mm, end, ends_mm))
                        for hole in own
                        if hole.angle_deg == angle_deg
                    ),
                    Fraction(0),
                )
                name = model.variable(f"part_{at}_{angle}_{end}", 0, None, used, said, whole=False)
                vector = most_gmm * cmath.exp(1j * math.radians(angle_deg))
                shares = plane_share(z_mm, *self._plan.asked.planes_mm)
                front, rear = (
                    share / allowed * vector
                    for share, allowed in zip(shares, self._plan.asked.allowed_gmm, strict=True)
                )
                self._takes[name] = front, rear
                parts[name] = decimals(most_gmm)
        self._metal |= parts
        model.row(f"whole_{at}", {**dict.fromkeys(parts, 1), count: -1}, "<=", SLACK)
        fit = {name: -decimals(most) for name, most in zip(several, one.together_gmm, strict=True)}
        model.row(f"together_{at}", parts | fit, "<=", SLACK)

    def _add_plane(self, plane: int, name: str) -> None:
        """What is left of a plane, and the polygon that it is to be in."""
        asked = self._plan.asked
        wanted = asked.target[plane] / asked.allowed_gmm[plane]
        rest = []
        for at, axis in enumerate("xy"):
            takes = {part: decimals(_parts(both[plane])[at]) for part, both in self._takes.items()}
            to_go = decimals(_parts(wanted)[at])
            left = to_go - sum((c * self.model.answer[part] for part, c in takes.items()), Fraction(0))
            said = f"left of the {name} plane along {axis}, as a part of what is allowed"
            own = self.model.variable(f"left_{name}_{axis}", None, None, left, said, whole=False)
            self.model.row(f"{own}_is", takes | {own: Fraction(1)}, "=", to_go)
            rest.append(own)
        for corner, towards in enumerate(polygon()):
            terms = dict(zip(rest, towards, strict=True))
            self.model.row(f"inside_{name}_{corner}", terms, "<=", decimals(AIM) + SLACK)


def _towards(z_mm: float, end: int, ends_mm: Sequence[float]) -> float:
    """How much of a hole counts as at one end of where holes may be along the crank: as a lever has it."""
    if len(ends_mm) == 1:
        return 1.0
    part = (z_mm - ends_mm[0]) / (ends_mm[1] - ends_mm[0])
    return part if end else 1 - part


def _parts(vector: complex) -> tuple[float, float]:
    return vector.real, vector.imag
