"""A damaged line settled: what became of it, and what is written again in its place."""

import invented
import pytest
from commands import refused

from truethrow.balance.base.beside import log_path
from truethrow.balance.log.damage import AGAIN, NEVER, NOTED, unsettled
from truethrow.balance.log.place import open_log
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.station.lost_lines import acknowledge, needs

READING, CUT, TRADE = 1, 2, 3  # the lines of the log


@pytest.fixture
def path(tmp_path):
    """A job with a log of three lines: a reading, a cut and a trade."""
    path = tmp_path / "job.toml"
    path.write_text(invented.text(invented.document()), encoding="utf-8")
    log = ReadingLog(log_path(path))
    log.append("read", cylinder=3, kind="piston", grams=540.2, typed="540.2")
    log.append("cut", cylinder=3, kind="piston", grams=1.2, of="p1")
    log.append("seat", typed="piston 1>2 2>1", of="m1")
    return path


def damage(path, number, *, wholly=False):
    """Flip one bit of a line, or so many that nobody can tell what it said."""
    log = log_path(path)
    lines = log.read_bytes().split(b"\n")
    line = bytearray(lines[number - 1])
    line[len(line) // 2] ^= 1
    if wholly:
        line[4:-2] = bytes(byte ^ 1 for byte in line[4:-2])
    lines[number - 1] = bytes(line)
    log.write_bytes(b"\n".join(lines))


def records(path):
    return open_log(path, damaged=True).records


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
    assert (said.action, said.kind, said.by) == ("acknowledge", AGAIN, "AB")
    kept = ("action", "cylinder", "kind", "grams", "of")
    assert [getattr(again, name) for name in kept] == [getattr(whole[1], name) for name in kept]
    assert [one.action for one in records(path)] == ["read", "damaged", "cut", "seat", "acknowledge"]
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
        (CUT, READING, NEVER, "x", "", "line 1: is not damaged; allowed: 2"),
        (CUT, CUT, NEVER, "  ", "", "--why: blank"),
        (CUT, CUT, NOTED, "x", "", "was a cut"),
        (READING, READING, NEVER, "x", "", "was a read"),
        (CUT, CUT, NEVER, "x", "cut 3 piston 1", "--figures: only for a cut"),
        (CUT, CUT, AGAIN, "x", "seat piston 1>2 2>1", "is a "),
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
