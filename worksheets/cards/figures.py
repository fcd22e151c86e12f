"""Figures of a card, looked up in its data: a card cannot show a number that its data has not."""

from __future__ import annotations

from typing import Any, NamedTuple

from truethrow.balance.base.amounts import DEGREES, Amount
from truethrow.worksheets.cards.card import Figure, Word
from truethrow.worksheets.shown.display import Display, finer_for

Path = tuple[str | int, ...]

VERDICTS = {
    "inside": Word("inside"),
    "too close to call": Word("too close to call", "framed"),
    "outside": Word("OUTSIDE", "inverse"),
}


def verdict(said: str | None) -> Word | str:
    """How a verdict is told apart at arm's length; nothing where there is none."""
    return VERDICTS[said] if said else ""


class Figures(NamedTuple):
    """What makes figures of one card's data. Each takes the path to a number; bare: without the unit, for a column
    that has it in its head."""

    data: dict[str, Any]
    show: Display

    def value(self, *path: str | int) -> Any:
        """What stands in the data. Raises KeyError or IndexError where nothing does."""
        found: Any = self.data
        for step in path:
            found = found[step]
        return found

    def mass(self, *path: str | int, finer: int = 0, bare: bool = False) -> Figure:
        grams = self.value(*path)
        return _figure(self.show.weighed(grams, finer), grams, path, bare=bare)

    def finer(self, *path: str | int) -> int:
        """Digits beyond the scale's for the spread at a place, and for its members."""
        spread = self.value(*path)
        members = next(spread[key] for key in ("cylinders_g", "throws_g") if key in spread)
        return finer_for(spread["quantity"], members.values(), self.show)

    def allowed(self, *path: str | int, finer: int | None = None, bare: bool = False) -> Figure:
        """A limit of a mass, never more than it is. finer: in a table, as for the figures beside it."""
        grams = self.value(*path)
        return _figure(self.show.allowed(grams, finer), grams, path, bare=bare)

    def given(self, *path: str | int, bare: bool = False) -> Figure:
        """A setting, with the digits that it has."""
        grams = self.value(*path)
        return _figure(self.show.as_given(grams), grams, path, bare=bare)

    def stamped(self, *path: str | int) -> Figure:
        """What is said of a mass, and maybe in another unit: more than four digits would say nothing."""
        grams = self.value(*path)
        return Figure(self.show.told_in.given(grams), grams, path)

    def length(self, *path: str | int, places: int | None = None) -> Figure:
        """places: digits of a millimetre that were worked out, without it as many as are there."""
        mm = self.value(*path)
        return Figure(self.show.length(mm if places is None else round(mm, places)), mm, path)

    def set_at(self, *path: str | int) -> Figure:
        """A radius that somebody set, as it was set."""
        mm = self.value(*path)
        return Figure(self.show.told_in.set_at(mm), mm, path)

    def drill(self, *path: str | int) -> Figure | Word:
        """A drill by its diameter, or by what is written on it, where that is something else."""
        figure, name = self.length(*path), self.show.drill(self.value(*path))
        return figure if figure.text == name else Word(name)

    def unbalance(self, *path: str | int, sure_gmm: float, bare: bool = False) -> Figure:
        """With the digits that an uncertainty leaves."""
        gmm = self.value(*path)
        return _figure(self.show.unbalanced(gmm, sure_gmm), gmm, path, bare=bare)

    def brings(self, *path: str | int, sure_gmm: float) -> Figure:
        """How much of an unbalance is brought to a place, where the data tell what is taken from it."""
        gmm = self.value(*path)
        return _figure(self.show.unbalanced(-gmm, sure_gmm), gmm, path, bare=True)

    def limit(self, *path: str | int, bare: bool = False) -> Figure:
        """The tolerance of an unbalance, never more than it is."""
        gmm = self.value(*path)
        return _figure(self.show.tolerance(gmm), gmm, path, bare=bare)

    def throw_at(self, *path: str | int) -> Figure:
        """The angle of a throw, with the digits that it has."""
        degrees = self.value(*path)
        return Figure(Amount.as_it_is(degrees, DEGREES), degrees, path)

    def degrees(self, *path: str | int, places: int = 0) -> Figure:
        degrees = self.value(*path)
        turned = degrees % 360
        # What would be rounded to a whole turn is none: 359.97 is not told as 360.0.
        return Figure(Amount(turned if round(turned, places) < 360 else 0.0, places, DEGREES), degrees, path)

    def number(self, *path: str | int, places: int | None = None, unit: str = "") -> Figure:
        """Any other figure. places: decimal ones, without it as many as are there."""
        value = self.value(*path)
        shown = Amount.as_it_is(value, unit) if places is None else Amount(value, places, unit)
        return Figure(shown, value, path)


def _figure(shown: Amount, value: float, path: Path, *, bare: bool) -> Figure:
    return Figure(shown._replace(unit="") if bare else shown, value, path)
