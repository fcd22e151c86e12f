"""What is known of a job: as much as was weighed, and no fault taken for a reading that is missing."""

from __future__ import annotations

import cranks
import pytest
from card_texts import (
    ground,
)

from truethrow.balance.base.errors import BadInput
from truethrow.balance.log.records import Cut, Weighed
from truethrow.worksheets.cards.known import load


def test_partly_weighed_is_what_the_whole_job_has(tmp_path):
    """The readings that count while one is missing are those of the job once it is there: trades, cuts, labels."""
    shop = ground(tmp_path)
    shop.log().append(Cut(4, "piston", 1.0))
    part = shop.known()
    assert part.job is None
    shop.log().append(Weighed(4, "piston", 537.6, "537.6"))
    whole = shop.known()
    assert whole.job is not None
    for cylinder, parts in whole.parts.items():
        rest = {kind: reading for kind, reading in parts.items() if (cylinder, kind) != (4, "piston")}
        assert {kind: r.repeats_g for kind, r in part.parts[cylinder].items()} == {
            kind: r.repeats_g for kind, r in rest.items()
        }
    assert part.labels == whole.labels
    assert part.labels[1]["piston"] == "P22"


def test_a_fault_is_no_reading_that_is_missing(blank):
    with pytest.raises(BadInput) as caught:
        load(blank(crank={"counterweight": [cranks.weight("one", 0.0, 180.0, inner_radius=99.0)]}))
    assert any("inner_radius" in str(fault) for fault in caught.value.faults)
