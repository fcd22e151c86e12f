"""Eighty loads with dirty hands: the cable comes out, the zero shifts, another part lies on the scale.

By hand: who weighs eighty parts on a bad day looks at the scale each time, lifts off what is in doubt, tares, and
weighs it again; in the end there are eighty right weights. The person here knows no more than what the screen
says, and that the scale should show zero when nothing lies on it; of a part that was put on with care, that it is
the one asked for.
"""

from __future__ import annotations

import random
import re

import invented
import pytest
from at_the_bench import BACK, OUT, bench_of, on

MASSES = {**invented.PARTS, "rod_total": 623.5}
CABLES, SHIFTS, WRONG = 20, 10, 10
OTHER_END = {"big_end": "small_end", "small_end": "big_end"}


class DirtyHands:
    """One bad day. For the loads drawn for it: the cable comes out at some line, the zero shifts, before the load
    or under it, or something else lies there: a part of another kind, the rod the other way round, a pin in its
    piston, a tool with the part or alone or left there, or the same part of another cylinder, which nobody but the
    hand itself can tell, and which is undone with back."""

    def __init__(self, person, seed):
        self.person, self.chance = person, random.Random(seed)
        self.true = {
            (cylinder, kind): round(grams + self.chance.randint(-4, 4) / 10 * min(1.0, grams / 20), 1)
            for kind, grams in MASSES.items()
            for cylinder in range(1, 11)
        }
        loads = range(80)
        self.cable, self.shifted, self.wrong = (
            set(self.chance.sample(loads, count)) for count in (CABLES, SHIFTS, WRONG)
        )
        self.zero_g = 0.0
        self.done = {"cable": 0, "shift": 0, "wrong": 0}

    def sees(self, *grams):
        self.person.sees(*(g if isinstance(g, str) else g + self.zero_g for g in grams))

    def empty(self):
        """The pan is empty, and the screen is looked at: what it says that it has taken of nothing is canceled, an
        off zero is tared, and what may be off because of it is canceled."""
        before = self.person.loop.taken
        self.sees(*on(0.0, 8))
        after = self.person.loop.taken
        if after is not before and after is not None and after.record.action == "read":
            self.cancel("")
        if self.zero_g:
            told = (re.match("(.+) may be off by that much", line) for line in self.person.lines)
            blamed = next((found[1] for found in told if found), "")
            self.zero_g = 0.0
            self.sees(*on(0.0, 8))
            if blamed:
                self.cancel(blamed)

    def cancel(self, part):
        """x, if it asks about this part."""
        self.person.presses("x")
        if part in self.person.keys.asking:
            self.person.keys.press("4")
        else:
            self.person.keys.leave()

    def put_on(self, grams, *, cable=False, shift_g=0.0):
        """A part is put on, and settles; whether the screen says that it is taken."""
        before = self.person.loop.taken
        lines = [self.chance.uniform(0.1, 1.2) * grams for _ in range(self.chance.randint(0, 3))] + on(grams, 12)
        pulled = self.chance.randrange(len(lines)) if cable else -1
        at_shift = self.chance.randrange(len(lines)) if shift_g else -1
        for at, shown in enumerate(lines):
            if at == pulled:
                self.person.sees(OUT, BACK)
            if at == at_shift:
                self.zero_g += shift_g
            self.sees(round(shown, 1))
        return self.person.loop.taken is not before and self.person.loop.taken is not None

    def something_else(self, step):
        """What lies there in place of the part asked for, and how much it weighs."""
        here = {kind: self.true[step.cylinder, kind] for kind in MASSES}
        kinds = [kind for kind, grams in MASSES.items() if abs(grams / MASSES[step.kind] - 1) > 0.1]
        # One that weighs what the part weighs is as little to be told from it as the part of another cylinder.
        tool = next(
            grams
            for grams in iter(lambda: self.chance.uniform(15, 300), None)
            if abs(grams / here[step.kind] - 1) > 0.1
        )
        ideas = {
            "another kind": here[self.chance.choice(kinds)],
            "a tool with it": here[step.kind] + tool,
            "a tool": tool,
        }
        if step.kind in OTHER_END:
            ideas["the other way round"] = here[OTHER_END[step.kind]]
            ideas["a piston"] = here["piston"]
        if step.kind == "piston":
            ideas["with its pin"] = here["piston"] + here["pin"]
        idea = self.chance.choice(sorted(ideas))
        return round(ideas[idea], 1)

    def wrong_part(self, step):
        """Something else is put on and lifted off again: what the screen says looks wrong is canceled."""
        self.done["wrong"] += 1
        if self.chance.random() < 0.3:
            if self.put_on(self.true[step.cylinder % 10 + 1, step.kind]):
                self.person.presses("b")
        elif self.chance.random() < 0.15 and step.kind != "zero":
            tool = round(self.chance.uniform(15, 300), 1)
            self.put_on(self.true[step.cylinder, step.kind])
            self.sees(*on(tool, 12))
        elif self.put_on(self.something_else(step)) and self.person.loop.flags:
            self.cancel("")
        self.empty()

    def load(self, number):
        """One load of the eighty, whatever it takes."""
        step = self.person.at_hand
        if number in self.wrong:
            self.wrong_part(step)
        shift_g = self.chance.choice((-1, 1)) * self.chance.choice((0.3, 0.7, 3.4, 5.0))
        early = self.chance.random() < 0.5
        if number in self.shifted:
            self.done["shift"] += 1
            if early:
                self.zero_g += shift_g
                self.empty()
        step = self.person.at_hand
        self.done["cable"] += number in self.cable
        self.put_on(
            self.true[step.cylinder, step.kind],
            cable=number in self.cable,
            shift_g=shift_g if number in self.shifted and not early else 0.0,
        )
        self.empty()

    def with_care(self):
        """The part asked for; where the screen does not take it, once more, and then with Enter."""
        step = self.person.at_hand
        if not self.put_on(self.true[step.cylinder, step.kind]):
            self.empty()
            if not self.put_on(self.true[step.cylinder, step.kind]) and self.person.loop.standing == "held":
                self.person.keys.enter()
        self.empty()

    def weigh(self):
        for number in range(80):
            self.load(number)
        for _ in range(40):  # what was not taken, or canceled, is asked for again
            if (step := self.person.at_hand) is None or step.kind == "zero":
                break
            self.with_care()
        self.sees(*on(0.0, 12))


@pytest.mark.simulation(whole=20, sample=2)
def test_eighty_loads_are_right_at_the_end(blank, monkeypatch, capsys, seed):
    path = blank(engine=dict(invented.V8, layout="v10-72"), bench={"rod_total": True})
    days = []

    def act(person):
        days.append(DirtyHands(person, seed))
        days[0].weigh()
        assert person.at_hand is None

    records, out = bench_of(monkeypatch, capsys)(act, path)
    (day,) = days
    assert f"{len(day.true) + 2} of {len(day.true) + 2} weighed" in " ".join(out.split())
    struck = {r["of"] for r in records if r["action"] == "strike"}
    read = {}
    for r in records:
        if r["action"] == "read" and r["id"] not in struck:
            read.setdefault((r["cylinder"], r["kind"]), []).append(r["grams"])
    assert {place: len(grams) for place, grams in read.items() if len(grams) > 1} == {}  # none doubled
    assert {place: (read[place], true) for place, true in day.true.items() if read[place] != [true]} == {}
    assert day.done == {"cable": CABLES, "shift": SHIFTS, "wrong": WRONG}
