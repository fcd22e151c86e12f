"""Figures of a card, looked up in its data: a card cannot show a number that its data has not."""

from __future__ import annotations

from typing import Any, NamedTuple

from truethrow.worksheets.cards.card import Figure, Word
from truethrow.worksheets.shown.display import Display

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
        return Figure(self.show.mass(grams, finer) if bare else self.show.masses(grams, finer), grams, path)

    def given(self, *path: str | int, bare: bool = False, unit: str = "") -> Figure:
        """A limit or a setting, with the digits that it has. unit: in which it was set, where it is told in no
        other."""
        grams = self.value(*path)
        show = self.show._replace(mass_unit=unit) if unit else self.show
        text = show.as_given(grams)
        return Figure(text.removesuffix(f" {show.mass_unit}") if bare else text, grams, path)

    def length(self, *path: str | int, places: int | None = None) -> Figure:
        """places: digits of a millimetre that were worked out, without it as many as are there."""
        mm = self.value(*path)
        return Figure(self.show.length(mm if places is None else round(mm, places)), mm, path)

    def unbalance(self, *path: str | int, sure_gmm: float, bare: bool = False) -> Figure:
        """With the digits that an uncertainty leaves."""
        gmm = self.value(*path)
        text = self.show.unbalance(gmm, sure_gmm)
        return Figure(text if bare else f"{text} {self.show.unbalance_unit}", gmm, path)

    def limit(self, *path: str | int, bare: bool = False) -> Figure:
        """The tolerance of an unbalance, never more than it is."""
        gmm = self.value(*path)
        text = self.show.limit(gmm)
        return Figure(text if bare else f"{text} {self.show.unbalance_unit}", gmm, path)

    def throw_at(self, *path: str | int) -> Figure:
        """The angle of a throw, with the digits that it has."""
        degrees = self.value(*path)
        return Figure(f"{degrees:g}°", degrees, path)

    def degrees(self, *path: str | int, places: int = 0) -> Figure:
        degrees = self.value(*path)
        # Rounded before the turn is taken off, so that 359.97 is not told as 360.0.
        return Figure(f"{round(degrees, places) % 360:.{places}f}°", degrees, path)

    def number(self, *path: str | int, form: str = "g", unit: str = "") -> Figure:
        """Any other figure."""
        value = self.value(*path)
        return Figure(f"{value:{form}}{f' {unit}' if unit else ''}", value, path)
