"""Figures with their unit, as sentences have them: what is weighed in the unit that the scale shows, all else in
those that the shop asked for."""

from __future__ import annotations

import math
from typing import NamedTuple

from truethrow.balance.base import units
from truethrow.balance.base.digits import digits
from truethrow.balance.base.readings import digits_for, places_of
from truethrow.balance.base.told import rounded
from truethrow.balance.base.units import LENGTH, MASS

# The units that may be asked for: of mass, and of length.
SHOW = {"metric": ("g", "mm"), "inch": ("oz", "in")}
# To what a limit is shown that was given in another unit: a hundredth of itself; an unbalance to this or finer.
# [g·mm]
LIMIT_PART, LIMIT_STEP_GMM = 0.01, 0.1
# A hand types no more decimal places: what has more was given in another unit.
TYPED_PLACES = 4
# To what an unbalance is told that is only about so much. [g·mm]
ABOUT_GMM = 10.0
DEGREES = "°"


class Amount(NamedTuple):
    """A number as a person reads it. number: in full, in the unit that is shown; places: decimal places to which
    it is; unit: empty for none."""

    number: float
    places: int
    unit: str = ""

    @property
    def digits(self) -> str:
        """The number without its unit."""
        return rounded(self.number, self.places)

    @property
    def behind(self) -> str:
        """What stands behind the digits: the unit, with its blank."""
        return self.unit if self.unit in ("", DEGREES) else f" {self.unit}"

    def __str__(self) -> str:
        return f"{self.digits}{self.behind}"

    @classmethod
    def as_it_is(cls, number: float, unit: str = "") -> Amount:
        """With as many digits as it has, no more than it needs."""
        return cls(number, places_of(number), unit)


class ToldIn(NamedTuple):
    """The units of a sentence. scale: of what is weighed, as the scale shows it; mass, length: of all else, as the
    shop asked for it."""

    scale: str = "g"
    mass: str = "g"
    length: str = "mm"

    @property
    def unbalance_unit(self) -> str:
        return f"{self.mass}·{self.length}"

    @property
    def unbalance_gmm(self) -> float:
        """One of its unit. [g·mm]"""
        return factor(self.mass, MASS) * factor(self.length, LENGTH)

    def weighed(self, grams: float) -> Amount:
        """What was typed, a limit or a setting: as many digits as it has, no more than it needs."""
        return Amount.as_it_is(round(grams / factor(self.scale, MASS), 6), self.scale)

    def allowed(self, grams: float, places: int = 0) -> Amount:
        """A limit: as it was typed; one that was typed in another unit to a hundredth of itself, never more than
        it is: whoever works to the figure is inside. places: that the figures beside it have."""
        number = grams / factor(self.scale, MASS)
        typed = round(number, TYPED_PLACES)
        if number <= 0 or math.isclose(typed, number, rel_tol=1e-9):
            return Amount(typed, max(places, places_of(typed)), self.scale)
        return _never_more(number, LIMIT_PART * number, places)._replace(unit=self.scale)

    def given(self, grams: float) -> Amount:
        """What was given, and maybe in another unit: then to four digits, more say nothing."""
        return _as_typed(grams / factor(self.scale, MASS), self.scale)

    def heavy(self, kg: float) -> Amount:
        """The same of what is told in kilograms, or in pounds beside ounces."""
        if self.mass in ("oz", "lb"):
            return _as_typed(kg * 1000 / factor("lb", MASS), "lb")
        return _as_typed(kg, "kg")

    def about(self, grams: float) -> Amount:
        """A mass of which more than four digits say nothing."""
        return Amount.as_it_is(float(f"{grams / factor(self.scale, MASS):.4g}"), self.scale)

    def size(self, mm: float) -> Amount:
        """A length, to a tenth of a millimetre or better."""
        return Amount.as_it_is(round(mm / factor(self.length, LENGTH), 3), self.length)

    def set_at(self, mm: float) -> Amount:
        """A radius that somebody set, whatever unit is asked for: in the one that takes fewer digits, in which
        it was set."""
        units = dict.fromkeys((self.length, *(length for _, length in SHOW.values())))
        tries = (Amount.as_it_is(round(mm / factor(unit, LENGTH), 3), unit) for unit in units)
        return min(tries, key=lambda amount: len(amount.digits.replace(".", "")))

    def measured(self, mm: float) -> Amount:
        """A length that was worked out: to a tenth of a millimetre, or a thousandth of an inch."""
        return Amount(mm / factor(self.length, LENGTH), 3 if self.length == "in" else 1, self.length)

    def worked_out(self, mm: float) -> Amount:
        """The same with no more digits than it needs. Rounded once: never to a tenth of a millimetre before it is
        told in inches."""
        told = self.measured(mm)
        return Amount.as_it_is(round(told.number, told.places), told.unit)

    def most(self, mm: float) -> Amount:
        """The longest that may be: never more than it is."""
        steps = 1000 if self.length == "in" else 100
        shown = math.floor(mm / factor(self.length, LENGTH) * steps + 1e-6) / steps
        return Amount.as_it_is(shown, self.length)

    def unbalance(self, gmm: float, expanded_gmm: float = ABOUT_GMM) -> Amount:
        """An unbalance, to the digits that its uncertainty leaves."""
        return Amount(gmm / self.unbalance_gmm, digits_for(expanded_gmm / self.unbalance_gmm), self.unbalance_unit)

    def sure(self, gmm: float, expanded_gmm: float) -> str:
        """The same with its uncertainty: ``900 ± 28 g·mm``."""
        return f"{self.unbalance(gmm, expanded_gmm).digits} ± {self.unbalance(expanded_gmm, expanded_gmm)}"

    def tolerance(self, gmm: float) -> Amount:
        """Never more than it is: whoever works to the figure is inside. As many digits as it has, no more than it
        needs."""
        one = self.unbalance_gmm
        step_gmm = min(LIMIT_STEP_GMM, LIMIT_PART * gmm or LIMIT_STEP_GMM)
        return _never_more(gmm / one, step_gmm / one)._replace(unit=self.unbalance_unit)


