"""Whether parts may still trade places: asked of records as they come."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from truethrow.balance.log.records import Cut, Proposed, Struck, Traded
from truethrow.balance.result import match_first

ASKS = SimpleNamespace(name="my.toml", digest="now", match=SimpleNamespace(model_fields_set={"aims"}))
PLAIN = SimpleNamespace(name="my.toml", digest="now", match=SimpleNamespace(model_fields_set=set()))
MOVES = {"piston": {1: 2, 2: 1}}
PROPOSED, OLDER = Proposed(MOVES, "now", id="p"), Proposed(MOVES, "before", id="o")
TRADED = Traded(MOVES, "p", id="t")


@pytest.mark.parametrize(
    ("job", "records", "first"),
    [
        (PLAIN, [], ""),
        (ASKS, [], "truethrow match my.toml"),
        (PLAIN, [PROPOSED], "truethrow accept my.toml"),
        (PLAIN, [OLDER], ""),  # the job has changed since
        (ASKS, [OLDER], "truethrow match my.toml"),
        (ASKS, [PROPOSED, Struck("p", id="s")], "truethrow match my.toml"),
        (ASKS, [PROPOSED, TRADED], ""),
        (ASKS, [PROPOSED, TRADED, Struck("t", id="s")], "truethrow accept my.toml"),
        (ASKS, [Cut(1, "piston", 2.0, id="c")], ""),
        (ASKS, [Cut(1, "piston", 2.0, id="c"), Struck("c", id="s")], "truethrow match my.toml"),
    ],
)
def test_what_is_to_be_matched_is_told_with_its_command_and_nothing_is_ground_before(job, records, first):
    told = match_first.to_match(job, records)
    assert told.endswith(first)
    assert bool(told) is bool(first)
    assert [one.remedy for one in match_first.faults(job, records)] == ([told] if first else [])
