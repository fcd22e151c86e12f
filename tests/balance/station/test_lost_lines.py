"""A damaged line settled: what became of it, and what is written again in its place."""

import pytest
from commands import refused
from damaged_lines import CUT, READING, TRADE, damage, logged, records

from truethrow.balance.base.beside import log_path
from truethrow.balance.log.damage import AGAIN, NEVER, NOTED, unsettled
from truethrow.balance.station.lost_lines import acknowledge, needs


@pytest.fixture
def path(tmp_path):
    return logged(tmp_path)


@pytest.mark.parametrize(
    ("number", "wholly", "ways"),
    [
        (READING, False, (NOTED,)),  # nothing was done by it: weigh again
        (CUT, False, (AGAIN, NEVER)),
        (TRADE, False, (AGAIN, NEVER)),
        (READING, True, (AGAIN, NEVER)),  # it may have been anything
    ],
)
def test_what_was_done_is_entered_again_or_never_happened(path, number, wholly, ways):
    damage(path, number, wholly=wholly)
    (line,) = unsettled(records(path))
    assert needs(line) == ways


def test_a_lost_cut_is_written_again_as_it_was_in_its_place(path):
    whole = records(path)
    damage(path, CUT)
    said, again = acknowledge(path, CUT, AGAIN, "the builder remembers", by="AB")
    assert (said.action, said.became, said.by) == ("acknowledge", AGAIN, "AB")
    kept = ("action", "cylinder", "pad", "grams", "plan")
    assert [getattr(again, name) for name in kept] == [getattr(whole[1], name) for name in kept]
    assert [one.action for one in records(path)] == ["read", "damaged", "cut", "trade", "acknowledge"]
    assert unsettled(records(path)) == []


def test_what_never_happened_is_written_nowhere(path):
    damage(path, CUT)
    assert acknowledge(path, CUT, NEVER, "nobody ground it")[1] is None
    assert "cut" not in [one.action for one in records(path)]


def test_what_no_line_tells_any_more_is_entered_by_its_figures(path):
    damage(path, CUT, wholly=True)
    _, again = acknowledge(path, CUT, AGAIN, "on the card", "cut 3 big_end 2.4")
    assert (again.action, again.cylinder, again.kind, again.grams) == ("cut", 3, "big_end", 2.4)


@pytest.mark.parametrize(
    ("line", "number", "way", "why", "figures", "said"),
    [
        (CUT, READING, NEVER, "x", "", "line 2: is not damaged; allowed: 3"),
        (CUT, CUT, NEVER, "  ", "", "--why: blank"),
        (CUT, CUT, NOTED, "x", "", "was a cut"),
        (READING, READING, NEVER, "x", "", "was a read"),
        (CUT, CUT, NEVER, "x", "cut 3 piston 1", "--figures: goes with --entered-again only"),
        (CUT, CUT, AGAIN, "x", "trade piston 1>2 2>1", "is a "),
        (CUT, CUT, AGAIN, "x", "cut 3 rings 1", "no cut"),
        (CUT, CUT, AGAIN, "x", "cut 3", "cut 3 big_end 2.4"),
        (CUT, CUT, AGAIN, "x", "spin 1", "is no cut, no hole and"),
    ],
)
def test_what_does_not_settle_it_is_refused_and_nothing_is_written(path, line, number, way, why, figures, said):
    damage(path, line)
    before = log_path(path).read_bytes()
    assert said in refused(acknowledge, path, number, way, why, figures)
    assert log_path(path).read_bytes() == before


def test_a_line_is_settled_once(path):
    damage(path, CUT)
    acknowledge(path, CUT, NEVER, "nobody ground it")
    assert "is acknowledged already" in refused(acknowledge, path, CUT, NEVER, "nobody ground it")