METRIC = ToldIn()


def as_weighed(grams: float) -> Amount:
    """What a scale showed, where no job tells in which unit: in the one that takes fewer digits, in which it was
    typed."""
    tries = (Amount.as_it_is(round(grams / factor(mass, MASS), 6), mass) for mass, _ in SHOW.values())
    return min(tries, key=lambda amount: len(amount.digits.replace(".", "")))


# To so many digits an end of what is allowed is told in another unit than the one kept inside.
_REACH_DIGITS = 4
A_TON_G = 1e6


def reach(dimension: units.Dimension, least: float, most: float, unit: str = "", *, zero: str = "") -> str:
    """What is allowed, in a unit of a dimension (else the one kept inside), each end rounded into it: ``above 0
    and at most 787.4 in``; a ton and more in kg. zero: how zero is told where it is allowed, too."""
    unit = unit if unit in dimension.factors else dimension.inside
    if unit == MASS.inside and most >= A_TON_G:
        unit = "kg"
    low = "above 0 and at most"
    if least or zero:
        low = f"{_inward(dimension, least, unit, up=True) if least else zero} to"
    return f"{low} {_inward(dimension, most, unit, up=False)} {units.UNBALANCE_SHOWN.get(unit, unit)}"


def _inward(dimension: units.Dimension, value: float, unit: str, *, up: bool) -> str:
    if unit == dimension.inside:
        return digits(value)
    number = value / factor(unit, dimension)
    step = 10.0 ** (math.floor(math.log10(abs(number))) + 1 - _REACH_DIGITS)
    steps = math.ceil(number / step - 1e-6) if up else math.floor(number / step + 1e-6)
    return Amount.as_it_is(round(steps * step, 9)).digits


def _never_more(number: float, step: float, least_places: int = 0) -> Amount:
    """A limit, rounded down to so much or finer, with no more digits than it needs, or so many places."""
    places = max(least_places, -math.floor(round(math.log10(step), 9)))
    # What only a binary fraction keeps below its own figure is that figure.
    shown = round(math.floor(number * 10.0**places + 1e-9) / 10.0**places, places)
    while places > least_places and round(shown, places - 1) == shown:
        places -= 1
    return Amount(shown, places)


def _as_typed(number: float, unit: str) -> Amount:
    """With the digits that it has, where a hand would type them; else with four."""
    typed = round(number, 3)
    return Amount.as_it_is(typed if math.isclose(typed, number, rel_tol=1e-9) else float(f"{number:.4g}"), unit)


def factor(unit: str, dimension: units.Dimension) -> float:
    """One of a unit, in the unit kept inside."""
    return float(units.factor(unit, dimension))
