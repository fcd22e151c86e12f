"""A figure worked as a hand works it: numbers in decimals with the digits that are written, and their lines.

A figure that has more digits than are shown ends in …, and the next line goes on with all of them; any other is
just what is written, so that a hand that adds up the lines gets the same.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import ROUND_DOWN, Decimal
from typing import Any, NamedTuple

from truethrow.balance.base.errors import printable
from truethrow.balance.base.units import LENGTH, MASS, factor
from truethrow.worksheets.shown.display import Display

# Beyond the scale's own digits, before a figure is cut off with MORE.
FINER = 3
MORE, MINUS = "…", "−"
# What only the division of decimals leaves.
ROUNDING = Decimal("1e-12")
MORE_SAID = f"A figure that ends in {MORE} has more digits; the next line goes on with all of them."


class Figure(NamedTuple):
    """A number of a working, in full; places: to which it is shown at the most; unit: empty for none; least: to
    which it is shown in any case, as a scale shows it."""

    value: Decimal
    places: int
    unit: str = ""
    least: int = 0

    @property
    def digits(self) -> str:
        """As it is written: all its digits, or cut off with MORE."""
        whole = round(self.value, self.places)
        if abs(self.value - whole) < ROUNDING:
            places = max(self.least, places_in(whole))
            return f"{whole if whole else abs(whole):.{places}f}".replace("-", MINUS)
        cut = self.value.quantize(Decimal(1).scaleb(-self.places), ROUND_DOWN)
        return f"{cut if cut else abs(cut):f}{MORE}".replace("-", MINUS)

    def __str__(self) -> str:
        return f"{self.digits}{self.unit and ' '}{self.unit}"


class Line(NamedTuple):
    """One line: what, how it is worked out (empty for what is given), what it comes to, and where it comes from: a
    reading its place, a formula its source."""

    what: str
    by: str
    figure: Figure
    comes_from: str = ""

    def __str__(self) -> str:
        how = f" = {self.by}" if self.by else ""
        source = f"   [{self.comes_from}]" if self.comes_from else ""
        return printable(f"{self.what}{how} = {self.figure}{source}")


class Working(NamedTuple):
    """A figure of a job, its lines in the order in which a hand goes, and what they come to in words; cautions:
    what goes with work by it; against: why nobody may go by it, which is read first."""

    of: str
    lines: tuple[Line, ...]
    said: str = ""
    cautions: tuple[str, ...] = ()
    against: tuple[str, ...] = ()

    def as_data(self) -> dict[str, Any]:
        lines = [
            {
                "what": line.what,
                "by": line.by,
                "figure": float(line.figure.value),
                "shown": line.figure.digits,
                "unit": line.figure.unit,
                "from": line.comes_from,
            }
            for line in self.lines
        ]
        told = {"said": self.said, "cautions": list(self.cautions), "against": list(self.against)}
        return {"of": self.of, "lines": lines} | told


class InUnits:
    """Figures in the units that are shown."""

    def __init__(self, show: Display) -> None:
        self.show = show
        self.one_g, self.one_mm = float(factor(show.mass_unit, MASS)), float(factor(show.length_unit, LENGTH))

    def grams_of(self, grams: float) -> Figure:
        """A mass as it is given: what binary fractions keep from its own decimals is put right."""
        return self.mass_of(exactly(grams / self.one_g))

    def mass_of(self, value: Decimal) -> Figure:
        return Figure(value, self.show.places + FINER, self.show.mass_unit, self.show.places)

    def length_of(self, mm: float) -> Figure:
        # Of one that was given in another unit two more: what comes of it has the digits of all of it.
        return Figure(exactly(mm / self.one_mm), finer(self.one_mm) + 2, self.show.length_unit)

    def unbalance_of(self, gmm: float) -> Figure:
        return self.gmm_of(exactly(gmm / self.one_g / self.one_mm))

    def gmm_of(self, value: Decimal) -> Figure:
        # In the units of the lines that it is made of, whatever unbalance is asked for in elsewhere.
        return Figure(value, finer(self.one_g * self.one_mm), f"{self.show.mass_unit}·{self.show.length_unit}")


def finer(unit: float, places: int = FINER) -> int:
    """To how many places a figure is worked in a unit that is so many grams, millimeters or gram-millimeters: as
    fine as to that many of those."""
    return places + max(0, math.ceil(math.log10(unit) - 1e-9))


def judged(found: Figure, unsure: Figure, limit: Figure, verdict: str | None) -> Line:
    """A verdict, by the end of the ± that tells it."""
    outside = verdict == "outside"
    sign, edge = ("−", found.value - unsure.value) if outside else ("+", found.value + unsure.value)
    figure = found._replace(value=edge)
    against = "more" if edge > limit.value else "no more"
    what = f"{verdict}: {figure.digits} is {against} than {limit.digits}"
    if verdict == "too close to call" and edge <= limit.value:
        what = f"{verdict}: part of the ± is only assumed"
    end = "least" if outside else "most"
    return Line(f"{end} that it may be", f"{found.digits} {sign} {unsure.digits}", figure, what)


def taken(made: Any, lines: list[Line]) -> Any:
    """Lines put behind these; what they come to."""
    while True:
        try:
            lines.append(next(made))
        except StopIteration as ended:
            return ended.value


def added_up(figures: Sequence[Figure]) -> str:
    return " + ".join(figure.digits for figure in figures)


def in_product(figure: Figure) -> str:
    """A figure as it stands in a product."""
    return f"({figure.digits})" if figure.digits.startswith(MINUS) else figure.digits


def as_number(value: float) -> Figure:
    exact = exactly(value)
    return Figure(exact, places_in(exact))


def as_part(value: Decimal) -> Figure:
    return Figure(value, 8)


def exactly(value: float) -> Decimal:
    return Decimal(repr(round(value, 9)))


def places_in(value: Decimal) -> int:
    return max(0, -int(value.normalize().as_tuple().exponent))
