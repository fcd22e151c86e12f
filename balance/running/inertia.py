"""What the masses pull at speed: the figures that a builder asks for.

Inertia only: gas pressure, bolt preload and the stiffness of the parts are not in these figures.
"""

from __future__ import annotations

from typing import NamedTuple

from truethrow.balance.base.digits import digits
from truethrow.balance.base.formulas import centrifugal_n, require
from truethrow.balance.engine.engine import peak_piston_acceleration_m_s2, top_acceleration_m_s2
from truethrow.balance.result.work import Result


class AtSpeed(NamedTuple):
    """One cylinder's heaviest figures at a speed: the largest acceleration of the piston over a turn, and that
    at top dead centre; the pull of the heaviest reciprocating mass there with its expanded uncertainty, on the
    rod and on each of its bolts; and what one gram pulls at the throw's radius."""

    speed_rpm: float
    acceleration_m_s2: float
    top_acceleration_m_s2: float
    cylinder: int
    reciprocating_g: float
    pull_n: float
    pull_expanded_n: float
    bolts: int
    bolt_n: float
    gram_n: float

    def __repr__(self) -> str:
        pull, bolt = f"{digits(self.pull_n, 4)} ± {digits(self.pull_expanded_n, 2)} N", digits(self.bolt_n, 4)
        return f"AtSpeed: {self.speed_rpm:g} r/min, pull on rod {self.cylinder} {pull}, {bolt} N a bolt"


def rod_bolt_tension_n(reciprocating_g: float, acceleration_m_s2: float, bolts: int = 2) -> float:
    """Tension of each rod bolt from the reciprocating mass at top dead centre, F = m·a/bolts. [N]

    Without the upper half of the big end, which the bolts hold too, without gas pressure, and without the
    preload that must exceed all of it. Source: Newton's second law. Raises ValueError for no bolt, a
    mass that is not finite or is below zero, and an acceleration that is not finite."""
    require("not negative", reciprocating_g=reciprocating_g)
    require("finite", acceleration_m_s2=acceleration_m_s2)
    if bolts < 1:
        raise ValueError(f"a rod has at least one bolt, not {bolts}")
    return reciprocating_g / 1000 * acceleration_m_s2 / bolts


def at_speed(result: Result, speed_rpm: float) -> AtSpeed:
    """The pull of the heaviest cylinder at a speed."""
    engine = result.job.engine
    engine.must_be_whole(result.job.name)
    lengths = engine.stroke_mm, engine.rod_length_mm, speed_rpm, engine.desaxe_mm
    top = top_acceleration_m_s2(*lengths)
    heaviest = max(result.bobweights.cylinders, key=lambda c: c.reciprocating.value_g)
    mass_g = heaviest.reciprocating.value_g
    return AtSpeed(
        speed_rpm=speed_rpm,
        acceleration_m_s2=peak_piston_acceleration_m_s2(*lengths),
        top_acceleration_m_s2=top,
        cylinder=heaviest.cylinder,
        reciprocating_g=mass_g,
        pull_n=mass_g / 1000 * top,
        pull_expanded_n=result.certainty.expanded_g(heaviest.reciprocating) / 1000 * top,
        bolts=engine.rod_bolts,
        bolt_n=rod_bolt_tension_n(mass_g, top, engine.rod_bolts),
        gram_n=centrifugal_n(1.0, engine.throw_radius_mm, speed_rpm),
    )
