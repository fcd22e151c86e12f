"""Figures as a person reads them: masses in the unit of the scale that shows them, all else in the units that the
shop asked for, with the digits the scale supports.

The one rule of rounding: whatever is told is worked out in full and rounded once, here, from the value that the
data have (Amount, rounded: a half away from zero), to the digits that its kind has everywhere: a reading the
scale's, a mean of several or a bobweight one more (finer_for), an unbalance two of its uncertainty (digits_for).
No figure is made of rounded ones.

A limit is told as it was typed, and in another unit to a hundredth of itself, rounded down: nothing passes by its
figure that fails by itself (allowed; of an unbalance tolerance; both ends of a window: inward).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, NamedTuple

from truethrow.balance.base.amounts import SHOW, Amount, ToldIn, factor
from truethrow.balance.base.readings import decimals
from truethrow.balance.base.units import LENGTH, MASS
from truethrow.balance.job.job import Job

if TYPE_CHECKING:
    from truethrow.balance.crank.holes import Tools
    from truethrow.balance.result.spread import Spread

CM3_PER_IN3, M_PER_FT = 2.54**3, 0.3048
# [N] Source: international pound, 0.45359237 kg, and standard gravity, 9.80665 m/s² (ISO 80000-4); exact.
N_PER_LBF = 0.45359237 * 9.80665
M_S_PER_FT_MIN = M_PER_FT / 60

# What only binary fractions keep from a whole step of the scale, as a part of one.
WHOLE_STEP = 1e-5


class Display(NamedTuple):
    """Units to show in. mass_unit: what the scale shows, whatever was asked for: nobody beside a scale in grams is
    to have a figure in ounces; step: the scale's resolution in it; asked_unit: of mass, in an unbalance and where
    a mass is told in both, empty for the scale's; drills: what is written on each,
    by its diameter in mm. Nothing is computed in these units."""

    mass_unit: str
    length_unit: str
    step: float
    asked_unit: str = ""
    drills: Mapping[float, str] = {}

    @classmethod
    def of(cls, job: Job, show: str | None = None) -> Display:
        """The job's own units, or those of a name in SHOW."""
        return cls.on(job.scale_unit, job.scale.resolution_g, job.mass_unit, job.length_unit, show)

    @classmethod
    def on(cls, scale_unit: str, step_g: float, mass_unit: str, length_unit: str, show: str | None) -> Display:
        """On a scale that shows a unit, in steps of so many grams."""
        asked_unit, length_unit = SHOW[show] if show else (mass_unit, length_unit)
        return cls(scale_unit, length_unit, round(step_g / factor(scale_unit, MASS), 12), asked_unit)

    @property
    def places(self) -> int:
        return decimals(self.step)

    @property
    def told_in(self) -> ToldIn:
        """The units of its sentences."""
        return ToldIn(self.mass_unit, self.unit_asked, self.length_unit)

    @property
    def unit_asked(self) -> str:
        return self.asked_unit or self.mass_unit

    def moment(self, gmm2: float) -> str:
        """A couple of unbalance without its unit (mass times radius times distance), four digits."""
        one = factor(self.unit_asked, MASS) * factor(self.length_unit, LENGTH) ** 2
        return f"{gmm2 / one:.4g}" if gmm2 / one < 1e4 else f"{gmm2 / one:.0f}"

    @property
    def inch(self) -> bool:
        return self.length_unit == "in"

    @property
    def unbalance_unit(self) -> str:
        return self.told_in.unbalance_unit

    def mass(self, grams: float, finer: int = 0) -> str:
        """A mass without its unit. finer: decimal places beyond the scale's own, for what was computed:
        half a step must survive the share of one half."""
        return self.weighed(grams, finer).digits

    def masses(self, grams: float, finer: int = 0) -> str:
        """A mass with its unit."""
        return str(self.weighed(grams, finer))

    def finer_than_none(self, grams: float) -> int:
        """Decimal places beyond the scale's at which a difference that there is is not told as 0.0."""
        return next((finer for finer in range(3) if float(self.mass(grams, finer))), 3) if grams else 0

    def difference(self, grams: float) -> str:
        """How far two masses are apart, with its unit; never as none where they are."""
        return self.masses(grams, self.finer_than_none(grams))

    def in_both(self, grams: float, finer: int = 0) -> str:
        """A mass as the scale shows it, and beside it in the unit that was asked for, where that is another."""
        if self.unit_asked == self.mass_unit:
            return self.masses(grams, finer)
        one, own = (factor(unit, MASS) for unit in (self.unit_asked, self.mass_unit))
        beside = Amount(grams / one, decimals(self.step * own / one) + finer, self.unit_asked)
        return f"{self.masses(grams, finer)} ({beside})"

    def weighed(self, grams: float, finer: int = 0) -> Amount:
        return Amount(grams / factor(self.mass_unit, MASS), self.places + finer, self.mass_unit)

    def allowed(self, grams: float, finer: int | None = None) -> Amount:
        """A limit, never more than it is. finer: in a table, at least the scale's places and so many more."""
        return self.told_in.allowed(grams, 0 if finer is None else self.places + finer)

    def as_given(self, grams: float) -> Amount:
        """What was typed, or a setting: as many digits as it has, no more than it needs."""
        return self.told_in.weighed(grams)

    def length(self, mm: float) -> Amount:
        """A length, to a tenth of a millimetre or better."""
        return self.told_in.size(mm)

    def worked_out(self, mm: float) -> Amount:
        """A length that was worked out, such as where a drill's tip ends."""
        return self.told_in.worked_out(mm)

    def with_drills(self, tools: Tools) -> Display:
        """The same, with the shop's drills by their own names and sizes."""
        return self._replace(drills={drill.diameter_mm: drill.name for drill in tools.drills if drill.name})

    def drill(self, mm: float) -> str:
        """A drill as the shop calls it, whatever unit somebody asked for; one that it has not by its size."""
        return self.drills.get(mm) or str(self.length(mm))

    def displacement(self, cm3: float) -> Amount:
        return Amount(cm3 / CM3_PER_IN3, 1, "in³") if self.inch else Amount(cm3, 0, "cm³")

    def force(self, newtons: float) -> str:
        """A pull, in N or lbf, with its unit."""
        return f"{newtons * self.per_newton:.0f} {self.force_unit}"

    @property
    def force_unit(self) -> str:
        return "lbf" if self.inch else "N"

    @property
    def per_newton(self) -> float:
        """How many of force_unit a newton is."""
        return 1 / N_PER_LBF if self.inch else 1.0

    @property
    def couple_unit(self) -> str:
        return "lbf·ft" if self.inch else "N·m"

    @property
    def per_newton_metre(self) -> float:
        """How many of couple_unit a newton metre is."""
        return self.per_newton / M_PER_FT if self.inch else 1.0

    def piston_speed(self, m_s: float) -> Amount:
        return Amount(m_s / M_S_PER_FT_MIN, 0, "ft/min") if self.inch else Amount(m_s, 1, "m/s")

    def acceleration(self, m_s2: float) -> Amount:
        return Amount(m_s2 / M_PER_FT, 0, "ft/s²") if self.inch else Amount(m_s2, 0, "m/s²")

    def unbalance(self, gmm: float, expanded_gmm: float) -> str:
        """An unbalance without its unit, to the digits that its uncertainty leaves."""
        return self.unbalanced(gmm, expanded_gmm).digits

    def unbalanced(self, gmm: float, expanded_gmm: float) -> Amount:
        return self.told_in.unbalance(gmm, expanded_gmm)

    def limit(self, gmm: float) -> str:
        """The tolerance of an unbalance, without its unit, everywhere alike."""
        return self.tolerance(gmm).digits

    def tolerance(self, gmm: float) -> Amount:
        return self.told_in.tolerance(gmm)


def finer_for(quantity: str, members_g: Iterable[float], show: Display) -> int:
    """Decimal places beyond the scale's own for a spread, its members and its limit, wherever they are told: a
    bobweight holds a share of what was read, and a mean of several readings may lie between two steps of the
    scale; all else is whole steps."""
    step_g = show.step * factor(show.mass_unit, MASS)
    is_between = any(abs(grams / step_g - round(grams / step_g)) > WHOLE_STEP for grams in members_g)
    return 1 if quantity == "bobweight" or is_between else 0


def finer_of(spread: Spread, show: Display) -> int:
    """The same for a spread as it was worked out."""
    return finer_for(spread.quantity, (mass.value_g for mass in spread.members.values()), show)


def inward(show: Display, least_g: float, most_g: float, finer: int = 0) -> tuple[str, str]:
    """Two ends of a window without their unit, each rounded into it: whoever works to the figures is inside."""
    one, places = factor(show.mass_unit, MASS), show.places + finer
    step = 10.0**-places
    low = math.ceil(least_g / one / step - 1e-6) * step
    high = math.floor(most_g / one / step + 1e-6) * step
    return Amount(low, places).digits, Amount(high, places).digits


def angle(degrees: float) -> str:
    return f"{round(degrees) % 360}°"
