"""What counts of a log: a strike takes back what it is of, and nothing else; readings go with their parts."""

from __future__ import annotations

import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from told_apart import moves

from truethrow.balance.base import parts, trades
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import Proposed, Skipped, Struck, Traded, Weighed
from truethrow.balance.log.replaying import counting, replay, waiting, waiting_last


@pytest.fixture
def path(tmp_path):
    return tmp_path / "launch.readings.jsonl"


def read(log, grams=538.4, cylinder=1, kind="piston", why="", **more):
    return log.append(Weighed(cylinder, kind, grams, str(grams), why=why), **more)


def test_current_is_what_is_not_struck_and_odd_strikes_are_harmless(path):
    log = ReadingLog(path)
    first, second, third = read(log, 538.4), read(log, 538.5), read(log, 41.0, 0, "rings")
    log.append(Skipped(2, "piston", why="not here yet"))
    assert counting(replay(log.records).placed) == {(1, "piston"): (first, second), (0, "rings"): (third,)}
    strike = log.append(Struck(first.id, why="pin was in it"))
    for of in (first.id, "nobody-7", strike.id):
        log.append(Struck(of))
    assert counting(replay(log.records).placed) == {(1, "piston"): (second,), (0, "rings"): (third,)}
    log.append(Struck(third.id))
    assert counting(replay(ReadingLog(path).records).placed) == {(1, "piston"): (second,)}


class Model:
    """The parts of a shop as things: each has its readings on it, and sits somewhere."""

    def __init__(self):
        self.at = {(n, unit): f"{unit} of {n}" for n in range(1, 9) for unit in parts.UNITS}
        self.readings = {}

    def part(self, cylinder, kind):
        return self.at.get((cylinder, parts.UNIT_OF.get(kind)), f"{kind} {cylinder}")

    def trade(self, made):
        moved = {(to, unit): self.at[start, unit] for unit, own in made.items() for start, to in own.items()}
        self.at |= moved

    def current(self):
        found = {}
        for part, cylinder, kind, key in self.readings.values():
            place = next((n for (n, _), sitting in self.at.items() if sitting == part), cylinder)
            found.setdefault((place, kind), []).append(key)
        return {place: tuple(keys) for place, keys in found.items()}


KINDS = ("piston", "rings", "bearings", "big_end", "small_end", "rod_total")


EVENTS = st.lists(
    st.tuples(st.just("read"), st.integers(0, 8), st.sampled_from(KINDS))
    | st.tuples(st.just("trade"), moves())
    | st.tuples(st.just("strike"), st.integers(0, 30)),
    max_size=30,
)


@examples(300)
@given(EVENTS)
def test_replay_is_what_happens_to_the_parts_themselves(events):
    model, records, made = Model(), [], {}
    for number, (action, *said) in enumerate(events):
        key = f"a-{number}"
        if action == "read":
            cylinder, kind = said
            records.append(Weighed(cylinder, kind, 1.0, id=key))
            model.readings[key] = (model.part(cylinder, kind), cylinder, kind, key)
        elif action == "trade":
            records.append(Traded(trades.plain(said[0]), "p", id=key))
            model.trade(said[0])
            made[key] = said[0]
        else:
            struck = f"a-{said[0]}"
            records.append(Struck(struck, id=key))
            model.readings.pop(struck, None)
            if struck in made:
                model.trade(trades.inverse(made.pop(struck)))
    found = counting(replay(records).placed)
    assert {place: tuple(r.id for r in own) for place, own in found.items()} == model.current()
    now = replay(records).traded
    for (cylinder, unit), part in model.at.items():
        assert part == f"{unit} of {now.get(unit, {}).get(cylinder, cylinder)}"
    assert all(cylinder != first for own in now.values() for cylinder, first in own.items())


def test_of_matches_the_newest_waits_to_be_accepted_or_none(path):
    log = ReadingLog(path)

    def proposed(start, to):
        return log.append(Proposed({"rod": {start: to, to: start}}, "digest"))

    def last():
        return waiting_last(log.records)

    assert last() is None
    older, newest = proposed(1, 2), proposed(3, 4)
    assert last() == newest
    log.append(Struck(newest.id))
    assert (last(), waiting(log.records)) == (None, [older])
    third = proposed(5, 6)
    trade = log.append(Traded(third.moves, third.id))
    assert last() is None
    after = proposed(7, 8)
    assert last() == after
    log.append(Struck(after.id))
    assert last() is None
    log.append(Struck(trade.id))
    assert last() == third, "it was made of the set as it sits again"
    log.append(Traded(older.moves, older.id))
    assert last() is None, "parts traded places after it"
    log.append(Struck(third.id))
    assert last() is None
