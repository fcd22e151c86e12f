"""Readings that were looked at again: weighed once more, or confirmed with a word of why.

A confirmation belongs to its part, and is of one value: it goes where the part goes, it allows for the cuts that
were recorded since, and any other reading asks anew.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from truethrow.balance.base.parts import BY_NAME, moved_by_cut
from truethrow.balance.base.readings import (
    COVERAGE_FACTOR,
    Reading,
    Scale,
    agrees,
    allowed_range_g,
    is_weighed_twice,
    tidy,
)
from truethrow.balance.job.logged import Logged
from truethrow.balance.job.sources import parts_of
from truethrow.balance.log import records
from truethrow.balance.log.replaying import before_cuts

if TYPE_CHECKING:
    from truethrow.balance.job.pads import Pad
    from truethrow.balance.job.weighsheet import WeighSheet
    from truethrow.balance.log.replaying import Placed


class Confirmed(NamedTuple):
    """What a reading was when it was confirmed, and what was asked for at each pad of its part since. [g]"""

    grams: float
    asked_g: dict[str, float]

    def fits(
        self, kind: str, grams: float, scale: Scale, pads: Iterable[Pad], rod_length_mm: float | None
    ) -> bool:
        """Whether a reading of a kind is the one that was confirmed, as far as the scale can tell and as far as a
        hand takes just what it is asked for."""
        allowed_g, fall_g = allowed_range_g(2, scale, kind), tidy(self.grams - grams)
        if not self.asked_g:
            return abs(fall_g) <= allowed_g
        from truethrow.balance.base.parts import UNIT_OF  # noqa: PLC0415
        from truethrow.balance.job.grinding import Grind  # noqa: PLC0415 (few confirmed parts are ground)
        from truethrow.balance.job.levers import falls_of_a_gram  # noqa: PLC0415

        levers = {p.kind: falls_of_a_gram(p.kind, p.at_mm, rod_length_mm) | {"rod_total": 1.0} for p in pads}
        grind = Grind(0, UNIT_OF[kind], self.asked_g, {}, {}, levers)
        return grind.can_fall(kind, fall_g, allowed_g / COVERAGE_FACTOR)


def confirmed(placed: Iterable[Placed]) -> dict[tuple[int, str], Confirmed]:
    """What was confirmed of each cylinder and kind, and the cuts since. placed: as a replay has it."""
    found: dict[tuple[int, str], Confirmed] = {}
    for record in placed:
        if isinstance(record, records.Confirmed):
            found[record.cylinder, record.kind] = Confirmed(record.grams, {})
        elif isinstance(record, records.Cut):
            for kind in moved_by_cut(record.pad):
                if before := found.get((record.cylinder, kind)):
                    asked = before.asked_g
                    asked[record.pad] = tidy(asked.get(record.pad, 0.0) + record.grams)
    return found


def settled(
    older: Mapping[int, Mapping[str, Reading]],
    log: Logged,
    sheet: WeighSheet,
    scale: Scale,
    pads: Sequence[Pad],
    rod_length_mm: float | None,
) -> dict[int, dict[str, Reading]]:
    """The readings that count, each with what is known of it beyond its figures. older: those of the job file."""
    said = confirmed(log.placed)

    def looked_at(number: int, kind: str, reading: Reading) -> Reading:
        reading = _with_earlier(reading, earlier_g(number, kind), scale)
        before = said.get((reading.cylinder or 0, kind))
        if before and before.fits(kind, reading.mean_g, scale, pads, rod_length_mm):
            return reading._replace(settled="confirmed")
        if reading.earlier_g and agrees(reading.weighings_g, scale, kind):
            return reading._replace(settled="twice")
        return reading

    def earlier_g(number: int, kind: str) -> tuple[float, ...]:
        """What the bench weighed counts before what the job file has: there the part was weighed first."""
        if (number, kind) in log.cut or kind in sheet.readings.get(number, {}):
            return ()
        first = older.get(number, {}).get(kind)
        is_own = kind in log.readings.get(number, {}) and first is not None and first.cylinder is not None
        return first.repeats_g if is_own and first else ()

    return {
        number: {kind: looked_at(number, kind, reading) for kind, reading in own.items()}
        for number, own in parts_of(older, log, sheet).items()
    }


def _with_earlier(reading: Reading, earlier_g: tuple[float, ...], scale: Scale) -> Reading:
    """A reading with the weighings before it: not where two since agree that those were a slip of the pen."""
    if not earlier_g:
        return reading
    together = reading._replace(earlier_g=earlier_g)
    is_a_slip = is_weighed_twice(reading, scale) and not agrees(together.weighings_g, scale, reading.kind)
    return reading if is_a_slip else together


def past_weighings(older: Mapping[int, Mapping[str, Reading]], log: Logged) -> tuple[Reading, ...]:
    """Parts that were weighed more than once before metal came off them: their masses are history, but how far the
    weighings are apart says of the scale what it did."""
    in_file = {(n, kind): own[kind].repeats_g for n, own in older.items() for kind in own if (n, kind) in log.cut}
    groups = [
        ((r[0].cylinder, r[0].kind), tuple(one.grams for one in r))
        for r in before_cuts(log.placed)
        if r[0].kind in BY_NAME
    ]
    # What the job file has is older than the first of the log.
    together = [(place, in_file.pop(place, ()) + grams) for place, grams in groups] + list(in_file.items())
    return tuple(Reading(n or None, kind, grams, ()) for (n, kind), grams in together if len(grams) > 1)


def is_sure(reading: Reading, scale: Scale) -> bool:
    """Whether a reading was taken twice and was the same, or was confirmed."""
    return reading.settled == "confirmed" or is_weighed_twice(reading, scale)
