"""What is to be looked over before a spin: when it is due, and that no spin gets by it."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from kept import spun

from truethrow.balance.base.errors import BadInput
from truethrow.balance.station.looking_over import EVERY_TIME, ONCE_A_DAY, USUAL, LookingOver, must_be_done

NOON = datetime(2025, 3, 1, 12, tzinfo=UTC).isoformat()
TODAY = datetime.fromisoformat(NOON).astimezone().date()


def spin(*, looked_over: bool):
    made = spun("digest", "1@2", "3@4", at=NOON)
    made.looked_over = looked_over
    return made


@pytest.mark.parametrize(
    ("asked", "records", "today", "is_due"),
    [
        (ONCE_A_DAY, [], TODAY, True),
        (ONCE_A_DAY, [spin(looked_over=True)], TODAY, False),
        (ONCE_A_DAY, [spin(looked_over=False)], TODAY, True),
        (ONCE_A_DAY, [spin(looked_over=True)], date(2025, 3, 3), True),
        (EVERY_TIME, [spin(looked_over=True)], TODAY, True),
    ],
)
def test_when_it_is_due(asked, records, today, is_due):
    assert LookingOver(asked).is_due(records, today) is is_due


def test_what_is_due_is_named_in_one_line_and_said_for_nothing_is_refused():
    with pytest.raises(BadInput, match="oil holes clean and empty") as refused:
        must_be_done(LookingOver(ONCE_A_DAY), [], TODAY, done=False)
    assert len(refused.value.lines()) == 1
    assert all(one in refused.value.lines()[0] for one in USUAL)
    must_be_done(LookingOver(ONCE_A_DAY), [], TODAY, done=True)
    must_be_done(None, [], TODAY, done=False)
    with pytest.raises(BadInput, match="asks for nothing"):
        must_be_done(None, [], TODAY, done=True)
