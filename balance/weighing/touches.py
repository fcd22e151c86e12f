"""One part at the grinder, touch after touch: what each reading leaves to take, and at which pad.

A touch is metal taken at one pad between two weighings. Only one end of a rod is on the scale at a time, and a pad
beyond an end changes the reading of the other end too: what a touch did to that one is reckoned by the lever until
it is weighed itself, which it is before its own pad is touched and before the part is done.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import NamedTuple

from truethrow.balance.base.readings import tidy
from truethrow.balance.job.levers import solved

# The most that is meant at one touch, as a part of what is left: a hand that takes up to 115 % of what it means
# (common practice, no source) then stays above the target, 0.85 · 1.15 = 0.98, and comes nearer touch by touch.
AIM = 0.85


class Touch(NamedTuple):
    """Metal to be taken at a pad: grams meant, and what its own reading was before. [g]"""

    pad: str
    aim_g: float
    before_g: float


class ToGo(NamedTuple):
    """What is left on a part. pad: where the next metal comes off, empty where none does; left_g: so much is still
    to take there, below zero where too much came off; aim_g: of that, to mean at the next touch; other: the end of
    the rod that is to be weighed before anything else is taken, empty where none is."""

    pad: str
    left_g: float
    aim_g: float
    other: str = ""

    @property
    def is_done(self) -> bool:
        return not self.pad and not self.other


class Visit(NamedTuple):
    """A part at the grinder. part: piston, pin or rod; pads: where the plan takes metal, in its order; targets_g:
    what each of its readings is to be; levers: by pad and kind, how far a gram taken there lowers the reading;
    known_g: what each reads by now, weighed or reckoned; weighed: the kinds weighed since metal last came off;
    touch: the one under way; at: the pad at work; step_g: of the scale; plan_g: what is left of the plan's cut of
    the part; room_g: by pad, what it may still give. [g]"""

    part: str
    cylinder: int
    pads: tuple[str, ...]
    targets_g: Mapping[str, float]
    levers: Mapping[str, Mapping[str, float]]
    known_g: Mapping[str, float]
    step_g: float
    weighed: frozenset[str] = frozenset()
    touch: Touch | None = None
    at: str = ""
    plan_g: float = math.inf
    room_g: Mapping[str, float] = {}

    @property
    def wanted(self) -> str:
        """The kind that is to be on the scale next; empty where the part is done."""
        if self.touch is not None:
            return self.touch.pad
        to_go = self.to_go
        return to_go.other or to_go.pad

    def read(self, grams: float) -> Visit:
        """The part once what is wanted reads so much."""
        kind = self.wanted
        known = dict(self.known_g)
        weighed, plan_g, room = self.weighed, self.plan_g, dict(self.room_g)
        if self.touch is not None:
            lever = self.levers[self.touch.pad]
            given_g = (self.touch.before_g - grams) / lever[kind]
            known = {other: tidy(was - given_g * lever[other]) for other, was in known.items()}
            weighed = frozenset()
            plan_g = tidy(plan_g - max(0.0, given_g))
            room[self.touch.pad] = tidy(self._room_g(self.touch.pad) - max(0.0, given_g))
        known[kind] = grams
        done = self._replace(known_g=known, weighed=weighed | {kind}, touch=None, plan_g=plan_g, room_g=room)
        return done._replace(at=done.to_go.pad)

    def touched(self) -> Visit:
        """The part once the hand was told to take what is to go."""
        to_go = self.to_go
        return self._replace(touch=Touch(to_go.pad, to_go.aim_g, self.known_g[to_go.pad]), at=to_go.pad)

    def untouched(self) -> Visit:
        """The part where nothing was taken after all."""
        return self._replace(touch=None)

    def left_g(self) -> dict[str, float]:
        """What is still to take at each pad of the plan, below zero where too much came off. [g]"""
        over = {kind: tidy(self.known_g[kind] - target) for kind, target in self.targets_g.items()}
        if len(self.pads) < 2:
            return {pad: tidy(over[pad] / self.levers[pad][pad]) for pad in self.pads}
        one, other = self.pads
        left = solved(
            over[one],
            over[other],
            (self.levers[one][one], self.levers[one][other]),
            (self.levers[other][one], self.levers[other][other]),
        )
        return dict(zip(self.pads, map(tidy, left), strict=True))

    @property
    def to_go(self) -> ToGo:
        """What is left, by what is known now: at the pad at work first, then at those of the plan in its order."""
        left = self.left_g()
        in_order = dict.fromkeys((self.at, *self.pads)) if self.at else self.pads
        may_give = {pad: min(self.plan_g, self._room_g(pad)) for pad in in_order}
        pad = next((pad for pad in in_order if min(left[pad], may_give[pad]) > self.step_g / 2), "")
        if pad and pad in self.weighed:
            return ToGo(pad, left[pad], min(aim_of(left[pad], self.step_g), may_give[pad]))
        unweighed = pad or next((kind for kind in self.targets_g if kind not in self.weighed), "")
        worst = min(left.values())
        return ToGo("", left[pad] if pad else worst, 0.0, unweighed)

    def _room_g(self, pad: str) -> float:
        return self.room_g.get(pad, math.inf)

    def below_g(self) -> float:
        """How far the part is below its target; of a rod, at the end that is farther. [g]"""
        return max(tidy(target - self.known_g[kind]) for kind, target in self.targets_g.items())


def aim_of(left_g: float, step_g: float) -> float:
    """What to mean at the next touch: AIM of what is left, down to a tenth of the scale's step. [g]"""
    tenth = step_g / 10
    return tidy(max(tenth, math.floor(AIM * left_g / tenth + 1e-9) * tenth))
