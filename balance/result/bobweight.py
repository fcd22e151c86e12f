"""The bobweight of each throw, and the figure that the station hangs.

For cylinder i: rotating = big end + bearings, reciprocating = piston + pin + locks + rings + small end.
For throw k: bobweight = Σ (rotating + share · reciprocating) over its cylinders, plus its oil allowance.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from truethrow.balance.base.parts import SUMS
from truethrow.balance.base.readings import Mass, Reading, combine, decimals
from truethrow.balance.base.told import rounded, table
from truethrow.balance.engine.layout import Throw
from truethrow.balance.job.job import Job


class CylinderMass(NamedTuple):
    """What one cylinder weighs, and what it gives to the bobweight of its throw."""

    cylinder: int
    rotating: Mass
    reciprocating: Mass
    contribution: Mass


class ThrowMass(NamedTuple):
    """One throw: its bobweight, its oil allowance, what is hung on it, and the difference (true − hung)."""

    throw: Throw
    cylinders: tuple[int, ...]
    oil_g: float
    bobweight: Mass
    hung_g: float
    deviation: Mass

    def __repr__(self) -> str:
        asks, hung = f"{self.bobweight.value_g:.7g} g", f"{self.hung_g:.7g} g"
        return f"ThrowMass: throw {self.throw.name} asks for {asks}, hung {hung}"


class Bobweights(NamedTuple):
    """All throws front to rear, and the rule that picked what is hung. hung_g is None when each throw
    carries its own. Of a job without parts the rule is "given": what is hung is all that is known of a throw, and
    no cylinder has a mass. places: decimal places of the scale's step."""

    cylinders: tuple[CylinderMass, ...]
    throws: tuple[ThrowMass, ...]
    rule: str
    hung_g: float | None
    places: int = 1

    def __repr__(self) -> str:
        what = "order for" if self.has_estimates else "hang"
        if self.hung_g is not None:
            return f"Bobweights: {what} {rounded(self.hung_g, self.places)} g on every throw ({self.rule})"
        each = ", ".join(f"{rounded(one.hung_g, self.places)} g on throw {one.throw.name}" for one in self.throws)
        return f"Bobweights: {what} {each} ({self.rule})"

    @property
    def has_estimates(self) -> bool:
        """Whether some of it rests on what nobody weighed: nothing is hung by that."""
        return any(reading.estimate for throw in self.throws for reading in throw.bobweight.sensitivity)

    def _repr_html_(self) -> str:
        finer = self.places + 1  # half a step survives the share of one half
        rows = [
            [
                one.throw.name,
                ", ".join(map(str, one.cylinders)),
                rounded(one.bobweight.value_g, finer),
                rounded(one.hung_g, self.places),
                rounded(one.deviation.value_g, finer),
            ]
            for one in self.throws
        ]
        return table(f"{self!r} [g]", ["throw", "cylinders", "bobweight", "hang", "off by"], rows)


def total(parts: Mapping[str, Reading], name: str) -> Mass:
    """A kind, or a sum of kinds, of one cylinder; kinds that the engine does not have weigh nothing."""
    return combine((1.0, Mass.read(parts[kind])) for kind in SUMS[name] if kind in parts)


def cylinder_mass(cylinder: int, parts: Mapping[str, Reading], share: float) -> CylinderMass:
    rotating = total(parts, "rotating")
    reciprocating = total(parts, "reciprocating")
    contribution = combine([(1.0, rotating), (share, reciprocating)])
    return CylinderMass(cylinder, rotating, reciprocating, contribution)


def throw_bobweight(cylinders: Mapping[int, CylinderMass], on_throw: tuple[int, ...], oil_g: float) -> Mass:
    """Σ contribution over the cylinders of one throw, plus its oil."""
    return combine([(1.0, cylinders[number].contribution) for number in on_throw], constant_g=oil_g)


def bobweights(job: Job) -> Bobweights:
    """The bobweights of a job and what its rule hangs: their mean to the scale's step, each throw's own to
    that step, the mass that the job declares, or nothing on a crank that is balanced bare. Raises ValueError for a
    job without parts that declares no mass."""
    if not job.has_parts:
        return _given(job)
    masses = {number: cylinder_mass(number, parts, job.share) for number, parts in job.parts.items()}
    throws = job.layout.throws
    on_throw = [job.layout.cylinders_on(throw) for throw in throws]
    weights = [throw_bobweight(masses, c, oil) for c, oil in zip(on_throw, job.oil_g, strict=True)]
    step_g = job.scale.resolution_g
    if job.hang == "own":
        hung = [to_step(weight.value_g, step_g) for weight in weights]
    elif job.hang == "none":
        hung = [0.0] * len(weights)
    elif job.hang == "mean":
        mean = combine((1 / len(weights), weight) for weight in weights)
        hung = [to_step(mean.value_g, step_g)] * len(weights)
    else:
        hung = _declared(job)
    made = tuple(
        ThrowMass(throw, c, oil, weight, hung_g, combine([(1.0, weight)], constant_g=-hung_g))
        for throw, c, oil, weight, hung_g in zip(throws, on_throw, job.oil_g, weights, hung, strict=True)
    )
    rule = job.hang if isinstance(job.hang, str) else "declared"
    is_each = job.hang == "own" or isinstance(job.hang, tuple)
    return Bobweights(tuple(masses.values()), made, rule, None if is_each else hung[0], decimals(step_g))


def _given(job: Job) -> Bobweights:
    """Of a job without parts: a number on a tag, oil and all, stands for what each throw carries."""
    hung = _declared(job)
    made = tuple(
        ThrowMass(throw, job.layout.cylinders_on(throw), 0.0, combine([], constant_g=hung_g), hung_g, combine([]))
        for throw, hung_g in zip(job.layout.throws, hung, strict=True)
    )
    is_each = isinstance(job.hang, tuple)
    return Bobweights((), made, "given", None if is_each else hung[0], decimals(job.scale.resolution_g))


def _declared(job: Job) -> list[float]:
    """The mass that a job declares for each throw."""
    if isinstance(job.hang, str):
        raise ValueError(f"the job hangs {job.hang!r}, which is no mass")
    return list(job.hang) if isinstance(job.hang, tuple) else [job.hang] * len(job.layout.throws)


def to_step(value_g: float, step_g: float) -> float:
    """The nearest mass that the scale can show, halves to the even step."""
    # The quotient is tidied first, so that a half that binary fractions missed still is a half.
    return round(round(round(value_g / step_g, 9)) * step_g, 9)
