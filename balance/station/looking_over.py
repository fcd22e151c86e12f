"""What is looked over before a crank is spun: by the station's profile, once a day for each job or before every
spin. Common practice, no source."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from typing import NamedTuple

from truethrow.balance.base.errors import BadInput, Fault
from truethrow.balance.log.records import Record, Spun

EVERY_TIME, ONCE_A_DAY = "every time", "once a day"
USUAL = (
    "keyway and plugs as it will run",
    "oil holes clean and empty",
    "runout within the maker's limit",
    "bobweights centered, each on its own throw, bolts tight",
    "nothing else left on the crank, guard shut, nobody in its plane",
    "speed set",
)


class LookingOver(NamedTuple):
    """asked: how often; of: what has to be looked at, in order."""

    asked: str
    of: tuple[str, ...] = USUAL

    def is_due(self, records: Iterable[Record], today: date) -> bool:
        """Whether it has to be done before the next spin. today: by the clock of the shop."""
        return self.asked == EVERY_TIME or not any(
            isinstance(one, Spun) and one.looked_over and _day_of(one) == today for one in records
        )


def must_be_done(over: LookingOver | None, records: Iterable[Record], today: date, *, done: bool) -> None:
    """Raise BadInput for a spin before which something is still to be looked at, or that says so for nothing."""
    if over is None and done:
        wrong = "the station's profile asks for nothing to be looked over"
        raise BadInput([Fault("--looked-over", wrong, 'a [before_spin] in it, such as asked = "once a day"')])
    if over is not None and not done and over.is_due(records, today):
        wrong = f"not looked over yet ({over.asked}): {'; '.join(over.of)}; nothing is recorded"
        raise BadInput([Fault("before the spin", wrong, "look at each, then add --looked-over")])


def _day_of(record: Record) -> date:
    return datetime.fromisoformat(record.at).astimezone().date()
