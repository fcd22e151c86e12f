"""Parts that were weighed beside the box that [estimate] said they come out of: one that is none of that box may
be another than was ordered, or another line of the catalog. A doubt, which holds nothing up."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from truethrow.balance.base.parts import moved_by_cut
from truethrow.balance.base.readings import Reading, tidy

if TYPE_CHECKING:
    from truethrow.balance.base.fields import Table

# From so many standard deviations of its pieces beyond what the whole box may be off, a piece is none of it.
# Common practice, no source.
SCATTERS = 3.0


class Box(NamedTuple):
    """What the catalog says of a kind: about, how far the whole box may be off that, and the standard deviation
    from piece to piece. [g]"""

    about_g: float
    within_g: float
    scatter_g: float

    def is_of(self, grams: float, step_g: float) -> bool:
        """Whether a piece may weigh that, read on a scale of this step."""
        return abs(tidy(grams - self.about_g)) <= tidy(self.within_g + SCATTERS * self.scatter_g + step_g)


class OffBox(NamedTuple):
    """The pieces of a kind that are none of their box: their cylinders, and from what to what they weigh. [g]"""

    kind: str
    box: Box
    cylinders: tuple[int, ...]
    least_g: float
    most_g: float


def boxes_of(table: Table | None) -> dict[str, Box]:
    """The boxes that a table [estimate] tells of, by kind of part."""
    found: dict[str, Any] = dict(table or ())
    return {kind: Box(one.about, one.within, one.scatter) for kind, one in found.items() if one is not None}


def off_boxes(
    boxes: Mapping[str, Box],
    parts: Mapping[int, Mapping[str, Reading]],
    step_g: float,
    cut: Iterable[tuple[int, str]] = (),
) -> tuple[OffBox, ...]:
    """What was weighed, by cylinder and kind, and is none of its box, unless it was confirmed. step_g: the
    scale's; cut: cylinder and pad of what metal came off, which is none to be held against a catalog any more."""
    moved = {(number, kind) for number, pad in cut for kind in moved_by_cut(pad)}
    found = []
    for kind, box in boxes.items():
        weighed_g = {
            number: own[kind].mean_g
            for number, own in parts.items()
            if kind in own and _asks(own[kind]) and (number, kind) not in moved
        }
        off_g = {n: grams for n, grams in weighed_g.items() if not box.is_of(grams, step_g)}
        if off_g:
            found.append(OffBox(kind, box, tuple(off_g), min(off_g.values()), max(off_g.values())))
    return tuple(found)


def _asks(reading: Reading) -> bool:
    return reading.estimate is None and reading.settled != "confirmed"
