"""The first part of a kind is another part, and nothing of its kind is beside it to tell.

By hand: the rod lay the other way round, and 171 g went down as the first big end; whoever saw the second one at
452 weighed the first again.
"""

from __future__ import annotations

import commands
import invented
import pytest
from at_the_bench import EMPTY, bench_of, on


@pytest.fixture
def weigh(blank, monkeypatch, capsys):
    return bench_of(monkeypatch, capsys, blank)


def counting(records, kind):
    struck = {r["of"] for r in records if r["action"] == "strike"}
    return {
        r["cylinder"]: r["grams"]
        for r in records
        if r["action"] == "read" and r["kind"] == kind and r["id"] not in struck
    }


def put_on(person, *grams):
    for one in grams:
        person.sees(*on(one), *EMPTY)


def test_the_first_rod_lies_the_other_way_round(weigh):
    """It is held back by what the pistons weigh, as a big end of such an engine hardly could be."""

    def act(person):
        put_on(person, 538.4, 538.6)
        person.types("g")
        person.loop.go("1 big end")
        person.sees(*on(171.2))
        assert "is this rod 1, big end? beside a piston of 538.5 g that is unusual" in person.screen
        person.sees(*EMPTY, *on(452.3), *EMPTY)

    assert counting(weigh(act)[0], "big_end") == {1: 452.3}


def test_a_light_rod_is_taken_when_it_is_put_on_once_more(weigh):
    """What is unusual may be so: no key is needed, and nobody is stuck at it."""

    def act(person):
        put_on(person, 538.4, 538.6)
        person.loop.go("1 big end")
        put_on(person, 190.0)
        assert person.at_hand == (1, "big_end", "")
        put_on(person, 190.0)

    assert counting(weigh(act)[0], "big_end") == {1: 190.0}


def test_a_first_reading_that_is_alone_is_asked_for_again_by_name(weigh):
    """A pin of a larger engine went down as piston 1: the bore is not known, so nothing spoke against it."""
    engine = {key: value for key, value in invented.V8.items() if key != "bore"}

    def act(person):
        put_on(person, 300.0)
        person.sees(*on(538.6))
        assert "is this piston 2? piston 1 read 300.0 g: one of the two is another part" in person.screen
        person.sees(*EMPTY)
        put_on(person, 538.6, 538.2)
        told = "piston 1 read 300.0 g, the others 538.4 g: was that another part?"
        assert told in person.screen
        assert person.at_hand == (4, "piston", "")  # the loads to come stay in step with the list
        put_on(person, 538.1, 538.3, 538.4, 538.2, 538.5)
        for kind in ("pin", "locks", "rings", "bearings", "big_end", "small_end"):
            put_on(person, *[invented.PARTS[kind]] * 8)
        assert person.at_hand == (1, "piston", "")
        assert told.replace("538.4", "538.3") in person.screen
        put_on(person, 538.4)

    records, out = weigh(act, engine=engine)
    assert counting(records, "piston")[1] == 538.4
    assert "none of its set agreed with it" in next(r["why"] for r in records if r["action"] == "strike")
    assert "was that another part" not in out


def test_readings_that_are_piped_in_follow_the_list(blank):
    """It is told, and at hand when the list is through: no number lands on another part than its own."""
    typed = "300\n538.6\n538.2\n538.1\n"
    done = commands.run("weigh", blank(), stdin=typed)
    assert done.status == 0
    assert "taken: piston 3: 538.2" in done.out
    assert "! piston 1 read 300.0 g, the others 538.4 g: was that another part?" in done.out
    assert "taken: piston 4: 538.1" in done.out
    assert "3 of 56 weighed" in done.out


def test_a_part_that_is_none_of_its_set_is_asked_for_again_at_the_end_and_not_at_once(blank):
    """The next load is the next part: taken for the one before, all from there on had another one's mass."""
    pistons = ["538.2", "538.4", "538.3", "53.84", "538.5", "538.1", "538.6", "538.7"]
    done = commands.run("weigh", blank(), stdin="".join(f"{one}\n" for one in pistons))
    assert "It is asked for again at the end" in done.out
    taken = [line for line in done.out.splitlines() if line.startswith("taken: piston ")]
    assert taken == [f"taken: piston {number}: {typed}" for number, typed in enumerate(pistons, start=1)]


def test_again_at_a_part_that_was_gone_to_is_that_part_and_not_the_one_weighed_last(blank):
    typed = ["538.2", "538.4", "538.3", "53.84", "538.5", "go 4 piston", "again", "538.6", "538.1"]
    done = commands.run("weigh", blank(), stdin="".join(f"{one}\n" for one in typed))
    taken = [line for line in done.out.splitlines() if line.startswith("taken: piston ")]
    assert taken[-3:] == ["taken: piston 5: 538.5", "taken: piston 4: 538.6", "taken: piston 6: 538.1"]
